//! Names and texts of others stand on the terminal and do not act on it: no control character and
//! none that turns a line's direction is written for people, wherever it comes from. Records keep
//! every text exactly.
#![cfg(unix)]

use evenhand_tests::kept;
use evenhand_tests::looping::{Looping, study};
use evenhand_tests::pedal::Bench;
use evenhand_tests::run::{CONFIG, Folder, Run, command, evenhand};
use std::fs;
use std::process::Stdio;
use std::time::Duration;

/// Retitles a terminal, erases it, colours it; a C1 control; an override of the direction.
const EVIL: &str = "a\u{1b}]0;owned\u{7}\u{1b}[2Jb\u{9b}31mc\u{202e}d\u{7f}";
/// How that is to stand there.
const SHOWN: &str = "a\\u{1b}]0;owned\\u{7}\\u{1b}[2Jb\\u{9b}31mc\\u{202e}d\\u{7f}";

/// What may stand in the title of a study and the name of a chunk: no controls, and yet.
const TURNED: &str = "Up \u{202e}pu\u{2066}\u{200f}\u{61c} on";
const TURNED_SHOWN: &str = "Up \\u{202e}pu\\u{2066}\\u{200f}\\u{61c} on";

fn acts(c: char) -> bool {
    let code = u32::from(c);
    c != '\n'
        && (code < 0x20
            || (0x7f..0xa0).contains(&code)
            || [0x61c, 0x200e, 0x200f].contains(&code)
            || (0x202a..=0x202e).contains(&code)
            || (0x2066..=0x2069).contains(&code))
}

/// Asks that nothing acts in what was written, and that this stands there.
#[track_caller]
fn stands(run: &Run, shown: &str) {
    for text in [&run.out, &run.err] {
        assert!(!text.contains(acts), "{text:?}");
    }
    assert!(run.out.contains(shown) || run.err.contains(shown), "no {shown} in {run:?}");
}

fn turned_study(folder: &Folder) -> String {
    let text = fs::read_to_string(study()).unwrap();
    let text = text.replace("Eight steps", TURNED);
    assert!(text.contains(TURNED));
    let title = text.lines().find(|line| line.starts_with("title ")).expect("it has one");
    folder.write("turned.study", text.replace(title, &format!("title Title of {TURNED}")))
}

fn played() -> Vec<u8> {
    let mut bytes = Vec::new();
    Looping::new(6, Duration::ZERO).attempt(&mut bytes).unwrap();
    bytes
}

#[test]
fn what_the_program_is_told_of_and_complains_about() {
    let folder = Folder::new();
    let whole = fs::read_to_string(study()).unwrap();
    let named = folder.write(&format!("{EVIL}.study"), &whole);
    stands(&evenhand(&["study", "check", &named]), SHOWN);
    stands(&evenhand(&["study", "check", &folder.path(&format!("{EVIL}-none"))]), SHOWN);
    // Several that are wrong: all but the last are told on another way.
    let missing = folder.path(&format!("{EVIL}-1"));
    stands(&evenhand(&["study", "check", &missing, "none"]), SHOWN);
    stands(&evenhand(&["study", "show", &study(), "--chunk", EVIL]), SHOWN);
    stands(&evenhand(&["doctor", &named]), SHOWN);
    stands(&evenhand(&["judge", &study(), &folder.path(EVIL)]), SHOWN);
    // The words for a command line leave out what they know to be for a terminal.
    stands(&evenhand(&[EVIL]), "c\\u{202e}d");
    stands(&evenhand(&["listen", &study(), "--raw", &folder.path(EVIL)]), SHOWN);
    stands(&evenhand(&["pedal", "list", "--device", EVIL]), SHOWN);
    let wrong = folder.write("wrong.study", format!("evenhand study 1\n{EVIL} \u{2067}\n"));
    stands(&evenhand(&["study", "check", &wrong]), "line 2");
}

#[test]
fn profiles_and_settings() {
    let folder = Folder::new();
    fs::create_dir(folder.path("settings")).unwrap();
    let profile = format!("evenhand pickup 1\nbends = {EVIL}\n{EVIL} = 2\n{EVIL}\n");
    let profile = folder.write("pickup.txt", profile);
    let run = evenhand(&["listen", &study(), "--raw", "/dev/null", "--pickup", &profile]);
    stands(&run, SHOWN);
    stands(&evenhand(&["doctor", "--pickup", &profile]), SHOWN);
    let settings = format!("evenhand settings 1\nswitch-next = {EVIL}\n");
    folder.write("settings/settings.txt", settings);
    for words in [&["footswitch", "--show"][..], &["listen", &study(), "--raw", "/dev/null"]] {
        let run = Run::of(command(words).env(CONFIG, folder.path("settings")), Vec::new());
        stands(&run, SHOWN);
    }
}

#[test]
fn what_is_heard_from_and_its_study() {
    let folder = Folder::new();
    let study = turned_study(&folder);
    let notes = folder.write(EVIL, played());
    let data = folder.path("data");
    for command in ["listen", "practice"] {
        for how in [&[][..], &["--plain"]] {
            let words = [command, &study, "--raw", &notes, "--data", &data];
            let run = evenhand(&[&words, how].concat());
            stands(&run, TURNED_SHOWN);
        }
    }
    let nothing = folder.write(&format!("{EVIL}-nothing"), "");
    stands(&evenhand(&["listen", &study, "--raw", &nothing]), SHOWN);
    let broken = folder.write(&format!("{EVIL}-broken"), "no line\n");
    stands(&evenhand(&["listen", &study, "--timed", &broken]), SHOWN);
    stands(&evenhand(&["study", "show", &study]), TURNED_SHOWN);
    stands(&evenhand(&["calibrate", "--raw", &notes, "--out", &folder.path("p")]), SHOWN);
    let history = ["history", "--data", &data];
    stands(&evenhand(&history), &format!("Title of {TURNED_SHOWN}"));
    stands(&evenhand(&["pack", &study, "--out", &folder.path("turned.pack")]), "turned.pack");
    let (bench, pedal) = (Bench::default(), |cable: &str, words: &[&str]| {
        evenhand(&[&["pedal"], words, &["--device", cable, "--data", &data]].concat())
    });
    let cable = bench.plug(None);
    stands(&pedal(cable.path(), &["load", &study]), TURNED_SHOWN);
    stands(&pedal(cable.path(), &["list"]), TURNED_SHOWN);
}

#[test]
fn what_stands_in_the_log() {
    let folder = Folder::new();
    let data = folder.path("");
    Run::of(
        command(&["listen", &study(), "--raw", "-", "--data", &data]).stdout(Stdio::null()),
        played(),
    )
    .done();
    let log = kept::open(&data);
    log.execute("UPDATE attempts SET chunk = ?1, level = ?1", [EVIL]).unwrap();
    let finding = serde_json::json!([{"what": EVIL, "bearing": "fails", "beat": EVIL, "count": 1,
        "size": 1, "limit": 1, "unit": EVIL}]);
    log.execute("UPDATE attempts SET findings = ?1", [finding.to_string()]).unwrap();
    log.execute("UPDATE sittings SET study_name = ?1, who = ?1", [EVIL]).unwrap();
    stands(&evenhand(&["history", "--data", &data]), SHOWN);
    let full = evenhand(&["history", "--data", &data, "--sitting", "1"]);
    stands(&full, SHOWN);
    // In records it is the text itself.
    let events = evenhand(&["history", "--data", &data, "--events"]);
    let events = events.done().events();
    assert!(events.iter().any(|event| event["chunk"] == EVIL), "{events:?}");
}

/// Our own colours are there where there is a terminal, and no others.
#[test]
fn our_own_colours_stay() {
    use portable_pty::{CommandBuilder, PtySize, native_pty_system};
    use std::io::Read;
    let folder = Folder::new();
    let text = fs::read_to_string(turned_study(&folder)).unwrap();
    let study = folder.write(&format!("{EVIL}.study"), text);
    let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
    let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
    let seen = |words: &[&str]| {
        let mut command = CommandBuilder::new(evenhand_tests::program::path());
        command.args(words);
        command.env("TERM", "xterm-256color");
        command.env_remove("NO_COLOR");
        let mut child = pair.slave.spawn_command(command).expect("it starts");
        let mut from = pair.master.try_clone_reader().expect("its output");
        let reader = std::thread::spawn(move || {
            let mut text = String::new();
            let mut buffer = [0; 4096];
            while !text.contains("the end of it") {
                let length = from.read(&mut buffer).expect("it is read");
                text.push_str(&String::from_utf8_lossy(&buffer[..length]));
            }
            text
        });
        child.wait().expect("it ends");
        let mut end = CommandBuilder::new("echo");
        end.arg("the end of it");
        pair.slave.spawn_command(end).expect("echo").wait().expect("it ends");
        reader.join().expect("it is read")
    };
    let shown = seen(&["study", "show", &study]);
    assert!(shown.contains(&format!("\u{1b}[1m{TURNED_SHOWN}, ")), "{shown:?}");
    let ours = ["\u{1b}[1m", "\u{1b}[2m", "\u{1b}[0m", "\r\n"];
    let rest = ours.iter().fold(shown, |text, ours| text.replace(ours, ""));
    assert!(!rest.contains(acts), "{rest:?}");
    let checked = seen(&["study", "check", &study]).replace("\r\n", "\n");
    assert!(checked.contains(SHOWN) && !checked.contains(acts), "{checked:?}");
}
