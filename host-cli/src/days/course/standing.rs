//! How a study stands in its course: what is to go until when, and whether it will be late.

use super::text::Planned;
use crate::days::day::days_between;
use crate::days::known::PieceDays;
use crate::practice::trend::Trend;
use evenhand_core::practice::Piece;
use jiff::ToSpan;
use jiff::civil::Date;

/// A rate holds for whoever still plays: it is told if the piece was played within so many days. Our default.
const RATE_HOLDS: i32 = 7;

/// Further ahead than this no rate is followed, in days. Our default: a year.
const FURTHEST: f64 = 366.0;

/// How a study stands on a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It begins later.
    Later,
    /// Every chunk has been at its goal.
    AtGoal,
    /// It is under way, or was to be.
    Under(UnderWay),
}

/// What is to be reached next, and what is to go.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnderWay {
    /// Per cent of the goal,
    pub percent: u32,
    /// by this day.
    pub by: Date,
    /// The chunk that is furthest from it, with the beats a minute that it lacks; none if no chunk that was
    /// begun lacks any, or the one that lacks most was never clean.
    pub furthest: Option<(String, u32)>,
    /// Chunks that were begun and never clean often enough in a row.
    pub not_clean: usize,
    /// Chunks that were never played, of all.
    pub unbegun: (usize, usize),
    /// When all of it is there at the rate of the last weeks; none where that is not known.
    pub there: Option<Date>,
}

impl UnderWay {
    /// How many days late it will be at this rate, or early if that is negative.
    pub fn late(&self) -> Option<i32> {
        self.there.map(|there| days_between(self.by, there))
    }
}

/// How a study stands on a day, by its pieces; it has so many chunks.
pub fn standing(planned: &Planned, pieces: &[PieceDays], chunks: usize, today: Date) -> Standing {
    if today < planned.from {
        return Standing::Later;
    }
    let played: Vec<&PieceDays> =
        pieces.iter().filter(|days| matches!(days.piece, Piece::Chunk(_))).collect();
    let unbegun = chunks.saturating_sub(played.len());
    if unbegun == 0 && chunks > 0 && played.iter().all(|days| days.reached.is_some()) {
        return Standing::AtGoal;
    }
    // The first that is not reached, be it over or to come.
    let lacks =
        |percent: u32| unbegun > 0 || played.iter().any(|days| to_go(days, percent) != Some(0));
    let aim = planned.aims().find(|(percent, _)| lacks(*percent));
    let (percent, by) = aim.unwrap_or((100, planned.to));
    let open: Vec<&&PieceDays> =
        played.iter().filter(|days| to_go(days, percent) != Some(0)).collect();
    let not_clean = open.iter().filter(|days| days.fastest.is_none()).count();
    let furthest = open
        .iter()
        .filter_map(|days| Some((days.name.clone(), to_go(days, percent)?)))
        .max_by_key(|(_, left)| *left);
    let rates: Option<Vec<Date>> = open.iter().map(|days| there(days, percent, today)).collect();
    let there = rates.filter(|_| unbegun == 0).and_then(|all| all.into_iter().max());
    Standing::Under(UnderWay {
        percent,
        by,
        furthest,
        not_clean,
        unbegun: (unbegun, chunks),
        there,
    })
}

/// The tempo that is so many per cent of a goal.
fn target(days: &PieceDays, percent: u32) -> u32 {
    (days.goal * percent).div_ceil(100)
}

/// How many beats a minute are to go until then.
fn to_go(days: &PieceDays, percent: u32) -> Option<u32> {
    if days.reached.is_some() {
        return Some(0);
    }
    days.fastest.map(|fastest| target(days, percent).saturating_sub(fastest))
}

/// When a piece is there, if it goes on as in the last weeks; none where it is not certain that it rises.
fn there(days: &PieceDays, percent: u32, today: Date) -> Option<Date> {
    let rise = days.rise().filter(|rise| rise.trend == Trend::Progress)?;
    if days_between(days.last()?, today) > RATE_HOLDS {
        return None;
    }
    let (target, fastest) = (f64::from(target(days, percent)), f64::from(days.fastest?));
    let left = ((target / fastest).ln() / rise.a_day.ln_1p()).ceil();
    if !(0.0..=FURTHEST).contains(&left) {
        return None;
    }
    today.checked_add((left as i64).days()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::days::{Breaks, DayPlayed};

    fn day(text: &str) -> Date {
        text.parse().unwrap()
    }

    fn planned() -> Planned {
        let (study, from, to) = ("Falls".to_owned(), day("2026-03-01"), day("2026-05-03"));
        Planned { study, line: 2, from, to, steps: vec![(70, day("2026-04-01"))] }
    }

    /// A chunk whose best rises by so much a day over ten days, up to the 10th of April.
    fn rising(number: u8, to: u32, a_day: f64) -> PieceDays {
        let bests = (0..10).map(|ago| {
            let best = f64::from(to) / (1.0 + a_day).powi(ago);
            let played = DayPlayed { best: Some(best.round() as u32), ..DayPlayed::default() };
            (day("2026-04-10").checked_sub(i64::from(ago).days()).unwrap(), played)
        });
        PieceDays {
            piece: Piece::Chunk(number),
            name: format!("Chunk {number}"),
            goal: 100,
            fastest: Some(to),
            passed: Some(day("2026-04-01")),
            reached: None,
            days: bests.collect(),
            breaks: Breaks::Never,
        }
    }

    fn under(pieces: &[PieceDays], chunks: usize, today: &str) -> UnderWay {
        match standing(&planned(), pieces, chunks, day(today)) {
            Standing::Under(under) => under,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn what_is_to_go_is_told_and_when_it_is_there_only_where_the_rate_is_known() {
        let one = [rising(0, 86, 0.01)];
        let told = under(&one, 1, "2026-04-10");
        assert_eq!((told.percent, told.by), (100, day("2026-05-03")));
        assert_eq!(told.furthest, Some(("Chunk 0".to_owned(), 14)));
        // 1.01 to the 16th is 1.17: from 86 to over 100.
        assert_eq!((told.there, told.late()), (Some(day("2026-04-26")), Some(-7)));
        // Slower, and it will be late.
        let told = under(&[rising(0, 60, 0.012)], 1, "2026-04-10");
        assert_eq!((told.percent, told.late().is_some_and(|late| late > 0)), (70, true));
        // Who does not rise for certain, has stopped, or has chunks left, has no rate.
        assert_eq!(under(&[rising(0, 86, 0.0)], 1, "2026-04-10").there, None);
        assert_eq!(under(&one, 1, "2026-04-30").there, None);
        let told = under(&one, 3, "2026-04-10");
        assert_eq!((told.there, told.unbegun), (None, (2, 3)));
    }

    #[test]
    fn the_furthest_chunk_counts_and_one_that_was_never_clean_has_no_distance() {
        let mut pieces = vec![rising(0, 86, 0.01), rising(1, 75, 0.01), rising(2, 99, 0.01)];
        pieces[2].reached = Some(day("2026-04-02"));
        assert_eq!(under(&pieces, 3, "2026-04-10").furthest, Some(("Chunk 1".to_owned(), 25)));
        pieces[1].fastest = None;
        let told = under(&pieces, 3, "2026-04-10");
        assert_eq!((told.percent, told.not_clean, told.there), (70, 1, None));
    }

    #[test]
    fn before_it_begins_and_once_it_is_there_nothing_is_to_go() {
        assert_eq!(standing(&planned(), &[], 1, day("2026-02-28")), Standing::Later);
        let mut done = rising(0, 100, 0.01);
        done.reached = Some(day("2026-04-10"));
        assert_eq!(standing(&planned(), &[done], 1, day("2026-06-01")), Standing::AtGoal);
        assert_eq!(under(&[], 2, "2026-03-01").unbegun, (2, 2));
    }
}
