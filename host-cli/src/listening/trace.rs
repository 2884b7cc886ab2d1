//! Where in the study each note was, by the cheapest explanation of all of them.
//!
//! Note by note: the next event, another note of the same chord, a wrong note in its place, an
//! event left out, a note too many, a step back, a leap to anywhere, or nothing of the study. It
//! knows nothing of when a chunk is an attempt; it says where the player went. Work a note grows
//! with the number of events.
//!
//! The prices are our defaults, in hundredths of a note that is left out. Those of notes are the
//! alignment's, those of ways were chosen on simulated practice.

use super::study_events::{Event, StudyEvents};
use evenhand_core::units::{Instant, Pitch};
use std::collections::VecDeque;

/// A note that was left out, or is one too many.
const NOTE: u32 = 100;
/// A wrong note near the right one, and one further away.
const WRONG_NEAR: u32 = 131;
const WRONG_FAR: u32 = 169;
/// A note of a trill beyond its first.
const TRILLED: u32 = 3;
/// A note that is nothing of the study.
const OUTSIDE: u32 = 63;
/// A faint note that is one too many: a lifted finger or another string may have left it.
const FAINT: u32 = 15;
/// To leave off at the end of a chunk, and anywhere else.
const LEAVE_AT_END: u32 = 5;
const LEAVE: u32 = 100;
/// To begin with a chunk, and anywhere else.
const BEGIN: u32 = 20;
const BEGIN_MIDWAY: u32 = 100;
/// More for a leap over more than so many chunks: two of three restarts go back four bars at most.
const FAR: u32 = 15;
const NEAR: usize = 4;
/// To go back some notes, and the most that it costs to leave some out.
const BACK: u32 = 130;
/// The same right after a slip: that is what one goes back for.
const BACK_AFTER_SLIP: u32 = 60;
const GAP_AT_MOST: u32 = 160;

/// The most that a pause takes off a break. Less than anything else: it only says where, of several
/// places that are as good, somebody broke off.
const PAUSE_AT_MOST: u64 = 30;
/// So much more is it, without a pause, to begin anywhere else than with the chunk that follows: of
/// two that are alike it is the one whose turn it is.
const AWAY: u32 = 4;
/// So many of the last notes say how quickly notes follow each other.
const RECENT: usize = 9;

/// So many events back, or left out, are a return or a gap; more is another beginning: a third of
/// all breaks go back a bar at most (22 rehearsals of pianists). Our default.
pub(super) const STEP: usize = 8;

/// How a note came to be where it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Transition {
    /// From an event to the next one, or over some that were left out.
    On,
    /// Another note of the same event.
    Same,
    /// It belongs nowhere, between two that do.
    Extra,
    /// Some events back.
    Back,
    /// From anywhere else.
    Leap,
    /// It is nothing of the study.
    Outside,
}

/// A note, and where it was.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    pub(super) note: u32,
    pub(super) event: usize,
    pub(super) way: Transition,
    pub(super) right: bool,
}

/// What comes after the last note.
#[derive(Clone, Copy, Debug)]
pub(super) enum Open {
    /// Playing that begins with this event.
    GoesOnWith(usize),
    /// Nothing.
    Over,
    /// Nobody knows yet.
    Unknown,
}

/// The place outside of the study, where events have theirs.
const OUT: u32 = u32::MAX;

#[derive(Clone, Copy, Debug)]
struct From {
    way: Transition,
    event: u32,
}

#[derive(Debug)]
struct Row {
    pitch: Pitch,
    is_faint: bool,
    from: Vec<From>,
    from_outside: u32,
}

/// What has been read so far.
#[derive(Debug, Default)]
pub(super) struct Trace {
    /// The number of its first note.
    first: u32,
    /// The event that came before it, if it goes on from there.
    before: Option<usize>,
    rows: Vec<Row>,
    costs: Vec<u32>,
    /// For each event, as it is reached, what it costs that notes of it have not come.
    missing: Vec<u32>,
    /// ... and which of its notes have come, a bit each.
    came: Vec<u8>,
    outside: u32,
    /// When the last notes came.
    recent: VecDeque<Instant>,
}

const NEVER: u32 = u32::MAX / 2;

impl Trace {
    /// Begins anew with the note `first`, after an event or after nothing.
    pub(super) fn begin(&mut self, course: &StudyEvents, first: u32, before: Option<usize>) {
        (self.first, self.before) = (first, before);
        self.rows.clear();
        self.recent.clear();
        self.outside = 0;
        self.costs = vec![NEVER; course.events().len()];
        self.missing = vec![0; self.costs.len()];
        self.came = vec![0; self.costs.len()];
        if let Some(cost) = before.and_then(|before| self.costs.get_mut(before)) {
            *cost = 0;
        }
    }

    /// Whether it began with this note after this event.
    pub(super) fn began(&self, first: u32, before: Option<usize>) -> bool {
        !self.costs.is_empty() && (self.first, self.before) == (first, before)
    }

    /// After the last note that was read.
    pub(super) fn end(&self) -> u32 {
        self.first + self.rows.len() as u32
    }

    /// Reads the next note.
    pub(super) fn push(&mut self, course: &StudyEvents, pitch: Pitch, at: Instant, is_faint: bool) {
        let extra = if is_faint { FAINT } else { NOTE };
        let events = course.events();
        let unbroken = PAUSE_AT_MOST as u32 - self.pause(at);
        let (mut leave, mut leaver) = (self.outside, OUT);
        for event in 0..events.len() {
            let cost = self.leaving(event) + if course.ends(event) { LEAVE_AT_END } else { LEAVE };
            if cost < leave {
                (leave, leaver) = (cost, event as u32);
            }
        }
        let mut costs = Vec::with_capacity(events.len());
        let mut came = Vec::with_capacity(events.len());
        let mut from = Vec::with_capacity(events.len());
        for (index, event) in events.iter().enumerate() {
            let (mut cost, mut source) = self.way_to(course, (index, event), unbroken);
            let begins = if course.begins(index) { BEGIN } else { BEGIN_MIDWAY };
            let away = if course.leads_on(leaver as usize) { AWAY * unbroken } else { 0 };
            let leap = leave + begins + unbroken + away + far(events, leaver, event);
            if leap < cost {
                (cost, source) = (leap, From { way: Transition::Leap, event: leaver });
            }
            cost += price(event, pitch);
            let mut notes = next_note(event, 0, pitch).unwrap_or(1);
            let (here, before) = (self.costs[index], self.came[index]);
            let same = match (event.trill, next_note(event, before, pitch)) {
                (Some(other), _) if pitch == other || event.pitches.contains(&pitch) => {
                    Some((here + TRILLED, before))
                }
                (_, Some(note)) => Some((here, before | note)),
                _ => None,
            };
            if let Some((same, after)) = same.filter(|(same, _)| *same < cost) {
                let event = index as u32;
                (cost, notes, source) = (same, after, From { way: Transition::Same, event });
            }
            if here + extra < cost {
                let event = index as u32;
                (cost, notes) = (here + extra, before);
                source = From { way: Transition::Extra, event };
            }
            costs.push(cost);
            came.push(notes);
            from.push(source);
        }
        self.outside = leave + OUTSIDE.min(extra);
        let missing = |(event, came): (&Event, &u8)| {
            NOTE * (event.pitches.len() as u32).saturating_sub(came.count_ones())
        };
        self.missing = events.iter().zip(&came).map(missing).collect();
        (self.costs, self.came) = (costs, came);
        self.rows.push(Row { pitch, is_faint, from, from_outside: leaver });
    }

    /// What it costs to have got to an event and to go on from there.
    fn leaving(&self, event: usize) -> u32 {
        self.costs[event] + self.missing[event]
    }

    /// What the pause before a note takes off a break: more the longer it is, against how quickly
    /// the last notes followed each other.
    fn pause(&mut self, at: Instant) -> u32 {
        let micros = |(one, other): (&Instant, &Instant)| {
            u64::try_from(other.since(*one).as_micros()).unwrap_or(0)
        };
        let pairs = self.recent.iter().zip(self.recent.iter().skip(1));
        let mut gaps: Vec<u64> = pairs.map(micros).collect();
        gaps.sort_unstable();
        let usual = gaps.get(gaps.len() / 2).copied().unwrap_or(0);
        let this = self.recent.back().map_or(0, |last| micros((last, &at)));
        if self.recent.len() == RECENT {
            self.recent.pop_front();
        }
        self.recent.push_back(at);
        let longer = this.saturating_sub(usual) * PAUSE_AT_MOST;
        u32::try_from(longer.checked_div(usual).unwrap_or(0).min(PAUSE_AT_MOST)).unwrap_or(0)
    }

    /// The cheapest way to an event from those around it.
    fn way_to(
        &self,
        course: &StudyEvents,
        (index, event): (usize, &Event),
        unbroken: u32,
    ) -> (u32, From) {
        let events = course.events();
        let mut best = (NEVER, From { way: Transition::Leap, event: OUT });
        let mut gap = 0;
        for before in (index.saturating_sub(STEP + 1)..index).rev() {
            if events[before].line != event.line {
                break;
            }
            let cost = self.leaving(before) + gap.min(GAP_AT_MOST);
            if cost < best.0 {
                best = (cost, From { way: Transition::On, event: before as u32 });
            }
            gap += NOTE * events[before].pitches.len() as u32;
        }
        for (after, here) in events.iter().enumerate().skip(index).take(STEP) {
            if here.line != event.line {
                break;
            }
            let back = if self.slipped_at(events, after) { BACK_AFTER_SLIP } else { BACK };
            let cost = self.leaving(after) + back + unbroken;
            if cost < best.0 {
                best = (cost, From { way: Transition::Back, event: after as u32 });
            }
        }
        best
    }

    /// Whether the last note, had it been at this event, was a slip there.
    fn slipped_at(&self, events: &[Event], event: usize) -> bool {
        self.rows.last().is_some_and(|row| {
            let way = row.from.get(event).map(|from| from.way);
            let is_slip = way == Some(Transition::Extra) || !is_right(&events[event], row.pitch);
            is_slip && !row.is_faint
        })
    }

    /// Where the notes were, up to the last that was read.
    pub(super) fn steps(&self, course: &StudyEvents, open: Open) -> Vec<Step> {
        let last = |event: usize| match open {
            Open::GoesOnWith(after) if course.same_line(event, after) && event < after => {
                (NOTE * (after - event - 1) as u32).min(LEAVE)
            }
            Open::GoesOnWith(after) if course.same_line(event, after) && event - after < STEP => {
                BACK
            }
            _ if course.ends(event) => LEAVE_AT_END,
            Open::Unknown => LEAVE / 2,
            Open::GoesOnWith(_) | Open::Over => LEAVE,
        };
        let ends = (0..self.costs.len()).map(|event| (self.leaving(event) + last(event), event));
        let best = ends.min().filter(|(cost, _)| *cost < self.outside);
        let mut at = best.map_or(OUT, |(_, event)| event as u32);
        let mut steps = Vec::with_capacity(self.rows.len());
        for (index, row) in self.rows.iter().enumerate().rev() {
            let note = self.first + index as u32;
            let event = at as usize;
            let Some(from) = row.from.get(event) else {
                steps.push(Step { note, event, way: Transition::Outside, right: false });
                at = row.from_outside;
                continue;
            };
            let right =
                from.way != Transition::Extra && is_right(&course.events()[event], row.pitch);
            steps.push(Step { note, event, way: from.way, right });
            at = from.event;
        }
        steps.reverse();
        steps
    }
}

/// What a leap costs more that leads further away.
fn far(events: &[Event], from: u32, to: &Event) -> u32 {
    let from = events.get(from as usize).map(|event| event.chunk);
    if from.is_some_and(|from| from.abs_diff(to.chunk) > NEAR) { FAR } else { 0 }
}

/// Which of an event's notes a pitch is, as a bit, if it has not come yet.
fn next_note(event: &Event, came: u8, pitch: Pitch) -> Option<u8> {
    let notes = event.pitches.iter().enumerate().take(u8::BITS as usize);
    let mut open = notes.filter(|(index, own)| **own == pitch && came & (1 << index) == 0);
    open.next().map(|(index, _)| 1 << index)
}

fn is_right(event: &Event, pitch: Pitch) -> bool {
    event.pitches.contains(&pitch)
}

/// What it costs that a note of this pitch is this event's.
fn price(event: &Event, pitch: Pitch) -> u32 {
    if is_right(event, pitch) {
        return 0;
    }
    let near = |wanted: &Pitch| pitch.semitones_above(*wanted).unsigned_abs() <= 3;
    if event.pitches.iter().any(near) { WRONG_NEAR } else { WRONG_FAR }
}
