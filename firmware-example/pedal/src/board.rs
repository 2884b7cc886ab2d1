//! What a board has to bring beside its pins.

use evenhand_core::units::Instant;

use crate::lights::View;
use crate::observer::Observer;

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

/// A board. What the pedal has to tell it takes as an [`Observer`].
pub trait Board: Observer {
    /// Waits for what comes next, but not beyond `until`. Times never step back.
    fn wait(&mut self, until: Option<Instant>) -> BoardEvent;

    /// Sends a frame to the computer. What finds no room is left out; the computer asks again.
    fn send(&mut self, frame: &[u8]) {
        let _ = frame;
    }

    /// This study, counted from 0, of so many is practised or is to be chosen. For a display.
    fn study(&mut self, study: u8, of: u8, title: &str) {
        let _ = (study, of, title);
    }

    /// What there is to see now, the lamps having been set. For a display or a log.
    fn look(&mut self, view: View, now: Instant) {
        let _ = (view, now);
    }
}
