//! The page in a real terminal.
#![cfg(unix)]

use crate::seen::{STUDY, Seen, fifo, open_terminal, practice, size_of, told_to};
use evenhand_tests::program;
use evenhand_tests::run::Folder;
use portable_pty::{CommandBuilder, PtySize};
use std::fs::File;
use std::io::Write;
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

/// A program that hangs at its end is ended by force after ten seconds. One that does not hang is
/// over long before. Our default.
const AT_ONCE: Duration = Duration::from_secs(5);

/// The upper row of a word in letters of four points to a cell.
const PASSED: &str = "▛▀▖▞▀▖▞▀▘▞▀▘▛▀▘▛▀▖";
const PLAY: &str = "▛▀▖▌  ▞▀▖▚▗▘";
const EVERY: &str = "▛▀▘▌ ▌▛▀▘▛▀▖▚▗▘";

#[test]
fn the_verdict_can_be_read_at_every_size() {
    for (columns, rows) in [(80, 24), (132, 43), (200, 60), (60, 16), (40, 10), (20, 5)] {
        let mut seen = Seen::read_slowly(columns, rows);
        seen.wait_for("study", |text| text.contains("Steps"));
        seen.play(0);
        // Large letters are made of blocks; where they do not fit the word is written.
        let word = |text: &str| {
            text.contains("PASSED")
                || text.contains(PASSED)
                || (text.contains("████") && text.contains("clean 1 of 2"))
        };
        // A page is drawn in pieces, and time that is told soon leads on: all of it at one moment.
        seen.wait_for("passed, with all that has room", |text| {
            let fits = text.lines().count() <= rows.into();
            let counts = columns < 60 || rows < 16 || text.contains("clean 1 of 2");
            let sentence = if columns < 100 { "Every note there" } else { EVERY };
            let all = ["time", "level", sentence, "hears "];
            let marks = columns < 80 || rows < 24 || all.iter().all(|part| text.contains(part));
            word(text) && fits && counts && marks
        });
        seen.press(b"q");
        let (code, _) = seen.end();
        assert_eq!(code, 0, "{columns} x {rows}");
    }
}

#[test]
fn names_stand_on_the_page_and_do_not_act() {
    // A direction that is turned: allowed in a title, and yet nothing that a terminal may get.
    let study = STUDY.replace("Steps", "St\u{202e}eps").replace("Up and", "Up\u{2066} and");
    let mut seen = Seen::open_with(&study, "--timed", 80, 24, &[]);
    seen.wait_for("study", |text| text.contains("St\\u{202e}eps"));
    seen.wait_for("chunk", |text| text.contains("Up\\u{2066} and"));
    let bytes = String::from_utf8_lossy(&seen.bytes.lock().expect("bytes")).into_owned();
    assert!(!bytes.contains(['\u{202e}', '\u{2066}']), "{bytes:?}");
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}

#[test]
fn what_was_misheard_is_said_by_a_key() {
    let mut seen = Seen::open(80, 24, &[]);
    seen.wait_for("keys, whole", |text| text.contains("left back   m misheard"));
    seen.press(b"m");
    seen.wait_for("word", |text| text.contains("Nothing to take back: no attempt"));
    seen.play(3);
    seen.wait_for("verdict", |text| text.contains("wrong note") && text.contains("slower"));
    seen.press(b"m");
    seen.wait_for("step", |text| text.contains("Taken back: it does not count. Again at 60"));
    assert!(!seen.text().contains("whoever improves"), "there is no log");
    seen.press(b"m");
    seen.wait_for("word", |text| text.contains("It is taken back already."));
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}

#[test]
fn what_was_misheard_in_a_lesson_is_typed() {
    let folder = Folder::new();
    let fifo = fifo(&folder);
    let command = told_to("listen", &folder, STUDY, "--timed", &fifo);
    let mut seen = Seen::run(folder, &fifo, &command, 80, 48);
    seen.wait_for("word about it", |text| text.contains("type m and Return"));
    seen.play(3);
    seen.wait_for("verdict", |text| text.contains("NEEDS WORK"));
    seen.press(b"x\rm\r");
    // Looked at whenever time goes on.
    seen.now += 1_000_000;
    writeln!(seen.player, "{}", seen.now).expect("the program listens");
    seen.wait_for("word", |text| text.contains("Up and on, taken back: it does not count."));
    seen.player = File::open("/dev/null").expect("nothing");
    let (code, left) = seen.end();
    assert_eq!((code, left.contains("This sitting")), (0, false), "{left}");
}

#[test]
fn a_terminal_that_changes_its_size_is_drawn_anew() {
    let mut seen = Seen::read_slowly(80, 24);
    seen.wait_for("study", |text| text.contains("Steps"));
    seen.play(0);
    seen.wait_for("sentence", |text| text.contains("Every note there") && text.contains("time"));
    let size = PtySize { rows: 12, cols: 50, pixel_width: 0, pixel_height: 0 };
    seen.screen.lock().expect("a screen").screen_mut().set_size(size_of(12), size_of(50));
    seen.terminal.resize(size).expect("another size");
    seen.wait_for("smaller word", |text| text.contains(PASSED));
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}

#[test]
fn without_colour_and_without_unicode_everything_is_said() {
    let mut seen = Seen::open(80, 24, &[("NO_COLOR", "1"), ("LC_ALL", "C")]);
    seen.wait_for("study", |text| text.contains("Steps"));
    seen.play(3);
    seen.wait_for("sentence", |text| {
        text.contains("time") && text.contains("clean 1 of 2") || text.contains("slower")
    });
    let bytes = seen.bytes.lock().expect("bytes").clone();
    let text = String::from_utf8_lossy(&bytes).into_owned();
    // Select Graphic Rendition 30 to 37 and 38 are colours (ECMA-48).
    let coloured =
        text.split("\u{1b}[").skip(1).filter_map(|rest| rest.split_once('m')).any(|(codes, _)| {
            codes.split(';').any(|code| code == "38" || matches!(code.parse(), Ok(31..=37_u8)))
        });
    assert!(!coloured, "{text:?}");
    seen.wait_for("large letters of plain characters", |text| text.contains('#'));
    let page = seen.text();
    let beyond: Vec<char> =
        page.chars().filter(|c| !c.is_ascii() && !"“”’–".contains(*c)).collect();
    assert!(beyond.is_empty(), "{beyond:?}\n{page}");
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}

#[test]
fn whatever_ends_it_gives_the_terminal_back() {
    for (how, key) in
        [("it hurts", &b"h"[..]), ("control and c", &[3]), ("the end of the stream", &[])]
    {
        let mut seen = Seen::open(80, 24, &[]);
        seen.wait_for("study", |text| text.contains("Steps"));
        if key.is_empty() {
            seen.player = File::open("/dev/null").expect("nothing");
        } else {
            seen.press(key);
        }
        let (code, left) = seen.end();
        assert_eq!(code, 0, "{how}: {left}");
        if key == b"h" {
            assert_eq!(left.matches("medical professional").count(), 1, "{left}");
        }
    }
    // A signal, as a system that shuts down sends it.
    let seen = Seen::open(80, 24, &[]);
    seen.wait_for("study", |text| text.contains("Steps"));
    let id = seen.child.process_id().expect("it runs");
    assert!(Command::new("kill").arg(id.to_string()).status().expect("kill").success());
    assert_eq!(seen.end().0, 0);
}

/// Set where the test below runs alone.
const ALONE: &str = "EVENHAND_TESTS_ALONE";

#[test]
fn a_terminal_that_is_closed_ends_it() {
    // A terminal is made before it can be kept from children (openpty, then FD_CLOEXEC). A child that
    // another test starts in between holds this one open, so that closing it here closes nothing:
    // it has to be made where no other test runs.
    if std::env::var_os(ALONE).is_some() {
        close_the_terminal();
        return;
    }
    let name = "terminal::a_terminal_that_is_closed_ends_it";
    let tests = std::env::current_exe().expect("this program");
    let run = Command::new(tests).args(["--exact", name]).env(ALONE, "1").output();
    let run = run.expect("it runs alone");
    let said = String::from_utf8_lossy(&run.stdout);
    assert!(run.status.success(), "{said}{}", String::from_utf8_lossy(&run.stderr));
    assert!(said.contains("1 passed"), "{said}");
}

fn close_the_terminal() {
    // Nobody reads this one, so that closing it closes the last of it.
    let folder = Folder::new();
    let (fifo, pair) = (fifo(&folder), open_terminal(80, 24));
    let mut child =
        pair.slave.spawn_command(practice(&folder, STUDY, "--timed", &fifo)).expect("it starts");
    drop(pair.slave);
    let player = File::create(&fifo).expect("the fifo opens");
    // Time to take the terminal, and to find out that nothing is played.
    thread::sleep(Duration::from_millis(700));
    assert!(child.try_wait().expect("it was started").is_none(), "it has ended before");
    drop(pair.master);
    let start = Instant::now();
    while child.try_wait().expect("it was started").is_none() {
        assert!(start.elapsed() < AT_ONCE, "it goes on without a terminal");
        thread::sleep(Duration::from_millis(20));
    }
    // Its player was still there.
    drop(player);
}

#[test]
fn that_there_is_no_sound_stands_on_the_page() {
    // This build plays through nothing, whatever the machine has. The stream has to be one that is
    // clicked to: bytes as they come.
    let mut seen = Seen::open_from("--raw", 80, 24, &[]);
    let line = |text: &str| text.lines().position(|line| line.contains(" no sound: "));
    seen.wait_for("word of the sound", |text| line(text).is_some());
    // A bar is counted in on the page, and the line stays.
    let whole = |text: &str| {
        // Under the heading, and it covers nothing.
        let parts = ["████", "counted on the screen only", "beats a minute", "6 │3"];
        line(text) == Some(1) && parts.iter().all(|part| text.contains(part))
    };
    seen.wait_for("large number, and all else", whole);
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}

/// The word of the last attempt stands beside its own tempo, and is gone when another is counted in.
#[test]
fn a_verdict_does_not_stand_beside_another_tempo() {
    let mut seen = Seen::open(60, 12, &[]);
    seen.wait_for("study", |text| text.contains("Steps"));
    seen.play(3);
    // Slower: forty seconds later it has been counted in.
    seen.wait_for("tempo", |text| {
        text.contains(PLAY) && text.contains("beats a minute (goal 100)")
    });
    let text = seen.text();
    assert!(!text.contains("NEEDS WORK") && !text.contains("last: "), "{text}");
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}

/// Ready, counting, playing, heard to the end, the verdict: what now is, and that it hears. Nothing sounds, so
/// the beat is shown, too.
#[test]
fn the_page_says_what_now_is_and_what_it_hears() {
    let mut seen = Seen::open(60, 9, &[]);
    seen.wait_for("word", |text| text.contains("READY   60 beats a minute"));
    assert!(seen.text().contains("hears nothing yet"), "{}", seen.text());
    let say = |seen: &mut Seen, now: u64, bytes: &str| {
        writeln!(seen.player, "{now} {bytes}").expect("the program listens");
    };
    // Two seconds to read, then a bar of four at 60 a minute; a look is not before its time.
    say(&mut seen, 3_100_000, "f8");
    seen.wait_for("count", |text| text.contains(" 2   60") && text.contains("· 2 · ·"));
    say(&mut seen, 6_050_000, "f8");
    seen.wait_for("word", |text| text.contains("PLAY   60") && text.contains("1 · · ·"));
    let pitches = [43, 45, 47, 48, 50, 52, 54, 55];
    for (number, pitch) in (0_u64..).zip(pitches) {
        let at = 6_060_000 + number * 500_000;
        say(&mut seen, at, &format!("90 {pitch:02x} {:02x}", 78 + number % 3));
        if number == 3 {
            seen.wait_for("note", |text| text.contains("PLAYING") && text.contains("hears C3"));
            assert!(seen.text().contains("· 2 · ·"), "{}", seen.text());
        }
        if number == 7 {
            // As long as it may still sound.
            seen.wait_for("end", |text| text.contains("HEARD   60") && text.contains("hears G3"));
        }
        say(&mut seen, at + 450_000, &format!("80 {pitch:02x} 00"));
    }
    say(&mut seen, 12_000_000, "f8");
    seen.wait_for("verdict", |text| text.contains("PASSED   60"));
    assert!(!seen.text().contains("last: "), "{}", seen.text());
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}

#[test]
fn a_recording_shows_that_it_hears_in_one_line() {
    let folder = Folder::new();
    let fifo = fifo(&folder);
    let mut command = CommandBuilder::new(program::path());
    let take = folder.path("take.mid");
    for word in ["record", &take, "--timed", &fifo] {
        command.arg(word);
    }
    let mut seen = Seen::run(folder, &fifo, &command, 60, 12);
    seen.wait_for("line", |text| text.contains("hears nothing yet"));
    for (at, bytes) in [(1_000_000, "90 37 50"), (1_020_000, "90 38 50"), (2_000_000, "90 32 50")] {
        writeln!(seen.player, "{at} {bytes}").expect("the program listens");
    }
    seen.wait_for("note", |text| text.contains("\nhears D3 "));
    let bytes = String::from_utf8_lossy(&seen.bytes.lock().expect("bytes")).into_owned();
    assert!(bytes.contains("hears G3") && !bytes.contains("hears G#3"), "a still line: {bytes:?}");
    seen.player = File::open("/dev/null").expect("nothing");
    let (code, left) = seen.end();
    assert!(code == 0 && left.contains("3 messages."), "{left}");
    assert_eq!(left.matches("hears").count(), 1, "{left}");
}

#[test]
fn what_cannot_be_heard_is_said() {
    let mut seen = Seen::open(80, 24, &[]);
    seen.wait_for("keys", |text| text.contains("s say it   p hear it   o hear yourself"));
    seen.press(b"o");
    seen.wait_for("word", |text| text.contains("There is no attempt to hear yet."));
    seen.press(b"p");
    seen.wait_for("word", |text| text.contains("It cannot be heard: there is no sound."));
    seen.press(b"q");
    assert_eq!(seen.end().0, 0);
}
