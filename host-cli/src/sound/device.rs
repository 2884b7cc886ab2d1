//! What an output that is open does, and what opens one.

use super::{ClickTrack, Passage, SoundProblem};
use evenhand_core::units::Instant;
use evenhand_core::verdict::Outcome;
use std::time::Duration;

/// An output that is open. Dropping it closes it.
pub(super) trait Device: Send {
    /// What to call it.
    fn name(&self) -> &str;

    /// Begins a click, instead of one that goes on; the result is when its first beat is heard,
    /// not before `at`.
    fn start(&mut self, click: ClickTrack, at: Instant) -> Instant;

    /// Ends the click.
    fn stop(&mut self);

    /// Sounds the cue for an outcome at once.
    fn cue(&mut self, outcome: Outcome);

    /// Plays a passage; the result is when its beginning is heard, not before `at`.
    fn play(&mut self, passage: &Passage, at: Instant) -> Instant;

    /// Ends a passage.
    fn hush(&mut self);

    /// When a beat of the click is heard, where this is better known than by reckoning from the
    /// first.
    fn heard(&self, _click: ClickTrack, _beat: u32) -> Option<Instant> {
        None
    }

    /// The soonest that something can be heard, if not at once.
    fn soonest(&self) -> Option<Instant> {
        None
    }

    /// How long after it is sent something is heard, where the system says so.
    fn latency(&self) -> Option<Duration> {
        None
    }

    /// How often samples came too late for it.
    fn gaps(&self) -> u32 {
        0
    }

    /// The latest that a note was sent after it was due.
    fn worst_delay(&self) -> Option<Duration> {
        None
    }

    /// Whether it has gone.
    fn trouble(&mut self) -> Option<SoundProblem>;
}

/// What is opened, or why it is not.
pub(super) type Opened = Result<Box<dyn Device>, SoundProblem>;

/// Opens an output without waiting for it.
pub(super) trait Opener: Send {
    /// Begins to open one.
    fn begin(&mut self);

    /// What became of that; none as long as it is under way.
    fn done(&mut self) -> Option<Opened>;

    /// Closes one that has gone, without waiting either.
    fn part(&mut self, gone: Box<dyn Device>);
}
