//! Whatever the program is given, it says what is wrong, where, and what to do, or judges what
//! there is; it never panics and never takes more memory than it needs.

mod big;
mod encodings;
mod made;
mod midi_scores;
mod musicxml;
mod noise;
mod options;
mod output;
mod places;
mod recordings;
mod scores;
mod streams;
mod studies;

use evenhand_tests::run::{Folder, Run, bounded_in_time, code};

/// What a score that is refused may take: memory in KiB, and seconds of processor time.
const MOST: u32 = 100 * 1024;
const SECONDS: u32 = 1;

/// Each of these files (its name, its content, and a word of why) makes no study, at once and in little memory.
fn no_study_comes_of(files: Vec<(&str, Vec<u8>, &str)>) {
    let folder = Folder::new();
    for (name, content, word) in files {
        let path = folder.write(name, content);
        let out = folder.path("out.study");
        let arguments = ["study", "import", &path, "--out", &out];
        let run = Run::of(&mut bounded_in_time(MOST, SECONDS, &arguments), Vec::new());
        run.refused(code::INPUT, &[&path, word]);
        assert!(!std::path::Path::new(&out).exists(), "{name}");
    }
}
