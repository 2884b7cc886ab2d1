//! The same other pitch at its place, again and again: the page is misread, not the hand too slow.

use super::event_results::{EventResults, WrongPitch};
use heapless::Vec;

/// Places that are kept. Our default.
const PLACES: usize = 4;

/// From the second time on the tempo stays, and it is said. Our default: a finger that
/// misses seldom misses by the same fret at the same place three times.
pub(super) const TEMPO_STAYS: u8 = 2;

/// How often the same other pitch came at its place, without the right one in between.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Misread {
    pub(super) wrong: WrongPitch,
    pub(super) times: u8,
    /// Nothing else went wrong in the last attempt.
    pub(super) is_all: bool,
}

/// The places of the piece that is practised where other pitches came.
#[derive(Clone, Debug)]
pub(super) struct Misreadings {
    list: Vec<Misread, PLACES>,
}

impl Misreadings {
    pub(super) const fn new() -> Self {
        Self { list: Vec::new() }
    }

    pub(super) fn clear(&mut self) {
        self.list.clear();
    }

    /// Takes an attempt. Gives what came again, and most often.
    pub(super) fn take(&mut self, results: &EventResults) -> Option<Misread> {
        let is_again = |misread: &Misread| {
            results.wrong().contains(&misread.wrong) || !results.has_reached(misread.wrong.event)
        };
        self.list.retain(is_again);
        let mut again = 0;
        for wrong in results.wrong() {
            match self.list.iter_mut().find(|misread| misread.wrong == *wrong) {
                Some(misread) => {
                    misread.times = misread.times.saturating_add(1);
                    again += 1;
                }
                // Those beyond the capacity are slips still.
                None => drop(self.list.push(Misread { wrong: *wrong, times: 1, is_all: false })),
            }
        }
        let came = self.list.iter().filter(|misread| results.wrong().contains(&misread.wrong));
        let most = came.max_by_key(|misread| misread.times).copied()?;
        let is_all = results.failures() <= again;
        (most.times >= TEMPO_STAYS).then_some(Misread { is_all, ..most })
    }

    /// The last attempt is as if it had not been played.
    pub(super) fn take_back(&mut self, results: &EventResults) {
        for misread in &mut self.list {
            if results.wrong().contains(&misread.wrong) {
                misread.times = misread.times.saturating_sub(1);
            }
        }
        self.list.retain(|misread| misread.times > 0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Pitch;

    fn pitch(number: u8) -> Pitch {
        Pitch::new(number).unwrap()
    }

    fn with(event: u8, played: u8) -> EventResults {
        let wrong = WrongPitch { event, written: pitch(60), played: pitch(played) };
        EventResults::clean(8).with_wrong(wrong)
    }

    fn times(misreadings: &mut Misreadings, results: &EventResults) -> u8 {
        misreadings
            .take(results)
            .filter(|misread| misread.is_all)
            .map_or(0, |misread| misread.times)
    }

    #[test]
    fn the_same_pitch_at_its_place_is_counted() {
        let mut misreadings = Misreadings::new();
        let counted = [0; 3].map(|_: u8| times(&mut misreadings, &with(3, 61)));
        assert_eq!(counted, [0, 2, 3]);
        assert_eq!(times(&mut misreadings, &with(3, 62)), 0, "another pitch");
        assert_eq!(times(&mut misreadings, &with(3, 61)), 0, "begins anew");
    }

    #[test]
    fn the_right_pitch_in_between_begins_anew_and_not_to_have_come_so_far_does_not() {
        let mut misreadings = Misreadings::new();
        times(&mut misreadings, &with(3, 61));
        misreadings.take(&EventResults::stopped(8, 1));
        assert_eq!(times(&mut misreadings, &with(3, 61)), 2);
        misreadings.take(&EventResults::clean(8));
        assert_eq!(times(&mut misreadings, &with(3, 61)), 0);
    }

    #[test]
    fn beside_other_faults_it_is_counted_and_not_all() {
        let mut misreadings = Misreadings::new();
        let mut both = with(3, 61);
        both.fail(6);
        assert_eq!([0; 3].map(|_: u8| times(&mut misreadings, &both)), [0, 0, 0]);
        assert_eq!(misreadings.list.first().map(|misread| misread.times), Some(3));
        assert_eq!(times(&mut misreadings, &with(3, 61)), 4);
        misreadings.take_back(&with(3, 61));
        assert_eq!(times(&mut misreadings, &with(3, 61)), 4);
    }
}
