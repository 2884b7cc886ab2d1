//! Neighbours of a study that are played through without a stop: one attempt at both.
//!
//! Each chunk is recognised by itself; when the next one follows within its time, all notes
//! of both are judged once more as one attempt at the join. So a join costs nothing while it
//! is played, however many chunks a study has.

use super::numbers::Numbers;
use super::opinion::Opinion;
use super::{Finished, Listener};
use crate::practice::join;
use crate::study::Prepared;
use evenhand_core::limits::PLAYED_NOTES;
use evenhand_core::session::{Ends, Hearing, Session};
use evenhand_core::study::Marks;
use evenhand_core::units::{Instant, Offset, Ticks};
use std::borrow::Cow;

/// Who loses more than half a beat of the own tempo between two chunks has stopped, and has
/// played two. Our default.
const STOP_IN_BEATS: u32 = 2;

/// ... or more than this, however slow the beat. Our default.
const LONGEST_STOP: Offset = Offset::from_millis(750);

/// Notes that may go amiss at a seam: a last or a first one.
const AMISS: u32 = 1;

/// Chunks that were played through so far; empty where nothing waits.
#[derive(Debug, Default)]
pub(super) struct Line<'a> {
    parts: Vec<Opinion<'a>>,
    /// All of them in one, where there are several.
    join: Option<Prepared>,
}

impl<'a> Line<'a> {
    pub(super) fn push(&mut self, opinion: Opinion<'a>) {
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

    /// When the next chunk's first note has surely not come in time.
    pub(super) fn waits_until(&self) -> Option<Instant> {
        let last = self.parts.last()?;
        Some(last.ends.plus(stop(last)))
    }

    /// Whether an attempt goes on from these without a stop.
    pub(super) fn goes_on_with(
        &mut self,
        opinion: &Opinion<'a>,
        chunks: &[Prepared],
        numbers: &Numbers,
    ) -> bool {
        let (Some(last), Some((index, next))) = (self.parts.last(), self.next(chunks)) else {
            return false;
        };
        // What fits two chunks is told as the first of them, and nothing is made of it.
        let goes_on = index == opinion.chunk
            && opinion.is_whole()
            && opinion.finished.also.is_empty()
            && last.finished.also.is_empty()
            && in_time(last, next, opinion.notes.start, numbers);
        if goes_on {
            let so_far =
                self.join.take().unwrap_or_else(|| last.finished.chunk.clone().into_owned());
            self.join = Some(join::join(&so_far, next, |voice| voice));
        }
        goes_on
    }

    /// The one attempt that all of these are. Nothing waits any more.
    pub(super) fn end(
        &mut self,
        chunks: &[Prepared],
        hearing: Hearing,
        numbers: &Numbers,
    ) -> Option<Finished<'a>> {
        let join = self.join.take();
        let mut parts = std::mem::take(&mut self.parts).into_iter();
        let first = parts.next()?;
        let Some((last, mut join)) = parts.next_back().zip(join) else {
            return Some(first.finished);
        };
        let count = last.chunk - first.chunk;
        let word = if count == 1 { "and" } else { "to" };
        let name = |chunk: usize| chunks.get(chunk).map_or("", |chunk| chunk.name.as_str());
        join.name = format!("{} {word} {}", name(first.chunk), name(last.chunk));
        Some(judge(join, &first, &last, hearing, numbers).unwrap_or(last.finished))
    }
}

/// All that was played from the first note of `first` on, as one attempt.
fn judge<'a>(
    join: Prepared,
    first: &Opinion<'a>,
    last: &Opinion<'a>,
    hearing: Hearing,
    numbers: &Numbers,
) -> Option<Finished<'a>> {
    // The last one's landing is the join's.
    let end = last.notes.start + last.finished.played.len() as u32;
    let hearing = Hearing { ends: Ends::ByCaller, ..hearing };
    let chunk = join.checked(join.tempo).ok()?;
    let mut session = Box::new(Session::new(chunk, hearing));
    for (event, at) in numbers.events(first.notes.start, end)? {
        session.hear(event, at);
    }
    let judged = session.finish()?;
    let arrival = numbers.from(first.notes.start).take(judged.played.len()).collect();
    let (verdict, played, pairing) =
        (judged.verdict.clone(), judged.played.to_vec(), judged.pairing.clone());
    let (began, pickup) = (judged.began, *judged.pickup);
    Some(Finished {
        chunk: Cow::Owned(join),
        also: Vec::new(),
        verdict,
        together: 1,
        played,
        began,
        pairing,
        pickup,
        arrival,
        false_starts: first.finished.false_starts,
    })
}

/// How much may be lost at a seam that is no stop.
fn stop(last: &Opinion<'_>) -> Offset {
    let beat = last.finished.chunk.metre.beat();
    last.pace.lasting(Ticks::new(beat.get() / STOP_IN_BEATS)).min(LONGEST_STOP)
}

/// Whether the note `first` goes on in time from the last chunk to the next.
fn in_time(last: &Opinion<'_>, next: &Prepared, first: u32, numbers: &Numbers) -> bool {
    let Some(at) = numbers.at(first) else { return false };
    let rest = next.notes.first().map_or(Ticks::ZERO, |note| note.onset);
    let due = last.ends.plus(last.pace.lasting(rest));
    first.abs_diff(last.notes.end) <= AMISS && at <= due.plus(stop(last))
}

impl Listener<'_> {
    /// Whether what was played may still go on into the next chunk.
    pub(super) fn may_go_on(&self) -> bool {
        let (Some(last), Some((index, next))) =
            (self.line.parts.last(), self.line.next(self.chunks))
        else {
            return false;
        };
        if !last.finished.also.is_empty() {
            return false;
        }
        let since = self.numbers.heard().saturating_sub(last.notes.end);
        // It is over already, and only waits for its rivals.
        let is_over = self.opinions.iter().any(|opinion| {
            opinion.chunk == index && in_time(last, next, opinion.notes.start, &self.numbers)
        });
        if is_over {
            return true;
        }
        let session = &self.sessions[index];
        let from = session.under_way_from();
        let Some(from) = from.filter(|&from| in_time(last, next, from, &self.numbers)) else {
            let waits = self.line.waits_until().is_some_and(|until| self.latest < until);
            return since <= AMISS && waits;
        };
        let worth = session.explained();
        let others = self.sessions.iter().enumerate().filter(|&(other, session)| {
            other != index && session.under_way_from().is_some_and(|other| other <= from + AMISS)
        });
        let best = others.map(|(_, session)| session.explained()).max().unwrap_or(i32::MIN);
        // A note of the next chunk is late by more than a stop: it has broken off.
        let gaps = next.notes.iter().zip(next.notes.iter().skip(1));
        let longest = gaps.map(|(a, b)| b.onset.since(a.onset)).max().unwrap_or(Ticks::ZERO);
        let quiet = self.numbers.latest().map(|at| {
            let longest = longest.max(tail(next));
            at.plus(last.pace.lasting(longest)).plus(stop(last)).plus(stop(last))
        });
        worth >= best && quiet.is_some_and(|until| self.latest < until)
    }
}

/// From the last note of a chunk to its landing, or to its end.
fn tail(chunk: &Prepared) -> Ticks {
    let proper = chunk.notes.iter().rev().find(|note| !note.marks.has(Marks::LANDING));
    proper.map_or(Ticks::ZERO, |note| chunk.length.since(note.onset))
}
