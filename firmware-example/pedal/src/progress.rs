//! What the pedal does with an attempt that is over.

use evenhand_core::measure::timing::tempo_played;
use evenhand_core::pickup::Habits;
use evenhand_core::practice::{AttemptResult, Engine, EventResults, Piece, Step, Task};
use evenhand_core::session::Judged;
use evenhand_core::units::{Instant, Seconds};
use evenhand_core::verdict::{Pool, Pooled};

use crate::lights::lamp_of;
use crate::mode::Shown;
use crate::music::Music;
use crate::observer::{Judgement, Observer};
use crate::pedal::Pedal;

/// Which attempts are over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Which {
    /// Those that are over by themselves.
    Over,
    /// The one under way, too, as far as it has come.
    All,
}

/// What attempts leave behind.
struct Attempts<'a> {
    pool: &'a mut Pool,
    habits: &'a mut Habits,
}

impl<const N: usize> Pedal<'_, N> {
    /// Judges the attempts that are over.
    pub(crate) fn judge(&mut self, now: Instant, music: &impl Music, observer: &mut impl Observer) {
        self.take(Which::Over, now, music, observer);
    }

    /// Judges what is under way as far as it has come, too.
    pub(crate) fn finish(
        &mut self,
        now: Instant,
        music: &impl Music,
        observer: &mut impl Observer,
    ) {
        self.take(Which::All, now, music, observer);
    }

    fn take(
        &mut self,
        which: Which,
        now: Instant,
        music: &impl Music,
        observer: &mut impl Observer,
    ) {
        while let Some(task) = self.task {
            let judged = match which {
                Which::Over => self.session.poll(now),
                Which::All => self.session.finish(),
            };
            let Some(judged) = judged else { return };
            let mut attempts =
                Attempts { pool: &mut self.pool, habits: &mut self.config.pickup.habits };
            let (shown, step) = tell(&judged, task, &mut attempts, self.engine, now, observer);
            self.session.learn(&self.config.pickup.habits);
            self.has_judged();
            self.shown = shown;
            self.follow(&step, now, music, observer);
        }
    }
}

/// Tells an attempt to the room and to practice. Not inlined: what it takes of the stack is not needed
/// while an attempt is judged.
#[inline(never)]
fn tell<const N: usize>(
    judged: &Judged<'_>,
    task: Task,
    attempts: &mut Attempts<'_>,
    engine: &mut Engine<N>,
    now: Instant,
    observer: &mut impl Observer,
) -> (Shown, Step) {
    let material = judged.material();
    let Pooled { verdict, attempts: together } =
        attempts.pool.add(material, judged.verdict, attempts.habits);
    let tempo = tempo_played(material);
    let lasted = judged.played.last().map_or(0, |note| note.at.as_micros().max(0));
    let fingering = match task.piece {
        Piece::Chunk(chunk) => engine.practice().fingering(chunk),
        _ => 0,
    };
    observer.judged(&Judgement { task, fingering, judged, verdict: &verdict, together, tempo });
    let lasted = Seconds::new(lasted.unsigned_abs() / 1_000_000);
    let results = EventResults::of(material, &verdict);
    let step = engine.attempt(AttemptResult::of(&verdict), tempo, lasted, &results, now);
    let about = lamp_of(&verdict);
    (Shown::Verdict { outcome: verdict.outcome, about, since: now }, step)
}
