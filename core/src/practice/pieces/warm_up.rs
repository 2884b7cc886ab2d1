//! A day begins with something easy: a piece that is known, slowly, before the first of the others.

use super::Practice;
use super::ways::Variation;
use crate::practice::piece::Piece;
use crate::practice::rules::{WARM_UP, WARM_UP_ATTEMPTS};
use crate::practice::step::{Attempt, AttemptResult, NotPossible, PracticeVariant, Reason, Step};
use crate::units::Seconds;

impl<const PIECES: usize> Practice<PIECES> {
    /// Begins with a few slow attempts at a piece that is known, in place of [`begin`](Self::begin). They move
    /// no tempo, and the piece has not had its turn by them. Whoever goes elsewhere has done with it.
    ///
    /// # Errors
    ///
    /// If practice has begun or there is no such piece; nothing is changed then.
    pub fn warm_up(&mut self, piece: Piece, now: Seconds) -> Result<Step, NotPossible> {
        if self.current.is_some() || self.is_over() {
            return Err(NotPossible::NotHere);
        }
        let index = self.position(piece).ok_or(NotPossible::NoSuchPiece)?;
        let slow = self.entries.get(index).map(|entry| entry.stairs.warm_up());
        self.take(index, now, None);
        self.warming = WARM_UP_ATTEMPTS;
        self.variation =
            Variation::new(PracticeVariant::AsWritten, slow.filter(|_| !self.own_tempo));
        Ok(self.step(Reason::WarmUp { left: self.warming }))
    }

    /// Whether the day's warm-up is under way.
    pub const fn is_warming_up(&self) -> bool {
        self.warming > 0
    }

    /// The same player has practised something else before: a rest is due when it would have been.
    pub const fn goes_on_from(&mut self, before: &Self) {
        self.rested = before.rested;
    }

    /// From the warm-up to the first piece.
    pub(in crate::practice) fn leave_warm_up(&mut self, now: Seconds) -> Step {
        match self.position(Piece::Chunk(0)) {
            Some(first) => self.take(first, now, None),
            None => self.end(Reason::Nothing),
        }
    }

    /// Takes an attempt to warm up.
    pub(super) fn warmed(&mut self, attempt: &Attempt) -> Step {
        let rest = self.rested.take(attempt.lasted, attempt.ended);
        // What was something else has warmed nothing up.
        if attempt.result != AttemptResult::Interrupted {
            self.warming = self.warming.saturating_sub(1);
        }
        if self.warming == 0 || attempt.ended.since(self.since) >= WARM_UP {
            // It is left as a warm-up, however many attempts it had.
            self.warming = 1;
            return Step { rest, ..self.leave_warm_up(attempt.ended) };
        }
        Step { rest, ..self.step(Reason::WarmUp { left: self.warming }) }
    }
}
