//! A piece with all that is known of it.

use crate::practice::piece::{ChunkFacts, Earlier, Piece};
use crate::practice::rules::{Rules, SPOT_FASTER_PER_MILLE, SPOT_IN_A_ROW};
use crate::practice::share::Share;
use crate::practice::staircase::Staircase;
use crate::practice::step::Reason;
use crate::units::{Tempo, Ticks};

/// A piece in practice.
#[derive(Clone, Copy, Debug)]
pub(super) struct Entry {
    pub(super) piece: Piece,
    pub(super) stairs: Staircase,
    pub(super) share: Share,
    pub(super) earlier: Earlier,
    /// Clean often enough in a row today, at whatever tempo.
    pub(super) passed: bool,
    /// So at its goal.
    pub(super) reached: bool,
    /// Its parts are practised instead.
    pub(super) asleep: bool,
    /// When it last had its turn: turns count from 1; 0 is not yet.
    pub(super) turn: u32,
    pub(super) notes: u16,
    pub(super) length: Ticks,
    pub(super) splits: bool,
    pub(super) varies: bool,
    pub(super) joins_next: bool,
    pub(super) fingerings: u8,
    /// The fingering in use; 0 is the one that is written.
    pub(super) fingering: u8,
    pub(super) placing: Placing,
    /// The sitting has brought a faster clean tempo than one that there was before.
    pub(super) is_better: bool,
    /// Attempts since there was a faster clean tempo.
    pub(super) since_best: u8,
    /// How often something was changed because of that.
    pub(super) changes: u8,
}

/// Whether the tempo at which a piece is clean is still looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Placing {
    /// It has failed, or was clean often enough in a row.
    Over,
    /// It has not been played yet.
    Begun,
    /// It was clean each time, and went on by leaps.
    Leaping,
}

impl Entry {
    pub(super) fn of(piece: Piece, facts: &ChunkFacts) -> Self {
        let mut stairs = Staircase::new(facts.goal, facts.beat, facts.rules, facts.fastest_clean);
        stairs.begin_cold(facts.earlier.weeks_away());
        Self {
            piece,
            stairs,
            share: Share::NONE,
            earlier: facts.earlier,
            passed: false,
            reached: false,
            asleep: false,
            turn: 0,
            notes: facts.notes,
            length: facts.length,
            splits: facts.splits,
            varies: facts.varies,
            joins_next: facts.joins_next,
            fingerings: facts.fingerings,
            fingering: 0,
            placing: Placing::Begun,
            is_better: false,
            since_best: 0,
            changes: 0,
        }
    }

    /// Two pieces, played in one: their slower goal, the more lenient rules.
    pub(super) fn of_both(piece: Piece, left: &Self, right: &Self) -> Self {
        let goal = left.stairs.goal().slower(right.stairs.goal());
        let rules = left.stairs.rules().lenient(*right.stairs.rules());
        Self {
            piece,
            stairs: Staircase::new(goal, left.stairs.beat(), rules, None),
            share: Share::NONE,
            earlier: Earlier::Unknown,
            passed: false,
            reached: false,
            asleep: false,
            turn: 0,
            notes: left.notes.saturating_add(right.notes),
            length: left.length.plus(right.length),
            splits: false,
            varies: left.varies && right.varies,
            joins_next: right.joins_next,
            fingerings: 0,
            fingering: 0,
            placing: Placing::Begun,
            is_better: false,
            since_best: 0,
            changes: 0,
        }
    }

    /// Takes an attempt while the tempo at which the piece is clean is still looked for: on by a leap as
    /// long as it is clean, and back where it is not.
    pub(super) fn place(&mut self, clean: bool) -> Option<Reason> {
        let from = self.stairs.tempo();
        match (self.placing, clean) {
            (Placing::Over, _) => None,
            (_, true) => {
                if !self.stairs.leap() {
                    self.placing = Placing::Over;
                    return None;
                }
                (self.placing, self.since_best) = (Placing::Leaping, 0);
                self.share.take(true);
                Some(Reason::Leap { from })
            }
            (Placing::Leaping, false) => {
                self.placing = Placing::Over;
                self.stairs.leap_back();
                self.share.take(false);
                Some(Reason::Slower { from })
            }
            (Placing::Begun, false) => {
                self.placing = Placing::Over;
                None
            }
        }
    }

    /// A shorter piece taken from this one, at this one's tempo.
    pub(super) fn shorter(&self, piece: Piece) -> Self {
        let stairs =
            Staircase::new(self.stairs.goal(), self.stairs.beat(), *self.stairs.rules(), None);
        let mut shorter = Self { piece, stairs, turn: 0, ..*self };
        shorter.stairs.begin_at(self.stairs.tempo());
        shorter.share = Share::NONE;
        (shorter.passed, shorter.reached, shorter.asleep) = (false, false, false);
        (shorter.splits, shorter.joins_next) = (false, false);
        (shorter.fingerings, shorter.fingering) = (0, 0);
        (shorter.placing, shorter.since_best, shorter.changes) = (Placing::Over, 0, 0);
        shorter.is_better = false;
        shorter
    }

    /// A few notes of this piece: from its tempo up to beyond the one at which they failed.
    pub(super) fn spot(&self, piece: Piece, failed_at: Tempo) -> Self {
        let mut spot = self.shorter(piece);
        let beyond = failed_at.at_per_mille(SPOT_FASTER_PER_MILLE);
        spot.stairs =
            self.stairs.up_to(beyond, Rules { in_a_row: SPOT_IN_A_ROW, ..*self.stairs.rules() });
        (spot.earlier, spot.placing) = (Earlier::NotPassed, Placing::Begun);
        spot
    }

    /// The same with more notes, at this tempo: once clean is enough now.
    pub(super) fn grown(&self, piece: Piece, tempo: Tempo) -> Self {
        let mut grown = self.shorter(piece);
        let rules = Rules { in_a_row: 1, ..*self.stairs.rules() };
        grown.stairs = self.stairs.up_to(tempo, rules);
        grown
    }

    /// May be joined with its neighbour today.
    pub(super) fn is_ripe(&self) -> bool {
        !self.asleep
            && match self.earlier {
                Earlier::Unknown => self.passed,
                Earlier::NotPassed => false,
                Earlier::Passed | Earlier::Improving | Earlier::Away { .. } => {
                    self.stairs.fastest_clean().is_some()
                }
            }
    }

    /// Has been begun today and is not finished.
    pub(super) fn is_open(&self) -> bool {
        self.turn > 0 && !self.asleep && !self.reached
    }

    /// How many chunks it holds; 0 for less than one.
    pub(super) fn width(&self) -> u8 {
        self.piece.chunks().map_or(0, |(first, last)| last.saturating_sub(first).saturating_add(1))
    }
}
