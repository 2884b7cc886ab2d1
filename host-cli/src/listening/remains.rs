//! What is left of a stream when whole attempts are taken out of it: a chunk that lost its notes
//! to its neighbours, ways with returns and gaps, loops of a part, false starts.
//!
//! Sessions find whole attempts at once. What does not begin and end as it is written waits here
//! until it is settled what it was: the next whole attempt comes, or silence.

use super::attempts::{Item, JudgingContext};
use super::candidate::Candidate;
use super::cut::Cut;
use super::note_history::NoteHistory;
use super::passes::{Neighbours, Placed, SILENCE, Stretch, deeds, may_go_on, runs};
use super::repair::RepairContext;
use super::study_events::StudyEvents;
use super::trace::{Open, Trace};
use super::waiting::Reading;
use crate::study::Prepared;
use evenhand_core::session::SessionConfig;
use evenhand_core::units::Instant;

/// More notes than this are not kept open, even if nothing settles them: half of what a stream
/// keeps. Our default.
const MOST: u32 = 384;

/// ... but for the last ones, which may still become something. Our default.
const OPEN: u32 = 64;

/// What has not been told.
pub(super) struct Remainder<'a> {
    course: StudyEvents,
    trace: Trace,
    /// Up to this note everything has been told.
    pub(super) told: u32,
    /// Up to this note what was told may reach: a landing.
    landed: u32,
    /// Attempts that do not begin and end as they should.
    held: Vec<Candidate<'a>>,
}

impl<'a> Remainder<'a> {
    pub(super) fn new(chunks: &[Prepared]) -> Self {
        Self {
            course: StudyEvents::of(chunks),
            trace: Trace::default(),
            told: 0,
            landed: 0,
            held: Vec::new(),
        }
    }

    /// Keeps an opinion that is open to doubt, and others of the same notes.
    pub(super) fn hold(&mut self, opinion: Candidate<'a>, rivals: Vec<Candidate<'a>>) {
        self.held.push(opinion);
        self.held.extend(rivals);
    }

    /// What a whole attempt takes.
    pub(super) fn take(&mut self, opinion: &Candidate<'a>) {
        self.told = self.told.max(opinion.notes.end);
        self.landed = self.landed.max(opinion.until);
    }

    /// Forgets what is left before a note.
    pub(super) fn forget(&mut self, until: u32) {
        self.told = self.told.max(until);
        self.held.clear();
    }

    /// After the last note of what is over and waits.
    pub(super) fn over(&self) -> Option<u32> {
        self.held.iter().map(|held| held.notes.end).max()
    }

    /// When silence settles what is left.
    pub(super) fn due(&self, numbers: &NoteHistory) -> Option<Instant> {
        let is_left = numbers.heard() > self.told || !self.held.is_empty();
        Some(numbers.latest()?.plus(SILENCE)).filter(|_| is_left)
    }

    /// Up to where so much is left that it cannot all be kept open; `under_way` is where attempts
    /// under way begin.
    pub(super) fn overflows(
        &self,
        numbers: &NoteHistory,
        under_way: impl Iterator<Item = u32>,
    ) -> Option<u32> {
        let heard = numbers.heard();
        if heard - self.told.min(heard) <= MOST {
            return None;
        }
        let first = under_way.filter(|&from| from > self.told + OPEN).min();
        Some(first.unwrap_or(heard).min(heard - OPEN))
    }

    fn read(&mut self, numbers: &NoteHistory, end: u32, before: Option<usize>) {
        let first = self.told.max(numbers.first());
        if !self.trace.began(first, before) || self.trace.end() > end {
            self.trace.begin(&self.course, first, before);
        }
        while self.trace.end() < end {
            let note = self.trace.end();
            let Some((pitch, at)) = numbers.pitch(note).zip(numbers.at(note)) else { return };
            self.trace.push(&self.course, pitch, at, numbers.is_faint(note));
        }
    }

    /// Whether what has been played since `last`, the end of a whole attempt, goes on from it.
    pub(super) fn goes_on(&mut self, last: &Candidate<'_>, numbers: &NoteHistory) -> bool {
        let Some(before) = self.end_of(last) else { return false };
        if numbers.heard() <= self.told {
            return false;
        }
        self.read(numbers, numbers.heard(), Some(before.event));
        let runs = runs(&self.trace.steps(&self.course, Open::Unknown));
        let newest = numbers.heard() - 1;
        let right = runs.iter().flat_map(|run| &run.notes).filter(|placed| placed.right).count();
        right >= 2
            && runs.last().is_some_and(|run| run.last().note + 1 >= newest)
            && may_go_on(&self.course, before, &runs, numbers)
    }

    /// Where a whole attempt ended.
    fn end_of(&self, last: &Candidate<'_>) -> Option<Placed> {
        let event = self.course.chunk(last.chunk).end.checked_sub(1)?;
        let is_own = self.course.event(event).is_some_and(|event| event.chunk == last.chunk);
        let note = last.notes.end.checked_sub(1)?;
        (is_own && last.is_whole()).then_some(Placed { note, event, right: true })
    }

    /// What the notes before `end` were. `last` is the attempt that they may go on from, `next`
    /// the whole attempt that comes after them.
    pub(super) fn settle(
        &mut self,
        end: u32,
        (last, next): (Option<&Candidate<'a>>, Option<&mut Candidate<'a>>),
        (chunks, config, numbers): (&'a [Prepared], SessionConfig, &NoteHistory),
        silence: bool,
    ) -> Vec<Item<'a>> {
        let held: Vec<Candidate<'a>> = {
            let (held, open) =
                std::mem::take(&mut self.held).into_iter().partition(|held| held.notes.start < end);
            self.held = open;
            held
        };
        if end <= self.told {
            return Vec::new();
        }
        let before = last
            .filter(|last| last.notes.end >= self.told.max(numbers.first()))
            .and_then(|last| self.end_of(last));
        let after = next.as_deref().and_then(|next| {
            let events = self.course.chunk(next.chunk);
            let last = next.notes.end.checked_sub(1)?;
            let at = |note: u32, event: usize| Placed { note, event, right: true };
            let end = events.end.checked_sub(1)?;
            (!events.is_empty()).then(|| (at(next.notes.start, events.start), at(last, end)))
        });
        self.read(numbers, end, before.map(|before| before.event));
        let open = match after {
            Some((first, _)) => Open::GoesOnWith(first.event),
            None if silence => Open::Over,
            None => Open::Unknown,
        };
        let steps = self.trace.steps(&self.course, open);
        let around = Neighbours { before, after };
        let read = runs(&steps);
        let deeds = deeds(&self.course, &read, around, numbers);
        let ground = RepairContext { course: &self.course, numbers };
        let room = JudgingContext {
            course: &self.course,
            chunks,
            config,
            numbers,
            landed: self.landed,
            silence,
        };
        let mut items = Vec::new();
        let mut lead = Vec::new();
        for deed in deeds {
            match deed {
                Stretch::Pass(pass) => {
                    let cuts = ground.cuts(&pass, around);
                    let leads = |cut: &&Cut| around.next().is_some_and(|next| cut.to == next.note);
                    lead = cuts.iter().filter(leads).copied().collect();
                    items.extend(room.of_pass(&pass, &cuts, around));
                }
                Stretch::Part { events, notes } => items.extend(room.of_part(&events, notes)),
            }
        }
        if let Some(next) = next {
            next.cuts = lead;
        }
        let reading = Reading { course: &self.course, chunks, runs: &read, around, end };
        let items = reading.with_held(items, held);
        self.told = self.told.max(end);
        items
    }
}
