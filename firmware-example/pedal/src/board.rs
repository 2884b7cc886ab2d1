//! What a board has to bring beside its pins.

use evenhand_core::practice::{Step, Task};
use evenhand_core::study::Chunk;
use evenhand_core::units::Instant;

use crate::lights::View;
use crate::observer::Judgement;

/// What came to the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BoardEvent {
    /// A byte on the MIDI line, and when it arrived: not when it was asked for.
    Midi {
        /// The byte.
        byte: u8,
        /// When.
        at: Instant,
    },
    /// Bytes on the MIDI line were lost.
    Lost {
        /// When that was noticed.
        at: Instant,
    },
    /// A byte from the computer.
    Link {
        /// The byte.
        byte: u8,
        /// When.
        at: Instant,
    },
    /// Nothing; it is this late now. A board may say so at any time, and has to when a switch may
    /// have changed.
    Nothing {
        /// Now.
        at: Instant,
    },
    /// Nothing will ever come again: a script is over.
    End,
}

/// A board.
pub trait Board {
    /// Waits for what comes next, but not beyond `until`. Times never step back.
    fn wait(&mut self, until: Option<Instant>) -> BoardEvent;

    /// Sends a frame to the computer. What finds no room is left out; the computer asks again.
    fn send(&mut self, frame: &[u8]) {
        let _ = frame;
    }

    /// A beat of the count-in; the first of a bar is strong.
    fn click(&mut self, strong: bool, at: Instant) {
        let _ = (strong, at);
    }

    /// An attempt has been judged. For a display or a log; it is kept without that.
    fn judged(&mut self, judgement: &Judgement<'_>) {
        let _ = judgement;
    }

    /// What comes next, and why. For a display or a log.
    fn next(&mut self, step: &Step, at: Instant) {
        let _ = (step, at);
    }

    /// This study, counted from 0, of so many is practised or is to be chosen. For a display.
    fn study(&mut self, study: u8, of: u8, title: &str) {
        let _ = (study, of, title);
    }

    /// Other music is put up: what is asked for, and its notes. For a display.
    fn show_task(&mut self, task: &Task, chunk: &Chunk<'_>) {
        let _ = (task, chunk);
    }

    /// What there is to see now, the lamps having been set. For a display or a log.
    fn look(&mut self, view: View, now: Instant) {
        let _ = (view, now);
    }
}
