//! What was changed where a piece stood still, and what came after it: shown, not claimed. A faster clean
//! tempo after some that were not is mostly chance, so nothing here says that a change helped.

use super::sentences::change_in_words;
use evenhand_core::practice::{Choice, Piece, PracticeVariant, Reason, Step, Task};
use evenhand_core::units::{Tempo, Ticks};

/// What became of a piece after something was changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Effect {
    /// The piece that stood still.
    pub piece: Piece,
    /// What was changed.
    pub change: Choice,
    /// Attempts at the piece as it is written, before.
    pub before: u32,
    /// Its fastest clean tempo, then.
    pub best_before: Option<Tempo>,
    /// Attempts at it since.
    pub since: u32,
    /// Its fastest clean tempo now.
    pub best_since: Option<Tempo>,
}

impl Effect {
    /// That in a sentence. `name` is the piece's, `beat` what its tempo is counted in.
    pub fn sentence(&self, name: &str, beat: Ticks) -> String {
        let number = |tempo: Tempo| (tempo.hundredths_of_beats_per_minute(beat) + 50) / 100;
        let clean = |best: Option<Tempo>| match best {
            Some(best) => format!("clean at {}", number(best)),
            None => "not clean yet".to_owned(),
        };
        let what = change_in_words(self.change);
        let before = format!("{name}: {what} after {}", attempts(self.before));
        let before = format!("{before}, {}", clean(self.best_before));
        match self.since {
            0 => format!("{before}; not played as written since."),
            since if self.best_since == self.best_before => {
                format!("{before}; no faster in {} since.", attempts(since))
            }
            since => format!("{before}; {} in {} since.", clean(self.best_since), attempts(since)),
        }
    }
}

fn attempts(count: u32) -> String {
    match count {
        1 => "one attempt".to_owned(),
        more => format!("{more} attempts"),
    }
}

/// The changes of a sitting.
#[derive(Clone, Debug, Default)]
pub(super) struct Effects {
    /// Attempts at each piece as it is written.
    attempts: Vec<(Piece, u32)>,
    changes: Vec<(Piece, Choice, u32, Option<Tempo>)>,
}

impl Effects {
    /// Something was changed, or chosen where `best` was the fastest clean tempo of what was played before.
    pub(super) fn step(&mut self, before: Option<Task>, step: &Step, best: Option<Tempo>) {
        let change = match step.reason {
            Reason::Plateau { change, .. } | Reason::Chosen(change) => change,
            _ => return,
        };
        let Some(task) = before.filter(|_| change != Choice::Stop) else { return };
        self.changes.push((task.piece, change, self.count(task.piece), best));
    }

    /// An attempt at this was settled.
    pub(super) fn attempt(&mut self, task: Task) {
        if task.way != PracticeVariant::AsWritten {
            return;
        }
        match self.attempts.iter_mut().find(|(piece, _)| *piece == task.piece) {
            Some((_, count)) => *count += 1,
            None => self.attempts.push((task.piece, 1)),
        }
    }

    fn count(&self, piece: Piece) -> u32 {
        self.attempts.iter().find(|(known, _)| *known == piece).map_or(0, |(_, count)| *count)
    }

    /// What became of each. `best` tells the fastest clean tempo of a piece now.
    pub(super) fn all(&self, best: &dyn Fn(Piece) -> Option<Tempo>) -> Vec<Effect> {
        let effect = |(piece, change, before, best_before): &(_, _, u32, _)| Effect {
            piece: *piece,
            change: *change,
            before: *before,
            best_before: *best_before,
            since: self.count(*piece) - before,
            best_since: best(*piece),
        };
        self.changes.iter().map(effect).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BEAT: Ticks = Ticks::new(Ticks::PER_QUARTER);

    fn beats(beats: u32) -> Tempo {
        Tempo::from_beats_per_minute(beats, BEAT).unwrap()
    }

    fn task(piece: Piece, way: PracticeVariant) -> Task {
        Task { piece, way, tempo: beats(72) }
    }

    #[test]
    fn each_change_is_told_with_what_was_before_and_after_it() {
        let (one, two) = (Piece::Chunk(0), Piece::Chunk(1));
        let mut effects = Effects::default();
        let as_written = task(one, PracticeVariant::AsWritten);
        for _ in 0..9 {
            effects.attempt(as_written);
        }
        let step = |reason| Step { task: None, reason, offer: Default::default(), rest: None };
        let change = Choice::Rhythm;
        let changed = step(Reason::Plateau { attempts: 7, change });
        effects.step(Some(as_written), &changed, Some(beats(72)));
        // What is played in the other rhythm, and elsewhere, is no attempt at it.
        effects.attempt(task(one, PracticeVariant::LongShort));
        effects.attempt(task(two, PracticeVariant::AsWritten));
        effects.attempt(as_written);
        effects.attempt(as_written);
        let best = |now: u32| {
            let all = effects.all(&|_| Some(beats(now)));
            assert_eq!(all.len(), 1);
            all[0].sentence("“One”", BEAT)
        };
        let before = "“One”: another rhythm after 9 attempts, clean at 72";
        assert_eq!(best(76), format!("{before}; clean at 76 in 2 attempts since."));
        assert_eq!(best(72), format!("{before}; no faster in 2 attempts since."));
        // Nothing else is a change.
        effects.step(Some(as_written), &step(Reason::Chosen(Choice::Stop)), None);
        effects.step(Some(as_written), &step(Reason::Interrupted), None);
        effects.step(None, &changed, None);
        assert_eq!(effects.all(&|_| None).len(), 1);
        effects.step(Some(task(two, PracticeVariant::AsWritten)), &changed, None);
        let last = effects.all(&|_| None).pop().unwrap();
        let said =
            "“Two”: another rhythm after one attempt, not clean yet; not played as written since.";
        assert_eq!(last.sentence("“Two”", BEAT), said);
    }
}
