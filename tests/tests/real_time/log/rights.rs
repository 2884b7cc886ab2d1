//! What was played and what is remembered is the user's own: others cannot read it, and what
//! stands in its place is on the disk.

use super::trouble::played;
use evenhand_tests::kept;
use evenhand_tests::looping::study;
use evenhand_tests::program;
use evenhand_tests::run::{CONFIG, Folder, Run};
use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt;
use std::process::{Command, Stdio};

/// A foot switch is pressed.
const PRESS: &str =
    "1000000 b0 40 7f\n1100000 b0 40 00\n3000000 b0 41 7f\n3100000 b0 41 00\n4000000\n";

fn mode(path: &str) -> u32 {
    fs::metadata(path).unwrap_or_else(|error| panic!("{path}: {error}")).permissions().mode()
        & 0o777
}

fn loosen(path: &str, mode: u32) {
    fs::set_permissions(path, Permissions::from_mode(mode)).unwrap();
}

/// The program for a user whose new files everybody may read.
fn open_handed(folder: &Folder, words: &[&str]) -> Command {
    let mut command = Command::new("sh");
    command.args(["-c", "umask 022; exec \"$@\"", "sh"]).arg(program::path()).args(words);
    command.env(CONFIG, folder.path("settings")).stdout(Stdio::piped());
    command
}

#[test]
fn what_is_new_is_the_users_alone() {
    let folder = Folder::new();
    let data = folder.path("far/data");
    let listen = ["listen", &study(), "--raw", "-", "--data", &data];
    Run::of(&mut open_handed(&folder, &listen), played(1)).done();
    for (path, expected) in [("far", 0o700), ("far/data", 0o700), ("far/data/log.sqlite", 0o600)] {
        assert_eq!(mode(&folder.path(path)), expected, "{path}");
    }
    let learn = ["footswitch", "--timed", "-"];
    Run::of(&mut open_handed(&folder, &learn), PRESS.into()).done();
    for (path, expected) in [("settings", 0o700), ("settings/settings.txt", 0o600)] {
        assert_eq!(mode(&folder.path(path)), expected, "{path}");
    }
}

#[test]
fn what_was_there_is_made_so_and_works_as_before() {
    let folder = Folder::new();
    let data = folder.path("data");
    let log = folder.path("data/log.sqlite");
    let listen = ["listen", &study(), "--raw", "-", "--data", &data];
    let run = |words: &[&str], input| Run::of(&mut open_handed(&folder, words), input);
    run(&listen, played(1)).done();
    loosen(&log, 0o644);
    run(&listen, played(1)).done();
    assert_eq!(mode(&log), 0o600);
    // To look back is enough, and a log that may only be read stays one.
    for (loose, tight) in [(0o664, 0o600), (0o444, 0o400)] {
        loosen(&log, loose);
        run(&["history", "--data", &data], Vec::new()).done();
        assert_eq!(mode(&log), tight);
    }
    assert_eq!(kept::number(&kept::open(&data), "SELECT count(*) FROM attempts"), 2);
    run(&["footswitch", "--timed", "-"], PRESS.into()).done();
    let settings = folder.path("settings/settings.txt");
    loosen(&settings, 0o644);
    run(&["footswitch", "--show"], Vec::new()).done();
    assert_eq!(mode(&settings), 0o600);
}

/// The system's calls in order, where the machine has a program that lists them.
#[test]
fn settings_are_on_the_disk_before_they_stand_in_their_place() {
    let folder = Folder::new();
    let calls = folder.path("calls");
    let mut traced = Command::new("strace");
    traced.args([
        "-f",
        "-y",
        "-e",
        "trace=fsync,fdatasync,rename,renameat,renameat2",
        "-o",
        &calls,
    ]);
    let probe = Command::new("strace").args(["-o", "/dev/null", "true"]).output();
    if !probe.is_ok_and(|output| output.status.success()) {
        eprintln!("this machine does not list a program's calls; their order is not looked at");
        return;
    }
    traced.arg(program::path()).args(["footswitch", "--timed", "-"]);
    traced.env(CONFIG, folder.path("settings")).stdout(Stdio::piped());
    Run::of(&mut traced, PRESS.into()).done();
    let calls = fs::read_to_string(&calls).unwrap();
    let of = |line: &&str| line.contains("/settings");
    let calls: Vec<&str> = calls.lines().filter(of).collect();
    let [file, renamed, above] = calls.as_slice() else { panic!("{calls:#?}") };
    assert!(file.contains("sync(") && file.contains("settings.txt."), "{file}");
    assert!(renamed.contains("rename"), "{renamed}");
    assert!(above.contains("sync(") && above.contains("/settings>"), "{above}");
}
