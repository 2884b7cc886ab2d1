//! What stands on the page.

use crate::visible::visible;
use evenhand_core::verdict::Outcome;

/// Where practice stands, in one large word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PracticeState {
    /// What comes next is to be read; nothing is asked for yet.
    Ready,
    /// The count-in: this beat of the bar.
    CountIn(u8),
    /// Waiting for the first note.
    Play,
    /// An attempt is under way, or may be.
    Playing,
    /// It was heard to its end, and the verdict waits for what may still belong to it.
    Heard,
    /// The last attempt's verdict.
    Judged(Outcome),
    /// The program plays; the player listens.
    Listen,
    /// Time to rest.
    Rest,
    /// What is asked for, where something else than practice has the page.
    Asked(&'static str),
}

impl PracticeState {
    /// The word, or the number.
    pub fn word(self) -> String {
        match self {
            Self::Ready => "ready".to_owned(),
            Self::CountIn(beats) => beats.to_string(),
            Self::Play => "play".to_owned(),
            Self::Playing => "playing".to_owned(),
            Self::Heard => "heard".to_owned(),
            Self::Judged(outcome) => outcome.word().to_owned(),
            Self::Listen => "listen".to_owned(),
            Self::Rest => "rest".to_owned(),
            Self::Asked(what) => what.to_owned(),
        }
    }

    /// What it is called in the event stream.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ready => "ready",
            Self::CountIn(_) => "counting",
            Self::Play => "play",
            Self::Playing => "playing",
            Self::Heard => "heard-to-the-end",
            Self::Judged(_) => "verdict",
            Self::Listen => "sounding",
            Self::Rest => "rest",
            Self::Asked(_) => "asked",
        }
    }
}

/// A beat of a click that is only seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SeenBeat {
    /// Its number in the bar, from 1.
    pub in_bar: u8,
    /// How many beats a bar has.
    pub of: u8,
}

/// What stands on the page. Lines are in plain text; what has no room is cut with a mark.
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
    /// That it hears: the last note, `hears G3`. Small, under the large word.
    pub hears: String,
    /// The beat of a click that nothing sounds, beside it.
    pub beat: Option<SeenBeat>,
    /// The last verdict, where the large word says something else: `last: needs work`.
    pub last: String,
    /// The large number: the tempo that is practised, in whole beats a minute; none where the player
    /// chooses.
    pub tempo: Option<u32>,
    /// What that number is: `beats a minute`.
    pub unit: &'static str,
    /// What is written beside the unit: the goal.
    pub goal: String,
    /// The chunk as tablature, with the marks of the last attempt: from the one that says most to the one
    /// that needs least room. All are for the page's width.
    pub pictures: Vec<Vec<String>>,
    /// What is said of the last attempt, and what comes next: the most important first.
    pub sentences: Vec<String>,
    /// The heaviest reason and the next step in fewer words, for large letters: from the longest to the
    /// shortest way to say it.
    pub brief: Vec<Vec<String>>,
    /// What is missing all the time, such as sound; it stands under the heading.
    pub missing: Option<String>,
    /// Something about the machine that has to be known, such as a cable that came out.
    pub notice: Option<String>,
    /// What can be chosen now, and how; or what two switches mean.
    pub ways: String,
    /// Which keys do what, three spaces between them.
    pub keys: String,
}

impl Page {
    /// The same with what would act on a terminal shown instead.
    pub(super) fn visible(&self) -> Self {
        let line = |text: &String| visible(text).into_owned();
        let lines = |texts: &Vec<String>| texts.iter().map(line).collect::<Vec<_>>();
        Self {
            study: line(&self.study),
            piece: line(&self.piece),
            progress: line(&self.progress),
            standing: self.standing,
            hears: line(&self.hears),
            beat: self.beat,
            last: line(&self.last),
            tempo: self.tempo,
            unit: self.unit,
            goal: line(&self.goal),
            pictures: self.pictures.iter().map(lines).collect(),
            sentences: lines(&self.sentences),
            brief: self.brief.iter().map(lines).collect(),
            missing: self.missing.as_ref().map(line),
            notice: self.notice.as_ref().map(line),
            ways: line(&self.ways),
            keys: line(&self.keys),
        }
    }

    /// An empty page for a study.
    pub fn of(study: &str) -> Self {
        Self {
            study: study.to_owned(),
            piece: String::new(),
            progress: String::new(),
            standing: PracticeState::Ready,
            hears: String::new(),
            beat: None,
            last: String::new(),
            tempo: None,
            unit: "beats a minute",
            goal: String::new(),
            pictures: Vec::new(),
            sentences: Vec::new(),
            brief: Vec::new(),
            missing: None,
            notice: None,
            ways: String::new(),
            keys: String::new(),
        }
    }
}
