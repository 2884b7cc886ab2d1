//! The false pitch that a lifted finger leaves after an attempt is over.
//!
//! Inside an attempt such a note is told from a slip when the attempt is judged. After it,
//! it would begin the next one. So the last note of each string is remembered from attempt to
//! attempt, and a note that trails it begins nothing.

use crate::attempt::{AFTER_THE_END, TRAILING_ABOVE, TRAILING_PERCENT};
use crate::notes::NoteEvent;
use crate::units::{GuitarString, Instant, Offset, Pitch, Velocity};

/// The last note of a string.
#[derive(Clone, Copy, Debug)]
struct Last {
    pitch: Pitch,
    velocity: Velocity,
    ended: Option<Instant>,
}

/// Whether a note trails the last one of its string.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trails {
    /// It is a note of its own.
    No,
    /// It would, if only it were weak; but the pickup sends the same velocity for all notes.
    Perhaps,
    /// It is weak, too.
    Surely,
}

/// The last note of each string, over all attempts.
#[derive(Clone, Debug, Default)]
pub struct Tail {
    last: [Option<Last>; GuitarString::MOST as usize],
    velocity: Option<Velocity>,
    velocities_differ: bool,
}

impl Tail {
    /// Nothing has been heard.
    pub const fn new() -> Self {
        Self { last: [None; GuitarString::MOST as usize], velocity: None, velocities_differ: false }
    }

    /// Whether the note that begins at `now` only trails the last one of its string: lower or
    /// nearby, weak, and right after the other's end. Call it before [`hear`](Tail::hear).
    pub fn trails(&self, event: &NoteEvent, now: Instant) -> Trails {
        let NoteEvent::Begun { pitch, velocity, string: Some(string) } = *event else {
            return Trails::No;
        };
        let Some(last) = self.last.get(slot(string)).copied().flatten() else {
            return Trails::No;
        };
        let after = last.ended.map_or(Offset::ZERO, |ended| now.since(ended));
        let weak = u16::from(velocity.value()) * 100
            < u16::from(last.velocity.value()) * u16::from(TRAILING_PERCENT);
        let above = pitch.semitones_above(last.pitch);
        if after > AFTER_THE_END || above == 0 || above > TRAILING_ABOVE {
            return Trails::No;
        }
        match (weak, self.velocities_differ) {
            (true, _) => Trails::Surely,
            (false, true) => Trails::No,
            (false, false) => Trails::Perhaps,
        }
    }

    /// Takes whatever the strings do.
    pub fn hear(&mut self, event: &NoteEvent, now: Instant) {
        match *event {
            NoteEvent::Begun { pitch, velocity, string: Some(string) } => {
                self.velocities_differ |= self.velocity.is_some_and(|other| other != velocity);
                self.velocity = Some(velocity);
                if let Some(last) = self.last.get_mut(slot(string)) {
                    // A note begun again is as strong as it was at first.
                    let before = last.filter(|last| last.pitch == pitch);
                    let velocity = before.map_or(velocity, |last| velocity.max(last.velocity));
                    *last = Some(Last { pitch, velocity, ended: None });
                }
            }
            NoteEvent::Bent { pitch, string: Some(string), .. } => {
                if let Some(Some(last)) = self.last.get_mut(slot(string)) {
                    last.pitch = pitch;
                }
            }
            NoteEvent::Ended { pitch, string: Some(string) } => {
                if let Some(Some(last)) = self.last.get_mut(slot(string))
                    && last.pitch == pitch
                {
                    last.ended.get_or_insert(now);
                }
            }
            NoteEvent::AllEnded { string } => {
                for (index, last) in self.last.iter_mut().enumerate() {
                    let meant = string.is_none_or(|string| slot(string) == index);
                    if let Some(last) = last.as_mut().filter(|_| meant) {
                        last.ended.get_or_insert(now);
                    }
                }
            }
            _ => {}
        }
    }
}

fn slot(string: GuitarString) -> usize {
    usize::from(string.number()).saturating_sub(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn begun(pitch: u8, velocity: u8) -> NoteEvent {
        NoteEvent::Begun {
            pitch: Pitch::new(pitch).unwrap(),
            velocity: Velocity::new(velocity).unwrap(),
            string: GuitarString::new(1),
        }
    }

    fn at(millis: u64) -> Instant {
        Instant::from_micros(millis * 1_000)
    }

    #[test]
    fn a_weak_low_note_right_after_the_last_trails_it() {
        let mut tail = Tail::new();
        assert_eq!(tail.trails(&begun(64, 20), at(0)), Trails::No, "nothing came before");
        tail.hear(&begun(64, 80), at(0));
        tail.hear(&begun(67, 90), at(0));
        let ended =
            NoteEvent::Ended { pitch: Pitch::new(67).unwrap(), string: GuitarString::new(1) };
        tail.hear(&ended, at(500));
        let trails = |pitch, velocity, millis| tail.trails(&begun(pitch, velocity), at(millis));
        assert_eq!(trails(64, 40, 540), Trails::Surely);
        assert_eq!(trails(64, 80, 540), Trails::No, "as strong as a note");
        assert_eq!(trails(72, 40, 540), Trails::No, "far above");
        assert_eq!(trails(64, 40, 700), Trails::No, "much later");
    }

    #[test]
    fn where_all_velocities_are_the_same_weakness_cannot_be_told() {
        let mut tail = Tail::new();
        tail.hear(&begun(67, 100), at(0));
        assert_eq!(tail.trails(&begun(64, 100), at(10)), Trails::Perhaps);
    }
}
