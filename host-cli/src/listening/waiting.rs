//! Attempts that a session found, but not beyond doubt, once it is known what their notes were in
//! the whole study: which of them stand.

use super::attempts::Item;
use super::candidate::Candidate;
use super::passes::{Neighbours, Placed, Run};
use super::study_events::StudyEvents;
use crate::study::Prepared;
use evenhand_core::verdict::Kind;
use std::ops::Range;

/// So many notes of an attempt with slips that are part of a longer way elsewhere, and it is none.
/// Our default.
const ELSEWHERE: usize = 3;

/// Attempts at a chunk with a trill are the same that differ by no more notes than this at each
/// end: which of a trill's notes is the first is the alignment's to say. Our default.
const SAME: u32 = 2;

/// What was read of the notes that they wait for.
#[derive(Clone, Copy)]
pub(super) struct Reading<'r> {
    pub(super) course: &'r StudyEvents,
    pub(super) chunks: &'r [Prepared],
    pub(super) runs: &'r [Run],
    pub(super) around: Neighbours,
    /// After the last note.
    pub(super) end: u32,
}

impl Reading<'_> {
    /// Attempts that waited stand for themselves where nothing better was found.
    pub(super) fn with_held<'a>(
        &self,
        items: Vec<Item<'a>>,
        held: Vec<Candidate<'a>>,
    ) -> Vec<Item<'a>> {
        let mut items = items;
        // What reaches into the attempt that comes after has lost to it.
        for opinion in held.into_iter().filter(|held| held.notes.end <= self.end) {
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
                        Item::Whole(Candidate { through, ..opinion })
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
            if !self.is_another(&opinion) && covered * 2 < opinion.notes.len() as u32 {
                items.retain(|item| overlap(&item.notes(), &opinion.notes) == 0);
                items.push(Item::Alone(opinion.notes.clone(), opinion.finished));
            }
        }
        items.sort_by_key(|item| item.notes().start);
        items
    }

    /// Whether the notes of an attempt with slips are rather part of a longer way elsewhere.
    fn is_another(&self, opinion: &Candidate<'_>) -> bool {
        let is_elsewhere = |placed: &Placed| {
            let chunk = self.course.event(placed.event).map(|event| event.chunk);
            placed.right && chunk != Some(opinion.chunk)
        };
        let here = |placed: &Placed| opinion.notes.contains(&placed.note);
        !is_clean(opinion)
            && self.runs.iter().any(|run| {
                let elsewhere = run.notes.iter().filter(|placed| is_elsewhere(placed));
                let (own, beyond): (Vec<&Placed>, Vec<&Placed>) =
                    elsewhere.partition(|placed| here(placed));
                let leads_on = self.around.next().is_some_and(|next| run.leads_to(next));
                own.len() >= ELSEWHERE && (leads_on || !beyond.is_empty())
            })
    }
}

/// Whether an attempt has no slips, as far as it goes.
fn is_clean(opinion: &Candidate<'_>) -> bool {
    let slips = [Kind::WrongNotes, Kind::MissingNotes, Kind::ExtraNotes, Kind::SwappedNotes];
    slips.iter().all(|&kind| opinion.finished.verdict.finding(kind).is_none())
}

fn overlap(one: &Range<u32>, other: &Range<u32>) -> u32 {
    one.end.min(other.end).saturating_sub(one.start.max(other.start))
}
