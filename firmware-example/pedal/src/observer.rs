//! Where the pedal stands: what it gives to the board beside the lamps.

use evenhand_core::practice::{Step, Task};
use evenhand_core::session::Judged;
use evenhand_core::study::Chunk;
use evenhand_core::units::{Instant, Tempo};
use evenhand_core::verdict::Verdict;

/// An attempt that has been judged.
#[derive(Clone, Copy, Debug)]
pub struct Judgement<'a> {
    /// What was to be played.
    pub task: Task,
    /// With which fingering of a chunk; 0 is the one that is written.
    pub fingering: u8,
    /// What was played, and the verdict on it alone.
    pub judged: &'a Judged<'a>,
    /// The verdict together with the attempts before it, where it alone was unclear.
    pub verdict: &'a Verdict,
    /// How many attempts say so together.
    pub together: u8,
    /// The tempo at which it was played, where it was heard.
    pub tempo: Option<Tempo>,
}

/// What a board does with what the pedal has to tell, for a display or a log. Every part is optional.
pub trait Observer {
    /// A beat of the count-in; the first of a bar is strong.
    fn click(&mut self, strong: bool, at: Instant) {
        let _ = (strong, at);
    }

    /// An attempt has been judged; it is kept without that.
    fn judged(&mut self, judgement: &Judgement<'_>) {
        let _ = judgement;
    }

    /// What comes next, and why.
    fn next(&mut self, step: &Step, at: Instant) {
        let _ = (step, at);
    }

    /// Other music is put up: what is asked for, and its notes.
    fn show_task(&mut self, task: &Task, chunk: &Chunk<'_>) {
        let _ = (task, chunk);
    }
}

/// Nobody is there.
impl Observer for () {}
