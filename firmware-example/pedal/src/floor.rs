//! The loop that every board runs.

use embedded_hal::digital::{InputPin, OutputPin};
use evenhand_core::units::Instant;

use crate::feet::Panel;
use crate::music::Music;
use crate::pedal::Pedal;
use crate::room::Room;

/// What came to the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Came {
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
    /// Nothing; it is this late now. A board may say so at any time, and has to when a switch may
    /// have changed.
    Nothing {
        /// Now.
        at: Instant,
    },
    /// Nothing will ever come again: a script is over.
    End,
}

/// A board: where bytes and time come from, and what is told to it.
pub trait Floor: Room {
    /// Waits for what comes next, but not beyond `until`. Times never step back.
    fn wait(&mut self, until: Option<Instant>) -> Came;
}

/// One turn: waits for what comes, and does what is to be done. `false` at the end.
pub fn turn<M, L, R, A, B, C, const N: usize>(
    pedal: &mut Pedal<'_, M, N>,
    panel: &mut Panel<L, R, A, B, C>,
    floor: &mut impl Floor,
    now: &mut Instant,
) -> bool
where
    M: Music,
    L: InputPin,
    R: InputPin,
    A: OutputPin,
    B: OutputPin,
    C: OutputPin,
{
    let due = [pedal.poll_at(*now), panel.poll_at()].into_iter().flatten().min();
    let came = floor.wait(due);
    match came {
        Came::Midi { byte, at } => {
            *now = at.max(*now);
            pedal.poll(*now, floor);
            pedal.hear(byte, *now);
        }
        Came::Lost { at } => {
            *now = at.max(*now);
            pedal.interrupt();
        }
        Came::Nothing { at } => *now = at.max(*now),
        Came::End => return false,
    }
    if let Some(gesture) = panel.gesture(*now) {
        pedal.press(gesture, *now, floor);
    }
    pedal.poll(*now, floor);
    panel.show(pedal.lights(*now));
    true
}
