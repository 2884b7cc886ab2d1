//! Where the log is, and where nothing is.

use evenhand_tests::kept;
use evenhand_tests::looping::{Looping, study};
use evenhand_tests::run::{DATA, Folder, Run, code, command};
use std::process::Command;
use std::time::Duration;

fn listen(set: impl FnOnce(&mut Command), more: &[&str]) -> Run {
    let mut bytes = Vec::new();
    Looping::new(7, Duration::ZERO).attempt(&mut bytes).unwrap();
    let mut command = command(&[&["listen", &study(), "--raw", "-"], more].concat());
    set(&mut command);
    Run::of(&mut command, bytes)
}

fn is_empty(folder: &Folder) -> bool {
    std::fs::read_dir(folder).unwrap().next().is_none()
}

#[test]
fn the_users_own_folder_is_touched_only_where_nothing_else_is_said() {
    let (home, elsewhere) = (Folder::new(), Folder::new());
    let at_home = |command: &mut Command| {
        command.env("HOME", home.path("")).env_remove("XDG_DATA_HOME");
    };
    // As the tests start it.
    listen(at_home, &[]).done();
    assert!(is_empty(&home));
    let told = |command: &mut Command| {
        at_home(command);
        command.env(DATA, elsewhere.path("told"));
    };
    listen(told, &[]).done();
    listen(told, &["--data", &elsewhere.path("asked")]).done();
    for folder in ["told", "asked"] {
        let log = kept::open(elsewhere.path(folder));
        assert_eq!(kept::number(&log, "SELECT count(*) FROM attempts"), 1, "{folder}");
    }
    let untold = |command: &mut Command| {
        at_home(command);
        command.env_remove(DATA);
    };
    listen(untold, &["--no-log"]).done();
    assert!(is_empty(&home));
    listen(untold, &[]).done();
    if cfg!(target_os = "linux") {
        kept::open(home.path(".local/share/evenhand"));
    } else {
        assert!(!is_empty(&home));
    }
}

#[test]
fn who_plays_is_a_name() {
    for name in ["", "   ", "a\u{7}b", &"x".repeat(41)] {
        let run = listen(|_| (), &["--for", name]);
        assert_eq!(run.code, code::USAGE, "{run:?}");
        assert!(run.err.contains("--for <NAME>"), "{run:?}");
    }
    let folder = Folder::new();
    listen(|_| (), &["--for", "  pupil   ä ", "--data", &folder.path("")]).done();
    let log = kept::open(&folder);
    let who: String = log.query_row("SELECT who FROM sittings", [], |row| row.get(0)).unwrap();
    assert_eq!(who, "pupil ä");
}
