//! What is said aloud, on request: a program of the system speaks, and is ended if it does not end.
//!
//! The text is one argument of that program and goes through no shell. Nothing here knows when there is time to
//! speak; whoever asks for it has to see to it that nothing else sounds.

mod voice;
mod words;

pub use voice::{Speech, SpeechProblem};
pub use words::{aloud, verdict};

/// After which attempts a verdict is said. Feedback after every attempt may make one depend on it (the guidance
/// hypothesis, named in reviews of motor learning; from memory), so less can be asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpokenAttempts {
    /// After every so many-eth.
    Every(u8),
    /// After those that passed.
    Passed,
}

impl SpokenAttempts {
    /// Whether something is said of this attempt, the so many-eth of the sitting, counted from 1.
    pub fn has(self, attempt: u32, passed: bool) -> bool {
        match self {
            Self::Every(number) => attempt.is_multiple_of(u32::from(number.max(1))),
            Self::Passed => passed,
        }
    }
}

#[cfg(test)]
mod tests;
