//! Half an hour of practice through a pipe, by a simulated learner: it gets faster, falls back,
//! is reminded to rest, joins, and ends. Nobody touches a key.

use evenhand::practice::{Plan, Settings};
use evenhand_core::player::{Fault, Skill, perform};
use evenhand_core::practice::{Piece, Task};
use evenhand_tests::learner::{BEAT, Learner, beats};
use evenhand_tests::run::{Folder, command, evenhand};
use evenhand_tests::told::{Told, task};
use serde_json::Value;
use std::collections::HashMap;

/// Two chunks of two bars that follow each other.
const STUDY: &str = "evenhand study 1\ntitle Two flights\nmetre 4/4\ntempo 92\nlevel first\n\
     chunk \"Up\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 | 3:2 3:4 2:1 2:3 1:0 1:2 1:3 1:5 |\n\
     chunk \"Down\" at bar 3\n  m: 1/8 1:3 1:2 1:0 2:3 2:1 2:0 3:2 3:0 | 4:4 4:2 4:0 5:3 5:2 5:0 6:3 6:1 |\n";

/// Between attempts the hand is put down for so long, in microseconds.
const REST: u64 = 5_000_000;

fn tempo_of(step: &Value) -> f64 {
    task(step).map_or(0.0, |task| beats(task.tempo))
}

/// Somebody who learns: what is practised gets faster with every attempt.
struct Pupil {
    learners: HashMap<String, Learner>,
    seed: u64,
}

impl Pupil {
    /// Whether this attempt is clean. Each piece is learnt by itself.
    fn is_clean(&mut self, task: &Task) -> bool {
        let seed = self.seed + self.learners.len() as u64;
        let key = format!("{:?}", task.piece);
        let learner = self.learners.entry(key).or_insert_with(|| Learner::new(66.0, 14.0, seed));
        // One per cent an attempt: half an hour is enough for the goal.
        learner.even *= 1.010;
        learner.play(task.tempo)
    }
}

#[test]
fn half_an_hour_goes_by_from_the_first_note_to_the_joined_chunks() {
    let folder = Folder::new();
    let study = folder.write("flights.study", STUDY);
    let data = folder.path("data");
    let plan = {
        let study = evenhand::study::parse(STUDY).expect("a study");
        Plan::new(&study, &Settings::default()).expect("a plan")
    };
    let mut practice = Told::start(&mut command(&["practice", &study, "--data", &data]));
    let mut pupil = Pupil { learners: HashMap::new(), seed: 3 };
    let (mut steps, mut verdicts, mut planned): (Vec<Value>, Vec<Value>, Vec<bool>) =
        (Vec::new(), Vec::new(), Vec::new());
    practice.wait(1_000_000);
    while practice.now < 45 * 60 * 1_000_000 {
        let events = practice.until("step").expect("practice goes on");
        verdicts.extend(events.iter().filter(|event| event["kind"] == "verdict").cloned());
        let step = events.last().expect("the step").clone();
        let now = task(&step);
        steps.push(step);
        let Some(task) = now else { break };
        let music = plan.music(task).expect("music for the task");
        let clean = pupil.is_clean(&task);
        planned.push(clean);
        let seed = 1_000 + planned.len() as u64;
        // One slip in eight notes passes at this level: two more than that do not.
        let slips = if clean { 0 } else { music.notes.len() as u16 / 8 + 2 };
        let faults: Vec<Fault> =
            (0..slips).map(|slip| Fault::Wrong { note: 3 + 2 * slip, semitones: 1 }).collect();
        let played = perform(&music.chunk(), task.tempo, Skill::SKILLED, &faults, seed);
        practice.play(played.notes(), REST);
    }
    let minutes = practice.now / 60_000_000;
    let (rest, errors) = practice.end();
    assert_eq!(errors, "");

    // Each attempt has one verdict, which is what was played.
    assert_eq!(verdicts.len(), planned.len(), "{rest:?}");
    let wrong: Vec<usize> = (0..planned.len())
        .filter(|&index| (verdicts[index]["verdict"] == "passed") != planned[index])
        .collect();
    println!(
        "{} attempts in {minutes} minutes, {} verdicts unlike what was meant",
        planned.len(),
        wrong.len()
    );
    for &index in &wrong {
        let verdict = &verdicts[index];
        println!(
            "meant {}: {} {} {}",
            planned[index],
            tempo_of(&steps[index]),
            verdict["verdict"],
            verdict["findings"]
        );
    }
    assert!(wrong.len() * 50 <= planned.len());

    // It went up and down.
    let tasks: Vec<Task> = steps.iter().filter_map(task).collect();
    let moves = |faster: bool| {
        tasks
            .windows(2)
            .filter(|two| {
                two[0].piece == two[1].piece
                    && if faster {
                        two[1].tempo != two[0].tempo && two[0].tempo.is_slower_than(two[1].tempo)
                    } else {
                        two[1].tempo.is_slower_than(two[0].tempo)
                    }
            })
            .count()
    };
    println!("{} raises, {} falls", moves(true), moves(false));
    assert!(moves(true) >= 10 && moves(false) >= 2, "{tasks:?}");
    // Both chunks, then both in one, which began slower than its parts.
    let first = |wanted: fn(&Piece) -> bool| tasks.iter().position(|task| wanted(&task.piece));
    let one = first(|piece| *piece == Piece::Chunk(0)).expect("the first chunk");
    let two = first(|piece| *piece == Piece::Chunk(1)).expect("the second chunk");
    let join = first(|piece| matches!(piece, Piece::Join { .. })).expect("the join");
    assert!(one < two && two < join);
    let best = tasks[..join].iter().map(|task| beats(task.tempo)).fold(0.0, f64::max);
    assert!(beats(tasks[join].tempo) < best, "{} after {best}", beats(tasks[join].tempo));
    // The rest was asked for once 25 minutes had been played, not before.
    let rest = steps.iter().position(|step| step["rest"] == true).expect("a rest is due");
    println!("a rest after attempt {rest}, the join at {join} of {}", tasks.len());
    // And it ends by itself, at the goal.
    assert!(minutes >= 25, "{minutes} minutes");
    let last = steps.last().expect("steps");
    assert!(last["task"].is_null() && last["reason"] == "all-at-goal", "{last}");
    let goal = tasks.last().expect("tasks").tempo.hundredths_of_beats_per_minute(BEAT);
    assert_eq!(goal, 9_200);

    // All of it is in the log; the next day begins where it was clean.
    let kept = evenhand(&["history", "--data", &data, "--events"]);
    let kept = kept.done().events();
    assert_eq!(kept.iter().filter(|event| event["kind"] == "kept-attempt").count(), planned.len());
    let mut again = Told::start(&mut command(&["practice", &study, "--data", &data]));
    again.wait(1_000_000);
    let begins = again.until("step").expect("it begins");
    let begins = task(begins.last().expect("a step")).expect("a task");
    // 92 % of 92, in whole beats.
    assert_eq!(
        begins.tempo.hundredths_of_beats_per_minute(BEAT),
        8_500,
        "below where it was clean"
    );
    again.end();
}
