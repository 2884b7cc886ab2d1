//! One session's opinion on what some notes were.

use super::{Finished, numbers::Numbers};
use crate::study::Prepared;
use evenhand_core::session::Judged;
use evenhand_core::study::Marks;
use evenhand_core::units::{Instant, Offset, Ticks};
use evenhand_core::verdict::Kind;
use std::borrow::Cow;
use std::ops::Range;

/// An attempt that a session has found, and how well that explains its notes.
#[derive(Clone, Debug)]
pub(super) struct Opinion<'a> {
    /// The number of the chunk in the study.
    pub(super) chunk: usize,
    pub(super) finished: Finished<'a>,
    /// Which notes of the stream, as the sessions count them: the first, and after the last
    /// that is not the landing's.
    pub(super) notes: Range<u32>,
    /// How well it explains them, in per cent of a note; see
    /// [`Session::explained`](evenhand_core::session::Session::explained).
    pub(super) worth: i32,
    /// When the chunk is over, as it is written, at the player's own tempo.
    pub(super) ends: Instant,
    pub(super) pace: Pace,
}

impl<'a> Opinion<'a> {
    pub(super) fn new(
        index: usize,
        chunk: &'a Prepared,
        judged: &Judged<'_>,
        numbers: &Numbers,
    ) -> Self {
        let first = judged.first_note;
        let arrival = numbers.from(first).take(judged.played.len());
        let finished = Finished {
            chunk: Cow::Borrowed(chunk),
            also: Vec::new(),
            verdict: judged.verdict.clone(),
            together: 1,
            played: judged.played.to_vec(),
            began: judged.began,
            pairing: judged.pairing.clone(),
            pickup: *judged.pickup,
            arrival: arrival.collect(),
            false_starts: judged.false_starts,
        };
        let pace = Pace::of(&finished);
        let ends = pace.end(&finished);
        let notes = first..first + judged.before_landing as u32;
        Self { chunk: index, finished, notes, worth: judged.explained, ends, pace }
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
