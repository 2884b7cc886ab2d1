//! Standard MIDI Files as studies: what was written comes back, and what somebody played comes back as it was written.

use evenhand::export;
use evenhand::import::{self, Choice, Imported};
use evenhand::smf::sheet::{ChannelUse, Reading, sheet};
use evenhand::study::{Piece, Study, parse, print};
use midly::num::{u4, u7, u15, u24, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind,
};
use proptest::prelude::Rng;
use proptest::test_runner::{RngAlgorithm, TestRng};

const STRINGS: Reading = Reading { channels: ChannelUse::String, joined: true };

const VOICES: Reading = Reading { channels: ChannelUse::Voice, joined: false };

/// Sixteenths, eighths and triplets of eighths in one bar and beside each other, and a note over the barline.
const MIXED: &str = "evenhand study 2\n\
    metre 4/4\n\
    tempo 96\n\
    \n\
    music\n\
    \x20 notes: 1/16 1:0 1:1 1:3 1:5 3in2[ 1/8 1:7 1:5 1:3 ] 1/8 1:1 1:0 1/4 2:3 |\n\
    \x20 bar 2\n\
    \x20 tempo 80\n\
    \x20 notes: 1/4 tie 3in2[ 1/8 2:0 2:1 2:3 ] 1/4 1:5 1/8 1:3 1:1 |\n\
    \x20 bar 3\n\
    \x20 metre 3/4\n\
    \x20 notes: 1/4 1:0 1/8 1:1 1/16 2:3 2:1 1/4 2:0 |\n\
    \n\
    chunk \"Both\" bars 1 to 2\n\
    \n\
    chunk \"Last\" bar 3\n";

fn study(text: &str) -> Study {
    parse(text).unwrap_or_else(|problems| panic!("{text}\n{problems:?}"))
}

fn demo() -> Study {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/studies/lantern-quay.study");
    study(&std::fs::read_to_string(file).unwrap())
}

fn whole(study: &Study) -> Piece {
    export::whole(study, None).unwrap_or_else(|problems| panic!("{problems:?}")).piece
}

fn midi(study: &Study) -> Vec<u8> {
    export::midi(&export::whole(study, None).unwrap_or_else(|problems| panic!("{problems:?}")))
}

fn imported(content: &[u8], reading: Reading) -> Imported {
    let score = sheet(content, "it", reading).unwrap_or_else(|fault| panic!("{fault}"));
    import::study(&score, &Choice::default(), "it").unwrap_or_else(|problem| panic!("{problem}"))
}

/// Onset, length, pitch and string of all notes.
fn notes(piece: &Piece, with_strings: bool) -> Vec<(u32, u32, u8, Option<u8>)> {
    let mut all: Vec<_> = piece
        .notes
        .iter()
        .map(|note| {
            let string = note.string.filter(|_| with_strings).map(|string| string.number());
            (note.onset.get(), note.duration.get(), note.pitch.number(), string)
        })
        .collect();
    all.sort_unstable();
    all
}

#[test]
fn what_is_exported_comes_back() {
    for study in [demo(), study(MIXED)] {
        let (was, content) = (whole(&study), midi(&study));
        let on_strings = imported(&content, STRINGS);
        assert_eq!(on_strings.left_out, [""; 0]);
        let back = whole(&on_strings.study);
        assert_eq!(notes(&back, true), notes(&was, true));
        assert!(was.notes.iter().all(|note| note.string.is_some()));
        let frames = |piece: &Piece| -> Vec<_> {
            piece.bars.iter().map(|bar| (bar.at, bar.metre, bar.tempo)).collect()
        };
        assert_eq!(frames(&back), frames(&was));
        // Without that, strings are a guess, and the music is the same.
        let reading = Reading { channels: ChannelUse::Voice, joined: true };
        let plain = imported(&content, reading);
        assert_eq!(notes(&whole(&plain.study), false), notes(&was, false));
        assert!(plain.decided.iter().any(|line| line.contains("first guess")));
    }
}

/// A file with each event of a note moved by up to so many milliseconds.
fn jittered(content: &[u8], millis: i64, seed: u8) -> Vec<u8> {
    let mut chance = TestRng::from_seed(RngAlgorithm::ChaCha, &[seed; 32]);
    let mut smf = Smf::parse(content).unwrap();
    let micros = smf.tracks[0].iter().filter_map(|event| match event.kind {
        TrackEventKind::Meta(MetaMessage::Tempo(micros)) => Some(i64::from(micros.as_int())),
        _ => None,
    });
    // At the fastest tempo a tick is shortest.
    let most = millis * 1_000 * 10_080 / micros.min().unwrap();
    for track in &mut smf.tracks {
        let mut at = 0;
        let mut events: Vec<(i64, TrackEventKind<'_>)> = Vec::new();
        for event in track.iter() {
            at += i64::from(event.delta.as_int());
            let by = match event.kind {
                TrackEventKind::Midi { .. } => i64::from(chance.next_u32()) % (2 * most + 1) - most,
                _ => 0,
            };
            events.push(((at + by).max(0), event.kind));
        }
        let end = events.iter().map(|(at, _)| *at).max().unwrap_or(0);
        if let Some(last) = events.last_mut() {
            last.0 = end;
        }
        *track = in_order(events);
    }
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).unwrap();
    bytes
}

fn in_order(mut events: Vec<(i64, TrackEventKind<'_>)>) -> Track<'_> {
    events.sort_by_key(|(at, _)| *at);
    let mut last = 0;
    events
        .into_iter()
        .map(|(at, kind)| {
            let delta = u28::new(u32::try_from(at - last).unwrap());
            last = at;
            TrackEvent { delta, kind }
        })
        .collect()
}

#[test]
fn what_was_played_up_to_20_ms_off_comes_back_as_it_was_written() {
    for study in [demo(), study(MIXED)] {
        let (was, content) = (whole(&study), midi(&study));
        for seed in 0..40 {
            let played = jittered(&content, 20, seed);
            assert_ne!(played, content);
            let back = imported(&played, STRINGS);
            assert_eq!(notes(&whole(&back.study), true), notes(&was, true), "seed {seed}");
        }
    }
}

/// A file of these tracks, with 480 ticks a quarter: when, and what.
fn file(tracks: Vec<Vec<(i64, TrackEventKind<'_>)>>) -> Vec<u8> {
    let tracks = tracks
        .into_iter()
        .map(|mut events| {
            let end = events.iter().map(|(at, _)| *at).max().unwrap_or(0);
            events.push((end, TrackEventKind::Meta(MetaMessage::EndOfTrack)));
            in_order(events)
        })
        .collect();
    let header = Header::new(Format::Parallel, Timing::Metrical(u15::new(480)));
    let mut bytes = Vec::new();
    Smf { header, tracks }.write_std(&mut bytes).unwrap();
    bytes
}

fn on(channel: u8, key: u8) -> TrackEventKind<'static> {
    let message = MidiMessage::NoteOn { key: u7::new(key), vel: u7::new(80) };
    TrackEventKind::Midi { channel: u4::new(channel), message }
}

fn off(channel: u8, key: u8) -> TrackEventKind<'static> {
    let message = MidiMessage::NoteOff { key: u7::new(key), vel: u7::new(64) };
    TrackEventKind::Midi { channel: u4::new(channel), message }
}

fn tempo(micros: u32) -> TrackEventKind<'static> {
    TrackEventKind::Meta(MetaMessage::Tempo(u24::new(micros)))
}

fn named(name: &str) -> TrackEventKind<'_> {
    TrackEventKind::Meta(MetaMessage::TrackName(name.as_bytes()))
}

#[test]
fn what_is_moved_far_is_told_by_bar_with_how_many() {
    // 60 ticks are a 32nd. Two of them in bar 1, none in bar 2.
    let track = vec![
        (0, on(0, 64)),
        (540, off(0, 64)),
        (540, on(0, 65)),
        (1_020, off(0, 65)),
        (1_020, on(0, 67)),
        (1_440, off(0, 67)),
        (1_920, on(0, 64)),
        (2_400, off(0, 64)),
    ];
    let told = imported(&file(vec![track]), VOICES).left_out;
    assert_eq!(
        told,
        [
            "bar 1: 2 notes in the bar moved by more than a 64th",
            "bar 1: 2 ends of notes in the bar moved by more than a 64th",
        ]
    );
}

#[test]
fn what_overlaps_on_one_string_is_cut_and_told() {
    let track = || {
        vec![
            (0, on(0, 64)),
            (480, on(0, 67)),
            (960, off(0, 64)),
            (960, off(0, 67)),
            (1_920, on(0, 64)),
            (2_400, on(0, 64)),
            (2_880, off(0, 64)),
            (2_880, off(0, 64)),
            (3_360, on(5, 40)),
            (3_840, off(5, 40)),
        ]
    };
    let lengths = |imported: &Imported| -> Vec<u32> {
        let notes = notes(&whole(&imported.study), false);
        notes.iter().map(|(_, length, ..)| length / 2_520).collect()
    };
    let strings = imported(&file(vec![track()]), STRINGS);
    assert_eq!(lengths(&strings), [4, 4, 4, 4, 4]);
    assert_eq!(
        strings.left_out,
        ["bars 1, 2: notes whose string is needed again (they end there)"]
    );
    // A channel that is a voice holds several notes, and no key is pressed twice at once.
    let voices = imported(&file(vec![track()]), VOICES);
    assert_eq!(lengths(&voices), [8, 4, 4, 4, 4]);
    let told = "bar 2: notes that are struck again before they end (they end there)";
    assert_eq!(voices.left_out, [told]);
}

#[test]
fn tracks_are_parts_and_channels_voices() {
    let lamp = vec![
        (0, named("Lamp")),
        (0, on(0, 64)),
        (0, on(1, 48)),
        (480, off(0, 64)),
        (960, off(1, 48)),
    ];
    let quay = vec![(0, named("Quay\n two")), (0, on(2, 60)), (480, off(2, 60))];
    let head = vec![(0, named("Harbour")), (0, tempo(1_000_000)), (720, tempo(750_000))];
    let content = file(vec![head, lamp, quay]);
    let score = sheet(&content, "it", VOICES).unwrap();
    let problem = import::study(&score, &Choice::default(), "it").unwrap_err();
    assert_eq!(problem.to_string(), "has several parts: 1 “Lamp” and 2 “Quay two”");
    let choice = |part: &str, voices: &[&str]| Choice {
        part: Some(part.to_owned()),
        voices: voices.iter().map(|voice| (*voice).to_owned()).collect(),
        ..Choice::default()
    };
    let lamp = import::study(&score, &choice("1", &[]), "it").unwrap();
    assert_eq!(lamp.part, "Lamp");
    let text = print(&lamp.study);
    assert!(text.contains("title Harbour\n") && text.contains("tempo 60\n"), "{text}");
    assert!(text.contains("upper: 1/4 1:0") && text.contains("lower: 1/2 5:3"), "{text}");
    let told = "bar 1: a tempo of 80.0 quarters a minute inside the bar (from the next on)";
    assert_eq!(lamp.left_out, [told]);
    let low = import::study(&score, &choice("lamp", &["2"]), "it").unwrap();
    assert_eq!(notes(&whole(&low.study), false), [(0, 20_160, 48, None)]);
    let all = imported(&content, Reading { joined: true, ..VOICES });
    assert_eq!(notes(&whole(&all.study), false).len(), 3);
}

#[test]
fn what_a_study_does_not_say_is_told() {
    let bend = MidiMessage::PitchBend { bend: midly::PitchBend::from_int(2_000) };
    let bend = TrackEventKind::Midi { channel: u4::new(0), message: bend };
    let metre = TrackEventKind::Meta(MetaMessage::TimeSignature(3, 2, 24, 8));
    let track = vec![
        (0, on(0, 64)),
        (240, bend),
        (480, off(0, 64)),
        (960, metre),
        (1_920, on(0, 65)),
        (1_920, on(9, 38)),
        (2_000, off(9, 38)),
    ];
    let imported = imported(&file(vec![track]), VOICES);
    let mut told = imported.left_out.clone();
    told.sort();
    assert_eq!(
        told,
        [
            "bar 1: a metre that changes inside the bar (from the next on)",
            "bar 1: bends (not judged)",
            "bar 2: notes without an end (they last to the end of the bar)",
            "bar 2: percussion on channel 10 (not judged)",
        ]
    );
    assert_eq!(
        notes(&whole(&imported.study), false),
        [(0, 10_080, 64, None), (40_320, 30_240, 65, None)]
    );
}

/// Wherever a file is cut or a byte of it is changed, it is read or refused in words.
#[test]
fn a_damaged_file_is_read_or_refused() {
    let content = midi(&study(MIXED));
    let mut refused = 0;
    for at in (0..content.len()).step_by(3) {
        let cut = sheet(&content[..at], "it", VOICES);
        let fault = cut.expect_err("a file that is cut short is told");
        assert!(fault.to_string().len() > 10);
        for byte in [0, 0x7f, 0x80, 0xff] {
            let mut changed = content.clone();
            changed[at] = byte;
            for reading in [VOICES, STRINGS] {
                match sheet(&changed, "it", reading) {
                    Ok(score) => drop(import::study(&score, &Choice::default(), "it")),
                    Err(_) => refused += 1,
                }
            }
        }
    }
    assert!(refused > 50, "{refused}");
}

/// In this form only metres say where bars end.
#[test]
fn bars_after_a_pickup_stay_where_they_are() {
    let text = "evenhand study 2\nmetre 4/4\n\nmusic at bar 0 beat 4\n  a: 1/4 2:3 |\n  bar 1\n  \
                a: 1/1 1:3 |\n  a: 1/1 1:5 |\n\nchunk \"A\" bars 1 to 2\n";
    let study = study(text);
    let before = whole(&study);
    let after = whole(&imported(&midi(&study), STRINGS).study);
    let places =
        |piece: &Piece| -> Vec<u32> { piece.bars.iter().map(|bar| bar.at.get()).collect() };
    assert_eq!(places(&after), places(&before));
    assert_eq!(places(&after).len(), 3);
}
