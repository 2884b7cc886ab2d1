//! What is said about texts that are wrong, word for word.

use evenhand::study::{LARGEST_TEXT, MOST_CHUNKS, MOST_PROBLEMS, Problem, parse};
use std::path::Path;

/// All problems of a text, of its spelling or else of its music.
fn problems(text: &str) -> Vec<Problem> {
    match parse(text) {
        Err(problems) => problems,
        Ok(study) => study.prepare().expect_err(text),
    }
}

/// Where each is and what it says, without the line of the text.
fn said(text: &str) -> Vec<String> {
    let first_line = |p: &Problem| p.to_string().lines().next().unwrap_or_default().to_owned();
    problems(text).iter().map(first_line).collect()
}

/// The cases of one file in `study_problems`: lines of a text after `> `, then all that is
/// said about it, line by line.
fn cases(file: &str) -> Vec<(String, Vec<String>)> {
    let mut cases = Vec::new();
    for block in file.split("\n\n").skip(1) {
        let lines = || block.lines().filter(|line| !line.is_empty());
        let text: Vec<&str> = lines()
            .filter_map(|line| line.strip_prefix('>'))
            .map(|line| line.strip_prefix(' ').unwrap_or(line))
            .collect();
        let expected: Vec<String> =
            lines().filter(|line| !line.starts_with('>')).map(str::to_owned).collect();
        assert!(!expected.is_empty(), "{block}");
        cases.push((text.join("\n"), expected));
    }
    assert!(cases.len() >= 7, "{} cases", cases.len());
    cases
}

/// Checks every case, its text put into the place of `{}` in `around`.
fn assert_cases(file: &str, around: &str) {
    for (text, expected) in cases(file) {
        let whole = around.replace("{}", &text);
        assert_eq!(said(&whole), expected, "\n{whole}");
    }
}

fn assert_said(text: &str, expected: &[&str]) {
    assert_eq!(said(text), expected, "\n{text}");
}

#[test]
fn the_first_line() {
    assert_cases(include_str!("study_problems/first-line.txt"), "{}");
}

#[test]
fn lines_above_the_chunks() {
    assert_cases(
        include_str!("study_problems/settings.txt"),
        "evenhand study 1\n{}\nchunk \"A\"\n m: 1/4 5:3\n",
    );
}

#[test]
fn lines_of_voices() {
    assert_cases(
        include_str!("study_problems/voices.txt"),
        "evenhand study 1\nchunk \"A\"\n  m: {}\n",
    );
}

#[test]
fn lines_of_chunks() {
    assert_cases(include_str!("study_problems/chunks.txt"), "evenhand study 1\n{}\n");
}

#[test]
fn music_that_is_written_once() {
    assert_cases(include_str!("study_problems/music.txt"), "evenhand study 2\n{}\n");
}

#[test]
fn a_problem_shows_its_line_with_a_mark() {
    let text = "evenhand study 1\nchunk \"A\"\n\tmelody: 1/8 5:3 1/9 ^5:5\n";
    assert_eq!(
        problems(text)[0].to_string(),
        "line 3, column 18: found “1/9”, a duration such as 1/4, 1/8. or 1/16 would be right\n\
         \x20  melody: 1/8 5:3 1/9 ^5:5\n\
         \x20                  ^^^"
    );
}

#[test]
fn a_text_has_its_limits() {
    let voice = |notes: usize| format!("  m: 1/32{}\n", " 5:3".repeat(notes));
    let many = format!("evenhand study 1\nchunk \"A\"\n{}", voice(257));
    assert_eq!(said(&many).len(), 1);
    assert!(
        said(&many)[0].ends_with("found more than 256 notes in a chunk, two chunks would be right")
    );
    assert!(parse(&many.replacen(" 5:3", "", 1)).unwrap().prepare().is_ok());

    let two = "  m: 1/32".to_owned() + &" 5:3".repeat(200) + "\n  n: 1/32" + &" 4:3".repeat(200);
    assert_said(
        &format!("evenhand study 1\nchunk \"A\"\n{two}\n"),
        &["line 2, column 7: found 400 notes in “A”, \
           at most 256 with the landing, so two chunks, would be right"],
    );

    let long = format!("evenhand study 1\nchunk \"A\"\n  m: 1/1{}\n", " 5:3".repeat(86));
    assert!(
        said(&long)[0]
            .ends_with("found more than 340 quarter notes in a chunk, two chunks would be right")
    );

    let chunk = |n: usize| format!("chunk \"{n}\"\n m: 1/1 5:3\n");
    let full: String = (0..MOST_CHUNKS).map(chunk).collect();
    assert!(parse(&format!("evenhand study 1\n{full}")).unwrap().prepare().is_ok());
    assert_said(
        &format!("evenhand study 1\n{full}{}{}", chunk(900), "nonsense\n".repeat(9)),
        &[
            "line 402, column 1: found more than 200 chunks, a second study for the rest would be right",
        ],
    );

    let large = format!("evenhand study 1\n{}", "# \n".repeat(LARGEST_TEXT / 3));
    assert_said(
        &large,
        &["line 1, column 1: found a text of 1048592 bytes, at most 1048576 would be right"],
    );
}

#[test]
fn more_problems_than_anyone_mends_are_counted() {
    let text = format!("evenhand study 1\nchunk \"A\"\n m: 1/4{}\n", " x".repeat(5_000));
    let all = problems(&text);
    assert_eq!(all.len(), MOST_PROBLEMS + 1);
    let last = all.last().unwrap().to_string();
    assert!(
        last.starts_with(
            "line 3, column 109: found 4950 more problems from here on, \
             mending those above first would be right"
        ),
        "{last}"
    );
}

fn damaged(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/damaged").join(name);
    std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn damaged_files_are_told_place_by_place() {
    for (name, places) in [
        (
            "typos.study",
            &[
                (2, 1),
                (3, 21),
                (4, 9),
                (5, 9),
                (6, 9),
                (7, 9),
                (9, 1),
                (10, 11),
                (10, 29),
                (10, 35),
                (10, 54),
                (11, 3),
            ][..],
        ),
        ("wrong-bars.study", &[(6, 31), (9, 31), (13, 3)][..]),
        (
            "unplayable.study",
            &[
                (5, 19),
                (5, 29),
                (5, 38),
                (8, 19),
                (8, 23),
                (8, 28),
                (8, 32),
                (10, 20),
                (12, 7),
                (13, 11),
                (13, 11),
                (13, 26),
                (13, 30),
                (14, 11),
            ][..],
        ),
        ("other-music.study", &[(7, 25), (8, 15), (11, 40)][..]),
        ("unclosed.study", &[(1, 16), (3, 7), (4, 18), (4, 27), (4, 41), (5, 3), (6, 3)][..]),
    ] {
        let text = String::from_utf8(damaged(name)).unwrap();
        let found: Vec<_> = problems(&text).iter().map(|p| (p.line, p.column)).collect();
        assert_eq!(found, places, "{name}");
    }
}

#[test]
fn what_is_no_text_at_all_is_no_trouble() {
    let bytes = damaged("not-text.study");
    assert!(String::from_utf8(bytes.clone()).is_err());
    assert!(!problems(&String::from_utf8_lossy(&bytes)).is_empty());
}
