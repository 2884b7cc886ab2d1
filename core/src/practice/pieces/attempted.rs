//! What an attempt leads to: it is settled, or says nothing, or says something else than its tempo.

use super::Practice;
use super::entry::Placing;
use crate::practice::event_results::EventResults;
use crate::practice::misread::Misread;
use crate::practice::rules::{
    AT_TEMPO_PER_MILLE, BROKEN_OFF_FAILS, FASTER_PER_MILLE, MISREAD_AT_MOST, MISREAD_SAID,
};
use crate::practice::step::{Attempt, AttemptResult, PracticeVariant, Reason, Step};
use crate::units::{Seconds, Tempo};

impl<const PIECES: usize> Practice<PIECES> {
    /// Takes an attempt at [`current`](Self::current), with what it showed of each event, and says what
    /// comes next.
    ///
    /// It begins below the goal, at [`START_PER_MILLE`](crate::practice::rules::START_PER_MILLE) of it, and
    /// the tempo changes from step to step: the chunk that a session judges by is to be made anew with
    /// [`Task::tempo`](crate::practice::Task::tempo) each time. Who plays cleanly but much slower than that
    /// is told [`Reason::NotAtTempo`]; who plays twice cleanly and much faster goes on from there.
    pub fn attempt(&mut self, attempt: Attempt, results: &EventResults) -> Step {
        if self.current.is_none() {
            return self.begin(attempt.ended);
        }
        let (Some(index), Some(task)) = (self.current, self.current()) else {
            return self.step(self.over().unwrap_or(Reason::Nothing));
        };
        match attempt.result {
            AttemptResult::Clean => self.before.clear(),
            _ => self.remember(index),
        }
        let is_as_written = task.way == PracticeVariant::AsWritten;
        let mut misread = None;
        self.last = EventResults::NONE;
        if is_as_written && !self.by_steps {
            self.last.clone_from(results);
            self.record.take(task.piece, results);
            misread = self.misread.take(results);
        }
        let rest = self.rested.take(attempt.lasted, attempt.ended);
        let shown = self.shown.get().copied();
        self.shown.clear();
        let clean = attempt.result == AttemptResult::Clean;
        let best = self.entries.get(index).and_then(|entry| entry.stairs.fastest_clean());
        let step = match attempt.result {
            AttemptResult::Interrupted => self.interrupted(index, results, attempt.ended),
            AttemptResult::Unclear => {
                self.unclear = self.unclear.saturating_add(1);
                self.step(Reason::Unclear { in_a_row: self.unclear })
            }
            AttemptResult::Clean | AttemptResult::NotClean => {
                (self.unclear, self.broken_off) = (0, 0);
                match (pace(&attempt, task.tempo), misread) {
                    (Pace::Slower(played), _) if clean => self.step(Reason::NotAtTempo { played }),
                    (Pace::Faster(played), _) if clean && is_as_written && !self.by_steps => {
                        self.shown(index, task.tempo, played, shown, attempt.ended)
                    }
                    (_, Some(again))
                        if !clean && again.is_all && again.times <= MISREAD_AT_MOST =>
                    {
                        self.misread_again(index, again)
                    }
                    _ => self.settled(index, clean, attempt.ended),
                }
            }
        };
        // It is said whatever else went wrong; and what passes with a slip passes with the same slip for
        // ever, if nobody says so. Where practice goes elsewhere, that is what has to be said.
        let goes_on = self.current == Some(index) && !self.is_over();
        let step = match misread {
            Some(Misread { wrong, times, .. }) if times == MISREAD_SAID && goes_on => {
                Step { reason: Reason::Misread { wrong, times }, ..step }
            }
            _ => step,
        };
        let stays = clean || matches!(step.reason, Reason::Misread { .. });
        let other = if stays { None } else { self.narrow(index, task, results, attempt.ended) };
        let is_settled = match attempt.result {
            AttemptResult::Clean | AttemptResult::NotClean => true,
            AttemptResult::Interrupted => results.is_broken_off(),
            AttemptResult::Unclear => false,
        };
        let other = match other {
            None if is_settled && !self.by_steps => self.change(index, task, attempt.ended),
            other => other,
        };
        let step = other.unwrap_or(step);
        if clean {
            self.raise_joins(index, best);
        }
        Step { rest, ..step }
    }

    /// It was broken off, or was something else.
    fn interrupted(&mut self, index: usize, results: &EventResults, now: Seconds) -> Step {
        if !results.is_broken_off() || self.by_steps {
            return self.step(Reason::Interrupted);
        }
        self.broken_off = self.broken_off.saturating_add(1);
        if self.broken_off < BROKEN_OFF_FAILS {
            return self.step(Reason::Interrupted);
        }
        self.broken_off = 0;
        self.settled(index, false, now)
    }

    /// Nothing but the same other pitch came again.
    fn misread_again(&mut self, index: usize, again: Misread) -> Step {
        if let Some(entry) = self.entries.get_mut(index) {
            entry.stairs.interrupt();
            entry.share.take(false);
        }
        self.step(Reason::Misread { wrong: again.wrong, times: again.times })
    }

    /// It was clean, and much faster than it was asked for: the second time in a row it goes on from
    /// there.
    fn shown(
        &mut self,
        index: usize,
        asked: Tempo,
        played: Tempo,
        before: Option<Tempo>,
        now: Seconds,
    ) -> Step {
        let step = self.settled(index, true, now);
        if self.current != Some(index) || self.is_over() {
            return step;
        }
        let Some(before) = before else {
            self.shown.put(played);
            return step;
        };
        let played = played.slower(before);
        let Some(entry) = self.entries.get_mut(index) else { return step };
        if !entry.stairs.tempo().is_slower_than(played) {
            return step;
        }
        entry.placing = Placing::Over;
        entry.stairs.was_clean_at(played);
        (entry.passed, entry.since_best) = (true, 0);
        let reached = !entry.stairs.tempo().is_slower_than(entry.stairs.goal());
        entry.reached |= reached;
        match self.passed_on(index, reached, now) {
            Some(step) => step,
            None => self.step(Reason::Shown { played, asked }),
        }
    }
}

/// How fast an attempt was, against the tempo that was asked for.
enum Pace {
    /// About that, as far as it is known.
    AtTempo,
    /// Much slower.
    Slower(Tempo),
    /// Much faster.
    Faster(Tempo),
}

fn pace(attempt: &Attempt, asked: Tempo) -> Pace {
    let Some(played) = attempt.tempo else { return Pace::AtTempo };
    if played.is_slower_than(asked.at_per_mille(AT_TEMPO_PER_MILLE)) {
        Pace::Slower(played)
    } else if asked.at_per_mille(FASTER_PER_MILLE).is_slower_than(played) {
        Pace::Faster(played)
    } else {
        Pace::AtTempo
    }
}
