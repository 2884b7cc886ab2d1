//! What a player did with the notes of a stretch: ways through the study, with their returns and
//! gaps; loops of a part; and what is nothing of it.

use super::note_history::NoteHistory;
use super::study_events::StudyEvents;
use super::trace::{STEP, Step, Transition};
use evenhand_core::units::Offset;
use std::ops::Range;

/// A break as long as this is an end, and settles what is left: the silence that ends an attempt
/// that is under way. Our default, as there.
pub(super) const SILENCE: Offset = Offset::from_millis(2_000);

/// Notes that belong nowhere, between two runs that belong together, at most. Our default.
const STRAY: u32 = 2;

/// As many tries at a place, one after another, are a loop and no longer an attempt with returns.
/// Our default.
pub(super) const LOOP: usize = 3;

/// Fewer events, or right notes, than these are no part that is looped: they may be chance. Our
/// default.
const LEAST_PART: usize = 4;

/// A note, and the event that it stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Placed {
    pub(super) note: u32,
    pub(super) event: usize,
    pub(super) right: bool,
}

/// Notes that follow each other in the study, perhaps with a gap.
#[derive(Clone, Debug)]
pub(super) struct Run {
    pub(super) notes: Vec<Placed>,
}

impl Run {
    pub(super) fn first(&self) -> Placed {
        self.notes[0]
    }

    pub(super) fn last(&self) -> Placed {
        self.notes[self.notes.len() - 1]
    }

    /// Whether a note is the one that comes next, in time and in the study.
    pub(super) fn leads_to(&self, next: Placed) -> bool {
        let last = self.last();
        last.event + 1 == next.event && last.note + 1 == next.note
    }

    fn right(&self) -> usize {
        self.notes.iter().filter(|placed| placed.right).count()
    }

    /// Whether another run is the same part once more; its ends may differ by one event.
    fn is_again(&self, other: &Self) -> bool {
        self.first().event.abs_diff(other.first().event) <= 1
            && self.last().event.abs_diff(other.last().event) <= 1
    }
}

/// The runs that steps make.
pub(super) fn runs(steps: &[Step]) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    let mut open = false;
    for step in steps {
        let placed = Placed { note: step.note, event: step.event, right: step.right };
        match (step.way, runs.last_mut()) {
            (Transition::Outside, _) => open = false,
            (Transition::Extra, _) => {}
            (Transition::On | Transition::Same, Some(run)) if open => run.notes.push(placed),
            _ => {
                runs.push(Run { notes: vec![placed] });
                open = true;
            }
        }
    }
    runs
}

/// A step back on the way: notes that were played again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Return {
    /// The first note of the way that is replaced, and the one that replaces it.
    pub(super) from: u32,
    pub(super) to: u32,
    /// How many events it went back.
    pub(super) back: usize,
    /// How many events after that of `to` the way broke off.
    pub(super) ahead: usize,
}

/// Runs that are one way through the study, with returns.
#[derive(Clone, Debug)]
pub(super) struct Pass {
    /// All that belongs to it, without what was replaced.
    pub(super) notes: Vec<Placed>,
    pub(super) returns: Vec<Return>,
    /// Whether it goes on from what came before.
    pub(super) goes_on: bool,
    /// Whether what comes after goes on from it.
    pub(super) leads_on: bool,
}

/// What a stretch of notes was.
#[derive(Clone, Debug)]
pub(super) enum Stretch {
    /// A way through the study.
    Pass(Pass),
    /// One time through a part that was looped: its events, and the notes.
    Part { events: Range<usize>, notes: Range<u32> },
}

/// What stands around a stretch: the last note of the attempt before it, and the first and the last
/// of the one after it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Neighbours {
    pub(super) before: Option<Placed>,
    pub(super) after: Option<(Placed, Placed)>,
}

impl Neighbours {
    /// The first note after the stretch.
    pub(super) fn next(&self) -> Option<Placed> {
        self.after.map(|(first, _)| first)
    }
}

/// What the runs of a stretch were.
pub(super) fn deeds(
    course: &StudyEvents,
    runs: &[Run],
    around: Neighbours,
    numbers: &NoteHistory,
) -> Vec<Stretch> {
    let mut deeds = Vec::new();
    let mut rest: Vec<Run> = Vec::new();
    let mut at = 0;
    rest.extend(around.before.map(|before| Run { notes: vec![before] }));
    let looped = |at: usize| {
        let first = &runs[at];
        let events = (first.last().event + 1).saturating_sub(first.first().event);
        let is_part = events.min(first.right()) >= LEAST_PART && !is_whole(course, first);
        let mut again = runs[at..].iter().take_while(|run| is_part && run.is_again(first)).count();
        // The last time round may be the one that went on.
        if again >= LOOP
            && let Some([last, next]) = runs.get(at + again - 1..=at + again)
            && may_go_on(course, last.last(), std::slice::from_ref(next), numbers)
            && next.last().event > last.last().event
        {
            again -= 1;
        }
        if again >= LOOP { again } else { 0 }
    };
    while at < runs.len() {
        let times = looped(at);
        if times == 0 {
            rest.push(runs[at].clone());
            at += 1;
            continue;
        }
        passes(course, &rest, around, numbers, &mut deeds);
        rest.clear();
        let these = &runs[at..at + times];
        let place = |of: fn(&Run) -> usize| {
            let mut places: Vec<usize> = these.iter().map(of).collect();
            places.sort_unstable();
            places[times / 2]
        };
        let events = place(|run| run.first().event)..place(|run| run.last().event) + 1;
        deeds.extend(these.iter().map(|run| Stretch::Part {
            events: events.clone(),
            notes: run.first().note..run.last().note + 1,
        }));
        at += times;
    }
    if let Some((first, last)) = around.after {
        let end = if first == last { vec![first] } else { vec![first, last] };
        match rest.last_mut().filter(|run| run.leads_to(first)) {
            Some(run) => run.notes.extend(end),
            None => rest.push(Run { notes: end }),
        }
    }
    passes(course, &rest, around, numbers, &mut deeds);
    deeds
}

/// Whether a run is a whole chunk, or several: that is an attempt, however often it comes.
fn is_whole(course: &StudyEvents, run: &Run) -> bool {
    let chunk = |event: usize| course.event(event).map(|event| course.chunk(event.chunk));
    let (first, last) = (run.first().event, run.last().event);
    let near = |range: Range<usize>| {
        let few = range.len() / 4;
        (range, few.clamp(1, 2))
    };
    let begins = chunk(first).map(near).is_some_and(|(range, few)| first < range.start + few);
    let ends = chunk(last).map(near).is_some_and(|(range, few)| last + few >= range.end);
    begins && ends
}

/// Whether runs after an event go on from it, or may still come to do so.
pub(super) fn may_go_on(
    course: &StudyEvents,
    before: Placed,
    runs: &[Run],
    numbers: &NoteHistory,
) -> bool {
    let (mut last, mut furthest) = (before, before.event);
    runs.iter().all(|run| {
        let first = run.first();
        let near = is_near(course, (last, furthest), first, numbers);
        let goes_on = match (furthest + 1).checked_sub(first.event) {
            None | Some(0) => first.event - furthest <= STEP + 1,
            Some(back) => back <= STEP && is_return(course, furthest, first.event),
        };
        last = run.last();
        furthest = furthest.max(last.event);
        near && goes_on
    })
}

/// Whether a note follows another without silence, and is of the same line as what was reached.
fn is_near(
    course: &StudyEvents,
    (last, furthest): (Placed, usize),
    next: Placed,
    numbers: &NoteHistory,
) -> bool {
    let since = numbers.at(next.note).zip(numbers.at(last.note));
    since.is_some_and(|(next, last)| next.since(last) < SILENCE)
        && next.note.saturating_sub(last.note) <= STRAY + 1
        && course.same_line(next.event, furthest)
}

/// Joins runs to passes.
fn passes(
    course: &StudyEvents,
    runs: &[Run],
    around: Neighbours,
    numbers: &NoteHistory,
    deeds: &mut Vec<Stretch>,
) {
    let mut at = 0;
    while at < runs.len() {
        let mut pass = Pass {
            notes: runs[at].notes.clone(),
            returns: Vec::new(),
            goes_on: around.before == Some(runs[at].first()),
            leads_on: false,
        };
        let mut furthest = runs[at].last().event;
        at += 1;
        while let Some(count) = goes_on(course, &pass, furthest, &runs[at..], numbers) {
            let these = &runs[at..at + count];
            pass.take(course, these, furthest);
            furthest = these.iter().map(|run| run.last().event).fold(furthest, usize::max);
            at += count;
        }
        // What stands around is not part of it.
        if pass.goes_on {
            pass.notes.remove(0);
        }
        if let Some(next) = around.next()
            && let Some(at) = pass.notes.iter().position(|placed| *placed == next)
        {
            pass.notes.truncate(at);
            pass.leads_on = true;
        }
        if !pass.notes.is_empty() || !pass.returns.is_empty() {
            deeds.push(Stretch::Pass(pass));
        }
    }
}

/// Whether the way goes on with the next run, or comes to do so after some tries: how many.
fn goes_on(
    course: &StudyEvents,
    pass: &Pass,
    furthest: usize,
    runs: &[Run],
    numbers: &NoteHistory,
) -> Option<usize> {
    let mut last = pass.notes.last().copied()?;
    for (index, run) in runs.iter().take(LOOP).enumerate() {
        let first = run.first();
        if !is_near(course, (last, furthest), first, numbers) {
            return None;
        }
        let back = (furthest + 1).checked_sub(first.event);
        match back {
            // It goes on, perhaps over a gap.
            None | Some(0) => {
                return (first.event - furthest <= STEP + 1).then_some(index + 1);
            }
            Some(back)
                if (1..=STEP).contains(&back) && is_return(course, furthest, first.event) => {}
            _ => return None,
        }
        let end = run.last().event;
        if end > furthest {
            return Some(index + 1);
        }
        last = run.last();
    }
    None
}

/// Whether going back to an event begins no chunk anew, and repeats no chunk that was finished.
fn is_return(course: &StudyEvents, furthest: usize, to: usize) -> bool {
    let chunk = |event: usize| course.event(event).map(|event| event.chunk);
    let (Some(from), Some(chunk)) = (chunk(furthest), chunk(to)) else { return false };
    let is_near = chunk == from || (chunk + 1 == from && !course.ends(furthest));
    is_near && !course.begins(to)
}

impl Pass {
    /// Goes on with runs of which the last one gets further than all before.
    fn take(&mut self, course: &StudyEvents, runs: &[Run], furthest: usize) {
        let Some(last) = runs.last() else { return };
        let lowest = runs.iter().map(|run| run.first().event).min().unwrap_or(furthest);
        if lowest > furthest {
            self.notes.extend_from_slice(&last.notes);
            return;
        }
        // A chunk that had been left is left as it was; the one that was tried is begun anew.
        let seam = match course.event(furthest) {
            Some(_) if course.ends(furthest) => furthest + 1,
            Some(event) => course.chunk(event.chunk).start,
            None => 0,
        };
        let place = seam.max(lowest).max(last.first().event);
        let from = self.notes.iter().find(|placed| placed.event >= place);
        let from = from.map_or(runs[0].first().note, |placed| placed.note);
        let Some(to) = last.notes.iter().find(|placed| placed.event >= place).copied() else {
            return;
        };
        self.notes.retain(|placed| placed.note < from);
        self.returns.retain(|other| other.to <= from);
        self.returns.push(Return {
            from,
            to: to.note,
            back: furthest + 1 - lowest,
            ahead: (furthest + 1).saturating_sub(to.event),
        });
        self.notes.extend(last.notes.iter().filter(|placed| placed.note >= to.note));
    }
}
