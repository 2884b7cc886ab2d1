//! The click as it leaves the program, captured: with a JACK server in place of a sound card and
//! of a MIDI instrument.
//!
//! Run by `cargo xtask rig sound`. ALSA's `file` plug-in writes what goes to the server, which
//! takes it at the pace of a card; frames are counted in that file.

mod away;
mod evenness;
#[path = "../jack/server.rs"]
mod server;

use evenhand_tests::run::{Folder, Run, code, command};
use evenhand_tests::wav::Wav;
use evenness::{stretches, unevenness};
use midir::MidiInput;
use midir::os::unix::VirtualInput;
use server::{RATE, Server};
use std::process::Command;
use std::sync::mpsc::channel;
use std::time::Instant;

/// What a listener cannot hear; the limit that was set for this. What is found is printed.
const MOST: f64 = 1e-3;

/// MIDI through the server comes at the beginning of a period (2.7 ms), and a machine under load
/// wakes a thread late. Our default.
const MOST_MIDI: f64 = 20e-3;

/// How often to try, on a machine under load. Our default.
const CAPTURES: usize = 3;

const BEATS: usize = 4 * 12;
const TEMPO: u32 = 240;

/// Microseconds between two beats at that tempo.
const BEAT: f64 = 60e6 / TEMPO as f64;

/// The program with a home of its own.
fn program(home: &Folder, arguments: &[&str]) -> Command {
    let mut command = command(arguments);
    command.env("HOME", home.as_ref()).env(evenhand::settings::VARIABLE, home.as_ref());
    command
}

/// The program's way to the server, as ALSA's library is told it.
const TO_SERVER: &str = "\
    pcm.server { type jack playback_ports { 0 system:playback_1 1 system:playback_2 } }\n\
    pcm.!default { type plug slave.pcm \"server\" }\n";

/// What left the program.
struct Capture {
    wav: Wav,
    /// How often the program says that the output ran dry.
    gaps: usize,
    /// Its first line, which names the output.
    through: String,
}

/// Runs the program with a home of its own, and reads what left it.
fn capture() -> Capture {
    let home = Folder::new();
    let captured = home.path("captured.wav");
    // 16 bits are asked for between two converters: the plug-in would call the server's floating
    // point numbers whole ones.
    let configuration = format!(
        "{TO_SERVER}pcm.capture {{ type file file \"{captured}\" format \"wav\" slave.pcm {{ type \
         plug slave.pcm \"server\" }} }}\n\
         pcm.!default {{ type plug slave {{ pcm \"capture\" format S16_LE }} }}\n"
    );
    home.write(".asoundrc", configuration);
    let tempo = TEMPO.to_string();
    let mut words = vec!["click", "--sound", "audio", "--tempo", &tempo, "--bars", "11"];
    words.extend(["--sound-delay", "0"]);
    let run = Run::of(&mut program(&home, &words), Vec::new());
    assert_eq!(run.code, code::DONE, "{run:?}");
    let wav = Wav::read(&std::fs::read(&captured).unwrap());
    assert_eq!(wav.rate, RATE);
    let dry = run.out.lines().find(|line| line.contains("ran dry"));
    let number = |word: &str| if word == "once:" { Some(1) } else { word.parse().ok() };
    let gaps = dry.map_or(0, |line| line.split(' ').find_map(number).expect("how often"));
    Capture { wav, gaps, through: run.out.lines().next().unwrap_or_default().to_owned() }
}

#[test]
fn the_captured_click_is_even_to_the_frame() {
    let _server = Server::start(2);
    let (rate, beat) = (f64::from(RATE), BEAT / 1e6 * f64::from(RATE));
    // One capture that is even from the first click to the last is wanted. Under load there may be
    // none; then it is known that each stretch between two gaps is even, and that nothing is
    // shifted but by a gap.
    for _ in 0..CAPTURES {
        let Capture { wav, gaps, through } = capture();
        let onsets = wav.onsets();
        let clicks: Vec<f64> = onsets.iter().take(BEATS).map(|frame| *frame as f64).collect();
        let stretches = stretches(&clicks, beat);
        let found = stretches.iter().map(|stretch| unevenness(&clicks[stretch.clone()], beat));
        let (largest, usual) = found
            .fold((0.0, 0.0), |(most, root): (f64, f64), (largest, usual)| {
                (most.max(largest), root.max(usual))
            });
        println!(
            "audio: {} sounds captured, {} bits, {} channels; the output ran dry {gaps} times, {} \
             stretches; jitter in each at most {:.4} ms, RMS {:.4} ms ({largest:.2} and {usual:.2} \
             frames). It says: {through}",
            onsets.len(),
            wav.bits,
            wav.channels,
            stretches.len(),
            largest / rate * 1e3,
            usual / rate * 1e3
        );
        assert!(largest / rate < MOST, "uneven by itself: {clicks:?}");
        assert!(stretches.len() <= gaps + 1, "shifted without a gap: {clicks:?}");
        if stretches.len() > 1 {
            continue;
        }
        let all = onsets.len() == BEATS + 4;
        assert!(all || gaps > 0, "clicks, then cues of one, one and two sounds: {onsets:?}");
        // Every fourth is the strong one.
        for (beat, onset) in onsets[..BEATS].iter().enumerate() {
            assert_eq!(wav.samples[*onset] > 0.4, beat % 4 == 0, "beat {beat}");
        }
        return;
    }
    println!("audio: all of {CAPTURES} captures are shifted by gaps: this machine was too busy");
}

/// The notes that came: when, in seconds from the first, and which. With the program's last line.
fn struck() -> (Vec<(f64, u8)>, String) {
    let home = Folder::new();
    let (to, struck) = channel();
    let take = move |_: u64, message: &[u8], (): &mut ()| {
        let _ = to.send((Instant::now(), message.to_vec()));
    };
    let _drums = MidiInput::new("wooden").unwrap().create_virtual("drums", take, ()).unwrap();
    server::wait_for("wooden:drums");
    let tempo = TEMPO.to_string();
    // A port that is named is the choice of MIDI.
    let words = ["click", "--sound-port", "DRUMS", "--tempo", &tempo, "--bars", "11", "--no-cues"];
    let run = Run::of(&mut program(&home, &words), Vec::new());
    assert_eq!((run.code, run.err.as_str()), (code::DONE, ""), "{run:?}");
    let strokes: Vec<(Instant, Vec<u8>)> = struck.try_iter().collect();
    let of = |status: u8| strokes.iter().filter(move |(_, message)| message[0] == status);
    assert_eq!((of(0x99).count(), of(0x89).count()), (BEATS, BEATS), "{strokes:?}");
    let first = strokes[0].0;
    let notes = of(0x99).map(|(at, message)| (at.duration_since(first).as_secs_f64(), message[1]));
    (notes.collect(), run.out.lines().last().unwrap_or_default().to_owned())
}

#[test]
fn notes_to_an_instrument_come_when_they_are_due() {
    let _server = Server::start(0);
    // A machine that wakes nobody in time is asked again; a click that is late by itself stays so.
    let mut found = Vec::new();
    for _ in 0..CAPTURES {
        let (notes, says) = struck();
        // General MIDI System Level 1: high and low wood block.
        for (beat, (_, key)) in notes.iter().enumerate() {
            assert_eq!(*key, if beat % 4 == 0 { 76 } else { 77 }, "beat {beat}");
        }
        let times: Vec<f64> = notes.iter().map(|(at, _)| *at).collect();
        let (largest, usual) = unevenness(&times, BEAT / 1e6);
        println!(
            "MIDI: {BEATS} notes received; jitter at most {:.2} ms, RMS {:.2} ms, with the server's \
             periods of 2.7 ms. It says: {says}",
            largest * 1e3,
            usual * 1e3,
        );
        if largest < MOST_MIDI {
            return;
        }
        found.push(times);
    }
    panic!("late or early in {CAPTURES} tries: {found:?}");
}

#[test]
fn an_instrument_that_is_not_there_is_named_with_those_that_are() {
    let _server = Server::start(0);
    let home = Folder::new();
    let none = Run::of(&mut program(&home, &["click", "--sound", "midi"]), Vec::new());
    none.refused(code::LIVE, &["no MIDI output", "--sound audio"]);
    let nobody = |_: u64, _: &[u8], (): &mut ()| {};
    let _drums = MidiInput::new("wooden").unwrap().create_virtual("drums", nobody, ()).unwrap();
    server::wait_for("wooden:drums");
    let other = Run::of(&mut program(&home, &["click", "--sound-port", "bells"]), Vec::new());
    other.refused(code::LIVE, &["“bells”", "“wooden:drums”", "--sound-port"]);
}

#[test]
fn without_a_card_it_is_said_once_and_the_click_is_shown() {
    let home = Folder::new();
    // A card that nobody has, whatever this machine has.
    home.write(".asoundrc", "pcm.!default { type hw card 31 }\n");
    let words = ["click", "--tempo", "600", "--bars", "1"];
    let run = Run::of(&mut program(&home, &words), Vec::new());
    assert_eq!(run.code, code::DONE, "{run:?}");
    assert_eq!(run.out, "count-in  1 2 3 4\nbar 1     1 2 3 4\n");
    assert_eq!(run.err.matches("no sound: ").count(), 1, "{}", run.err);
    assert_eq!(run.err.lines().count(), 2, "nothing but what is ours: {}", run.err);
    let asked = Run::of(&mut program(&home, &["click", "--sound", "audio"]), Vec::new());
    asked.refused(code::LIVE, &["audio output", "--sound midi"]);
}
