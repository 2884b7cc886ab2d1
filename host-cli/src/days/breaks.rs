//! Where a piece breaks most, by the places of what was found in its attempts.

use crate::log::Attempt;
use evenhand_core::verdict::Outcome;

/// So many attempts that were not clean are looked at, the latest: where it broke before has been mended or
/// not. Our default.
const LATEST: usize = 30;

/// So often it has broken at a place before that is said. Our default: twice may be chance.
const FEWEST: u32 = 3;

/// A place at which a piece breaks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BreaksAt {
    /// The bar,
    pub bar: u16,
    /// and the beat in it, as the log has it.
    pub beat: Option<String>,
    /// So many attempts broke there,
    pub failed: u32,
    /// of so many of the latest that were not clean.
    pub of: u32,
    /// What it was most often, by its name in the event stream,
    pub what: String,
    /// and whether it was too little of it: softer, sooner.
    pub less: bool,
}

/// What the log says of where a piece breaks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Breaks {
    /// No attempt at it was less than clean.
    #[default]
    Never,
    /// Some were, and nothing that was found in them has a place.
    NotKnown,
    /// At no place more than twice.
    Nowhere,
    /// Most at this one.
    At(BreaksAt),
}

/// A bar and a beat with what was found there, and whether that was too little of it.
struct Place {
    at: (u16, Option<String>),
    whats: Vec<(String, bool)>,
}

/// Where these attempts at one piece broke, the earliest first.
pub(super) fn breaks(attempts: &[&Attempt]) -> Breaks {
    let failed = attempts.iter().rev().filter(|attempt| attempt.verdict == Outcome::NeedsWork);
    let failed: Vec<&&Attempt> = failed.take(LATEST).collect();
    if failed.is_empty() {
        return Breaks::Never;
    }
    let mut places: Vec<Place> = Vec::new();
    for attempt in &failed {
        let mut told: Vec<(u16, Option<String>)> = Vec::new();
        for finding in attempt.found().into_iter().filter(|finding| finding.severity == "fails") {
            let Some(bar) = finding.bar else { continue };
            let place = (bar, finding.beat);
            // Two findings at one place are one break.
            if told.contains(&place) {
                continue;
            }
            let what = (finding.what, finding.size < 0);
            match places.iter_mut().find(|known| known.at == place) {
                Some(known) => known.whats.push(what),
                None => places.push(Place { at: place.clone(), whats: vec![what] }),
            }
            told.push(place);
        }
    }
    // Of equal ones the earlier in the music.
    let most = places.into_iter().min_by(|one, other| {
        other.whats.len().cmp(&one.whats.len()).then_with(|| one.at.cmp(&other.at))
    });
    let Some(Place { at: (bar, beat), whats }) = most else { return Breaks::NotKnown };
    let count = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
    if count(whats.len()) < FEWEST {
        return Breaks::Nowhere;
    }
    let often = |what: &(String, bool)| whats.iter().filter(|one| *one == what).count();
    let (failed_there, of) = (count(whats.len()), count(failed.len()));
    let first_of_most = |best: (String, bool), what: &(String, bool)| {
        if often(what) > often(&best) { what.clone() } else { best }
    };
    let first = whats.first().cloned().unwrap_or_default();
    let (what, less) = whats.iter().fold(first, first_of_most);
    Breaks::At(BreaksAt { bar, beat, failed: failed_there, of, what, less })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn attempt(verdict: Outcome, places: &[(&str, u16, &str)]) -> Attempt {
        let found: Vec<serde_json::Value> = places
            .iter()
            .map(|(what, bar, beat)| {
                serde_json::json!({"what": what, "bearing": "fails", "bar": bar, "beat": beat,
                    "count": 1, "size": 61_000, "limit": 0, "unit": "us"})
            })
            .collect();
        Attempt {
            number: 1,
            began: jiff::Timestamp::UNIX_EPOCH,
            chunk: "A".to_owned(),
            level: "first".to_owned(),
            practised: 6_000,
            heard: None,
            verdict,
            together: 1,
            findings: serde_json::Value::from(found).to_string(),
            false_starts: 0,
            interrupted: false,
            notes: Vec::new(),
            disputed: false,
        }
    }

    fn of(attempts: &[Attempt]) -> Breaks {
        breaks(&attempts.iter().collect::<Vec<_>>())
    }

    #[test]
    fn the_place_that_breaks_most_is_told_with_what_it_was() {
        let (slip, late) = (("wrong-notes", 5, "2"), ("hesitation", 5, "3 1/2"));
        let mut played = vec![attempt(Outcome::Passed, &[("wrong-notes", 9, "1")])];
        assert_eq!(of(&played), Breaks::Never);
        for places in [&[late][..], &[slip, late], &[late, ("wrong-notes", 5, "3 1/2")], &[slip]] {
            played.push(attempt(Outcome::NeedsWork, places));
        }
        let Breaks::At(at) = of(&played) else { panic!("{:?}", of(&played)) };
        assert_eq!((at.bar, at.beat.as_deref(), at.failed, at.of), (5, Some("3 1/2"), 3, 4));
        assert_eq!((at.what.as_str(), at.less), ("hesitation", false));
    }

    #[test]
    fn where_it_is_not_known_or_nowhere_more_than_elsewhere_nothing_is_made_up() {
        let none = [attempt(Outcome::NeedsWork, &[])];
        assert_eq!(of(&none), Breaks::NotKnown);
        let scattered: Vec<Attempt> =
            (1..=9).map(|bar| attempt(Outcome::NeedsWork, &[("wrong-notes", bar, "1")])).collect();
        assert_eq!(of(&scattered), Breaks::Nowhere);
    }

    #[test]
    fn what_broke_long_ago_is_not_told_for_ever() {
        let mut played: Vec<Attempt> =
            (0..20).map(|_| attempt(Outcome::NeedsWork, &[("wrong-notes", 1, "1")])).collect();
        played.extend((0..30).map(|_| attempt(Outcome::NeedsWork, &[("hesitation", 2, "4")])));
        assert!(matches!(of(&played), Breaks::At(BreaksAt { bar: 2, failed: 30, of: 30, .. })));
    }
}
