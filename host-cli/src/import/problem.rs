//! Why there is no study of a score, and what to do about it.

use crate::score::Refusal;
use crate::study;
use thiserror::Error;

/// Why there is no study of a score. The words go on after the name of the file.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Problem {
    /// It has several parts, and none is named.
    #[error("has several parts: {0}")]
    WhichPart(String),
    /// It has no such part.
    #[error("has no part “{wanted}”; it has {parts}")]
    NoPart {
        /// What was asked for.
        wanted: String,
        /// What there is.
        parts: String,
    },
    /// It has no such bars.
    #[error("has no bars {first} to {last}; it has {bars}")]
    NoBars {
        /// The first that was asked for.
        first: u16,
        /// The last.
        last: u16,
        /// What there is.
        bars: String,
    },
    /// It has no such voice.
    #[error("has no voice “{wanted}” there; it has {voices}")]
    NoVoice {
        /// What was asked for.
        wanted: String,
        /// What there is.
        voices: String,
    },
    /// Nothing in it is judged.
    #[error("has no notes in that part that can be judged")]
    NoNotes,
    /// More than a study holds.
    #[error("is longer than a study: {0}")]
    Long(&'static str),
    /// Its repeats make too much of it.
    #[error(transparent)]
    Order(#[from] Refusal),
    /// What was made of it is not right.
    #[error("cannot be written as a study:\n{}", list(.0))]
    Study(Vec<study::Problem>),
}

fn list(problems: &[study::Problem]) -> String {
    let lines: Vec<String> = problems.iter().take(3).map(ToString::to_string).collect();
    lines.join("\n")
}

impl Problem {
    /// What to do about it.
    pub const fn advice(&self) -> &'static str {
        match self {
            Self::WhichPart(_) | Self::NoPart { .. } => "Choose one with --part.",
            Self::NoBars { .. } => "Choose bars by their printed numbers, as in --bars 5-8.",
            Self::NoVoice { .. } => "Choose one of these with --voice.",
            Self::NoNotes => "Choose another part with --part, or other bars with --bars.",
            Self::Long(_) => "Choose some of its bars with --bars, as in --bars 1-64.",
            Self::Order(refusal) => refusal.advice(),
            Self::Study(_) => "Choose fewer bars with --bars to find the place.",
        }
    }

    /// Whether the command line asked for what there is not, and the score itself is right.
    pub const fn is_asked_wrongly(&self) -> bool {
        matches!(
            self,
            Self::WhichPart(_) | Self::NoPart { .. } | Self::NoBars { .. } | Self::NoVoice { .. }
        )
    }
}
