//! Files that are not there, not files, or not for everyone.

use evenhand_tests::run::{Folder, bundled, code, evenhand};
use std::fs::{self, File, Permissions};
use std::os::unix::fs::PermissionsExt;

/// Every way to name a file, with the code of a refusal and what the file is called there.
fn everywhere(path: &str) -> Vec<(Vec<String>, i32, &'static str)> {
    let (study, good) =
        (bundled("studies/small.study"), bundled("performances/bells-one-clean.mid"));
    let (study, good) = (study.as_str(), good.as_str());
    let row = |arguments: &[&str], code, what| {
        (arguments.iter().map(|&argument| argument.to_owned()).collect(), code, what)
    };
    vec![
        row(&["study", "check", path], code::INPUT, "study"),
        row(&["study", "show", path], code::INPUT, "study"),
        row(&["judge", path, good], code::INPUT, "study"),
        row(&["listen", path, "--raw", "-"], code::INPUT, "study"),
        row(&["judge", study, path], code::INPUT, "recording"),
        row(&["judge", "--expected", good, "--played", path], code::INPUT, "recording"),
        row(&["judge", "--expected", path, "--played", good], code::INPUT, "score"),
        row(&["listen", study, "--raw", path], code::LIVE, "listen to"),
    ]
}

#[test]
fn a_missing_file_is_named() {
    let folder = Folder::new();
    let missing = folder.path("nowhere");
    for (arguments, code, what) in everywhere(&missing) {
        evenhand(&arguments).refused(code, &[&missing, what, "No such file", "Check the name"]);
    }
}

#[test]
fn a_folder_is_called_a_folder() {
    let folder = Folder::new();
    let path = folder.path("a folder");
    fs::create_dir(&path).expect("a folder can be made");
    for (arguments, code, what) in everywhere(&path) {
        evenhand(&arguments).refused(code, &[&path, what, "is a folder", "Name "]);
    }
}

#[test]
fn a_file_that_may_not_be_read_is_told_so() {
    let folder = Folder::new();
    let path = folder.write("secret", "");
    fs::set_permissions(&path, Permissions::from_mode(0o000)).expect("they are ours");
    // The superuser reads everything; then it is an empty file like any other.
    let readable = File::open(&path).is_ok();
    for (arguments, code, what) in everywhere(&path) {
        let run = evenhand(&arguments);
        match (readable, what) {
            (false, _) => {
                run.refused(code, &[&path, what, "Permission denied"]);
            }
            (true, "study") => {
                run.refused(code::STUDY, &[&path, "line 1, column 1", "evenhand study 1"]);
            }
            (true, "listen to") => assert!(run.done().out.contains("No notes in it"), "{run:?}"),
            (true, _) => {
                run.refused(code::INPUT, &[&path, "is empty"]);
            }
        }
    }
}

#[test]
fn names_that_are_no_text_are_no_trouble() {
    use std::os::unix::ffi::OsStrExt;
    let folder = Folder::new();
    let name = std::ffi::OsStr::from_bytes(b"lamp-\xff.study");
    let path = folder.as_ref().join(name);
    fs::copy(bundled("studies/small.study"), &path).expect("a file can be copied");
    let run = evenhand(&["study".as_ref(), "check".as_ref(), path.as_os_str()]);
    assert!(run.done().out.contains(": right (one chunk, 8 notes)"), "{run:?}");
}

/// Of several files one that is wrong does not keep the others from being looked at.
#[test]
fn every_study_that_is_checked_is_told_of() {
    let folder = Folder::new();
    let (missing, empty) = (folder.path("nowhere"), folder.write("empty.study", ""));
    let good = bundled("studies/small.study");
    let run = evenhand(&["study", "check", &missing, &good, &empty]);
    assert!(run.out.contains(&format!("{good}: right")), "{run:?}");
    run.refused(code::STUDY, &[&missing, "No such file", &empty, "line 1, column 1"]);
}
