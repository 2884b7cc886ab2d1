//! Studies that are text, and no studies.

use evenhand_tests::run::{Folder, bundled, code, evenhand};

#[test]
fn a_study_without_content_says_what_its_first_line_would_be() {
    let folder = Folder::new();
    let good = bundled("performances/bells-one-clean.mid");
    for text in ["", "\n", "   \n\n# only a comment\n", "\u{feff}"] {
        let empty = folder.write("empty.study", text);
        let words = [empty.as_str(), "line ", ", column ", "evenhand study 1", "would be right"];
        evenhand(&["study", "check", &empty]).refused(code::STUDY, &words);
        evenhand(&["study", "show", &empty]).refused(code::STUDY, &words);
        evenhand(&["judge", &empty, &good]).refused(code::STUDY, &words);
        evenhand(&["listen", &empty, "--raw", "-"]).refused(code::STUDY, &words);
    }
}

#[test]
fn a_study_without_chunks_is_no_study() {
    let folder = Folder::new();
    for text in ["evenhand study 1", "evenhand study 1\ntitle Nothing\n"] {
        let bare = folder.write("bare.study", text);
        let words = [bare.as_str(), "line ", ", column ", "chunk"];
        evenhand(&["study", "check", &bare]).refused(code::STUDY, &words);
    }
    let silent = "evenhand study 1\nchunk \"Silence\"\n  melody: 1/4 rest rest\n";
    let silent = folder.write("silent.study", silent);
    let words = [silent.as_str(), "line ", ", column "];
    evenhand(&["study", "check", &silent]).refused(code::STUDY, &words);
}

#[test]
fn one_line_of_a_million_characters_is_told_in_few() {
    let folder = Folder::new();
    for line in ["x".repeat(1_000_000), "(".repeat(1_000_000), "1/8 ".repeat(250_000)] {
        let text = format!("evenhand study 1\nchunk \"A\"\n  melody: {line}\n");
        let long = folder.write("long.study", text);
        let run = evenhand(&["study", "check", &long]);
        run.refused(code::STUDY, &[&long, "line ", ", column "]);
        // 50 problems are told at most, each in three short lines.
        assert!(run.err.chars().count() < 50 * 500, "{} characters", run.err.len());
    }
}
