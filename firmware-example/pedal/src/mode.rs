//! What the pedal is at: a menu, or practice.

use evenhand_core::practice::Reason;
use evenhand_core::units::{Instant, Offset};
use evenhand_core::verdict::Outcome;

use evenhand_core::verdict::Aspect;

/// How long a verdict is shown, and then what it was about. Our default: a glance each.
pub(crate) const SHOWN: Offset = Offset::from_millis(1_500);

/// What the switches mean now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Mode {
    NoStudy,
    Studies {
        study: u8,
    },
    Choosing {
        chunk: u8,
    },
    Practising,
    /// They change the tempo.
    Tempo,
    Over {
        reason: Reason,
    },
    Broken,
}

/// What is shown of an attempt, whatever practice is at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shown {
    Nothing,
    Verdict {
        outcome: Outcome,
        about: Option<Aspect>,
        since: Instant,
    },
    Finding {
        about: Aspect,
        since: Instant,
    },
    /// It does not count.
    TakenBack {
        since: Instant,
    },
}

impl Shown {
    /// When something else is shown.
    pub(crate) fn until(self) -> Option<Instant> {
        match self {
            Self::Nothing => None,
            Self::Verdict { since, .. }
            | Self::Finding { since, .. }
            | Self::TakenBack { since } => Some(since.plus(SHOWN)),
        }
    }

    /// What is shown after it.
    pub(crate) fn next(self, at: Instant) -> Self {
        match self {
            Self::Verdict { about: Some(about), .. } => Self::Finding { about, since: at },
            _ => Self::Nothing,
        }
    }
}
