//! The landing as users meet it: through `listen`, attempts cut out of a stream, nothing known of the
//! pickup. It is waited for; late, wrong or left out it never passes.

use evenhand_tests::program;
use std::fmt::Write as _;

const STUDY: &str = "evenhand study 1
title Two gates
metre 4/4
tempo 60

chunk \"First gate\" at bar 1
  melody: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 |
  landing next

chunk \"Second gate\"
  melody: 1/4 5:3+3:0 4:2+3:2 5:0+3:2 4:0 |
  landing next

chunk \"Third gate\"
  melody: 1/4 5:0 5:2 5:3 4:0 |
";

/// The first chunk, and what it lands on.
const FIRST: [u8; 8] = [43, 45, 47, 48, 50, 52, 54, 55];
const LANDING: [u8; 2] = [48, 55];

/// Sound on one channel that is written down as lines with times.
#[derive(Default)]
struct Stream {
    /// When each message comes, in milliseconds, and what it is.
    messages: Vec<(u64, String)>,
    now: u64,
}

impl Stream {
    fn begin() -> Self {
        Self { messages: Vec::new(), now: 1_000 }
    }

    /// A note `after` milliseconds from now; the hand scatters a little, the same each time.
    fn note(&mut self, after: u64, pitch: u8) {
        let index = self.messages.len() as u64;
        let at = self.now + after + index * 7 % 11;
        self.messages.push((at, format!("90 {pitch:02x} {:02x}", 88 + index * 5 % 7)));
        self.messages.push((at + 400, format!("80 {pitch:02x} 40")));
    }

    /// The first chunk in time.
    fn first_gate(&mut self) {
        for (place, pitch) in (0..).zip(FIRST) {
            self.note(place * 500, pitch);
        }
        self.now += 4_000;
    }

    /// So many milliseconds go by.
    fn wait(&mut self, millis: u64) {
        self.now += millis;
    }

    fn land(&mut self, pitches: &[u8]) {
        for pitch in pitches {
            self.note(0, *pitch);
        }
    }

    /// What `listen` says of it, a line an attempt.
    fn heard(mut self, name: &str) -> Vec<String> {
        self.messages.sort();
        let mut lines = String::new();
        for (at, bytes) in &self.messages {
            let _ = writeln!(lines, "{} {bytes}", at * 1_000);
        }
        let _ = writeln!(lines, "{}", (self.now + 20_000) * 1_000);
        let folder = std::env::temp_dir().join(format!("evenhand-{}-{name}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("a folder");
        let (study, stream) = (folder.join("gates.study"), folder.join("stream.txt"));
        std::fs::write(&study, STUDY).expect("written");
        std::fs::write(&stream, lines).expect("written");
        let options = ["--channels", "one", "--no-log", "--plain"];
        let mut arguments = vec!["listen".into(), study.into_os_string(), "--timed".into()];
        arguments.push(stream.into_os_string());
        arguments.extend(options.map(Into::into));
        let output = program::run::<std::ffi::OsString>(&arguments);
        std::fs::remove_dir_all(&folder).expect("removed");
        assert!(output.status.success(), "{output:?}");
        let text = String::from_utf8(output.stdout).expect("text");
        let attempts = text.lines().take_while(|line| !line.starts_with("This sitting"));
        attempts.map(str::to_owned).collect()
    }
}

#[test]
fn in_time_it_passes() {
    let mut stream = Stream::begin();
    stream.first_gate();
    stream.land(&LANDING);
    let heard = stream.heard("in-time");
    assert!(heard.len() == 1 && heard[0].contains("passed"), "{heard:?}");
}

#[test]
fn however_late_it_never_passes() {
    for late in [150, 300, 600, 1_000, 1_900, 2_500, 5_000, 9_000] {
        let mut stream = Stream::begin();
        stream.first_gate();
        stream.wait(late);
        stream.land(&LANDING);
        let heard = stream.heard(&format!("late-{late}"));
        assert_eq!(heard.len(), 1, "{late}: {heard:?}");
        // It is waited for until 2 s after it was due.
        let expected = if late < 2_000 {
            "lost before the landing at bar 2"
        } else {
            "The landing was not played"
        };
        assert!(heard[0].contains(expected), "{late}: {heard:?}");
        let word = if late < 2_000 { "needs work" } else { "unclear" };
        assert!(heard[0].contains(word), "{late}: {heard:?}");
    }
}

#[test]
fn left_out_it_is_unclear_and_the_third_time_in_a_row_needs_work() {
    for pause in [300, 900, 3_500] {
        let mut stream = Stream::begin();
        for _ in 0..4 {
            stream.first_gate();
            stream.wait(pause);
        }
        let heard = stream.heard(&format!("left-out-{pause}"));
        let words: Vec<_> = heard.iter().map(|line| line.contains("unclear")).collect();
        assert_eq!(words, [true, true, false, false], "{heard:?}");
        assert!(heard[2].contains("needs work: The landing was not played, three times"));
    }
}

#[test]
fn altogether_wrong_it_is_told_as_wrong() {
    // An octave off it may be the converter's doing, on one channel and at first; so may C for the C an
    // octave below, which is what five semitones more make of this chord.
    for other in [1, 2, 5] {
        let mut stream = Stream::begin();
        stream.first_gate();
        stream.land(&LANDING.map(|pitch| pitch + other));
        let heard = stream.heard(&format!("wrong-{other}"));
        assert!(heard.len() == 1 && heard[0].contains("needs work: "), "{other}: {heard:?}");
        assert!(heard[0].contains("of the landing"), "{other}: {heard:?}");
    }
}

#[test]
fn another_chunk_in_its_place_is_no_wrong_landing() {
    let mut stream = Stream::begin();
    stream.first_gate();
    stream.wait(500);
    for (place, pitch) in (0..).zip([45, 47, 48, 50]) {
        stream.note(place * 500, pitch);
    }
    let heard = stream.heard("another");
    assert!(heard[0].starts_with("First gate") && heard[0].contains("The landing was not played"));
    assert!(heard[1].starts_with("Third gate"), "{heard:?}");
}
