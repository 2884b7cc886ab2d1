//! An attempt, and a next step, as the log keeps them.

use super::RawNote;
use crate::events;
use crate::listening::Finished;
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::verdict::{Kind, Outcome};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// An attempt.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attempt {
    /// Its number in the sitting, from 1.
    pub number: u32,
    /// When its first note began.
    pub began: Timestamp,
    /// The chunk.
    pub chunk: String,
    /// How strictly it was judged.
    pub level: String,
    /// The tempo to be reached, in hundredths of beats a minute.
    pub practised: u32,
    /// The tempo that was heard, in hundredths of beats a minute.
    pub heard: Option<u32>,
    /// The verdict.
    pub verdict: Outcome,
    /// How many attempts the verdict rests on.
    pub together: u8,
    /// What was found, as a JSON list of findings (`docs/events.md`).
    pub findings: String,
    /// How often the player began and broke off before it.
    pub false_starts: u16,
    /// Whether it broke off before its end.
    pub interrupted: bool,
    /// What was played.
    pub notes: Vec<RawNote>,
    /// The player says that it was right: it counts for nothing.
    pub disputed: bool,
}

impl Attempt {
    /// Of one that is over; `number` counts from 1, `began` is when its first note came.
    pub fn of(finished: &Finished<'_>, number: u32, began: Timestamp) -> Self {
        let beat = finished.chunk.metre.beat();
        Self {
            number,
            began,
            chunk: finished.chunk.name.clone(),
            level: level_word(finished.chunk.tolerances.level).to_owned(),
            practised: finished.chunk.tempo.hundredths_of_beats_per_minute(beat),
            heard: finished.tempo_heard().map(|tempo| tempo.hundredths_of_beats_per_minute(beat)),
            verdict: finished.verdict.outcome,
            together: finished.together,
            findings: events::findings(finished),
            false_starts: finished.false_starts,
            interrupted: finished.verdict.finding(Kind::BrokenOff).is_some(),
            notes: finished.played.iter().map(RawNote::from).collect(),
            disputed: false,
        }
    }

    /// Its findings; those that cannot be read are left out.
    pub fn found(&self) -> Vec<Finding> {
        serde_json::from_str(&self.findings).unwrap_or_default()
    }
}

/// A level in the word that the command line uses for it.
pub(crate) const fn level_word(level: PracticeLevel) -> &'static str {
    match level {
        PracticeLevel::First => "first",
        PracticeLevel::Steady => "steady",
        PracticeLevel::Performance => "performance",
    }
}

/// A finding as far as the log's readers need it; kinds and units are texts, so that those of
/// later versions can be told, too.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finding {
    /// What it is about.
    pub what: String,
    /// What it does to the verdict: `fails`, `unsettled` or `advice`.
    #[serde(rename = "bearing")]
    pub severity: String,
    /// The bar, if it has a place.
    #[serde(default)]
    pub bar: Option<u16>,
    /// The beat, if it has a place.
    #[serde(default)]
    pub beat: Option<String>,
    /// How many notes, chords or places.
    pub count: u16,
    /// How much.
    pub size: i64,
    /// What would still pass.
    pub limit: i64,
    /// The unit of both.
    pub unit: String,
}

impl Finding {
    /// Whether it had a part in the verdict.
    pub fn counts(&self) -> bool {
        self.severity != "advice"
    }
}

/// A next step that was taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// When.
    pub taken: Timestamp,
    /// The number of the attempt after which it was taken; none before the first.
    pub after_attempt: Option<u32>,
    /// What was done, in a word.
    pub step: String,
    /// All about it, as a JSON object.
    pub details: String,
}
