//! A day that begins with something easy.

use super::{Engine, Pacing, seconds};
use crate::practice::piece::Piece;
use crate::practice::step::{NotPossible, Step};
use crate::units::Instant;

impl<const PIECES: usize> Engine<PIECES> {
    /// Begins with a few slow attempts at a piece that is known; see [`Practice::warm_up`].
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
}
