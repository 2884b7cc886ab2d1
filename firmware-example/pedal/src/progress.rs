//! What the pedal does by itself: judges what is over, counts in, moves on.

use evenhand_core::measure::timing::tempo_played;
use evenhand_core::next_step::{Attempt, Heard, Piece};
use evenhand_core::units::{Instant, Seconds};
use evenhand_core::verdict::Pooled;

use crate::lights::About;
use crate::music::Music;
use crate::pedal::{Pedal, seconds};
use crate::room::{Judgement, Room};
use crate::state::{State, nth};

impl<const N: usize> Pedal<'_, N> {
    /// Judges the attempts that are over.
    pub(crate) fn judge(&mut self, now: Instant, music: &impl Music, room: &mut impl Room) {
        while let Some(task) = self.task {
            let Some(judged) = self.desk.poll(now) else { return };
            let material = judged.material();
            let Pooled { verdict, attempts } = self.pool.add(material, judged.verdict);
            let tempo = tempo_played(material);
            let lasted = judged.played.last().map_or(0, |note| note.at.as_micros().max(0));
            let fingering = match task.piece {
                Piece::Chunk(chunk) => self.practice.fingering(chunk),
                _ => 0,
            };
            let judgement = Judgement {
                task,
                fingering,
                judged: &judged,
                verdict: &verdict,
                together: attempts,
                tempo,
            };
            room.judged(&judgement);
            let step = self.practice.attempt(Attempt {
                heard: Heard::of(&verdict),
                tempo,
                lasted: Seconds::new(lasted.unsigned_abs() / 1_000_000),
                ended: seconds(now),
            });
            room.next(&step, now);
            let after = self.load(&step, music, room);
            let state =
                State::Verdict { outcome: verdict.outcome, about: About::of(&verdict), after };
            self.enter(state, now);
        }
    }

    /// Does what the state does by itself, and leaves it when it is over.
    pub(crate) fn go_on(&mut self, now: Instant, room: &mut impl Room) {
        let beat = self.beat();
        let played = self.desk.notes_heard() != self.heard;
        match self.state {
            // Who plays before the count is over is not held up.
            State::CountIn { .. } | State::Offer(_) | State::Rest | State::Tempo if played => {
                self.enter(State::Listening, now);
            }
            State::CountIn { beats, told } => {
                let due = nth(self.since, beat, told);
                if now < due {
                    return;
                }
                if told >= beats {
                    return self.enter(State::Listening, due);
                }
                room.click(told == 0, due);
                self.state = State::CountIn { beats, told: told + 1 };
            }
            State::Verdict { about, after, .. } if now >= self.since.plus(crate::state::SHOWN) => {
                let after = if played { after.played_on() } else { after };
                match about {
                    Some(about) => self.move_on(State::Finding { about, after }, now),
                    None => self.follow(after, now),
                }
            }
            State::Finding { after, .. } if now >= self.since.plus(crate::state::SHOWN) => {
                let after = if played { after.played_on() } else { after };
                self.follow(after, now);
            }
            _ => {}
        }
    }

    /// Another state, which goes on watching for the same notes.
    fn move_on(&mut self, state: State, now: Instant) {
        self.state = state;
        self.since = now;
    }
}
