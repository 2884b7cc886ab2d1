//! Four days over three studies, practised through the program as a user would: each evening what is due, in
//! one go. How each day begins, what the list says of it, and how history shows it.

use evenhand_tests::days::{Practised, Pupil};
use evenhand_tests::run::{Folder, evenhand};
use serde_json::Value;

/// Two chunks that follow each other; a figure, and the same figure on other strings in a study of its own.
const FERRY: &str = "evenhand study 1\ntitle \"Ferry steps\"\nmetre 4/4\ntempo 92\nlevel first\n\
    chunk \"Up\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 | 3:2 3:4 2:1 2:3 1:0 1:2 1:3 1:5 |\n\
    chunk \"Down\" at bar 3\n  m: 1/8 1:3 1:2 1:0 2:3 2:1 2:0 3:2 3:0 | 4:4 4:2 4:0 5:3 5:2 5:0 6:3 6:1 |\n";
const GORSE: &str = "evenhand study 1\ntitle \"Gorse\"\nmetre 4/4\ntempo 80\nlevel first\n\
    chunk \"Prickle\" at bar 1\n  m: 1/8 5:0 5:2 5:3 4:0 5:3 5:2 5:0 4:2 | 5:0 5:3 4:2 5:3 4:0 5:2 5:3 5:0 |\n";
const HEATH: &str = "evenhand study 1\ntitle \"Heath\"\nmetre 4/4\ntempo 84\nlevel first\n\
    chunk \"Bloom\" at bar 1\n  m: 1/8 6:0 6:2 6:3 5:0 6:3 6:2 6:0 5:2 | 6:0 6:3 5:2 6:3 5:0 6:2 6:3 6:0 |\n";

const STUDIES: [(&str, &str); 3] = [("Ferry steps", FERRY), ("Gorse", GORSE), ("Heath", HEATH)];

struct Week {
    folder: Folder,
    pupil: Pupil,
}

impl Week {
    fn new() -> Self {
        let folder = Folder::new();
        std::fs::create_dir(folder.path("studies")).expect("room for it");
        for (name, text) in [("ferry", FERRY), ("gorse", GORSE), ("heath", HEATH)] {
            folder.write(&format!("studies/{name}.study"), text);
        }
        Self { folder, pupil: Pupil::new(70.0) }
    }

    /// What is due on a day: study, piece, and why.
    fn due(&self, day: &str) -> Vec<(String, String, String)> {
        let (studies, data) = (self.folder.path("studies"), self.folder.path("data"));
        let run = evenhand(&[
            "today",
            &studies,
            "--data",
            &data,
            "--on",
            day,
            "--events",
            "--minutes",
            "40",
        ]);
        let text = |event: &Value, field: &str| event[field].as_str().expect("a text").to_owned();
        let events = run.done().events();
        let due = events.iter().filter(|event| event["kind"] == "due");
        due.map(|due| (text(due, "study"), text(due, "piece"), text(due, "reason"))).collect()
    }

    /// An evening with what is due.
    fn evening(&mut self, day: &str, more: &[&str]) -> Practised {
        let (studies, data) = (self.folder.path("studies"), self.folder.path("data"));
        let words = ["practice", "--today", &studies, "--minutes", "40", "--data", &data];
        let began = format!("{day}T18:30");
        let practised = self.pupil.practise(&[&words[..], more].concat(), &began, &STUDIES, 70);
        assert_eq!(practised.errors, "");
        practised
    }
}

/// The studies of an evening with their minutes, the warm-up's without.
fn portions(evening: &Practised) -> Vec<(String, Option<u64>)> {
    let of = |event: &&Value| {
        let minutes = event["minutes"].as_u64();
        assert_eq!(event["warm_up"] == true, minutes.is_none(), "{event}");
        (event["study"].as_str().expect("a name").to_owned(), minutes)
    };
    evening.of("practised-study").iter().map(of).collect()
}

fn reason(step: &Value) -> String {
    match &step["reason"] {
        Value::String(word) => word.clone(),
        Value::Object(fields) => fields.keys().next().expect("a word").clone(),
        other => panic!("no reason: {other}"),
    }
}

fn words(step: &Value) -> String {
    let sentences = step["sentences"].as_array().expect("sentences");
    sentences.iter().map(|one| one.as_str().expect("a text")).collect::<Vec<_>>().join(" ")
}

#[test]
fn four_days_begin_as_the_rules_say_and_the_list_and_history_follow() {
    let mut week = Week::new();
    let data = week.folder.path("data");
    let named = |due: &[(String, String, String)], reason: &str| -> Vec<String> {
        due.iter().filter(|one| one.2 == reason).map(|one| one.1.clone()).collect()
    };

    // The first day: everything is new, nothing to warm up on. The twin of the second is not the last.
    let due = week.due("2026-03-02");
    assert_eq!(named(&due, "new"), ["Prickle", "Bloom", "Up", "Down"], "{due:?}");
    assert_eq!(due.len(), 4);
    let first = week.evening("2026-03-02", &[]);
    let of_first = portions(&first);
    println!("first day: {of_first:?}, {} minutes", first.minutes);
    let names: Vec<&str> = of_first.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["Gorse", "Heath", "Ferry steps"]);
    assert_eq!(of_first[2].1, Some(16), "two new pieces of eight minutes");
    let begins = first.of("step")[0];
    assert_eq!(reason(begins), "begin");
    assert!(
        words(begins).starts_with("“Gorse”, for 8 minutes. “Prickle”, slowly to begin with"),
        "{begins}"
    );
    assert!(first.of("step").iter().all(|step| !words(step).contains("cold")), "nothing was known");
    assert!(
        week.due("2026-03-02").iter().all(|one| one.2 == "new" || one.2 == "keep"),
        "all had its turn"
    );

    // The second: it begins with something easy, slowly, from another study than what comes first.
    let due = week.due("2026-03-03");
    println!("second day: {due:?}");
    assert!(
        due.iter().any(|one| ["below-goal", "keep", "join"].contains(&one.2.as_str())),
        "{due:?}"
    );
    let second = week.evening("2026-03-03", &[]);
    let of_second = portions(&second);
    println!("{of_second:?}, {} minutes", second.minutes);
    assert_eq!(of_second[0].1, None, "a warm-up first");
    let steps = second.of("step");
    assert!(
        reason(steps[0]) == "warm-up" && words(steps[0]).starts_with("To warm up, “"),
        "{}",
        steps[0]
    );
    let warms = steps.iter().take_while(|step| reason(step) == "warm-up").count();
    assert!((1..=4).contains(&warms), "{warms}");
    // Then the first of the list, below where it was clean, and its first try is told as cold.
    assert!(words(steps[warms]).contains("first as it comes"), "{}", steps[warms]);
    assert!(words(steps[warms]).contains("minutes. "), "{}", steps[warms]);
    let cold = words(steps[warms + 1]);
    assert!(cold.starts_with("Clean cold at ") || cold.starts_with("Cold, "), "{cold}");
    // A second sitting on the same day needs no warm-up.
    let study = week.folder.path("studies/ferry.study");
    let again = ["practice", &study, "--data", &data];
    let again = week.pupil.practise(&again, "2026-03-03T21:00", &STUDIES[..1], 1);
    assert!(again.of("step").iter().all(|step| reason(step) != "warm-up"));

    // The third evening by steps: no warm-up, no leaps.
    let third = week.evening("2026-03-04", &["--by-steps"]);
    assert!(
        third.of("step").iter().all(|step| !["warm-up", "leap"].contains(&reason(step).as_str()))
    );

    // Ten weeks later: lower than after a night, said.
    let due = week.due("2026-05-13");
    println!("fourth day: {due:?}");
    let fourth = week.evening("2026-05-13", &[]);
    let away =
        fourth.of("step").into_iter().find(|step| words(step).contains("not played for ten weeks"));
    let away = away.expect("something was not played for ten weeks");
    println!("{}", words(away));

    // History: four days, each with its cold tries; the warm-up is no try at its piece.
    let events = evenhand(&["history", "--data", &data, "--events", "--study", "Ferry steps"])
        .done()
        .events();
    let days: Vec<&Value> = events.iter().filter(|event| event["kind"] == "piece-days").collect();
    assert!(days.len() >= 2, "{days:?}");
    let up = days.iter().find(|days| days["piece"] == "Up").expect("it was played");
    let cold: Vec<&str> = up["cold"]
        .as_array()
        .expect("days")
        .iter()
        .map(|day| day[0].as_str().expect("a day"))
        .collect();
    assert!(cold.starts_with(&["2026-03-02", "2026-03-03"]), "{cold:?}");
    let all = evenhand(&["history", "--data", &data, "--all"]);
    let out = &all.done().out;
    for day in ["Monday, 2 March", "Tuesday, 3 March", "Wednesday, 4 March", "Wednesday, 13 May"] {
        assert_eq!(out.matches(&format!("{day} 2026\n")).count(), 1, "{day}");
    }
    assert!(out.contains(", to warm up"), "{out}");
    let log = evenhand_tests::kept::open(&data);
    let sittings = evenhand_tests::kept::number(&log, "SELECT COUNT(*) FROM sittings");
    let begun = [&first, &second, &third, &fourth]
        .map(|evening| portions(evening).len())
        .iter()
        .sum::<usize>();
    assert_eq!(sittings, begun as i64 + 1, "each study is a sitting of its own");
    // Each is dated by the stream that was practised to, not by the clock of this computer.
    let undated = "SELECT COUNT(*) FROM sittings WHERE ended_at < began_at OR ended_at > \
                   strftime('%Y-%m-%dT%H:%M:%fZ', began_at, '+2 hours')";
    assert_eq!(evenhand_tests::kept::number(&log, undated), 0);
}
