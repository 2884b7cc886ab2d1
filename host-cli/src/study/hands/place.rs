//! Where on the neck pitches lie near to where the hand is.

use crate::study::model::Study;
use crate::study::prepare::{Guitar, STRINGS};
use evenhand_core::units::{GuitarString, Pitch};

/// What a pitch without a place costs, in frets: more than any place.
const NONE: u32 = 1_000;

/// Places for pitches that begin together: each on a string of its own that is not taken, higher pitches on higher
/// strings, altogether as near as can be to the fret where the hand is. None for those that find no string.
pub fn nearest_places(
    study: &Study,
    pitches: &[Pitch],
    taken: &[GuitarString],
    near: u8,
) -> Vec<Option<(GuitarString, u8)>> {
    nearest(&Guitar::of(study), pitches, taken, near)
}

/// The fret of a pitch on a string, if it is there.
pub fn fret_of(study: &Study, string: GuitarString, pitch: Pitch) -> Option<u8> {
    Guitar::of(study).fret(string, pitch)
}

/// The best so far: what it costs, and the places.
type Best = (u32, Vec<Option<(GuitarString, u8)>>);

pub(super) fn nearest(
    guitar: &Guitar,
    pitches: &[Pitch],
    taken: &[GuitarString],
    near: u8,
) -> Vec<Option<(GuitarString, u8)>> {
    let mut order: Vec<usize> = (0..pitches.len()).collect();
    order.sort_by_key(|index| std::cmp::Reverse(pitches[*index].number()));
    let strings: Vec<GuitarString> = (1..=STRINGS)
        .filter_map(GuitarString::new)
        .filter(|string| !taken.contains(string))
        .collect();
    // For each number of strings used up, from the highest: the best for the pitches so far.
    let mut best: Vec<Best> = vec![(0, Vec::new()); strings.len() + 1];
    for index in order {
        let pitch = pitches[index];
        let mut next: Vec<Best> = Vec::with_capacity(best.len());
        for used in 0..=strings.len() {
            let without = {
                let (cost, places) = &best[used];
                (cost + NONE, [places.as_slice(), &[None]].concat())
            };
            let mut found = without;
            if let Some(string) = used.checked_sub(1).map(|at| strings[at]) {
                if let Some(fret) = guitar.fret(string, pitch) {
                    let (cost, places) = &best[used - 1];
                    let cost = cost + u32::from(fret.abs_diff(near));
                    if cost < found.0 {
                        found = (cost, [places.as_slice(), &[Some((string, fret))]].concat());
                    }
                }
                // A string may stay unused.
                let unused: &Best = &next[used - 1];
                if unused.0 <= found.0 {
                    found = unused.clone();
                }
            }
            next.push(found);
        }
        best = next;
    }
    let mut sorted: Vec<usize> = (0..pitches.len()).collect();
    sorted.sort_by_key(|index| std::cmp::Reverse(pitches[*index].number()));
    let places = best.pop().map(|(_, places)| places).unwrap_or_default();
    let mut all = vec![None; pitches.len()];
    for (index, place) in sorted.into_iter().zip(places) {
        all[index] = place;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `3:2 2:1` for pitches by number; `-` where there is no place.
    fn places(pitches: &[u8], taken: &[u8], near: u8) -> String {
        let pitches: Vec<Pitch> = pitches.iter().filter_map(|n| Pitch::new(*n)).collect();
        let taken: Vec<GuitarString> = taken.iter().filter_map(|n| GuitarString::new(*n)).collect();
        let word = |place: &Option<(GuitarString, u8)>| {
            place.map_or("-".to_owned(), |(string, fret)| format!("{}:{fret}", string.number()))
        };
        let places = nearest_places(&Study::default(), &pitches, &taken, near);
        places.iter().map(word).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn a_note_lies_where_the_hand_is() {
        assert_eq!(places(&[64], &[], 0), "1:0");
        assert_eq!(places(&[64], &[], 5), "2:5");
        assert_eq!(places(&[64], &[1, 2], 0), "3:9");
        assert_eq!(places(&[39], &[], 0), "-");
    }

    #[test]
    fn a_chord_lies_on_strings_of_its_own() {
        // C major in the first position, in whatever order it comes.
        assert_eq!(places(&[48, 52, 55, 60, 64], &[], 0), "5:3 4:2 3:0 2:1 1:0");
        assert_eq!(places(&[64, 60, 55, 52, 48], &[], 0), "1:0 2:1 3:0 4:2 5:3");
        assert_eq!(places(&[40, 41], &[], 0), "6:0 -");
    }
}
