//! Where practice begins, if not with the first chunk, and where the player goes to beside it.

use super::{Engine, Pacing, seconds};
use crate::practice::piece::Piece;
use crate::practice::step::{NotPossible, Step};
use crate::units::Instant;

impl<const PIECES: usize> Engine<PIECES> {
    /// Begins with a few slow attempts at a piece that is known; see
    /// [`Practice::warm_up`](crate::practice::Practice::warm_up).
    ///
    /// # Errors
    ///
    /// If practice has begun or there is no such piece; nothing is changed then.
    pub fn warm_up(
        &mut self,
        piece: Piece,
        pacing: Pacing,
        counts: bool,
        now: Instant,
    ) -> Result<Step, NotPossible> {
        let step = self.practice.warm_up(piece, seconds(now))?;
        (self.pacing, self.counts) = (pacing, counts);
        Ok(self.head(step, now))
    }

    /// To the chunk after this piece, or to the one before it, round and round.
    pub(super) fn go_beside(&mut self, after: bool, now: Instant) -> Result<Step, NotPossible> {
        let task = self.task().ok_or(NotPossible::Over)?;
        if self.practice.is_warming_up() {
            return Ok(self.practice.leave_warm_up(seconds(now)));
        }
        let (first, last) = task.piece.span();
        let (beside, end) = if after {
            (last.checked_add(1), 0)
        } else {
            (first.checked_sub(1), self.practice.chunks().saturating_sub(1))
        };
        let there = |chunk| self.practice.has(Piece::Chunk(chunk));
        let chunk = beside.filter(|chunk| there(*chunk)).unwrap_or(end);
        self.practice.go_to(Piece::Chunk(chunk), seconds(now))
    }
}
