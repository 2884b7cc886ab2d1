//! The states of the pedal, and how long each lasts by itself.

use evenhand_core::next_step::{Choices, Reason, Step};
use evenhand_core::units::{Instant, Offset};
use evenhand_core::verdict::Outcome;

use crate::lights::{About, View};

/// How long a verdict is shown, and then what it was about. Our default: a glance each.
pub(crate) const SHOWN: Offset = Offset::from_millis(1_500);

/// What follows a verdict when it has been seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct After {
    /// Something else is to be played, so it is counted in.
    pub(crate) changed: bool,
    pub(crate) rest: bool,
    pub(crate) offer: Choices,
    pub(crate) over: Option<Reason>,
    /// The study has no such piece, or it cannot be played.
    pub(crate) broken: bool,
}

impl After {
    pub(crate) fn of(step: &Step) -> Self {
        Self {
            changed: false,
            rest: step.rest.is_some(),
            offer: step.offer,
            over: step.task.is_none().then_some(step.reason),
            broken: false,
        }
    }

    /// What is left of it when the player has gone on by playing.
    pub(crate) fn played_on(self) -> Self {
        Self { changed: false, rest: false, offer: Choices::NONE, ..self }
    }
}

/// What the pedal is at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum State {
    NoStudy,
    Studies { study: u8 },
    Choosing { chunk: u8 },
    CountIn { beats: u8, told: u8 },
    Listening,
    Verdict { outcome: Outcome, about: Option<About>, after: After },
    Finding { about: About, after: After },
    Offer(Choices),
    Tempo,
    Rest,
    Over { reason: Reason },
    Broken,
}

impl State {
    pub(crate) const fn view(&self, beat: Offset, played: bool) -> View {
        match *self {
            Self::NoStudy => View::NoStudy,
            Self::Studies { study } => View::Studies(study),
            Self::Choosing { chunk } => View::Choosing(chunk),
            Self::CountIn { beats, .. } => View::CountIn { beats, beat },
            Self::Listening if played => View::Playing,
            Self::Listening => View::Ready(beat),
            Self::Verdict { outcome, .. } => View::Verdict(outcome),
            Self::Finding { about, .. } => View::Finding(about),
            Self::Offer(_) => View::Offer,
            Self::Tempo => View::Tempo(beat),
            Self::Rest => View::Rest,
            Self::Over { reason: Reason::Hurts } => View::Hurts,
            Self::Over { .. } => View::AtGoal,
            Self::Broken => View::Fault,
        }
    }

    /// When it ends by itself, or has something to do, if it began at `since`.
    pub(crate) fn poll_at(&self, since: Instant, beat: Offset) -> Option<Instant> {
        match *self {
            Self::CountIn { told, .. } => Some(nth(since, beat, told)),
            Self::Verdict { .. } | Self::Finding { .. } => Some(since.plus(SHOWN)),
            _ => None,
        }
    }
}

/// So many beats after `since`.
pub(crate) fn nth(since: Instant, beat: Offset, beats: u8) -> Instant {
    let micros = u64::from(beat.as_micros().unsigned_abs()) * u64::from(beats);
    Instant::from_micros(since.as_micros().saturating_add(micros))
}
