//! Text that may be a study.

use evenhand::report;
use evenhand::study::{MOST_PROBLEMS, Prepared, Problem, parse, print};

/// Reads `input` as a study, prints it, reads that again, and prepares both.
///
/// # Panics
/// If what was printed is another study, if a problem lies outside the text, or if a chunk that
/// was prepared cannot be played.
pub fn study(input: &[u8]) {
    // Files that are no UTF-8 are refused before the reader sees them.
    let Ok(text) = std::str::from_utf8(input) else { return };
    let study = match parse(text) {
        Ok(study) => study,
        Err(problems) => return sensible(&problems, text),
    };
    let printed = print(&study);
    let again = match parse(&printed) {
        Ok(again) => again,
        Err(problems) => panic!("what was printed is no study: {}\n{printed}", problems[0]),
    };
    assert_eq!(study, again, "what was printed is another study:\n{printed}");
    assert_eq!(printed, print(&again), "it is not printed the same again");
    match (study.prepare(), again.prepare()) {
        (Ok(chunks), Ok(others)) => {
            assert_eq!(format!("{chunks:?}"), format!("{others:?}"));
            chunks.iter().for_each(playable);
        }
        (Err(problems), Err(others)) => {
            sensible(&problems, text);
            assert_eq!(problems.len(), others.len());
        }
        (one, other) => panic!("only one of both can be played: {one:?}\n{other:?}\n{printed}"),
    }
}

fn sensible(problems: &[Problem], text: &str) {
    assert!((1..=MOST_PROBLEMS + 1).contains(&problems.len()));
    let lines = text.replace("\r\n", "\n").replace('\r', "\n").split('\n').count();
    for problem in problems {
        assert!(problem.line as usize <= lines, "{problem} in {lines} lines");
        assert!(!problem.to_string().is_empty());
    }
}

fn playable(chunk: &Prepared) {
    assert_eq!(chunk.chunk().notes().len(), chunk.hand.len());
    assert!(!report::chunk(chunk).is_empty());
    for index in 0..chunk.alternatives.len() {
        let other = chunk.in_alternative(index).expect("it is one of them");
        assert_eq!(other.chunk().notes().len(), chunk.notes.len());
        assert!(!report::chunk(&other).is_empty());
    }
}
