//! Which opinions explain the stream best, and from when on that is settled.
//!
//! Opinions and sessions under way are compared on the same notes, by how much they explain:
//! what an attempt leaves out counts for nothing, a slip or an end that did not come counts
//! against it. So a false fit of a few notes does not stand against a whole chunk, and a long
//! chunk that broke off not against a short one that it begins like.

use super::attempts::Item;
use super::candidate::Candidate;
use super::told::Finished;
use super::{Listener, run_through};
use evenhand_core::session::Ends;

/// What it counts, in per cent of a note, that a chunk follows the one that was just played: more
/// than a slip, so that of two that are alike it is the one whose turn it is. Our default.
const GOES_ON: i32 = 200;

/// What it counts that a chunk is at most so many from the one that was played last: it only says
/// which of several that are as good is meant. Two of three restarts go back four bars at most (22
/// rehearsals of pianists). Our default.
const NEAR: (usize, i32) = (4, 10);

/// Opinions that follow each other.
#[derive(Clone, Copy, Debug)]
struct Best {
    /// The first of them.
    first: usize,
    /// What they explain together.
    worth: i32,
    /// The same, and more where one goes on from another.
    rank: i32,
    /// After their last note.
    end: u32,
}

impl<'a> Listener<'a> {
    /// The first attempt on which the opinions are settled, with `ended` whatever may come.
    pub(super) fn decide(&mut self, ended: bool) -> Option<Finished<'a>> {
        loop {
            if let Some(finished) = self.queue.next_attempt() {
                return Some(self.hand_out(finished));
            }
            let Some(best) = self.best() else {
                if self.settle_remains(ended) {
                    continue;
                }
                return self.leave_line(ended);
            };
            let settled = ended || self.config.ends == Ends::ByCaller || self.is_settled(&best);
            if !settled {
                return self.leave_line(false);
            }
            if self.remains.is_none() {
                let opinion = self.take(best.first);
                self.go_on_with(opinion);
                continue;
            }
            let opinion = &self.opinions[best.first];
            let is_voice = opinion.chunk >= self.chunks.len();
            if !is_voice && !opinion.is_sound() {
                self.set_aside(best.first);
                continue;
            }
            let mut opinion = self.take(best.first);
            self.read_remains(opinion.notes.start, Some(&mut opinion), false);
            if let Some(remains) = &mut self.remains {
                remains.take(&opinion);
            }
            self.go_on_with(opinion);
        }
    }

    /// Keeps an opinion that is open to doubt, and what else its notes may be, until it is settled.
    fn set_aside(&mut self, first: usize) {
        let opinion = self.opinions.swap_remove(first);
        // What has come to its end is settled with it.
        let end = opinion.reaches_its_ends().then_some(opinion.notes.end);
        let (rivals, others) = self.opinions.drain(..).partition(|other| other.overlaps(&opinion));
        self.opinions = others;
        if let Some(remains) = &mut self.remains {
            remains.hold(opinion, rivals);
        }
        if let Some(end) = end {
            self.read_remains(end, None, false);
        }
    }

    /// Nothing else is made of the notes before `end`.
    fn pass_over(&mut self, end: u32) {
        self.opinions.retain(|other| other.notes.start >= end);
        for session in &mut self.sessions {
            if session.under_way_from().is_some_and(|from| from < end) {
                session.pass_over(end);
            }
        }
    }

    /// Goes on with a whole attempt: with the neighbours before it, or after them.
    fn go_on_with(&mut self, opinion: Candidate<'a>) {
        if !self.line.goes_on_with(&opinion, self.chunks, &self.numbers) {
            let over = self.line.end(self.chunks, self.config, &self.numbers);
            self.queue.attempt(over);
        }
        self.last_chunk = Some(opinion.chunk).filter(|_| self.remains.is_some());
        self.line.push(opinion);
    }

    /// Settles what is left if nothing more can become of it. Whether something was.
    fn settle_remains(&mut self, ended: bool) -> bool {
        let Some(remains) = &self.remains else { return false };
        let Some(due) = remains.due(&self.numbers) else { return false };
        let under_way = || self.sessions.iter().filter_map(|session| session.under_way_from());
        let heard = self.numbers.heard();
        let end = if ended || (self.latest >= due && under_way().next().is_none()) {
            Some(heard)
        } else {
            remains.overflows(&self.numbers, under_way())
        };
        end.is_some_and(|end| self.read_remains(end, None, end == heard))
    }

    /// Reads what is left before the note `end`; `next` is the whole attempt that comes after it.
    /// Whether something was.
    pub(super) fn read_remains(
        &mut self,
        end: u32,
        next: Option<&mut Candidate<'a>>,
        silence: bool,
    ) -> bool {
        let Some(remains) = &mut self.remains else { return false };
        let around = (self.line.last(), next);
        let with = (self.chunks, self.config, &self.numbers);
        let items = remains.settle(end, around, with, silence);
        let is_some = !items.is_empty();
        for item in items {
            if !matches!(item, Item::FalseStart(..)) {
                self.pass_over(item.notes().end);
            }
            match item {
                Item::Whole(opinion) => {
                    if let Some(remains) = &mut self.remains {
                        remains.take(&opinion);
                    }
                    self.go_on_with(opinion);
                }
                Item::Alone(_, finished) => {
                    let over = self.line.end(self.chunks, self.config, &self.numbers);
                    self.queue.attempt(over.into_iter().chain([finished]));
                }
                Item::FalseStart(_, false_start) => {
                    // Nothing goes on over it: what was played through before it is over.
                    let over = self.line.end(self.chunks, self.config, &self.numbers);
                    self.queue.attempt(over);
                    self.queue.false_start(false_start);
                }
            }
        }
        is_some
    }

    /// The neighbours that were played through, if nothing goes on from them.
    fn leave_line(&mut self, ended: bool) -> Option<Finished<'a>> {
        if !ended {
            self.look_whether_line_goes_on();
            if self.may_go_on_until().is_some_and(|until| self.latest < until) {
                return None;
            }
        }
        let over = self.line.end(self.chunks, self.config, &self.numbers)?;
        Some(self.hand_out(over))
    }

    fn look_whether_line_goes_on(&mut self) {
        let Some(remains) = &mut self.remains else { return };
        let left = (remains.told, self.numbers.heard());
        if self.goes_on.0 != left {
            let goes_on = self.line.last().is_some_and(|last| remains.goes_on(last, &self.numbers));
            self.goes_on = (left, goes_on);
        }
    }

    /// Whether what is left goes on from the neighbours that were played through, and will be
    /// settled with them.
    pub(super) fn line_goes_on(&self) -> bool {
        let left = self.remains.as_ref().map(|remains| (remains.told, self.numbers.heard()));
        self.goes_on.1 && left == Some(self.goes_on.0)
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
            let rank =
                |next: &Best| next.rank + self.goes_on_by(opinion, &self.opinions[next.first]);
            let follow = bests
                .iter()
                .filter(|next| self.opinions[next.first].notes.start >= place.end)
                .max_by_key(|next| rank(next));
            let worth = opinion.worth + follow.map_or(0, |next| next.worth);
            let rank = opinion.worth + follow.map_or(0, rank);
            let this = Best { first, worth, rank, end: follow.map_or(place.end, |next| next.end) };
            bests.push(this);
            // Of equals the first in the study's order, unless it only comes later.
            let from_line = |best: &Best| {
                let first = &self.opinions[best.first];
                let near = self.last_chunk.is_some_and(|last| last.abs_diff(first.chunk) <= NEAR.0);
                let near = if near { NEAR.1 } else { 0 };
                best.rank + near + self.goes_on_from_line(first.chunk, first.notes.start)
            };
            if best.is_none_or(|best| from_line(&this) >= from_line(&best)) {
                best = Some(this);
            }
        }
        best
    }

    /// What it counts that an attempt goes on from another one.
    fn goes_on_by(&self, one: &Candidate<'_>, other: &Candidate<'_>) -> i32 {
        let next = self.chunks.get(other.chunk);
        let goes_on = self.remains.is_some()
            && other.chunk == one.chunk + 1
            && next.is_some_and(|next| {
                run_through::goes_on(one, next, other.notes.start, &self.numbers)
            });
        if goes_on { GOES_ON } else { 0 }
    }

    /// The same from the neighbours that were played through so far.
    fn goes_on_from_line(&self, chunk: usize, first: u32) -> i32 {
        let goes_on = self.remains.is_some()
            && self.line.would_go_on(chunk, first, self.chunks, &self.numbers);
        if goes_on { GOES_ON } else { 0 }
    }

    /// Whether they cannot be bettered any more by a chunk that is under way.
    fn is_settled(&self, best: &Best) -> bool {
        let opinion = &self.opinions[best.first];
        let under_way = || {
            self.sessions.iter().enumerate().filter_map(|(chunk, session)| {
                let from = session.under_way_from()?;
                Some((from, session.match_score() + self.goes_on_from_line(chunk, from)))
            })
        };
        // What is played since may be another attempt.
        let next = under_way().filter(|&(from, _)| from >= best.end);
        let since = next.map(|(_, worth)| worth).max().unwrap_or(0).max(0);
        let goes_on = self.numbers.heard() > opinion.notes.end;
        let in_time = self.latest < opinion.due();
        let rank = best.rank + self.goes_on_from_line(opinion.chunk, opinion.notes.start);
        let mut rivals = self.sessions.iter().enumerate().filter_map(|(chunk, session)| {
            let from = session.under_way_from()?;
            let may_win = goes_on || in_time || session.has_reached_the_end();
            let goes_on = self.goes_on_from_line(chunk, from);
            (from < opinion.notes.end && may_win).then(|| session.match_score() + goes_on)
        });
        !rivals.any(|worth| worth >= rank + since)
    }

    fn name_of(&self, chunk: usize) -> Option<&'a str> {
        let voice = || self.voices.get(chunk.checked_sub(self.chunks.len())?);
        Some(self.chunks.get(chunk).or_else(voice)?.name.as_str())
    }

    /// Takes an opinion, and with it all notes that it is about.
    fn take(&mut self, best: usize) -> Candidate<'a> {
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
        opinion.finished.also = also.into_iter().filter_map(|chunk| self.name_of(chunk)).collect();
        for session in &mut self.sessions {
            if session.under_way_from().is_some_and(|from| from < opinion.notes.end) {
                session.pass_over(opinion.notes.end);
            }
        }
        opinion
    }
}

/// Whether the same notes are another chunk as well as this one.
fn fits_as_well(other: &Candidate<'_>, opinion: &Candidate<'_>) -> bool {
    other.chunk != opinion.chunk
        && other.notes == opinion.notes
        && other.worth == opinion.worth
        && other.is_whole() == opinion.is_whole()
}
