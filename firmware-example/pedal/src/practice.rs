//! The loop: hear, judge, report.

use core::fmt;

use evenhand_core::session::Session;
use evenhand_core::units::Instant;

use crate::report;

/// What an [`Input`] has to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heard {
    /// A byte arrived.
    Byte {
        /// The byte.
        byte: u8,
        /// When it arrived, not when it was asked for.
        at: Instant,
    },
    /// Nothing arrived until the time that was asked for.
    Quiet,
    /// Nothing will ever arrive again: a script is over, a line is closed.
    End,
}

/// Where a board's MIDI bytes come from.
pub trait Input {
    /// Waits for the next byte, but not beyond `until`. Times never step back.
    fn next(&mut self, until: Option<Instant>) -> Heard;
}

/// Judges every attempt that comes in, and writes a report of each, until the input ends.
///
/// # Errors
/// Only what `out` gives; a display that cannot be written to ends the practice.
pub fn practise(
    session: &mut Session<'_>,
    input: &mut impl Input,
    out: &mut impl fmt::Write,
) -> fmt::Result {
    let mut attempts = 0;
    loop {
        let due = session.poll_at();
        let heard = input.next(due);
        let judged = match (heard, due) {
            (Heard::Byte { byte, at }, _) => {
                session.feed(&[byte], at);
                session.poll(at)
            }
            (Heard::Quiet, Some(due)) => session.poll(due),
            // Nobody asked to be woken, so there is nothing to do.
            (Heard::Quiet, None) => None,
            (Heard::End, _) => session.finish(),
        };
        if let Some(judged) = judged {
            attempts += 1;
            report::attempt(attempts, judged.chunk, judged.verdict, out)?;
        }
        if heard == Heard::End {
            return report::end(attempts, out);
        }
    }
}
