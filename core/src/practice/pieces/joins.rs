//! Which seam is joined next, and what is practised in place of a piece that is too long.

use super::Practice;
use super::entry::Entry;
use crate::limits::{CHUNK_QUARTERS, EXPECTED_NOTES};
use crate::practice::piece::{Piece, Side};
use crate::practice::rules::JOIN_PER_MILLE;
use crate::practice::step::{NotPossible, Reason};
use crate::units::{Tempo, Ticks};

/// A seam with the pieces that meet at it.
struct Meeting {
    seam: u8,
    left: Entry,
    right: Entry,
}

impl Meeting {
    fn piece(&self) -> Option<Piece> {
        let (first, _) = self.left.piece.chunks()?;
        let (_, last) = self.right.piece.chunks()?;
        Some(Piece::Join { first, seam: self.seam, last })
    }

    fn width(&self) -> u16 {
        u16::from(self.left.width()) + u16::from(self.right.width())
    }
}

impl<const PIECES: usize> Practice<PIECES> {
    /// Makes the next join that can be made, with the reason for it: of all ripe ones the
    /// shortest, so that lines grow from pairs. A piece waits for a neighbour that is shorter
    /// than the one it could be joined with at once.
    pub(super) fn join(&mut self) -> Option<(usize, Reason)> {
        let meeting = (0..self.chunks())
            .filter_map(|seam| self.meeting(seam))
            .filter(|meeting| meeting.left.is_ripe() && meeting.right.is_ripe())
            .filter(|meeting| !self.waits_for_shorter(meeting))
            .min_by_key(|meeting| (meeting.width(), meeting.seam))?;
        let slower = slower_clean(&meeting.left, &meeting.right)?;
        let settled =
            [&meeting.left, &meeting.right].iter().all(|entry| entry.earlier.has_passed());
        let mut entry = Entry::of_both(meeting.piece()?, &meeting.left, &meeting.right);
        entry.stairs.begin_at(slower.at_per_mille(JOIN_PER_MILLE));
        let index = self.push(entry).ok()?;
        Some((index, Reason::Join { slower, settled }))
    }

    /// The widest pieces that meet at a seam that is not joined yet, if they fit into one.
    fn meeting(&self, seam: u8) -> Option<Meeting> {
        let next = seam.checked_add(1)?;
        let joined =
            |entry: &Entry| matches!(entry.piece, Piece::Join { seam: s, .. } if s == seam);
        if self.entries.iter().any(joined) || !self.find(Piece::Chunk(seam))?.joins_next {
            return None;
        }
        let widest = |end: &dyn Fn((u8, u8)) -> bool| {
            self.entries
                .iter()
                .filter(|entry| entry.piece.chunks().is_some_and(end))
                .max_by_key(|entry| entry.width())
                .copied()
        };
        let left = widest(&|(_, last)| last == seam)?;
        let right = widest(&|(first, _)| first == next)?;
        let notes = usize::from(left.notes) + usize::from(right.notes);
        let length = left.length.plus(right.length).get();
        let fits = notes <= EXPECTED_NOTES && length <= CHUNK_QUARTERS * Ticks::PER_QUARTER;
        fits.then_some(Meeting { seam, left, right })
    }

    /// Whether the shorter of the two could be joined with something shorter on its other side.
    fn waits_for_shorter(&self, meeting: &Meeting) -> bool {
        let (left, right) = (meeting.left.width(), meeting.right.width());
        let other = if left == right {
            None
        } else if left < right {
            let first = meeting.left.piece.chunks().map_or(0, |(first, _)| first);
            first.checked_sub(1).and_then(|seam| self.meeting(seam)).map(|other| other.left.width())
        } else {
            let last = meeting.right.piece.chunks().map_or(u8::MAX, |(_, last)| last);
            self.meeting(last).map(|other| other.right.width())
        };
        other.is_some_and(|width| width < left.max(right))
    }

    /// The shorter pieces that stand for a longer one: its halves, or the notes around its
    /// seam.
    pub(super) fn shorter_of(&self, entry: &Entry) -> Option<(Piece, Option<Piece>)> {
        match entry.piece {
            Piece::Chunk(chunk) if entry.splits => {
                Some((Piece::Half(chunk, Side::First), Some(Piece::Half(chunk, Side::Second))))
            }
            Piece::Join { seam, .. } => {
                let splits = |chunk| self.find(Piece::Chunk(chunk)).is_some_and(|e| e.splits);
                let next = seam.checked_add(1)?;
                (splits(seam) && splits(next)).then_some((Piece::Seam(seam), None))
            }
            _ => None,
        }
    }

    /// Puts a piece to sleep and gives the first of the shorter ones that stand for it.
    pub(super) fn shorten(&mut self, index: usize) -> Result<usize, NotPossible> {
        let entry = *self.entries.get(index).ok_or(NotPossible::NoSuchPiece)?;
        let (one, other) = self.shorter_of(&entry).ok_or(NotPossible::NotHere)?;
        let missing = [Some(one), other].into_iter().flatten();
        let missing = missing.filter(|piece| self.position(*piece).is_none()).count();
        if self.entries.capacity().saturating_sub(self.entries.len()) < missing {
            return Err(NotPossible::Full);
        }
        let first = self.renew(entry.shorter(one))?;
        if let Some(other) = other {
            self.renew(entry.shorter(other))?;
        }
        if let Some(entry) = self.entries.get_mut(index) {
            entry.asleep = true;
        }
        Ok(first)
    }

    /// Wakes the piece that a shorter one stood for, if all of those are clean by now.
    pub(super) fn wake(&mut self, shorter: Piece) -> Option<(usize, Reason)> {
        let stands_for = |entry: &Entry| {
            let (one, other) = self.shorter_of(entry)?;
            (entry.asleep && (one == shorter || other == Some(shorter))).then_some((one, other))
        };
        let (index, (one, other)) = self
            .entries
            .iter()
            .enumerate()
            .find_map(|(index, entry)| Some((index, stands_for(entry)?)))?;
        let (one, other) = (self.position(one)?, self.position(other.unwrap_or(one))?);
        let (first, second) = (self.entries.get(one)?, self.entries.get(other)?);
        if !first.passed || !second.passed {
            return None;
        }
        let slower = slower_clean(first, second)?;
        for part in [one, other] {
            self.entries.get_mut(part)?.asleep = true;
        }
        let entry = self.entries.get_mut(index)?;
        entry.asleep = false;
        entry.passed = false;
        // What the halves have earned is kept: never slower than before.
        let before = entry.stairs.tempo();
        entry.stairs.begin_at(slower.at_per_mille(JOIN_PER_MILLE).faster(before));
        Some((index, Reason::Join { slower, settled: false }))
    }

    /// A chunk has a faster clean tempo than `before`: the joins that it is in, and that wait for their turn,
    /// rise with their slowest chunk, by as much.
    pub(super) fn raise_joins(&mut self, index: usize, before: Option<Tempo>) {
        let Some(entry) = self.entries.get(index) else { return };
        let (Piece::Chunk(chunk), Some(now), Some(before)) =
            (entry.piece, entry.stairs.fastest_clean(), before)
        else {
            return;
        };
        for join in 0..self.entries.len() {
            let Some(Piece::Join { first, last, .. }) = self.entries.get(join).map(|e| e.piece)
            else {
                continue;
            };
            if !(first..=last).contains(&chunk) {
                continue;
            }
            let others = (first..=last).filter(|other| *other != chunk);
            let others = others.filter_map(|other| self.find(Piece::Chunk(other)));
            let others = others.filter_map(|other| other.stairs.fastest_clean());
            let others = others.reduce(Tempo::slower);
            let slowest = |own: Tempo| others.map_or(own, |others| others.slower(own));
            let (before, now) = (slowest(before), slowest(now));
            if !before.is_slower_than(now) {
                continue;
            }
            let rise = u64::from(before.micros_per_quarter()) * 1_000;
            let rise = rise / u64::from(now.micros_per_quarter().max(1));
            if let (Some(join), Ok(rise)) = (self.entries.get_mut(join), u32::try_from(rise)) {
                join.stairs.rise_to(join.stairs.tempo().at_per_mille(rise));
            }
        }
    }

    /// The other half, while it is not clean yet.
    pub(super) fn other_half(&self, piece: Piece) -> Option<usize> {
        let Piece::Half(chunk, side) = piece else { return None };
        let other = match side {
            Side::First => Side::Second,
            Side::Second => Side::First,
        };
        let index = self.position(Piece::Half(chunk, other))?;
        self.entries.get(index).filter(|entry| !entry.passed).map(|_| index)
    }
}

fn slower_clean(left: &Entry, right: &Entry) -> Option<Tempo> {
    Some(left.stairs.fastest_clean()?.slower(right.stairs.fastest_clean()?))
}
