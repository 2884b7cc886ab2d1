//! `evenhand history` over days that were practised through the program: its limit, days as headings, cold and
//! warm tempi, where a piece breaks, and the picture.

use evenhand_tests::days::Pupil;
use evenhand_tests::run::{Folder, code, evenhand};
use serde_json::Value;

const STUDY: &str = "evenhand study 1\ntitle \"Ferry steps\"\nmetre 4/4\ntempo 92\nlevel first\n\
    chunk \"Up\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 | 3:2 3:4 2:1 2:3 1:0 1:2 1:3 1:5 |\n\
    chunk \"Down\" at bar 3\n  m: 1/8 1:3 1:2 1:0 2:3 2:1 2:0 3:2 3:0 | 4:4 4:2 4:0 5:3 5:2 5:0 6:3 6:1 |\n";

/// Five days of so many minutes, in a folder with their study; its log is in `data`.
fn five_days(minutes: u64) -> Folder {
    let folder = Folder::new();
    let study = folder.write("ferry.study", STUDY);
    let data = folder.path("data");
    let mut pupil = Pupil::new(60.0);
    (pupil.gain, pupil.slip_at) = (1.002, 9);
    for day in [2, 3, 4, 6, 9] {
        let words = ["practice", &study, "--chunk", "Up", "--data", &data, "--by-steps"];
        let began = format!("2026-03-{day:02}T18:00");
        let practised = pupil.practise(&words, &began, &[("Ferry steps", STUDY)], minutes);
        assert_eq!(practised.errors, "");
    }
    folder
}

fn history(folder: &Folder, more: &[&str]) -> evenhand_tests::run::Run {
    evenhand(&[&["history", "--data", &folder.path("data")], more].concat())
}

#[test]
fn days_are_headings_and_only_the_latest_are_listed() {
    let folder = five_days(2);
    let run = history(&folder, &[]);
    let out = &run.done().out;
    println!("{out}");
    let heads: Vec<&str> = out.lines().filter(|line| line.ends_with(" March 2026")).collect();
    let latest = ["Wednesday, 4 March 2026", "Friday, 6 March 2026", "Monday, 9 March 2026"];
    assert_eq!(heads, latest, "{out}");
    let attempts = |out: &str| out.lines().filter(|line| line.starts_with("  18:0")).count();
    assert!(attempts(out) <= 40);
    let all = history(&folder, &["--all"]);
    let (every, listed) = (attempts(&all.done().out), attempts(out));
    assert!(every > listed, "{every} and {listed}");
    let left_out = format!("{} earlier attempts are not listed", every - listed);
    let told = out.replace("\n  ", " ");
    assert!(told.contains(&left_out) && told.contains("`--all` lists everything"), "{out}");
    assert!(!all.out.contains("not listed") && all.out.contains("Monday, 2 March 2026"));
    let since = history(&folder, &["--since", "2026-03-06"]);
    assert!(!since.done().out.contains("4 March") && !since.out.contains("not listed"));
    // A program gets all of it.
    let events = history(&folder, &["--events"]).done().events();
    let kept = events.iter().filter(|event| event["kind"] == "kept-attempt").count();
    assert_eq!(kept, every);
    assert!(out.lines().chain(all.out.lines()).all(|line| line.chars().count() <= 80), "{out}");
}

#[test]
fn of_a_study_each_piece_is_told_by_day_with_where_it_breaks_and_what_is_to_go() {
    let folder = five_days(8);
    let run = history(&folder, &["--study", "ferry steps"]);
    let out = run.done().out.clone();
    println!("{out}");
    let told = out.split_once("Ferry steps, day by day").expect("a table").1;
    assert!(told.lines().all(|line| line.chars().count() <= 80), "{told}");
    let events = history(&folder, &["--study", "Ferry steps", "--events"]).done().events();
    let days: Vec<&Value> = events.iter().filter(|event| event["kind"] == "piece-days").collect();
    let [up] = days.as_slice() else { panic!("one piece was played: {days:?}") };
    let number = |value: &Value| value.as_u64().expect("a number");
    assert_eq!((up["piece"].as_str(), number(&up["goal"])), (Some("Up"), 92));
    let (best, cold) = (up["days"].as_array().unwrap(), up["cold"].as_array().unwrap());
    assert_eq!((best.len(), cold.len()), (5, 5));
    // What the first attempt of each day was is its cold try.
    let attempts: Vec<&Value> =
        events.iter().filter(|event| event["kind"] == "kept-attempt").collect();
    for cold in cold {
        let day = cold[0].as_str().expect("a day");
        let first = attempts.iter().find(|attempt| {
            attempt["began_at"].as_str().expect("a time").starts_with(day)
                && attempt["chunk"] == "Up"
                && attempt["verdict"] != "unclear"
        });
        let first = first.expect("an attempt of that day");
        assert_eq!(cold[2] == true, first["verdict"] == "passed", "{cold} {first}");
        assert_eq!(
            number(&cold[1]),
            number(&first["practised_hundredths"]).div_ceil(100),
            "{cold}"
        );
    }
    // In the table as in the events.
    let lines: Vec<&str> = told.lines().filter(|line| line.contains("  cold ")).collect();
    assert_eq!(lines.len(), 5);
    for ((line, cold), best) in lines.iter().zip(cold).zip(best) {
        let mark = if cold[2] == true { 'o' } else { 'x' };
        assert!(line.contains(&format!("cold {:>3} {mark}", number(&cold[1]))), "{line} {cold}");
        assert!(line.contains(&format!("warm {:>3}", number(&best[1]))), "{line} {best}");
    }
    let to_go = number(&up["to_go"]);
    assert_eq!(to_go, 92 - number(&up["fastest"]));
    assert!(told.contains(&format!("{to_go} beats a minute to go.")), "{told}");
    // Notes ten to thirteen were wrong each time: the second bar, its second half.
    let breaks = &up["breaks"];
    assert_eq!((number(&breaks["bar"]), breaks["beat"].as_str()), (2, Some("1 1/2")), "{up}");
    assert!(told.contains("It breaks most at bar 2, the “and” of 1"), "{told}");
    assert!(told.contains("Not played yet: “Down”."), "{told}");
}

#[test]
fn the_days_are_drawn_into_a_picture_that_is_whole_or_not_there() {
    let folder = five_days(8);
    let file = folder.path("ferry.svg");
    let words = ["--study", "ferry", "--svg", &file];
    history(&folder, &words).done();
    let svg = std::fs::read_to_string(&file).expect("a picture");
    // Each day is there: five warm discs and five cold marks beside the three of the legend.
    let of = |class: &str| svg.matches(&format!("class=\"{class}\"")).count();
    assert_eq!((of("disc"), of("open"), of("goal")), (6, 7, 1), "{svg}");
    assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>\n"));
    assert!(svg.contains("Ferry steps, day by day") && svg.contains("2 March 2026"));
    // Nothing takes the place of what is there unasked, nor of what is no picture.
    history(&folder, &words).refused(code::OUTPUT, &["ferry.svg", "--replace"]);
    history(&folder, &[&words[..], &["--replace"]].concat()).done();
    let study = folder.path("ferry.study");
    history(&folder, &["--study", "ferry", "--svg", &study, "--replace"])
        .refused(code::USAGE, &["no name for a picture", ".svg"]);
    assert_eq!(std::fs::read_to_string(&study).expect("it is there"), STUDY);
    let run = history(&folder, &["--svg", &file]);
    assert!(run.code == code::USAGE && run.err.contains("--study"), "{run:?}");
}

#[test]
fn what_is_nowhere_is_told_with_the_nearest() {
    let folder = five_days(2);
    for (words, near) in [
        (&["--study", "Fery steps"][..], "Did you mean “Ferry steps”?"),
        (&["--chunk", "Upp"], "Did you mean “Up”?"),
        (&["--study", "flageolet"], "In it: Ferry steps."),
    ] {
        history(&folder, words).refused(code::USAGE, &[near]);
    }
    let run = evenhand(&["history", "--data", &folder.path("dta")]);
    run.refused(
        code::INPUT,
        &["there is no folder", &format!("Did you mean {}?", folder.path("data"))],
    );
    // A day of somebody with a name: whose is meant is asked only where there are several.
    let study = folder.path("ferry.study");
    for who in ["Nora", "Ilse"] {
        let data = folder.path("data");
        let words = ["practice", &study, "--chunk", "Up", "--data", &data, "--for", who];
        Pupil::new(60.0).practise(&words, "2026-03-10T18:00", &[("Ferry steps", STUDY)], 2);
    }
    history(&folder, &["--for", "Norra"]).refused(code::USAGE, &["Did you mean “Nora”?"]);
    let run = history(&folder, &["--chunk", "Up", "--for", "nora"]);
    assert!(run.done().out.contains("“Up”, goal 92"), "{}", run.out);
    assert!(run.out.contains("10 Mar 2026") && !run.out.contains("9 Mar 2026"), "{}", run.out);
}
