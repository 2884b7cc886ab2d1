//! What stands on the page.

use crate::visible::visible;
use evenhand_core::verdict::Outcome;

/// Where practice stands, in one large word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PracticeState {
    /// Waiting for the first note.
    Play,
    /// The count-in: this beat of the bar.
    CountIn(u8),
    /// An attempt is under way, or may be.
    Listening,
    /// The last attempt's verdict.
    Judged(Outcome),
    /// Time to rest.
    Rest,
    /// What is asked for, where something else than practice has the page.
    Asked(&'static str),
}

impl PracticeState {
    /// The word, or the number.
    pub fn word(self) -> String {
        match self {
            Self::Play => "play".to_owned(),
            Self::CountIn(beats) => beats.to_string(),
            Self::Listening => "listening".to_owned(),
            Self::Judged(outcome) => outcome.word().to_owned(),
            Self::Rest => "rest".to_owned(),
            Self::Asked(what) => what.to_owned(),
        }
    }
}

/// What stands on the page. Lines are in plain text; they are cut where the page ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page {
    /// The study's name.
    pub study: String,
    /// What is practised, with its bars.
    pub piece: String,
    /// How far it is: `clean 1 of 3`.
    pub progress: String,
    /// Where practice stands.
    pub standing: PracticeState,
    /// The large number: the tempo that is practised, in whole beats a minute; none where the player
    /// chooses.
    pub tempo: Option<u32>,
    /// What that number is: `beats a minute`.
    pub unit: &'static str,
    /// What is written beside the unit: the goal.
    pub goal: String,
    /// The chunk as tablature, with the marks of the last attempt.
    pub tablature: Vec<String>,
    /// What is said of the last attempt, and what comes next: the most important first.
    pub sentences: Vec<String>,
    /// What is missing all the time, such as sound; it stands under the heading.
    pub missing: Option<String>,
    /// Something about the machine that has to be known, such as a cable that came out.
    pub notice: Option<String>,
    /// What can be chosen now, and how; or what two switches mean.
    pub ways: String,
    /// Which keys do what.
    pub keys: String,
}

impl Page {
    /// The same with what would act on a terminal shown instead.
    pub(super) fn visible(&self) -> Self {
        let Self { study, piece, progress, standing, tempo, unit, goal, .. } = self;
        let Self { tablature, sentences, missing, notice, ways, keys, .. } = self;
        let line = |text: &String| visible(text).into_owned();
        Self {
            study: line(study),
            piece: line(piece),
            progress: line(progress),
            standing: *standing,
            tempo: *tempo,
            unit,
            goal: line(goal),
            tablature: tablature.iter().map(line).collect(),
            sentences: sentences.iter().map(line).collect(),
            missing: missing.as_ref().map(line),
            notice: notice.as_ref().map(line),
            ways: line(ways),
            keys: line(keys),
        }
    }

    /// An empty page for a study.
    pub fn of(study: &str) -> Self {
        Self {
            study: study.to_owned(),
            piece: String::new(),
            progress: String::new(),
            standing: PracticeState::Play,
            tempo: None,
            unit: "beats a minute",
            goal: String::new(),
            tablature: Vec::new(),
            sentences: Vec::new(),
            missing: None,
            notice: None,
            ways: String::new(),
            keys: String::new(),
        }
    }
}
