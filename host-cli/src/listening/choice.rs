//! Which opinions explain the stream best, and from when on that is settled.
//!
//! Opinions and sessions under way are compared on the same notes, by how much they explain:
//! what an attempt leaves out counts for nothing, a slip or an end that did not come counts
//! against it. So a false fit of a few notes does not stand against a whole chunk, and a long
//! chunk that broke off not against a short one that it begins like.

use super::opinion::Opinion;
use super::{Finished, Listener};
use evenhand_core::session::Ends;

/// An attempt at one of several chunks explains at least this much, in per cent of a note: four
/// notes of one that breaks off, two of one that reaches its end. Less is chance among many
/// chunks. Our default.
pub(super) const LEAST_WORTH: i32 = 50;

/// Opinions that follow each other.
#[derive(Clone, Copy, Debug)]
struct Best {
    /// The first of them.
    first: usize,
    /// What they explain together.
    worth: i32,
    /// After their last note.
    end: u32,
}

impl<'a> Listener<'a> {
    /// The first attempt on which the opinions are settled, with `ended` whatever may come.
    pub(super) fn decide(&mut self, ended: bool) -> Option<Finished<'a>> {
        loop {
            let Some(best) = self.best() else {
                return self.leave_line(ended);
            };
            let ended = ended || self.hearing.ends == Ends::ByCaller;
            if !ended && !self.is_settled(&best) {
                return self.leave_line(false);
            }
            let opinion = self.take(best.first);
            if self.line.goes_on_with(&opinion, self.chunks, &self.numbers) {
                self.line.push(opinion);
                continue;
            }
            let over = self.line.end(self.chunks, self.hearing, &self.numbers);
            self.line.push(opinion);
            if let Some(over) = over {
                return Some(self.hand_out(over));
            }
        }
    }

    /// The neighbours that were played through, if nothing goes on from them.
    fn leave_line(&mut self, ended: bool) -> Option<Finished<'a>> {
        if !ended && self.may_go_on_until().is_some_and(|until| self.latest < until) {
            return None;
        }
        let over = self.line.end(self.chunks, self.hearing, &self.numbers)?;
        Some(self.hand_out(over))
    }

    /// The opinions that explain the most together, without a note in common.
    fn best(&self) -> Option<Best> {
        let mut order: Vec<usize> = (0..self.opinions.len()).collect();
        // The later it begins, the earlier it is looked at: what may follow it is known then.
        order.sort_by_key(|&index| {
            let opinion = &self.opinions[index];
            std::cmp::Reverse((opinion.notes.start, opinion.chunk))
        });
        // For each the most that it and what follows it explain.
        let mut bests: Vec<Best> = Vec::with_capacity(order.len());
        let mut best: Option<Best> = None;
        for first in order {
            let opinion = &self.opinions[first];
            let place = opinion.place();
            let follow = bests
                .iter()
                .filter(|next| self.opinions[next.first].notes.start >= place.end)
                .max_by_key(|next| next.worth);
            let worth = opinion.worth + follow.map_or(0, |next| next.worth);
            let this = Best { first, worth, end: follow.map_or(place.end, |next| next.end) };
            bests.push(this);
            // Of equals the first in the study's order, unless it only comes later.
            if best.is_none_or(|best| worth >= best.worth) {
                best = Some(this);
            }
        }
        best
    }

    /// Whether they cannot be bettered any more by a chunk that is under way.
    fn is_settled(&self, best: &Best) -> bool {
        let opinion = &self.opinions[best.first];
        let under_way = || {
            self.sessions.iter().filter_map(|session| {
                session.under_way_from().map(|from| (from, session.explained()))
            })
        };
        // What is played since may be another attempt.
        let next = under_way().filter(|&(from, _)| from >= best.end);
        let since = next.map(|(_, worth)| worth).max().unwrap_or(0).max(0);
        let goes_on = self.numbers.heard() > opinion.notes.end;
        let in_time = self.latest < opinion.due();
        let mut rivals = self.sessions.iter().filter_map(|session| {
            let from = session.under_way_from()?;
            let may_win = goes_on || in_time || session.has_reached_the_end();
            (from < opinion.notes.end && may_win).then(|| session.explained())
        });
        !rivals.any(|worth| worth >= best.worth + since)
    }

    /// Takes an opinion, and with it all notes that it is about.
    fn take(&mut self, best: usize) -> Opinion<'a> {
        let mut opinion = self.opinions.swap_remove(best);
        let mut also: Vec<usize> = Vec::new();
        self.opinions.retain(|other| {
            if fits_as_well(other, &opinion) {
                also.push(other.chunk);
            }
            !other.overlaps(&opinion)
        });
        also.sort_unstable();
        also.dedup();
        opinion.finished.also =
            also.into_iter().map(|chunk| self.chunks[chunk].name.as_str()).collect();
        for session in &mut self.sessions {
            if session.under_way_from().is_some_and(|from| from < opinion.notes.end) {
                session.pass_over(opinion.notes.end);
            }
        }
        opinion
    }
}

/// Whether the same notes are another chunk as well as this one.
fn fits_as_well(other: &Opinion<'_>, opinion: &Opinion<'_>) -> bool {
    other.chunk != opinion.chunk
        && other.notes == opinion.notes
        && other.worth == opinion.worth
        && other.is_whole() == opinion.is_whole()
}
