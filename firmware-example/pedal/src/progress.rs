//! What the pedal does with an attempt that is over.

use evenhand_core::measure::timing::tempo_played;
use evenhand_core::practice::{Heard, Piece};
use evenhand_core::units::{Instant, Seconds};
use evenhand_core::verdict::Pooled;

use crate::lights::About;
use crate::mode::Shown;
use crate::music::Music;
use crate::pedal::Pedal;
use crate::room::{Judgement, Room};

/// Which attempts are over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Which {
    /// Those that are over by themselves.
    Over,
    /// The one under way, too, as far as it has come.
    All,
}

impl<const N: usize> Pedal<'_, N> {
    /// Judges the attempts that are over.
    pub(crate) fn judge(&mut self, now: Instant, music: &impl Music, room: &mut impl Room) {
        self.take(Which::Over, now, music, room);
    }

    /// Judges what is under way as far as it has come, too.
    pub(crate) fn finish(&mut self, now: Instant, music: &impl Music, room: &mut impl Room) {
        self.take(Which::All, now, music, room);
    }

    fn take(&mut self, which: Which, now: Instant, music: &impl Music, room: &mut impl Room) {
        while let Some(task) = self.task {
            let judged = match which {
                Which::Over => self.desk.poll(now),
                Which::All => self.desk.finish(),
            };
            let Some(judged) = judged else { return };
            let material = judged.material();
            let Pooled { verdict, attempts } = self.pool.add(material, judged.verdict);
            let tempo = tempo_played(material);
            let lasted = judged.played.last().map_or(0, |note| note.at.as_micros().max(0));
            let fingering = match task.piece {
                Piece::Chunk(chunk) => self.engine.practice().fingering(chunk),
                _ => 0,
            };
            room.judged(&Judgement {
                task,
                fingering,
                judged: &judged,
                verdict: &verdict,
                together: attempts,
                tempo,
            });
            let lasted = Seconds::new(lasted.unsigned_abs() / 1_000_000);
            let step = self.engine.attempt(Heard::of(&verdict), tempo, lasted, now);
            let about = About::of(&verdict);
            self.shown = Shown::Verdict { outcome: verdict.outcome, about, since: now };
            self.follow(&step, now, music, room);
        }
    }
}
