//! `evenhand click`: what it writes is right to the frame, and every wrong wish is answered.

use evenhand_tests::run::{Folder, Run, code, command};
use evenhand_tests::wav::Wav;

/// Silence before the first beat, as `docs/sound.md` says, in frames.
const LEAD: u64 = 4_800;

fn run(home: &Folder, arguments: &[&str]) -> Run {
    let mut command = command(arguments);
    command.env(evenhand::settings::VARIABLE, home.as_ref());
    Run::of(&mut command, Vec::new())
}

fn written(arguments: &[&str]) -> Wav {
    let home = Folder::new();
    let file = home.path("click.wav");
    let run = run(&home, &[&["click", "--write", &file], arguments].concat());
    assert_eq!((run.code, run.err.as_str()), (code::DONE, ""), "{run:?}");
    Wav::read(&std::fs::read(&file).unwrap())
}

/// By calculation: a tempo is kept in whole microseconds a quarter; beat n begins on the frame
/// nearest to n beats after the first.
fn due(beats_a_minute: u64, quarters_a_beat: (u64, u64), beats: u64) -> Vec<usize> {
    let (upper, lower) = quarters_a_beat;
    let micros_per_quarter = (60_000_000 * lower * 2 / (beats_a_minute * upper)).div_ceil(2);
    let frame = |beat: u64| {
        let exact =
            (micros_per_quarter * upper * beat * 48_000) as f64 / (lower * 1_000_000) as f64;
        (LEAD + exact.round() as u64) as usize
    };
    (0..beats).map(frame).collect()
}

#[test]
fn every_click_is_on_its_frame() {
    for (tempo, metre, bars, beats_in_bar, quarters) in [
        ("60", "4/4", 2, 4, (1, 1)),
        ("73", "3/4", 100, 3, (1, 1)),
        ("97", "6/8", 40, 2, (3, 2)),
        ("251", "5/8", 40, 5, (1, 2)),
        ("47", "2/2", 20, 2, (2, 1)),
    ] {
        let number = bars.to_string();
        let words = ["--tempo", tempo, "--metre", metre, "--bars", &number, "--no-cues"];
        let wav = written(&words);
        assert_eq!((wav.rate, wav.channels, wav.bits), (48_000, 1, 16));
        let beats = (bars + 1) * beats_in_bar;
        let due = due(tempo.parse().unwrap(), quarters, beats);
        let found = wav.onsets();
        assert_eq!(found, due, "{tempo} in {metre}");
        for (beat, onset) in (0..).zip(found) {
            // The first of a bar is louder and higher; both are at their loudest at once.
            let strong = beat % beats_in_bar == 0;
            assert_eq!(wav.samples[onset] > 0.4, strong, "beat {beat} of {metre}");
            assert_eq!(wav.hertz(onset, 960) > 1_500.0, strong, "beat {beat} of {metre}");
        }
    }
}

#[test]
fn a_cue_is_known_by_its_shape() {
    let wav = written(&["--bars", "1", "--count-in", "0"]);
    let cues = &wav.onsets()[4..];
    // Each has a second, from the end of the last bar; a cue comes in over 5 ms.
    let from = 4_800 + 4 * 48_000;
    let second = |cue: usize| from + 48_000 * cue;
    let [passed, needs_work, unclear, again] = *cues else { panic!("{cues:?}") };
    for (found, due) in [passed, needs_work, unclear].into_iter().zip((0..3).map(second)) {
        assert!((due..due + 240).contains(&found), "{found} for {due}");
    }
    let ratio = |begin: usize, second_tone: usize| {
        wav.hertz(second_tone + 480, 3_840) / wav.hertz(begin + 480, 3_840)
    };
    // A fifth up, a fifth down, and the same twice with silence between.
    let (up, down) = (ratio(passed, passed + 5_760), ratio(needs_work, needs_work + 10_560));
    assert!((up - 1.5).abs() < 0.05, "{up}");
    assert!((down - 1.0 / 1.5).abs() < 0.05, "{down}");
    assert!((ratio(unclear, again) - 1.0).abs() < 0.05);
    assert!(wav.loudest(unclear + 5_280, 3_360) < 0.005, "a gap");
    assert_eq!(wav.samples.len(), second(3));
    // Quieter than the click, and never at full scale.
    assert!(wav.loudest(from, 3 * 48_000) < wav.loudest(0, from));
    assert!(wav.loudest(0, wav.samples.len()) < 0.9);
}

#[test]
fn the_same_wish_gives_the_same_file() {
    let words = ["--tempo", "111", "--metre", "7/8"];
    assert!(written(&words) == written(&words));
}

#[test]
fn a_file_that_is_there_stays_unless_it_is_meant() {
    let home = Folder::new();
    let file = home.write("click.wav", "mine");
    let there = run(&home, &["click", "--write", &file]);
    there.refused(code::OUTPUT, &["click.wav", "--replace"]);
    assert_eq!(std::fs::read(&file).unwrap(), b"mine");
    assert_eq!(run(&home, &["click", "--write", &file, "--replace"]).code, code::DONE);
    Wav::read(&std::fs::read(&file).unwrap());
    let nowhere = home.path("no/such/folder.wav");
    run(&home, &["click", "--write", &nowhere]).refused(code::OUTPUT, &["folder.wav"]);
    assert_eq!(run(&home, &["click", "--write", "/dev/full", "--replace"]).code, code::OUTPUT);
}

#[test]
fn wishes_that_cannot_be_are_answered() {
    let home = Folder::new();
    for metre in ["4", "4/", "/4", "0/4", "33/4", "4/3", "4/4/4", "ⅳ/4", ""] {
        let words = ["click", "--metre", metre];
        let refused = run(&home, &words);
        assert_eq!(refused.code, code::USAGE, "{refused:?}");
        assert!(refused.err.contains("1 to 32 notes"), "{refused:?}");
    }
    for tempo in ["0", "1", "9", "1501", "4294967295"] {
        run(&home, &["click", "--tempo", tempo]).refused(code::USAGE, &["beats a minute"]);
    }
    let file = home.path("long.wav");
    let words = ["click", "--write", &file, "--tempo", "10", "--metre", "32/4", "--bars", "10000"];
    run(&home, &words).refused(code::USAGE, &["60 minutes", "--bars"]);
    assert!(!std::path::Path::new(&file).exists());
    for delay in ["-201", "1001", "x", ""] {
        let refused = run(&home, &["click", "--sound-delay", delay]);
        assert_eq!(refused.code, code::USAGE, "{refused:?}");
        assert!(refused.err.contains("-200 to 1000"), "{refused:?}");
    }
}

#[test]
fn without_sound_beats_are_shown_when_they_are_due() {
    let home = Folder::new();
    let begun = std::time::Instant::now();
    let words = ["click", "--tempo", "600", "--metre", "3/4", "--bars", "2", "--sound", "none"];
    let silent = run(&home, &words);
    let passed = begun.elapsed().as_secs_f64();
    assert_eq!(silent.out, "count-in  1 2 3\nbar 1     1 2 3\nbar 2     1 2 3\n");
    assert_eq!((silent.code, silent.err.as_str()), (code::DONE, ""));
    // Half a second to look up, and eight times 100 ms from the first beat to the last.
    assert!(passed >= 1.3, "{passed} s");
    // This build has neither an audio output nor MIDI ports.
    let usual = run(&home, &["click", "--tempo", "1000", "--bars", "1"]);
    assert_eq!((usual.code, usual.out.lines().count()), (code::DONE, 2));
    assert!(usual.err.contains("no sound: this build has no audio output"), "{}", usual.err);
    run(&home, &["click", "--sound", "audio"]).refused(code::LIVE, &["audio", "feature `sound`"]);
    run(&home, &["click", "--sound", "midi"]).refused(code::LIVE, &["MIDI", "feature `live`"]);
    run(&home, &["click", "--sound-port", "x"]).refused(code::LIVE, &["MIDI", "feature `live`"]);
}

#[test]
fn a_delay_by_ear_is_remembered_beside_the_rest() {
    let home = Folder::new();
    home.write("settings.txt", "evenhand settings 1\nport = Six strings\n");
    let settings = || std::fs::read_to_string(home.path("settings.txt")).unwrap();
    let words = ["click", "--sound", "none", "--tempo", "1000", "--bars", "1"];
    let with = |delay: &[&str]| run(&home, &[&words[..], delay].concat());
    assert_eq!(with(&["--sound-delay", "-35"]).code, code::DONE);
    assert!(settings().starts_with("evenhand settings 1\nport = Six strings\n"));
    assert!(settings().ends_with("\nsound-delay = -35\n"), "{}", settings());
    assert_eq!(with(&["--sound-delay", "180"]).code, code::DONE);
    assert!(settings().ends_with("\nsound-delay = 180\n"), "{}", settings());
    home.write("settings.txt", "evenhand settings 1\n\nsound-delay = much\n");
    with(&[]).refused(code::INPUT, &["settings.txt, line 3", "much", "-200 to 1000"]);
}

#[test]
fn doctor_says_how_it_is_with_sound() {
    let home = Folder::new();
    let doctor = run(&home, &["doctor", "--events"]);
    let line = doctor.out.lines().find(|line| line.contains("\"what\":\"sound\"")).unwrap();
    let check: serde_json::Value = serde_json::from_str(line).unwrap();
    assert_eq!(check["state"], "absent", "{line}");
    assert!(check["advice"].as_str().unwrap().contains("feature `sound`"), "{line}");
}

/// A passage that is written has each note on its frame and at its pitch.
#[test]
fn a_passage_is_heard_at_its_tempo() {
    let home = Folder::new();
    let study = home.write(
        "a.study",
        "evenhand study 1\ntitle A\nmetre 3/4\ntempo 60\nchunk \"A\" at bar 1\n  m: 1/4 6:0 4:2 1:12 |\n",
    );
    let file = home.path("a.wav");
    let words = ["study", "hear", &study, "--tempo", "120", "--write", &file];
    let run = run(&home, &words);
    assert!(run.done().out.contains("A, 120 beats a minute"), "{run:?}");
    let wav = Wav::read(&std::fs::read(&file).unwrap());
    assert_eq!((wav.rate, wav.channels, wav.bits), (48_000, 1, 16));
    for (beat, hertz) in [(0, 82.41), (1, 164.81), (2, 659.26)] {
        let onset = (LEAD + beat * 24_000) as usize;
        // How alike a stretch is to itself one period later, and a semitone more or less.
        let alike = |hertz: f64| {
            let lag = (48_000.0 / hertz).round() as usize;
            let tone = &wav.samples[onset + 2_400..onset + 12_000];
            tone.iter().zip(&wav.samples[onset + 2_400 + lag..]).map(|(a, b)| a * b).sum::<f64>()
        };
        let step = 2_f64.powf(1.0 / 12.0);
        let beside = alike(hertz * step).max(alike(hertz / step));
        assert!(alike(hertz) > beside.max(0.0), "{hertz}");
        let loudest =
            |from: usize| wav.samples[from..from + 600].iter().fold(0.0_f64, |m, s| m.max(s.abs()));
        assert!(loudest(onset) > 3.0 * loudest(onset - 600), "beat {beat} begins on its frame");
    }
    let again = self::run(&home, &words);
    again.refused(code::OUTPUT, &["a.wav", "--replace"]);
    #[cfg(unix)]
    {
        // On a full disk what was there is there still. The signal would end the program; without it, writing
        // fails.
        let before = std::fs::read(&file).expect("it was written");
        let mut limited = std::process::Command::new("sh");
        limited.args(["-c", "trap '' XFSZ; ulimit -f 0; exec \"$@\"", "sh"]);
        limited.arg(evenhand_tests::program::path()).args(words).arg("--replace");
        limited.stdout(std::process::Stdio::piped());
        Run::of(&mut limited, Vec::new()).refused(code::OUTPUT, &["a.wav"]);
        assert!(std::fs::read(&file).expect("it is there") == before, "it was written over");
    }
    let none = self::run(&home, &["study", "hear", &study, "--sound", "none"]);
    assert!(none.done().out.contains("Write it as a file with --write"), "{none:?}");
}
