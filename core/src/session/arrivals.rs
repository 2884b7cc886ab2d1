//! A stream without a study: its notes, and what of them is told on arrival, whatever was to be played.

use crate::attempt::{Attempt, PlayedNote};
use crate::limits::PLAYED_NOTES;
use crate::notes::NoteEvent;
use crate::pickup::Pickup;
use crate::units::Instant;
use heapless::Vec;

/// The notes of a stream in order of arrival, by the rules by which a session takes them: the latency of
/// the pickup is taken off, and [`PlayedNote::onset`] says which of them nobody struck.
///
/// There is room for [`PLAYED_NOTES`]; whoever goes on listening [forgets](Arrivals::forget) the first
/// of them in time. What finds no room is counted and not kept.
#[derive(Clone, Debug)]
pub struct Arrivals {
    attempt: Attempt<Vec<PlayedNote, PLAYED_NOTES>>,
}

impl Arrivals {
    /// Nothing yet, from this pickup.
    pub fn new(pickup: &Pickup) -> Self {
        let mut attempt = Attempt::new();
        let view: &mut Attempt = &mut attempt;
        view.begin(pickup);
        Self { attempt }
    }

    /// Takes what the strings did at `now`. Time that steps back stands still.
    pub fn hear(&mut self, event: NoteEvent, now: Instant) {
        let attempt: &mut Attempt = &mut self.attempt;
        let _ = attempt.take(event, now);
    }

    /// The notes that are kept. Their times count from [`start`](Arrivals::start). What a note was taken
    /// for may change with the next one on its string, or within 30 ms.
    pub fn notes(&self) -> &[PlayedNote] {
        let attempt: &Attempt = &self.attempt;
        attempt.notes()
    }

    /// When the first of them began; `None` before the first note.
    pub fn start(&self) -> Option<Instant> {
        let attempt: &Attempt = &self.attempt;
        attempt.start()
    }

    /// How many notes found no room.
    pub fn beyond(&self) -> u32 {
        let attempt: &Attempt = &self.attempt;
        attempt.beyond()
    }

    /// Forgets the first `count` notes.
    pub fn forget(&mut self, count: usize) {
        let attempt: &mut Attempt = &mut self.attempt;
        attempt.forget(count);
    }

    /// Whether so much of what came lately is noise that nothing can be judged by it.
    pub fn hears_poorly(&self) -> bool {
        let attempt: &Attempt = &self.attempt;
        attempt.hearing().is_poor()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::attempt::Onset;
    use crate::units::{GuitarString, Pitch, Velocity};

    fn begun(string: u8, pitch: u8, velocity: u8) -> NoteEvent {
        NoteEvent::Begun {
            pitch: Pitch::new(pitch).unwrap(),
            velocity: Velocity::new(velocity).unwrap(),
            string: GuitarString::new(string),
        }
    }

    #[test]
    fn what_nobody_struck_is_told_without_a_study() {
        let mut arrivals = Arrivals::new(&Pickup::UNKNOWN);
        assert_eq!(arrivals.start(), None);
        let came = [
            (0, begun(1, 64, 80)),
            (30, begun(1, 64, 40)),
            (500, begun(2, 60, 80)),
            (505, begun(3, 60, 20)),
            (900, begun(4, 52, 80)),
        ];
        for (millis, event) in came {
            arrivals.hear(event, Instant::from_micros(1_000_000 + millis * 1_000));
        }
        let onsets = |arrivals: &Arrivals| -> Vec<Onset, 8> {
            arrivals.notes().iter().map(|note| note.onset).collect()
        };
        let all = [Onset::Struck, Onset::Again, Onset::Struck, Onset::Crosstalk, Onset::Struck];
        assert_eq!(onsets(&arrivals), all);
        arrivals.forget(2);
        assert_eq!(onsets(&arrivals), all[2..]);
        assert_eq!(arrivals.start(), Some(Instant::from_micros(1_500_000)));
        assert!(!arrivals.hears_poorly());
    }

    #[test]
    fn what_finds_no_room_is_counted() {
        let mut arrivals = Arrivals::new(&Pickup::UNKNOWN);
        for number in 0..PLAYED_NOTES as u64 + 2 {
            arrivals.hear(begun(1, 64, 80), Instant::from_micros(number * 200_000));
        }
        assert_eq!((arrivals.notes().len(), arrivals.beyond()), (PLAYED_NOTES, 2));
        arrivals.forget(PLAYED_NOTES);
        assert_eq!((arrivals.notes().len(), arrivals.beyond()), (0, 0));
    }
}
