//! What is due today, in the minutes that there are.
//!
//! A piece is *learnt* while it is below its goal, and *kept* once it has been there. What is learnt is due
//! every day on which it has not been played yet; gains come over a night (Simmons 2012). What is kept is due
//! again after growing gaps, the first of them short: half the gain in accuracy is gone after about six
//! months and a half (Tatel & Ackerman). The gaps and minutes are our defaults.

use super::day::days_between;
use super::known::PieceDays;
use super::study::StudyDays;
use crate::study::Prepared;
use evenhand_core::practice::Piece;
use evenhand_core::practice::rules::IN_ROTATION;
use jiff::civil::Date;

/// Days from one playing to the next of what is kept, counted from the day on which it was at its goal: the
/// next day, the third, a month later, two, four. Our defaults.
const GAPS: [i32; 5] = [1, 2, 28, 60, 120];

/// What the pieces are given, in minutes. Our defaults: a turn and a half for what is learnt, a few attempts
/// for what is kept, a little more for what is new.
const LEARNING: u32 = 5;
const KEEPING: u32 = 2;
const NEW: u32 = 8;

/// Why a piece is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// It has been begun and was not clean often enough in a row yet.
    NotCleanYet,
    /// It is clean at this tempo, and its goal is faster.
    BelowGoal {
        /// In beats a minute.
        fastest: u32,
        /// It has not become faster for certain, from day to day.
        is_stuck: bool,
    },
    /// Both parts were clean on an earlier day: it has never been played in one.
    Join,
    /// It was at its goal, and has not been played for so many days.
    Keep {
        /// So many.
        days: i32,
    },
    /// It has never been played.
    New,
}

/// A piece that is due.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    /// Which study, by its place in what was given.
    pub study: usize,
    /// The piece.
    pub piece: Piece,
    /// Its name.
    pub name: String,
    /// The tempo to reach, in beats a minute.
    pub goal: u32,
    /// Why.
    pub why: Why,
    /// How long.
    pub minutes: u32,
    /// The names of the chunks that it is made of.
    pub chunks: Vec<String>,
    /// It is much like this one, which is practised today, too: so it does not come last.
    pub alike: Option<String>,
    /// Among the new ones of its study, so that each study has its first before any has its second.
    order: u32,
}

impl Due {
    /// How early it comes: what is furthest from its goal first, then what is kept and joins, new pieces
    /// last.
    fn rank(&self) -> (u8, u32) {
        match self.why {
            Why::NotCleanYet => (0, 0),
            Why::BelowGoal { fastest, .. } => (0, fastest * 1_000 / self.goal.max(1)),
            Why::Join => (1, 0),
            Why::Keep { days } => (1, 1_000_u32.saturating_sub(days.unsigned_abs())),
            Why::New => (2, self.order),
        }
    }
}

/// What is due today of these studies, the most pressing first, as much of it as fits into the minutes; and
/// how many pieces do not fit.
pub(super) fn fitting(studies: &[StudyDays], today: Date, minutes: u32) -> (Vec<Due>, usize) {
    let mut all: Vec<Due> = Vec::new();
    for (index, study) in studies.iter().enumerate() {
        all.extend(of_study(index, study, today));
    }
    all.sort_by_key(Due::rank);
    let (mut left, mut taken, mut beyond) = (minutes, Vec::new(), 0);
    for due in all {
        if due.minutes <= left {
            left -= due.minutes;
            taken.push(due);
        } else {
            beyond += 1;
        }
    }
    (taken, beyond)
}

fn of_study(index: usize, study: &StudyDays, today: Date) -> Vec<Due> {
    let known = |piece: Piece| study.pieces().iter().find(|days| days.piece == piece);
    let made_of = |piece: Piece| -> Vec<String> {
        let (first, last) = piece.span();
        let chunks = study.chunks().get(usize::from(first)..=usize::from(last)).unwrap_or(&[]);
        chunks.iter().map(|chunk| chunk.name.clone()).collect()
    };
    let of = |piece, name: &str, goal, why, minutes| Due {
        study: index,
        piece,
        name: name.to_owned(),
        goal,
        why,
        minutes,
        chunks: made_of(piece),
        alike: None,
        order: 0,
    };
    let mut due: Vec<Due> = study
        .pieces()
        .iter()
        .filter_map(|days| {
            let (why, minutes) = why(days, today)?;
            Some(of(days.piece, &days.name, days.goal, why, minutes))
        })
        .collect();
    let unfinished = study.pieces().iter().filter(|days| days.reached.is_none()).count();
    let room = u32::try_from(IN_ROTATION.saturating_sub(unfinished)).unwrap_or(0);
    let mut new = 0;
    for (number, chunk) in (0_u8..).zip(study.chunks()) {
        let own = known(Piece::Chunk(number));
        if own.is_none() && new < room {
            new += 1;
            let fresh = of(Piece::Chunk(number), &chunk.name, beats(chunk), Why::New, NEW);
            due.push(Due { order: new, ..fresh });
        }
        let next = study.chunks().get(usize::from(number) + 1);
        let (Some(own), Some(next)) = (own, next) else { continue };
        let after = known(Piece::Chunk(number.saturating_add(1)));
        let passed = |days: &PieceDays| days.passed.is_some_and(|day| day < today);
        let join = Piece::Join { first: number, seam: number, last: number.saturating_add(1) };
        let is_joined = study.pieces().iter().any(|days| {
            days.piece.chunks().is_some_and(|(first, last)| first <= number && number < last)
        });
        if passed(own) && after.is_some_and(passed) && !is_joined && follows(chunk, next) {
            let name = format!("{} and {}", chunk.name, next.name);
            let goal = beats(chunk).min(beats(next));
            due.push(of(join, &name, goal, Why::Join, LEARNING));
        }
    }
    due
}

/// Why a piece that has been played is due today, if it is.
fn why(days: &PieceDays, today: Date) -> Option<(Why, u32)> {
    let last = days_between(days.last()?, today);
    if last < 1 {
        return None;
    }
    match (days.reached, days.fastest) {
        (Some(reached), _) => {
            // Each day since on which it was still there makes the gap longer; one on which it was not, cold,
            // begins again with the first.
            let since = days.days.iter().rev().take_while(|(day, _)| **day > reached);
            let played = since.take_while(|(_, played)| played.passed_cold()).count();
            let gap = GAPS.get(played).or(GAPS.last())?;
            (last >= *gap).then_some((Why::Keep { days: last }, KEEPING))
        }
        (None, Some(fastest)) => {
            let plateau = crate::practice::trend::Trend::Plateau;
            let is_stuck = days.rise().is_some_and(|rise| rise.trend == plateau);
            Some((Why::BelowGoal { fastest, is_stuck }, LEARNING))
        }
        (None, None) => Some((Why::NotCleanYet, LEARNING)),
    }
}

fn beats(chunk: &Prepared) -> u32 {
    (chunk.tempo.hundredths_of_beats_per_minute(chunk.metre.beat()) + 50) / 100
}

/// Whether one chunk follows the other without a gap, so that both can be played in one.
fn follows(chunk: &Prepared, next: &Prepared) -> bool {
    crate::practice::can_join(chunk, next)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::days::{Breaks, ColdTry, DayPlayed};
    use std::collections::BTreeMap;

    fn day(text: &str) -> Date {
        text.parse().unwrap()
    }

    fn clean() -> DayPlayed {
        let cold = Some(ColdTry { tempo: 100, passed: true });
        DayPlayed { cold, best: Some(100), attempts: 3 }
    }

    /// A piece that was played on these days, at its goal from one of them on.
    fn kept(reached: &str, played: &[&str]) -> PieceDays {
        PieceDays {
            piece: Piece::Chunk(0),
            name: "A".to_owned(),
            goal: 100,
            fastest: Some(100),
            passed: Some(day(reached)),
            reached: Some(day(reached)),
            days: played.iter().map(|text| (day(text), clean())).collect::<BTreeMap<_, _>>(),
            breaks: Breaks::Never,
        }
    }

    #[test]
    fn what_is_kept_comes_back_after_growing_gaps() {
        let on = |days: &PieceDays, today| why(days, day(today)).is_some();
        let mut days = kept("2026-03-01", &["2026-03-01"]);
        assert!(!on(&days, "2026-03-01"), "played today");
        assert!(on(&days, "2026-03-02"), "the next day");
        days.days.insert(day("2026-03-02"), clean());
        assert!(!on(&days, "2026-03-03") && on(&days, "2026-03-04"));
        days.days.insert(day("2026-03-04"), clean());
        assert!(!on(&days, "2026-03-31") && on(&days, "2026-04-01"), "four weeks");
        // What was not clean cold on the last day is looked for the next day again, and so on.
        let gone = DayPlayed { cold: Some(ColdTry { tempo: 92, passed: false }), ..clean() };
        days.days.insert(day("2026-04-01"), gone);
        assert!(on(&days, "2026-04-02"), "it was gone");
        days.days.insert(day("2026-04-02"), clean());
        assert!(!on(&days, "2026-04-03") && on(&days, "2026-04-04"));
        let times: Vec<String> = (0..20).map(|i| format!("2026-{:02}-01", 1 + i % 12)).collect();
        let often: Vec<&str> = times.iter().map(String::as_str).collect();
        assert!(
            !on(&kept("2026-01-01", &often), "2027-03-01")
                && on(&kept("2026-01-01", &often), "2027-04-01")
        );
    }

    #[test]
    fn what_is_learnt_comes_every_day_and_the_furthest_from_its_goal_first() {
        let learnt =
            |fastest| PieceDays { fastest, reached: None, ..kept("2026-03-01", &["2026-03-01"]) };
        let found = why(&learnt(Some(60)), day("2026-03-02")).unwrap();
        assert_eq!(found.0, Why::BelowGoal { fastest: 60, is_stuck: false });
        assert_eq!(why(&learnt(None), day("2026-03-02")).unwrap().0, Why::NotCleanYet);
        assert_eq!(why(&learnt(None), day("2026-03-01")), None);
    }

    fn study() -> Vec<Prepared> {
        let text = "evenhand study 1\nmetre 2/4\ntempo 100\n\
                    chunk \"A\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 |\n\
                    chunk \"B\" at bar 2\n  m: 1/8 4:0 4:2 4:3 3:0 |\n\
                    chunk \"C\" at bar 9\n  m: 1/8 4:0 4:2 4:3 3:0 |\n";
        crate::study::parse(text).unwrap().prepare().unwrap()
    }

    #[test]
    fn new_pieces_come_last_and_only_what_fits_into_the_minutes() {
        let studies = [StudyDays::new(&study())];
        let (found, beyond) = fitting(&studies, day("2026-03-01"), 20);
        let names: Vec<&str> = found.iter().map(|due| due.name.as_str()).collect();
        assert_eq!((names, beyond), (vec!["A", "B"], 1));
        assert!(found.iter().all(|due| due.why == Why::New && due.goal == 100));
        assert_eq!(fitting(&studies, day("2026-03-01"), 0).1, 3);
        assert_eq!(fitting(&[], day("2026-03-01"), 20), (vec![], 0));
        let two = [StudyDays::new(&study()), StudyDays::new(&study())];
        let (found, _) = fitting(&two, day("2026-03-01"), 30);
        let order: Vec<(usize, &str)> =
            found.iter().map(|due| (due.study, due.name.as_str())).collect();
        assert_eq!(order, [(0, "A"), (1, "A"), (0, "B")]);
    }

    #[test]
    fn neighbours_that_were_clean_on_an_earlier_day_are_joined() {
        let of = |piece, name: &str| PieceDays {
            piece,
            name: name.to_owned(),
            fastest: Some(80),
            reached: None,
            ..kept("2026-03-01", &["2026-03-01"])
        };
        let mut pieces = vec![of(Piece::Chunk(0), "A"), of(Piece::Chunk(1), "B")];
        let joins = |pieces: &[PieceDays], today| -> Vec<Due> {
            let study = StudyDays::with(&study(), pieces);
            let (found, _) = fitting(&[study], day(today), 60);
            found.into_iter().filter(|due| due.why == Why::Join).collect()
        };
        let found = joins(&pieces, "2026-03-02");
        assert_eq!(found.len(), 1);
        assert_eq!(
            (found[0].name.as_str(), &found[0].chunks[..]),
            ("A and B", &["A".to_owned(), "B".to_owned()][..])
        );
        assert!(joins(&pieces, "2026-03-01").is_empty(), "clean today is too early");
        assert!(joins(&pieces[..1], "2026-03-02").is_empty());
        pieces.push(of(Piece::Join { first: 0, seam: 0, last: 1 }, "A and B"));
        assert!(joins(&pieces, "2026-03-02").is_empty(), "it has been played");
    }
}
