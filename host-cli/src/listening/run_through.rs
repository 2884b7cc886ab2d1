//! Neighbours of a study that are played through without a stop: one attempt at both.
//!
//! Each chunk is recognised by itself; when the next one follows within its time, all notes
//! of both are judged once more as one attempt at the join. So a join costs nothing while it
//! is played, however many chunks a study has.

use super::Listener;
use super::candidate::Candidate;
use super::cut::Cut;
use super::judging;
use super::note_history::NoteHistory;
use super::part::{joined, name_of_several};
use super::told::Finished;
use crate::practice::join;
use crate::study::Prepared;
use evenhand_core::limits::PLAYED_NOTES;
use evenhand_core::session::SessionConfig;
use evenhand_core::study::{ExpectedNote, Marks};
use evenhand_core::units::{Instant, Offset, Ticks};
use std::borrow::Cow;

/// Who loses more than half a beat of the own tempo between two chunks has stopped, and has
/// played two. Our default.
const STOP_IN_BEATS: u32 = 2;

/// ... or more than this, however slow the beat. Our default.
const LONGEST_STOP: Offset = Offset::from_millis(750);

/// The end of time: something else says when it is settled.
pub(super) const OPEN: Instant = Instant::from_micros(u64::MAX);

/// If another chunk explains what follows by so much better, in per cent of a note, it is not the
/// next that is played: more than the notes of a chord that are still to come. Our default.
const BY_FAR: i32 = 400;

/// Notes that may go amiss at a seam: a last or a first one.
const AMISS: u32 = 1;

/// Chunks that were played through so far; empty where nothing waits.
#[derive(Debug, Default)]
pub(super) struct RunThrough<'a> {
    parts: Vec<Candidate<'a>>,
    /// All of them in one, where there are several.
    join: Option<Prepared>,
}

impl<'a> RunThrough<'a> {
    /// The last chunk that was played through so far.
    pub(super) fn last(&self) -> Option<&Candidate<'a>> {
        self.parts.last()
    }

    /// Whether an attempt at a chunk of this number that begins with note `first` would go on from
    /// these without a stop.
    pub(super) fn would_go_on(
        &self,
        chunk: usize,
        first: u32,
        chunks: &[Prepared],
        numbers: &NoteHistory,
    ) -> bool {
        let (Some(last), Some((index, next))) = (self.parts.last(), self.next(chunks)) else {
            return false;
        };
        index == chunk && in_time(last, next, first, numbers)
    }

    pub(super) fn push(&mut self, opinion: Candidate<'a>) {
        self.parts.push(opinion);
    }

    /// The chunk that would go on, where it fits into one with what was played.
    fn next<'c>(&self, chunks: &'c [Prepared]) -> Option<(usize, &'c Prepared)> {
        let last = self.parts.last().filter(|last| last.is_whole())?;
        let index = last.chunk + 1;
        let next = chunks.get(index)?;
        let so_far = self.join.as_ref().unwrap_or(&last.finished.chunk);
        let notes = last.notes.end - self.parts.first()?.notes.start;
        let has_room = notes as usize + next.notes.len() <= PLAYED_NOTES;
        (has_room && join::can(so_far, next)).then_some((index, next))
    }

    /// Whether an attempt goes on from these without a stop.
    pub(super) fn goes_on_with(
        &mut self,
        opinion: &Candidate<'a>,
        chunks: &[Prepared],
        numbers: &NoteHistory,
    ) -> bool {
        let (Some(last), Some((index, next))) = (self.parts.last(), self.next(chunks)) else {
            return false;
        };
        let goes_on =
            index == opinion.chunk && opinion.is_whole() && follows(last, next, opinion, numbers);
        if goes_on {
            let so_far =
                self.join.take().unwrap_or_else(|| last.finished.chunk.clone().into_owned());
            self.join = Some(joined(&so_far, next));
        }
        goes_on
    }

    /// The one attempt that all of these are. Nothing waits any more.
    pub(super) fn end(
        &mut self,
        chunks: &[Prepared],
        config: SessionConfig,
        numbers: &NoteHistory,
    ) -> Option<Finished<'a>> {
        let join = self.join.take();
        let parts = std::mem::take(&mut self.parts);
        let cuts: Vec<Cut> = parts.iter().flat_map(|part| part.cuts.iter().copied()).collect();
        let mut parts = parts.into_iter();
        let first = parts.next()?;
        let Some((last, mut join)) = parts.next_back().zip(join) else {
            return Some(first.finished);
        };
        join.name = name_of_several(chunks.get(first.chunk..=last.chunk).unwrap_or_default());
        // The last one's landing is the join's.
        let notes = first.notes.start..last.until;
        let judged = judging::judge(Cow::Owned(join), notes, &cuts, config, numbers);
        let Some(judging::Judged { mut finished, .. }) = judged else { return Some(last.finished) };
        finished.false_starts = first.finished.false_starts;
        Some(finished)
    }
}

/// How much may be lost at a seam that is no stop.
fn stop(last: &Candidate<'_>) -> Offset {
    let beat = last.finished.chunk.metre.beat();
    last.pace.lasting(Ticks::new(beat.get() / STOP_IN_BEATS)).min(LONGEST_STOP)
}

/// Whether the note `first` goes on in time from the last chunk to the next.
fn in_time(last: &Candidate<'_>, next: &Prepared, first: u32, numbers: &NoteHistory) -> bool {
    is_by(last, first, due(last, next).plus(stop(last)), numbers)
}

/// The same where the next chunk's first event may have gone amiss.
fn may_be_in_time(
    last: &Candidate<'_>,
    next: &Prepared,
    first: u32,
    numbers: &NoteHistory,
) -> bool {
    is_by(last, first, at_the_latest(last, next), numbers)
}

fn is_by(last: &Candidate<'_>, first: u32, by: Instant, numbers: &NoteHistory) -> bool {
    first.abs_diff(last.notes.end) <= AMISS && numbers.at(first).is_some_and(|at| at <= by)
}

/// Until when the next chunk's second event is in time, but no more than another stop later than
/// its first.
fn at_the_latest(last: &Candidate<'_>, next: &Prepared) -> Instant {
    due(last, next).plus(stop(last)).plus(first_interval(last, next).min(stop(last)))
}

/// From the next chunk's first event to its second, at the tempo of the last one.
fn first_interval(last: &Candidate<'_>, next: &Prepared) -> Offset {
    let onset = |note: &ExpectedNote| note.onset;
    let first = next.notes.first().map_or(Ticks::ZERO, onset);
    let second = next.notes.iter().map(onset).find(|&onset| onset > first);
    last.pace.lasting(second.map_or(Ticks::ZERO, |second| second.since(first)))
}

/// Whether an attempt at the next chunk goes on in time from the last one, also where the player
/// went back on the way.
fn follows(
    last: &Candidate<'_>,
    next: &Prepared,
    opinion: &Candidate<'_>,
    numbers: &NoteHistory,
) -> bool {
    let first = opinion.notes.start;
    let lead = opinion.cuts.iter().find(|cut| cut.to == first && cut.back > 0);
    match lead {
        None if opinion.has_begun() => in_time(last, next, first, numbers),
        None => may_be_in_time(last, next, first, numbers),
        Some(lead) => {
            let by = due(last, next).plus(stop(last));
            let at = numbers.at(lead.from);
            lead.from.abs_diff(last.notes.end) <= AMISS && at.is_some_and(|at| at <= by)
        }
    }
}

/// Whether a note begins the next chunk in time after an attempt.
pub(super) fn goes_on(
    last: &Candidate<'_>,
    next: &Prepared,
    first: u32,
    numbers: &NoteHistory,
) -> bool {
    join::can(&last.finished.chunk, next) && in_time(last, next, first, numbers)
}

/// When the next chunk's first note is due.
fn due(last: &Candidate<'_>, next: &Prepared) -> Instant {
    let rest = next.notes.first().map_or(Ticks::ZERO, |note| note.onset);
    last.ends.plus(last.pace.lasting(rest))
}

impl Listener<'_> {
    /// Until when what was played may still go on into the next chunk; `None` where it cannot.
    pub(super) fn may_go_on_until(&self) -> Option<Instant> {
        let last = self.line.parts.last()?;
        let (index, next) = self.line.next(self.chunks)?;
        let is_over = |opinion: &Candidate<'_>| {
            opinion.chunk == index && may_be_in_time(last, next, opinion.notes.start, &self.numbers)
        };
        if self.opinions.iter().any(is_over) {
            // It waits for its rivals.
            return Some(OPEN);
        }
        if self.line_goes_on() {
            // It waits for what will be settled.
            return Some(OPEN);
        }
        let session = self.sessions.get(index)?;
        let from = session.under_way_from();
        let in_time = |from: &u32| may_be_in_time(last, next, *from, &self.numbers);
        let Some(from) = from.filter(in_time) else {
            // A chord is under way with its second note or third, and where a chunk's first note is
            // wrong, it takes another one.
            let since = self.numbers.heard().saturating_sub(last.notes.end);
            let onset = next.notes.first().map(|note| note.onset);
            let chord = next.notes.iter().take_while(|note| Some(note.onset) == onset).count();
            return match since {
                0 => Some(at_the_latest(last, next)),
                _ if since > 2 * AMISS + chord as u32 => None,
                _ if !in_time(&last.notes.end) => None,
                _ => Some(self.numbers.latest()?.plus(first_interval(last, next)).plus(stop(last))),
            };
        };
        let others = self.sessions.iter().enumerate().filter(|&(other, session)| {
            let near = last.notes.end..=from + AMISS;
            other != index && session.under_way_from().is_some_and(|from| near.contains(&from))
        });
        let best = others.map(|(_, session)| session.match_score()).max().unwrap_or(i32::MIN);
        if session.match_score() + BY_FAR < best {
            return None;
        }
        if session.has_reached_the_end() {
            // It only waits for its landing.
            return Some(OPEN);
        }
        // If a note of the next chunk is late by more than a stop, it has broken off.
        let gaps = next.notes.iter().zip(next.notes.iter().skip(1));
        let longest = gaps.map(|(a, b)| b.onset.since(a.onset)).max().unwrap_or(Ticks::ZERO);
        let gap = last.pace.lasting(longest.max(tail(next)));
        Some(self.numbers.latest()?.plus(gap).plus(stop(last)).plus(stop(last)))
    }
}

/// From the last note of a chunk to its landing, or to its end.
fn tail(chunk: &Prepared) -> Ticks {
    let proper = chunk.notes.iter().rev().find(|note| !note.marks.has(Marks::LANDING));
    proper.map_or(Ticks::ZERO, |note| chunk.length.since(note.onset))
}
