//! A course over a year, laid over days that were practised through the program.

use evenhand_tests::days::Pupil;
use evenhand_tests::run::{Folder, Run, code, evenhand};
use serde_json::Value;

const FALLS: &str = "evenhand study 1\ntitle \"Falls\"\nmetre 4/4\ntempo 110\nlevel first\n\
    chunk \"Spray\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 | 3:2 3:4 2:1 2:3 1:0 1:2 1:3 1:5 |\n";
const MOOR: &str = "evenhand study 1\ntitle \"Moor\"\nmetre 4/4\ntempo 80\nlevel first\n\
    chunk \"Peat\" at bar 1\n  m: 1/8 1:7 1:5 1:3 1:1 1:0 2:3 2:1 2:0 |\n";

const COURSE: &str = "evenhand course 1\ntitle A spring\n\nstudy \"Falls\" from 2026-03-01 to 2026-03-20\n  \
    50 % by 2026-03-10\n\nstudy moor.study from 2026-03-21 to 2026-06-01\n";

/// Nine days with Falls, which gets faster by a few beats each day.
fn nine_days() -> Folder {
    let folder = Folder::new();
    std::fs::create_dir(folder.path("studies")).expect("room for it");
    let falls = folder.write("studies/falls.study", FALLS);
    folder.write("studies/moor.study", MOOR);
    folder.write("spring.course", COURSE);
    let data = folder.path("data");
    for day in 2..=10 {
        // What is clean rises by a fortieth a day.
        let mut pupil = Pupil::new(62.0 * 1.025_f64.powi(day));
        pupil.gain = 1.0;
        let words = ["practice", &falls, "--data", &data, "--by-steps"];
        let began = format!("2026-03-{day:02}T18:00");
        let practised = pupil.practise(&words, &began, &[("Falls", FALLS)], 6);
        assert_eq!(practised.errors, "");
    }
    folder
}

fn run(folder: &Folder, words: &[&str]) -> Run {
    evenhand(&[words, &["--data", &folder.path("data")]].concat())
}

fn course_events(run: &Run) -> Vec<Value> {
    let events = run.done().events();
    events.into_iter().filter(|event| event["kind"] == "course").collect()
}

#[test]
fn what_slips_is_told_with_what_is_to_go_and_how_late_only_where_the_rate_is_known() {
    let folder = nine_days();
    let (studies, course) = (folder.path("studies"), folder.path("spring.course"));
    let today = |day: &str, more: &[&str]| {
        run(&folder, &[&["today", &studies, "--course", &course, "--on", day], more].concat())
    };
    let events = course_events(&today("2026-03-11", &["--events"]));
    let [falls, moor] = events.as_slice() else { panic!("two studies: {events:?}") };
    println!("{falls}");
    // The half was reached; the whole is next, by the day on which it ends.
    assert_eq!(
        (falls["stands"].as_str(), falls["percent"].as_u64()),
        (Some("under-way"), Some(100))
    );
    assert_eq!(
        (falls["by"].as_str(), moor["stands"].as_str()),
        (Some("2026-03-20"), Some("later"))
    );
    let (left, late) =
        (falls["to_go"].as_u64().unwrap(), falls["days_late"].as_i64().expect("a rate"));
    assert!(left > 10 && falls["there"].is_string());
    let told = today("2026-03-11", &[]).done().out.replace("\n    ", " ");
    println!("{told}");
    assert!(told.contains("A spring\n"), "{told}");
    let words = format!(
        "Falls is to be at its goal by 20 March 2026: {left} beats a minute to go in “Spray”"
    );
    assert!(told.contains(&words), "{told}");
    assert!(late > 0 && told.contains(" late at this rate."), "{late} {told}");
    assert!(told.contains("Moor begins on 21 March 2026."), "{told}");
    // Nothing of a study is new before it begins.
    assert!(!told.contains("Peat") && today("2026-03-21", &[]).done().out.contains("“Peat”: new"));
    let without = run(&folder, &["today", &studies, "--on", "2026-03-11"]);
    assert!(without.done().out.contains("“Peat”: new"), "{}", without.out);
    // Who has not played for weeks has no rate, but what is to go.
    let late = today("2026-04-20", &[]).done().out.replace("\n    ", " ");
    let words = format!(
        "Falls was to be at its goal by 20 March 2026: {left} beats a minute to go in “Spray”; at what rate is not known yet."
    );
    assert!(late.contains(&words), "{late}");
    assert!(
        late.contains("Moor is to be at its goal by 1 June 2026: nothing of it begun."),
        "{late}"
    );
    // History says the same.
    let history = run(&folder, &["history", "--course", &course, "--on", "2026-03-11", "--events"]);
    assert_eq!(course_events(&history)[0], *falls);
    let told = run(&folder, &["history", "--course", &course, "--on", "2026-04-20"]);
    assert!(told.done().out.replace("\n    ", " ").contains(&words), "{}", told.out);
}

#[test]
fn a_course_that_is_not_right_is_refused_with_its_line() {
    let folder = Folder::new();
    folder.write("falls.study", FALLS);
    let of = |text: &str| {
        let course = folder.write("spring.course", text);
        run(&folder, &["today", &folder.path(""), "--course", &course])
    };
    of("evenhand course 1\nstudy Fals from 2026-03-01 to 2026-03-20\n").refused(
        code::STUDY,
        &["spring.course, line 2", "no study “Fals”", "Did you mean “Falls”?"],
    );
    of("evenhand course 1\nstudy Falls from 2026-04-05 to 2026-03-01\nstudie x\n").refused(
        code::STUDY,
        &["2 problems", "line 2: it ends on 2026-03-01", "line 3", "did you mean `study`?"],
    );
    of("").refused(code::STUDY, &["the text is empty"]);
    of("evenhand course 1\nstudy Falls from 2026-03-01 to 2026-04-05\n").done();
    let run = run(&folder, &["today", &folder.path(""), "--course", &folder.path("none.course")]);
    run.refused(code::INPUT, &["none.course"]);
}
