//! A stream that tells the time may be silent for as long as it likes: nothing is judged otherwise
//! for it, and it is passed over in one step. Were it passed over bit by bit, the longest one here
//! would take days, and the run would be given up.

use evenhand_core::player::{Fault, Skill, perform};
use evenhand_tests::run::{Folder, Run, command};
use evenhand_tests::told;
use serde_json::Value;

const STUDY: &str = "evenhand study 1\ntitle Two bars\nmetre 4/4\ntempo 100\nlevel first\n\
     chunk \"One\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 |\n";

/// A minute, a year, and ten thousand years.
const SILENCES: [u64; 3] = [60_000_000, 31_536_000_000_000, 315_360_000_000_000_000];

/// Attempts, with this silence after each.
fn lines(silence: u64) -> String {
    let chunk = evenhand::study::parse(STUDY).expect("a study").prepare().expect("it").remove(0);
    let tempo = chunk.tempo.at_per_mille(600);
    let faults = [Fault::Wrong { note: 3, semitones: 1 }, Fault::Wrong { note: 5, semitones: 1 }];
    let mut lines = String::new();
    for (attempt, faults) in [&[][..], &faults, &[]].into_iter().enumerate() {
        let played = perform(&chunk.chunk(), tempo, Skill::SKILLED, faults, 9 + attempt as u64);
        lines += &told::lines(1_000_000 + attempt as u64 * silence, played.notes());
    }
    lines + &format!("{}\n", 3 * silence)
}

/// What is said, without the times at which it was.
fn said(folder: &Folder, what: &str, silence: u64) -> Vec<Value> {
    let study = folder.write("two.study", STUDY);
    let words = [what, &study, "--no-log", "--events", "--timed", "-"];
    let run = Run::of(&mut command(&words), lines(silence).into_bytes());
    let mut events = run.done().events();
    events.retain(|event| event["kind"] == "verdict" || event["kind"] == "step");
    assert_eq!(events.iter().filter(|event| event["kind"] == "verdict").count(), 3, "{events:?}");
    for event in &mut events {
        let fields = event.as_object_mut().expect("an object");
        fields.retain(|name, _| !name.ends_with("_us"));
        // A rest is offered by the time of practice.
        fields.remove("rest");
    }
    events
}

#[test]
fn however_long_it_is_the_same_is_said() {
    let folder = Folder::new();
    for what in ["listen", "practice"] {
        let [minute, year, ages] = SILENCES.map(|silence| said(&folder, what, silence));
        assert_eq!(minute, year, "{what}");
        assert_eq!(minute, ages, "{what}");
    }
}
