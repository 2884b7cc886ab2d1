//! A study that is begun by five questions.

use evenhand_tests::run::{Folder, Run, code, command, evenhand};

fn ask(file: &str, answers: &str) -> Run {
    Run::of(&mut command(&["study", "new", file, "--ask"]), answers.as_bytes().to_vec())
}

#[test]
fn five_answers_make_a_study_that_is_right_and_can_be_practised() {
    let folder = Folder::new();
    let file = folder.path("mine.study");
    let run = ask(&file, "Grey Morning\n3/4\n84\n6\n2, 5 to 6\n");
    run.done();
    assert!(run.out.contains("6 bars of open strings in 4 chunks"), "{}", run.out);
    evenhand(&["study", "check", &file]).done();
    let shown = evenhand(&["study", "show", &file]);
    shown.done();
    for chunk in ["Bar 1", "Bar 2", "Bars 3 to 4", "Bars 5 to 6"] {
        assert!(shown.out.contains(chunk), "{chunk}: {}", shown.out);
    }
    let text = std::fs::read_to_string(&file).expect("the study");
    assert!(text.contains("title   Grey Morning\n") && text.contains("tempo   84"), "{text}");
}

#[test]
fn empty_answers_are_those_in_brackets_and_wrong_ones_are_asked_again() {
    let folder = Folder::new();
    let file = folder.path("mine.study");
    ask(&file, "\n\n\n\n\n").done();
    evenhand(&["study", "check", &file]).done();
    let other = folder.path("other.study");
    let run = ask(&other, "\nfour\n4/4\n900\n72\n2\n3\n2\n");
    run.done();
    assert_eq!(run.out.matches(", please").count(), 3, "{}", run.out);
    evenhand(&["study", "check", &other]).done();
}

#[test]
fn what_is_not_answered_to_the_end_leaves_nothing() {
    let folder = Folder::new();
    let file = folder.path("mine.study");
    ask(&file, "Grey Morning\n3/4\n")
        .refused(code::INPUT, &["answered to the end", "Nothing was written"]);
    assert!(!std::path::Path::new(&file).exists());
    // Nothing is asked where it could not be written.
    folder.write("mine.study", "mine");
    let run = ask(&file, "");
    run.refused(code::OUTPUT, &["there already", "--replace"]);
    assert!(!run.out.contains('?'), "{}", run.out);
}
