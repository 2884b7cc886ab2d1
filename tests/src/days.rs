//! Days of practice by a player who learns, through the program itself, in time that is told: each sitting is
//! dated by the stream, as a user can date one, and kept in a log on disk.

use crate::learner::Learner;
use crate::run::command;
use crate::told::{Told, task};
use evenhand::practice::{Plan, Settings};
use evenhand_core::player::{Fault, Skill, perform};
use evenhand_core::units::Tempo;
use serde_json::Value;
use std::collections::HashMap;

/// Between attempts the hand is put down for so long, in microseconds.
const REST: u64 = 5_000_000;

/// A player to whom nothing is known at first. Each piece of each study is learnt by itself.
#[derive(Debug)]
pub struct Pupil {
    learners: HashMap<String, Learner>,
    /// How much faster a piece is clean after each attempt at it.
    pub gain: f64,
    /// Where slips are made: the note of a piece, counted from 0.
    pub slip_at: u16,
    begins: f64,
    played: u64,
}

/// What came of a sitting.
#[derive(Debug, Default)]
pub struct Practised {
    /// All events, in order.
    pub events: Vec<Value>,
    /// How long it took, in minutes.
    pub minutes: u64,
    /// What was complained of.
    pub errors: String,
}

impl Practised {
    /// The events of this kind.
    pub fn of(&self, kind: &str) -> Vec<&Value> {
        self.events.iter().filter(|event| event["kind"] == kind).collect()
    }
}

impl Pupil {
    /// A player who plays at about this tempo evenly, in beats a minute.
    pub fn new(begins: f64) -> Self {
        Self { learners: HashMap::new(), gain: 1.010, slip_at: 3, begins, played: 0 }
    }

    /// Practises as these words of the command line say, from a time on, as `2026-03-31T18:30`, for so many
    /// minutes at most. `studies` are the studies by title, with their texts; the first is meant until the
    /// events name another.
    ///
    /// # Panics
    /// If the program does not go on as it should.
    pub fn practise(
        &mut self,
        words: &[&str],
        began: &str,
        studies: &[(&str, &str)],
        minutes: u64,
    ) -> Practised {
        // The pieces of a step are those of the chunks that are practised.
        let plan = |text: &str, chunks: Option<&Value>| -> Plan {
            let study = evenhand::study::parse(text).expect("a study");
            let mut all = study.prepare().expect("chunks");
            if let Some(names) = chunks.and_then(Value::as_array) {
                all.retain(|chunk| names.iter().any(|name| *name == *chunk.name));
            }
            Plan::of_chunks(all, &Settings::default())
        };
        let mut practised = Practised::default();
        let (mut name, mut music_of) = (studies[0].0, plan(studies[0].1, None));
        let mut told = Told::start(&mut command(&[words, &["--began", began]].concat()));
        told.wait(1_000_000);
        while told.now < minutes * 60_000_000 {
            let Some(events) = told.until("step") else { break };
            for event in &events {
                if event["kind"] == "practised-study" {
                    let (title, text) = studies
                        .iter()
                        .find(|(title, _)| event["study"] == *title)
                        .expect("one of the studies");
                    (name, music_of) = (*title, plan(text, Some(&event["chunks"])));
                }
            }
            let step = events.last().expect("the step").clone();
            practised.events.extend(events);
            // Another study may follow.
            let Some(task) = task(&step) else { continue };
            let music = music_of.music(task).expect("music for the task");
            let clean = self.is_clean(name, &music.name, task.tempo);
            // One slip in eight notes passes at the first level: two more than that do not.
            let slips = if clean { 0 } else { music.notes.len() as u16 / 8 + 2 };
            let last = music.notes.len() as u16 - 1;
            let faults: Vec<Fault> = (0..slips)
                .map(|slip| Fault::Wrong {
                    note: (self.slip_at + 2 * slip) % (last + 1),
                    semitones: 1,
                })
                .collect();
            self.played += 1;
            let played = perform(&music.chunk(), task.tempo, Skill::SKILLED, &faults, self.played);
            told.play(played.notes(), REST);
        }
        practised.minutes = told.now / 60_000_000;
        let (rest, errors) = told.end();
        practised.events.extend(rest);
        practised.errors = errors;
        practised
    }

    /// What is learnt of a piece in one rhythm is not learnt in another.
    fn is_clean(&mut self, study: &str, piece: &str, tempo: Tempo) -> bool {
        let seed = 3 + self.learners.len() as u64;
        let key = format!("{study}, {piece}");
        let begins = self.begins;
        let learner = self.learners.entry(key).or_insert_with(|| Learner::new(begins, 14.0, seed));
        learner.even *= self.gain;
        learner.play(tempo)
    }
}
