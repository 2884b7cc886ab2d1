//! What a way through the study, or a loop of a part, is to whoever practises: whole attempts,
//! attempts that begin or end midway, false starts, or nothing.

use super::candidate::{Candidate, LEAST_WORTH};
use super::cut::Cut;
use super::judging::{Judged, judge};
use super::note_history::NoteHistory;
use super::part::part;
use super::passes::{Neighbours, Pass, Placed, SILENCE};
use super::study_events::StudyEvents;
use super::told::{FalseStart, Finished};
use crate::study::Prepared;
use evenhand_core::align::Role;
use evenhand_core::session::SessionConfig;
use evenhand_core::study::Marks;
use evenhand_core::units::Offset;
use evenhand_core::verdict::Kind;
use std::borrow::Cow;
use std::ops::Range;

/// Fewer notes than this in a row are no false start: anybody touches a string. As in a session.
const FALSE_START: usize = 3;

/// What begins midway is told from so many notes on, and from this share of the chunk's, in per
/// cent. As in a session.
const MIDWAY: (usize, usize) = (4, 33);

/// An attempt that breaks off has reached this share of its chunk, in per cent; before silence it
/// is enough to have reached the second. As in a session.
const REACHED: (usize, usize) = (75, 50);

/// The share of right notes of what is reached, in per cent. As in a session.
const RIGHT: usize = 60;

/// How long after the last note of a chunk its landing may come: as in a session.
const LANDING: Offset = Offset::from_millis(4_000);

/// What a stretch of notes turned out to be.
pub(super) enum Item<'a> {
    /// A whole chunk, which neighbours may join.
    Whole(Candidate<'a>),
    /// An attempt that stands for itself.
    Alone(Range<u32>, Finished<'a>),
    FalseStart(Range<u32>, FalseStart),
}

impl Item<'_> {
    pub(super) fn notes(&self) -> Range<u32> {
        match self {
            Self::Whole(opinion) => opinion.notes.clone(),
            Self::Alone(notes, _) | Self::FalseStart(notes, _) => notes.clone(),
        }
    }
}

/// What deeds are judged with.
pub(super) struct JudgingContext<'r, 'a> {
    pub(super) course: &'r StudyEvents,
    pub(super) chunks: &'a [Prepared],
    pub(super) config: SessionConfig,
    pub(super) numbers: &'r NoteHistory,
    pub(super) landed: u32,
    /// Whether nothing comes after the last note.
    pub(super) silence: bool,
}

impl<'a> JudgingContext<'_, 'a> {
    /// What a way is, chunk by chunk.
    pub(super) fn of_pass(&self, pass: &Pass, cuts: &[Cut], around: Neighbours) -> Vec<Item<'a>> {
        let chunk_of = |placed: &Placed| self.course.event(placed.event).map(|event| event.chunk);
        let mut parts: Vec<(usize, Vec<Placed>)> = Vec::new();
        for placed in &pass.notes {
            let Some(chunk) = chunk_of(placed) else { continue };
            match parts.last_mut() {
                Some((own, notes)) if *own == chunk => notes.push(*placed),
                _ => parts.push((chunk, vec![*placed])),
            }
        }
        let last = parts.len().saturating_sub(1);
        let mut items = Vec::new();
        for (index, (chunk, notes)) in parts.iter().enumerate() {
            let enters = index > 0 || pass.goes_on;
            let next = parts.get(index + 1).and_then(|(_, notes)| notes.first().copied());
            let next = next.or_else(|| around.next().filter(|_| pass.leads_on));
            // Who begins with a chunk, and after some notes with another, has broken off.
            let anew = |next: Placed| !enters && self.course.begins(next.event);
            let leaves = next.is_some_and(|next| !anew(next));
            let silence = index == last && self.is_followed_by_silence(notes);
            items.extend(self.of_chunk(*chunk, notes, cuts, (enters, leaves, silence)));
        }
        items
    }

    /// Whether nothing was played for so long after some notes that it was an end.
    fn is_followed_by_silence(&self, notes: &[Placed]) -> bool {
        let Some(last) = notes.last() else { return false };
        let next = self.numbers.at(last.note + 1).zip(self.numbers.at(last.note));
        next.map_or(self.silence, |(next, last)| next.since(last) >= SILENCE)
    }

    /// What some notes of a chunk are.
    fn of_chunk(
        &self,
        index: usize,
        notes: &[Placed],
        cuts: &[Cut],
        (enters, leaves, silence): (bool, bool, bool),
    ) -> Option<Item<'a>> {
        let chunk = self.chunks.get(index)?;
        let proper = chunk.notes.iter().filter(|note| !note.marks.has(Marks::LANDING)).count();
        let (first, last) = (notes.first()?, notes.last()?);
        let before = self.course.event(first.event)?.note;
        let end = self.course.chunk(index).end;
        let reached = if last.event + 1 >= end {
            proper
        } else {
            self.course.event(last.event + 1).map_or(proper, |event| event.note)
        };
        let after = proper - reached;
        let right = notes.iter().filter(|placed| placed.right).count();
        let many = |left_out: usize| left_out >= 2 && left_out * 4 >= proper;
        let (begins, ends) = (enters || !many(before), leaves || !many(after));
        let own = first.note..last.note + 1;
        let is_good = right * 100 >= (reached - before) * RIGHT;
        let through = (enters && many(before)) || (leaves && many(after));
        if begins && ends && (is_good || (through && right * 2 >= proper)) {
            let mut opinion = self.opinion(index, own, cuts)?;
            opinion.through = through;
            return is_one(&opinion).then_some(Item::Whole(opinion));
        }
        let tells = match (begins, ends) {
            (false, true) => {
                right >= MIDWAY.0 && (reached - before) * 100 >= proper * MIDWAY.1 && is_good
            }
            (true, false) => {
                let enough = if silence { REACHED.1 } else { REACHED.0 };
                reached * 100 >= proper * enough && is_good
            }
            (false, false) => {
                right >= MIDWAY.0
                    && (reached - before) * 100 >= proper * REACHED.1
                    && reached * 100 >= proper * REACHED.0
                    && is_good
            }
            (true, true) => false,
        };
        if tells {
            let opinion = self.opinion(index, own.clone(), cuts)?;
            return is_one(&opinion).then_some(Item::Alone(own, opinion.finished));
        }
        let news = last.note >= self.landed;
        if begins && !ends && notes.len() >= FALSE_START && right >= FALSE_START && news {
            return Some(Item::FalseStart(own, self.false_start(chunk, reached, *first, *last)?));
        }
        None
    }

    fn false_start(
        &self,
        chunk: &Prepared,
        reached: usize,
        first: Placed,
        last: Placed,
    ) -> Option<FalseStart> {
        Some(FalseStart {
            chunk: chunk.name.clone(),
            began: self.numbers.at(first.note)?,
            notes: last.note + 1 - first.note,
            reached: chunk.notes.get(reached).map(|note| chunk.chunk().place(note.onset)),
            beat: chunk.metre.beat(),
        })
    }

    /// The notes of a chunk, and of its landing where that follows, as an attempt.
    fn opinion(&self, index: usize, notes: Range<u32>, cuts: &[Cut]) -> Option<Candidate<'a>> {
        let chunk = self.chunks.get(index)?;
        let until = self.landing(chunk, notes.end);
        let music = Cow::Borrowed(chunk);
        let judged = judge(music, notes.start..until, cuts, self.config, self.numbers)?;
        let own = |cut: &&Cut| (notes.start..notes.end).contains(&cut.to);
        let cuts = cuts.iter().filter(own).copied().collect();
        Some(Candidate::judged(index, judged, notes, until, cuts))
    }

    /// After the landing of a chunk that ends before the note `end`, where it came.
    fn landing(&self, chunk: &Prepared, end: u32) -> u32 {
        let landing: Vec<_> = chunk
            .notes
            .iter()
            .filter(|note| note.marks.has(Marks::LANDING))
            .map(|note| note.pitch)
            .collect();
        let notes = end..end + landing.len() as u32;
        let came = |&note: &u32| {
            let since = self.numbers.at(end.saturating_sub(1)).zip(self.numbers.at(note));
            since.is_some_and(|(last, at)| at.since(last) <= LANDING)
        };
        let notes: Vec<u32> = notes.take_while(came).collect();
        let lands =
            |note: &u32| self.numbers.pitch(*note).is_some_and(|pitch| landing.contains(&pitch));
        match notes.iter().rposition(lands) {
            Some(last) => end + last as u32 + 1,
            None => end,
        }
    }

    /// One time round of a part that is looped.
    pub(super) fn of_part(&self, events: &Range<usize>, notes: Range<u32>) -> Option<Item<'a>> {
        let (music, whole) = part(self.course, self.chunks, events)?;
        let Judged { mut finished, .. } =
            judge(Cow::Owned(music), notes.clone(), &[], self.config, self.numbers)?;
        finished.part_of = Some(whole);
        Some(Item::Alone(notes, finished))
    }
}

/// Whether the alignment, which knows more of notes than of ways, takes it for an attempt, too.
fn is_one(opinion: &Candidate<'_>) -> bool {
    let finished = &opinion.finished;
    let own = finished.played.get(..opinion.notes.len()).unwrap_or(&finished.played);
    let disturbing = own.iter().filter(|note| !note.is_noise()).count();
    let trilled = |by: &usize| matches!(finished.pairing.role(*by), Role::Trill(_));
    let right = finished.material(|material| material.right_notes().count());
    let right = right + (0..own.len()).filter(trilled).count();
    finished.verdict.finding(Kind::NotThisChunk).is_none()
        && right * 100 >= disturbing * RIGHT
        && (opinion.through || opinion.worth >= LEAST_WORTH)
}
