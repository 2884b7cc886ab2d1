//! Notes that no attempt has taken: what was played was something else.

use evenhand_core::units::{Instant, Offset, Pitch};

/// So long nothing is played after them. Our default: a pause in what is played is shorter.
const QUIET: Offset = Offset::from_millis(2_000);

/// So many are kept, as many as an attempt has at most; of more the first are lost.
const MOST: usize = 512;

/// Fewer are tuning up, or a note by chance. Our default.
const FEWEST: usize = 6;

/// The notes since the last attempt.
#[derive(Debug, Default)]
pub(crate) struct Unjudged(Vec<(Pitch, Instant)>);

impl Unjudged {
    /// A note began.
    pub(crate) fn hear(&mut self, pitch: Pitch, at: Instant) {
        if self.0.len() >= MOST {
            self.0.remove(0);
        }
        self.0.push((pitch, at));
    }

    /// They have been judged, or are to be forgotten.
    pub(crate) fn clear(&mut self) {
        self.0.clear();
    }

    /// All of them, once it is quiet and nothing may be under way.
    pub(crate) fn over(&mut self, now: Instant, under_way: bool) -> Option<Vec<(Pitch, Instant)>> {
        if under_way || now < self.due()? {
            return None;
        }
        let notes = std::mem::take(&mut self.0);
        (notes.len() >= FEWEST).then_some(notes)
    }

    /// When to ask.
    pub(crate) fn due(&self) -> Option<Instant> {
        self.0.last().map(|(_, last)| last.plus(QUIET))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn they_are_handed_out_once_when_it_is_quiet() {
        let at = |millis: u64| Instant::from_micros(millis * 1_000);
        let pitch = Pitch::new(60).unwrap();
        let mut unjudged = Unjudged::default();
        for millis in 0..6 {
            unjudged.hear(pitch, at(millis));
        }
        assert_eq!(unjudged.due(), Some(at(2_005)));
        assert_eq!(unjudged.over(at(2_004), false), None);
        assert_eq!(unjudged.over(at(2_005), true), None, "an attempt may be under way");
        assert_eq!(unjudged.over(at(2_005), false).map(|notes| notes.len()), Some(6));
        assert_eq!((unjudged.over(at(9_000), false), unjudged.due()), (None, None));
        // Few are nothing, and what was judged is none of them.
        unjudged.hear(pitch, at(0));
        assert_eq!(unjudged.over(at(2_000), false), None);
        unjudged.hear(pitch, at(0));
        unjudged.clear();
        assert_eq!(unjudged.due(), None);
    }
}
