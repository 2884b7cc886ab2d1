//! What a settled attempt leads to.

use super::Practice;
use crate::practice::piece::Piece;
use crate::practice::rules::{ROTATION, SHARE_OF};
use crate::practice::staircase::{Move, Raises};
use crate::practice::step::{PracticeVariant, Reason, Step};
use crate::units::{Seconds, Tempo};

impl<const PIECES: usize> Practice<PIECES> {
    /// Takes an attempt that passed or needs work, and says where practice goes.
    pub(super) fn settled(&mut self, index: usize, clean: bool, now: Seconds) -> Step {
        if self.variation.way != PracticeVariant::AsWritten {
            let reason = self.vary(index, clean);
            return self.step(reason);
        }
        let Some(entry) = self.entries.get_mut(index) else { return self.end(Reason::Nothing) };
        let from = entry.stairs.tempo();
        if let Some(reason) = entry.place(clean) {
            return self.step(reason);
        }
        let best = entry.stairs.fastest_clean();
        let of = entry.stairs.rules().in_a_row();
        let moved = entry.stairs.take(clean);
        let few = entry.share.take(clean);
        if entry.stairs.fastest_clean() != best {
            (entry.since_best, entry.is_better) = (0, best.is_some());
        }
        match moved {
            Move::Stays => {}
            Move::Raised => entry.passed = true,
            Move::Reached => (entry.passed, entry.reached) = (true, true),
            Move::Lowered(raises) | Move::AtFloor(raises) => {
                return self.set_back(index, from, raises, moved, few);
            }
        }
        if moved != Move::Stays
            && let Some(step) = self.passed_on(index, moved == Move::Reached, now)
        {
            return step;
        }
        self.step(match moved {
            Move::Stays => {
                let clean = self.entries.get(index).map_or(0, |entry| entry.stairs.run());
                Reason::Clean { clean, of }
            }
            _ => Reason::Faster { from, clean: of },
        })
    }

    fn set_back(
        &mut self,
        index: usize,
        from: Tempo,
        raises: Raises,
        moved: Move,
        few: Option<u8>,
    ) -> Step {
        if let Some(clean) = few {
            return self.too_few(index, from, clean);
        }
        let reason = match raises {
            Raises::Stuck => return self.offering(Reason::Stuck { from }),
            _ if matches!(moved, Move::AtFloor(_)) => return self.offering(Reason::Slowest),
            Raises::Halved => Reason::SmallerSteps { from },
            Raises::Open => Reason::Slower { from },
        };
        self.step(reason)
    }

    /// Slower once more, with the choices beside it.
    fn too_few(&mut self, index: usize, from: Tempo, clean: u8) -> Step {
        if let Some(entry) = self.entries.get_mut(index) {
            entry.stairs.lower();
        }
        self.offering(Reason::TooFewClean { from, clean, of: SHARE_OF })
    }

    /// Where practice goes after a piece was clean often enough, if it goes elsewhere.
    pub(super) fn passed_on(&mut self, index: usize, reached: bool, now: Seconds) -> Option<Step> {
        let piece = self.entries.get(index)?.piece;
        if matches!(piece, Piece::Spot(_)) {
            return if reached { self.grow(index, now) } else { None };
        }
        if let Some((whole, reason)) = self.wake(piece) {
            return Some(self.take(whole, now, Some(reason)));
        }
        if let Some(other) = self.other_half(piece) {
            return Some(self.take(other, now, Some(Reason::OtherHalf)));
        }
        if !reached && now.since(self.since) < ROTATION {
            return None;
        }
        let plain =
            if reached { Reason::AtGoal { done: piece } } else { Reason::Turn { after: piece } };
        match self.next(Some(index)) {
            None => Some(self.end(Reason::AllAtGoal)),
            Some((same, _)) if same == index => {
                self.since = now;
                None
            }
            Some((next, reason)) => Some(self.take(next, now, Some(reason.unwrap_or(plain)))),
        }
    }
}
