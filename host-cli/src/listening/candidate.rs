//! One session's opinion on what some notes were.

use super::cut::Cut;
use super::judging;
use super::note_history::NoteHistory;
use super::told::Finished;
use crate::study::Prepared;
use evenhand_core::align::Role;
use evenhand_core::session::Judged;
use evenhand_core::study::Marks;
use evenhand_core::units::{Instant, Offset, Ticks};
use evenhand_core::verdict::Kind;
use std::borrow::Cow;
use std::ops::Range;

/// An attempt that a session has found, and how well that explains its notes.
#[derive(Clone, Debug)]
pub(super) struct Candidate<'a> {
    /// The number of the chunk in the study.
    pub(super) chunk: usize,
    pub(super) finished: Finished<'a>,
    /// Which notes of the stream, as the sessions count them: the first, and after the last
    /// that is not the landing's.
    pub(super) notes: Range<u32>,
    /// How well it explains them, in per cent of a note; see
    /// [`Session::match_score`](evenhand_core::session::Session::match_score).
    pub(super) worth: i32,
    /// When the chunk is over, as it is written, at the player's own tempo.
    pub(super) ends: Instant,
    pub(super) pace: Pace,
    /// After its last note, the landing's too.
    pub(super) until: u32,
    /// Where it was mended, and where it has gaps; also on the way to it from the one before.
    pub(super) cuts: Vec<Cut>,
    /// It was reached from the chunk before, or left for the next, in spite of what is missing.
    pub(super) through: bool,
}

/// An attempt at one of several chunks explains at least this much, in per cent of a note: four
/// notes of one that breaks off, two of one that reaches its end. Less is chance among many
/// chunks. Our default.
pub(super) const LEAST_WORTH: i32 = 50;

/// So many notes left out in a row, of a short chunk so many, and it may have been something else:
/// what was played is looked at once more. Our default.
const MISSING_IN_A_ROW: usize = 4;
const MISSING_OF_FEW: usize = 2;

/// A chunk of fewer notes than this has them easily in other music, too. Our default.
const FEW: usize = 8;

/// The same for notes too many, which may be a return. Our default.
const EXTRA: usize = 2;

impl<'a> Candidate<'a> {
    pub(super) fn new(
        index: usize,
        chunk: &'a Prepared,
        judged: &Judged<'_>,
        numbers: &NoteHistory,
    ) -> Self {
        let first = judged.first_note;
        let arrival = numbers.from(first).take(judged.played.len());
        let finished = Finished::of(Cow::Borrowed(chunk), judged, arrival.collect());
        let notes = first..first + judged.before_landing as u32;
        let until = first + judged.played.len() as u32;
        let judged = judging::Judged { finished, match_score: judged.match_score };
        Self::judged(index, judged, notes, until, Vec::new())
    }

    /// Of notes that were judged by themselves.
    pub(super) fn judged(
        chunk: usize,
        judged: judging::Judged<'a>,
        notes: Range<u32>,
        until: u32,
        cuts: Vec<Cut>,
    ) -> Self {
        let judging::Judged { finished, match_score: worth } = judged;
        let pace = Pace::of(&finished);
        // The attempt's time is without what was taken off; the stream's is not.
        let cut = cuts.iter().filter(|cut| notes.start < cut.to && cut.to < notes.end);
        let ends = cut.fold(pace.end(&finished), |ends, cut| ends.plus(cut.time));
        Self { chunk, finished, notes, worth, ends, pace, until, cuts, through: false }
    }

    /// Whether it is one attempt beyond doubt: it begins and ends as it is written, nothing long is
    /// left out, and nothing was played again.
    pub(super) fn is_sound(&self) -> bool {
        let notes = &self.finished.chunk.notes;
        let proper = notes.iter().filter(|note| !note.marks.has(Marks::LANDING)).count();
        let played: Vec<bool> =
            (0..proper).map(|note| self.finished.pairing.played(note).is_some()).collect();
        let missing = played.split(|played| *played).map(<[bool]>::len).max().unwrap_or(0);
        let most = (proper / 4).clamp(MISSING_OF_FEW, MISSING_IN_A_ROW);
        self.is_whole()
            && self.has_its_ends()
            && missing < most
            && self.extra() < if proper < FEW { 1 } else { EXTRA }
    }

    /// Whether the chunk's first event was played right, and its last one.
    fn has_its_ends(&self) -> bool {
        self.finished.material(|material| self.ends(|note| material.right(note).is_some()))
    }

    /// Whether a note of the chunk's first event was played in some way.
    pub(super) fn has_begun(&self) -> bool {
        let notes = &self.finished.chunk.notes;
        let first =
            notes.iter().take_while(|note| Some(note.onset) == notes.first().map(|n| n.onset));
        (0..first.count()).any(|note| self.finished.pairing.played(note).is_some())
    }

    /// Whether the chunk's first event was played in some way, and its last one.
    pub(super) fn reaches_its_ends(&self) -> bool {
        self.ends(|note| self.finished.pairing.played(note).is_some())
    }

    /// Whether this is so of a note of the first event and of the last one.
    fn ends(&self, is_so: impl Fn(usize) -> bool) -> bool {
        let notes = self.finished.chunk.notes.iter().enumerate();
        let proper = || notes.clone().filter(|(_, note)| !note.marks.has(Marks::LANDING));
        let any = |onset: Ticks| proper().any(|(index, note)| note.onset == onset && is_so(index));
        let (first, last) = (proper().next(), proper().next_back());
        first.zip(last).is_some_and(|((_, first), (_, last))| any(first.onset) && any(last.onset))
    }

    /// Notes too many before its last one.
    fn extra(&self) -> usize {
        let finished = &self.finished;
        let own = self.notes.len().min(finished.played.len());
        let is_extra = |by: &usize| {
            finished.pairing.role(*by) == Role::Extra && !finished.played[*by].is_noise()
        };
        (0..own).filter(is_extra).count()
    }

    /// A beat after its end the verdict is due, however many others may be right.
    pub(super) fn due(&self) -> Instant {
        self.ends.plus(self.pace.lasting(self.finished.chunk.metre.beat()))
    }

    pub(super) fn overlaps(&self, other: &Self) -> bool {
        let (own, other) = (self.place(), other.place());
        own.start < other.end && other.start < own.end
    }

    /// Its notes. An attempt without a note stands somewhere, too.
    pub(super) fn place(&self) -> Range<u32> {
        self.notes.start..self.notes.end.max(self.notes.start + 1)
    }

    /// Whether it reached from the chunk's beginning to its end.
    pub(super) fn is_whole(&self) -> bool {
        if self.through {
            return true;
        }
        let partial = [Kind::NothingHeard, Kind::NotThisChunk, Kind::BrokenOff, Kind::BegunMidway];
        partial.iter().all(|&kind| self.finished.verdict.finding(kind).is_none())
    }
}

/// How long things last at the player's own tempo: so many microseconds for so many ticks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pace {
    micros: u64,
    ticks: u64,
}

impl Pace {
    /// From the first to the last right note; as it is practised where only one is right.
    fn of(finished: &Finished<'_>) -> Self {
        let notes = &finished.chunk.notes;
        let right: Vec<(Ticks, Offset)> = finished.material(|material| {
            let proper = material
                .right_notes()
                .filter(|(index, ..)| !notes[*index].marks.has(Marks::LANDING));
            proper.map(|(_, wanted, note)| (wanted.onset, note.at)).collect()
        });
        let first = right.iter().min_by_key(|(onset, _)| *onset);
        let last = right.iter().max_by_key(|(onset, _)| *onset);
        if let (Some((from, began)), Some((to, ended))) = (first, last) {
            let ticks = u64::from(to.since(*from).get());
            let micros = i64::from(ended.as_micros()) - i64::from(began.as_micros());
            if ticks > 0 && micros > 0 {
                return Self { micros: micros.unsigned_abs(), ticks };
            }
        }
        let quarter = Ticks::new(Ticks::PER_QUARTER);
        let micros = finished.chunk.tempo.lasting(quarter).as_micros();
        Self { micros: micros.unsigned_abs().into(), ticks: quarter.get().into() }
    }

    pub(super) fn lasting(self, length: Ticks) -> Offset {
        let micros = u64::from(length.get()).saturating_mul(self.micros) / self.ticks.max(1);
        Offset::from_micros(i32::try_from(micros).unwrap_or(i32::MAX))
    }

    /// When the chunk is over that was played.
    fn end(self, finished: &Finished<'_>) -> Instant {
        let chunk = &finished.chunk;
        let proper = chunk.notes.iter().enumerate();
        let proper = proper.filter(|(_, note)| !note.marks.has(Marks::LANDING));
        let last = proper
            .filter_map(|(index, note)| Some((note.onset, finished.pairing.played(index)?)))
            .max();
        let (onset, by) = last.unwrap_or((Ticks::ZERO, 0));
        let at = finished.played.get(by).map_or(Offset::ZERO, |note| note.at);
        finished.began.plus(at).plus(self.lasting(chunk.length.since(onset)))
    }
}
