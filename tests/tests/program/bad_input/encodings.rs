//! Studies that are text, but not in UTF-8, or hardly text at all.

use evenhand_tests::performances::STUDY;
use evenhand_tests::run::{Folder, code, evenhand};

fn utf_16(text: &str, mark: bool, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
    let mark = if mark { "\u{feff}" } else { "" };
    mark.encode_utf16().chain(text.encode_utf16()).flat_map(bytes).collect()
}

#[test]
fn a_study_in_utf_16_is_refused_with_its_place() {
    let folder = Folder::new();
    let ways: [fn(u16) -> [u8; 2]; 2] = [u16::to_le_bytes, u16::to_be_bytes];
    for bytes in ways {
        let wide = folder.write("wide.study", utf_16(STUDY, true, bytes));
        let run = evenhand(&["study", "check", &wide]);
        let words = [wide.as_str(), "is not text", "line 1, column 1 ", "plain text in UTF-8"];
        run.refused(code::STUDY, &words);
        // Without its mark it is UTF-8 with zero bytes in between.
        let bare = folder.write("bare.study", utf_16(STUDY, false, bytes));
        let run = evenhand(&["study", "check", &bare]);
        run.refused(code::STUDY, &[&bare, "line 1, column 1: ", "would be right"]);
        assert!(!run.err.contains('\0'), "a terminal would be disturbed by {run:?}");
    }
}

#[test]
fn a_study_in_latin_1_is_refused_with_its_place() {
    let folder = Folder::new();
    let text =
        "evenhand study 1\ntitle  Kai der Lampen\n# H\u{f6}he\nchunk \"A\"\n melody: 1/4 1:0\n";
    let latin: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    let latin = folder.write("latin.study", latin);
    let words = [latin.as_str(), "is not text", "line 3, column 4 ", "plain text in UTF-8"];
    evenhand(&["study", "check", &latin]).refused(code::STUDY, &words);
    let right = folder.write("right.study", text);
    evenhand(&["study", "check", &right]).done();
}

#[test]
fn marks_and_line_ends_of_other_systems_are_right() {
    let folder = Folder::new();
    for text in [
        format!("\u{feff}{STUDY}"),
        STUDY.replace('\n', "\r\n"),
        STUDY.replace('\n', "\r"),
        STUDY.trim_end().to_owned(),
    ] {
        let study = folder.write("other.study", text);
        let run = evenhand(&["study", "check", &study]);
        assert_eq!(run.done().out, format!("{study}: right (15 chunks, 184 notes)\n"));
    }
}
