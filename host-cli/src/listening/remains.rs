//! What is left of a stream when whole attempts are taken out of it: a chunk that lost its notes
//! to its neighbours, ways with returns and gaps, loops of a part, false starts.
//!
//! Sessions find whole attempts at once. What does not begin and end as it is written waits here
//! until it is settled what it was: the next whole attempt comes, or silence.

use super::choice::LEAST_WORTH;
use super::course::Course;
use super::judging::{Cut, Judged, judge};
use super::numbers::Numbers;
use super::opinion::Opinion;
use super::part::part;
use super::passes::{Around, Deed, Pass, Placed, Return, Run, deeds, may_go_on, runs};
use super::trace::{Open, STEP, Trace};
use super::{FalseStart, Finished};
use crate::study::Prepared;
use evenhand_core::align::Role;
use evenhand_core::session::Hearing;
use evenhand_core::study::Marks;
use evenhand_core::units::{Instant, Offset};
use evenhand_core::verdict::Kind;
use std::borrow::Cow;
use std::collections::VecDeque;
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

/// So many events left out in a row are a gap: time is not lost or won there. Our default.
const GAP: usize = 3;

/// Less than this share of the time that is written for a gap, in per cent, and the player did
/// not wait it out. Our default.
const WAITED: i64 = 60;

/// So many notes of an attempt with slips that are part of a longer way elsewhere, and it is none.
/// Our default.
const ELSEWHERE: usize = 3;

/// Attempts at a chunk with a trill are the same that differ by no more notes than this at each
/// end: which of a trill's notes is the first is the alignment's to say. Our default.
const SAME: u32 = 2;

/// More notes than this are not kept open, even if nothing settles them: half of what a stream
/// keeps. Our default.
const MOST: u32 = 384;

/// ... but for the last ones, which may still become something. Our default.
const OPEN: u32 = 64;

/// Silence that settles what is left: as in a session that is outside of any attempt.
const SILENCE: Offset = Offset::from_millis(2_000);

/// How long after the last note of a chunk its landing may come: as in a session.
const LANDING: Offset = Offset::from_millis(4_000);

/// What a stretch of notes turned out to be.
pub(super) enum Item<'a> {
    /// A whole chunk, which neighbours may join.
    Whole(Opinion<'a>),
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

/// What has not been told.
pub(super) struct Remains<'a> {
    course: Course,
    trace: Trace,
    /// Up to this note everything has been told.
    pub(super) told: u32,
    /// Up to this note what was told may reach: a landing.
    landed: u32,
    /// Attempts that do not begin and end as they should.
    held: Vec<Opinion<'a>>,
}

impl<'a> Remains<'a> {
    pub(super) fn new(chunks: &[Prepared]) -> Self {
        Self {
            course: Course::of(chunks),
            trace: Trace::default(),
            told: 0,
            landed: 0,
            held: Vec::new(),
        }
    }

    /// Keeps an opinion that is open to doubt, and others of the same notes.
    pub(super) fn hold(&mut self, opinion: Opinion<'a>, rivals: Vec<Opinion<'a>>) {
        self.held.push(opinion);
        self.held.extend(rivals);
    }

    /// What a whole attempt takes.
    pub(super) fn take(&mut self, opinion: &Opinion<'a>) {
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
    pub(super) fn due(&self, numbers: &Numbers) -> Option<Instant> {
        let is_left = numbers.heard() > self.told || !self.held.is_empty();
        Some(numbers.latest()?.plus(SILENCE)).filter(|_| is_left)
    }

    /// Up to where so much is left that it cannot all be kept open; `under_way` is where attempts
    /// under way begin.
    pub(super) fn overflows(
        &self,
        numbers: &Numbers,
        under_way: impl Iterator<Item = u32>,
    ) -> Option<u32> {
        let heard = numbers.heard();
        if heard - self.told.min(heard) <= MOST {
            return None;
        }
        let first = under_way.filter(|&from| from > self.told + OPEN).min();
        Some(first.unwrap_or(heard).min(heard - OPEN))
    }

    fn read(&mut self, numbers: &Numbers, end: u32, before: Option<usize>) {
        let first = self.told.max(numbers.first());
        if !self.trace.began(first, before) || self.trace.end() > end {
            self.trace.begin(&self.course, first, before);
        }
        while self.trace.end() < end {
            let note = self.trace.end();
            let Some((pitch, at)) = numbers.pitch(note).zip(numbers.at(note)) else { return };
            self.trace.push(&self.course, pitch, at);
        }
    }

    /// Whether what has been played since `last`, the end of a whole attempt, goes on from it.
    pub(super) fn goes_on(&mut self, last: &Opinion<'_>, numbers: &Numbers) -> bool {
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
    fn end_of(&self, last: &Opinion<'_>) -> Option<Placed> {
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
        (last, next): (Option<&Opinion<'a>>, Option<&mut Opinion<'a>>),
        (chunks, hearing, numbers): (&'a [Prepared], Hearing, &Numbers),
        silence: bool,
    ) -> Vec<Item<'a>> {
        let held: Vec<Opinion<'a>> = {
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
        let around = Around { before, after };
        let read = runs(&steps);
        let deeds = deeds(&self.course, &read, around, numbers);
        let room =
            Room { course: &self.course, chunks, hearing, numbers, landed: self.landed, silence };
        let mut items = Vec::new();
        let mut lead = Vec::new();
        for deed in deeds {
            match deed {
                Deed::Pass(pass) => {
                    let cuts = room.cuts(&pass, around);
                    let leads = |cut: &&Cut| around.next().is_some_and(|next| cut.to == next.note);
                    lead = cuts.iter().filter(leads).copied().collect();
                    items.extend(room.of_pass(&pass, &cuts, around));
                }
                Deed::Part { events, notes } => items.extend(room.of_part(&events, notes)),
            }
        }
        if let Some(next) = next {
            next.cuts = lead;
        }
        let items = room.with_held(items, held, ((&read, around), end));
        self.told = self.told.max(end);
        items
    }
}

fn cut(one: &Return, numbers: &Numbers) -> Option<Cut> {
    let time = numbers.at(one.to)?.since(numbers.at(one.from)?);
    Some(Cut { from: one.from, to: one.to, time, back: one.back, ahead: one.ahead })
}

/// What deeds are judged with.
struct Room<'r, 'a> {
    course: &'r Course,
    chunks: &'a [Prepared],
    hearing: Hearing,
    numbers: &'r Numbers,
    landed: u32,
    /// Whether nothing comes after the last note.
    silence: bool,
}

impl<'a> Room<'_, 'a> {
    /// Where a pass was mended, and where it has gaps.
    fn cuts(&self, pass: &Pass, around: Around) -> Vec<Cut> {
        let mut cuts: Vec<Cut> =
            pass.returns.iter().filter_map(|one| cut(one, self.numbers)).collect();
        let before = around.before.filter(|_| pass.goes_on);
        let after = around.next().filter(|_| pass.leads_on);
        let own = pass.notes.iter().copied();
        let placed: Vec<Placed> = before.into_iter().chain(own).chain(after).collect();
        let pace = self.pace(&placed);
        for pair in placed.windows(2) {
            let (one, other) = (pair[0], pair[1]);
            let left_out = other.event.saturating_sub(one.event + 1);
            if left_out < GAP || cuts.iter().any(|cut| cut.to == other.note) {
                continue;
            }
            let written = self.course.written(one.event, other.event);
            let passed = self.since(one, other);
            let (Some(written), Some(passed), Some(pace)) = (written, passed, pace) else {
                continue;
            };
            let written = i64::from(written.get()) * pace / 1_000;
            if passed * 100 < written * WAITED {
                let time = i32::try_from(passed - written).unwrap_or(0);
                let time = Offset::from_micros(time);
                cuts.push(Cut { from: other.note, to: other.note, time, back: 0, ahead: 0 });
            }
        }
        cuts
    }

    fn since(&self, one: Placed, other: Placed) -> Option<i64> {
        let passed = self.numbers.at(other.note)?.since(self.numbers.at(one.note)?);
        Some(i64::from(passed.as_micros()))
    }

    /// Thousandths of a microsecond a tick: the median between events that follow each other.
    fn pace(&self, placed: &[Placed]) -> Option<i64> {
        let mut paces: Vec<i64> = placed
            .windows(2)
            .filter(|pair| pair[1].event == pair[0].event + 1)
            .filter_map(|pair| {
                let written = self.course.written(pair[0].event, pair[1].event)?;
                Some(self.since(pair[0], pair[1])? * 1_000 / i64::from(written.get().max(1)))
            })
            .collect();
        paces.sort_unstable();
        paces.get(paces.len() / 2).copied()
    }

    fn of_pass(&self, pass: &Pass, cuts: &[Cut], around: Around) -> Vec<Item<'a>> {
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
    fn opinion(&self, index: usize, notes: Range<u32>, cuts: &[Cut]) -> Option<Opinion<'a>> {
        let chunk = self.chunks.get(index)?;
        let until = self.landing(chunk, notes.end);
        let music = Cow::Borrowed(chunk);
        let judged = judge(music, notes.start..until, cuts, self.hearing, self.numbers)?;
        let own = |cut: &&Cut| (notes.start..notes.end).contains(&cut.to);
        let cuts = cuts.iter().filter(own).copied().collect();
        Some(Opinion::judged(index, judged, notes, until, cuts))
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

    fn of_part(&self, events: &Range<usize>, notes: Range<u32>) -> Option<Item<'a>> {
        let (music, whole) = part(self.course, self.chunks, events)?;
        let Judged { mut finished, .. } =
            judge(Cow::Owned(music), notes.clone(), &[], self.hearing, self.numbers)?;
        finished.part_of = Some(whole);
        Some(Item::Alone(notes, finished))
    }

    /// Whether the notes of an attempt with slips are rather part of a longer way elsewhere.
    fn is_another(&self, opinion: &Opinion<'_>, (runs, around): (&[Run], Around)) -> bool {
        let is_elsewhere = |placed: &Placed| {
            let chunk = self.course.event(placed.event).map(|event| event.chunk);
            placed.right && chunk != Some(opinion.chunk)
        };
        let here = |placed: &Placed| opinion.notes.contains(&placed.note);
        !is_clean(opinion)
            && runs.iter().any(|run| {
                let elsewhere = run.notes.iter().filter(|placed| is_elsewhere(placed));
                let (own, beyond): (Vec<&Placed>, Vec<&Placed>) =
                    elsewhere.partition(|placed| here(placed));
                let leads_on = around.next().is_some_and(|next| run.leads_to(next));
                own.len() >= ELSEWHERE && (leads_on || !beyond.is_empty())
            })
    }

    /// Attempts that waited stand for themselves where nothing better was found.
    fn with_held(
        &self,
        items: Vec<Item<'a>>,
        held: Vec<Opinion<'a>>,
        (read, end): ((&[Run], Around), u32),
    ) -> Vec<Item<'a>> {
        let mut items = items;
        // What reaches into the attempt that comes after has lost to it.
        for opinion in held.into_iter().filter(|held| held.notes.end <= end) {
            let same = |item: &Item<'a>| {
                let (chunk, mended) = match item {
                    Item::Whole(whole) => (Some(whole.chunk), !whole.cuts.is_empty()),
                    Item::Alone(_, finished) => {
                        let name = &finished.chunk.name;
                        let own = self.chunks.get(opinion.chunk);
                        let is_own = own.is_some_and(|own| own.name == *name);
                        (is_own.then_some(opinion.chunk), false)
                    }
                    Item::FalseStart(..) => (None, true),
                };
                let notes = item.notes();
                let trilled = opinion.finished.chunk.notes.iter().any(|note| note.trill.is_some());
                let near = if trilled { SAME } else { 0 };
                chunk == Some(opinion.chunk)
                    && !mended
                    && notes.start.abs_diff(opinion.notes.start) <= near
                    && notes.end.abs_diff(opinion.notes.end) <= near
            };
            if let Some(item) = items.iter_mut().find(|item| same(item)) {
                *item = match item {
                    Item::Whole(whole) => {
                        let through = whole.through;
                        Item::Whole(Opinion { through, ..opinion })
                    }
                    _ => Item::Alone(opinion.notes.clone(), opinion.finished),
                };
                continue;
            }
            let covered: u32 = items
                .iter()
                .filter(|item| !matches!(item, Item::FalseStart(..)))
                .map(|item| overlap(&item.notes(), &opinion.notes))
                .sum();
            if !self.is_another(&opinion, read) && covered * 2 < opinion.notes.len() as u32 {
                items.retain(|item| overlap(&item.notes(), &opinion.notes) == 0);
                items.push(Item::Alone(opinion.notes.clone(), opinion.finished));
            }
        }
        items.sort_by_key(|item| item.notes().start);
        items
    }
}

/// Whether an attempt has no slips, as far as it goes.
fn is_clean(opinion: &Opinion<'_>) -> bool {
    let slips = [Kind::WrongNotes, Kind::MissingNotes, Kind::ExtraNotes, Kind::SwappedNotes];
    slips.iter().all(|&kind| opinion.finished.verdict.finding(kind).is_none())
}

/// Whether the alignment, which knows more of notes than of ways, takes it for an attempt, too.
fn is_one(opinion: &Opinion<'_>) -> bool {
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

fn overlap(one: &Range<u32>, other: &Range<u32>) -> u32 {
    one.end.min(other.end).saturating_sub(one.start.max(other.start))
}

const _: () = assert!(STEP > GAP, "a gap is still part of a way");

/// What is to be told, in the order in which it was played.
#[derive(Default)]
pub(super) struct Queue<'a> {
    told: VecDeque<Told<'a>>,
    /// Those that are told before the next attempt.
    false_starts: VecDeque<FalseStart>,
    /// How many there were since the last attempt.
    since: u16,
}

enum Told<'a> {
    Attempt(Finished<'a>),
    FalseStart(FalseStart),
}

impl<'a> Queue<'a> {
    pub(super) fn attempt(&mut self, finished: impl IntoIterator<Item = Finished<'a>>) {
        self.told.extend(finished.into_iter().map(Told::Attempt));
    }

    pub(super) fn false_start(&mut self, start: FalseStart) {
        self.told.push_back(Told::FalseStart(start));
    }

    /// The next attempt; the false starts before it are then to be told first.
    pub(super) fn next_attempt(&mut self) -> Option<Finished<'a>> {
        loop {
            match self.told.pop_front()? {
                Told::Attempt(finished) => return Some(finished),
                Told::FalseStart(start) => {
                    self.since = self.since.saturating_add(1);
                    self.false_starts.push_back(start);
                }
            }
        }
    }

    pub(super) fn next_false_start(&mut self) -> Option<FalseStart> {
        self.false_starts.pop_front()
    }

    /// How many false starts there were since this was asked last.
    pub(super) const fn false_starts_since(&mut self) -> u16 {
        std::mem::replace(&mut self.since, 0)
    }
}
