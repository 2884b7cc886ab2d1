//! The days of each piece of a study: when it was played, how fast it was clean.

use super::breaks::{Breaks, breaks};
use super::day::{DayPlayed, day_of, days_between, kept};
use crate::log::{Attempt, StoredSitting};
use crate::practice::Known;
use crate::practice::trend::{DayBest, Rise, Trend, rise};
use crate::study::Prepared;
use evenhand_core::practice::{CleanRow, Earlier, Piece, Rules};
use evenhand_core::units::Tempo;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// What the log knows of a chunk or a join. Tempi are in whole beats a minute.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PieceDays {
    /// Which it is.
    pub piece: Piece,
    /// Its name.
    pub name: String,
    /// The tempo to reach.
    pub goal: u32,
    /// The fastest tempo at which it was clean often enough in a row.
    pub fastest: Option<u32>,
    /// The day on which it first was.
    pub passed: Option<Date>,
    /// The day on which it first was at its goal.
    pub reached: Option<Date>,
    /// The days on which it was played.
    pub days: BTreeMap<Date, DayPlayed>,
    /// Where it breaks.
    pub breaks: Breaks,
}

impl PieceDays {
    /// The last day on which it was played.
    pub fn last(&self) -> Option<Date> {
        self.days.last_key_value().map(|(day, _)| *day)
    }

    /// What was clean cold counts as known: the tempo at which it last was, and the day.
    pub fn known_cold(&self) -> Option<(Date, u32)> {
        let cold = |(day, played): (&Date, &DayPlayed)| {
            played.cold.filter(|cold| cold.passed).map(|cold| (*day, cold.tempo))
        };
        self.days.iter().rev().find_map(cold)
    }

    /// How near it is to its goal, to be compared: whether it has been there, and its share of it in per mille.
    pub fn how_near(&self) -> (bool, u32) {
        (self.reached.is_some(), self.fastest.unwrap_or(0) * 1_000 / self.goal.max(1))
    }

    /// For how many whole weeks it has not been played.
    fn weeks_away(&self, today: Date) -> u8 {
        let days = self.last().map_or(0, |last| days_between(last, today));
        u8::try_from(days.max(0) / 7).unwrap_or(u8::MAX)
    }

    /// How many beats a minute lie between its fastest clean tempo and its goal; `None` if it has not been
    /// clean often enough in a row.
    pub fn to_go(&self) -> Option<u32> {
        self.fastest.map(|fastest| self.goal.saturating_sub(fastest))
    }

    /// How its best tempo goes from day to day.
    pub fn rise(&self) -> Option<Rise> {
        let best = |(day, played): (&Date, &DayPlayed)| {
            Some(DayBest { day: *day, tempo: f64::from(played.best?) })
        };
        let bests: Vec<DayBest> = self.days.iter().filter_map(best).collect();
        rise(&bests)
    }

    /// What practice has to know of it.
    fn known(&self, beat: evenhand_core::units::Ticks, today: Date) -> Known {
        let trend = || self.rise().map(|rise| rise.trend);
        let earlier = match (self.passed, self.weeks_away(today)) {
            (Some(_), weeks @ 1..) => Earlier::Away { weeks },
            (Some(day), _) if day < today => match trend() {
                Some(Trend::Progress) => Earlier::Improving,
                _ => Earlier::Passed,
            },
            _ => Earlier::NotPassed,
        };
        let tried_today = self.days.get(&today).is_some_and(|day| day.cold.is_some());
        let fastest_clean =
            self.fastest.and_then(|beats| Tempo::from_beats_per_minute(beats, beat));
        Known { piece: self.piece, fastest_clean, earlier, tried_today }
    }
}

/// What practice has to know of each piece.
pub(super) fn known(chunks: &[Prepared], pieces: &[PieceDays], today: Date) -> Vec<Known> {
    let beat = |piece: Piece| {
        let chunk = chunks.get(usize::from(piece.span().0));
        chunk.map_or_else(Default::default, |chunk| chunk.metre.beat())
    };
    pieces.iter().map(|days| days.known(beat(days.piece), today)).collect()
}

/// What is known of the chunks of a study, and of joins of them, from these sittings, the earliest
/// first. `is_same` tells whether a chunk was the same music in the version of the study with
/// that hash.
pub(super) fn pieces(
    chunks: &[Prepared],
    sittings: &[StoredSitting],
    is_same: impl Fn(&str, &Prepared) -> bool,
) -> Vec<PieceDays> {
    let count = u8::try_from(chunks.len()).unwrap_or(u8::MAX);
    let mut pieces: Vec<PieceDays> = Vec::new();
    for (first, chunk) in (0..count).zip(chunks) {
        for (last, last_chunk) in (first..count).zip(chunks.get(first.into()..).unwrap_or(&[])) {
            let name = match last - first {
                0 => chunk.name.clone(),
                1 => format!("{} and {}", chunk.name, last_chunk.name),
                _ => format!("{} to {}", chunk.name, last_chunk.name),
            };
            let within = chunks.get(first.into()..=last.into()).unwrap_or(&[]);
            let versions = sittings
                .iter()
                .filter(|sitting| within.iter().all(|chunk| is_same(&sitting.hash, chunk)));
            let attempts = versions
                .flat_map(|sitting| &sitting.attempts)
                .filter(|attempt| attempt.chunk == name && !attempt.disputed);
            let piece = match (last - first, seam(first, last, &pieces)) {
                (0, _) => Piece::Chunk(first),
                (_, Some(seam)) => Piece::Join { first, seam, last },
                (_, None) => continue,
            };
            pieces.extend(of_piece(piece, &name, within, attempts));
        }
    }
    pieces
}

/// The seam that is new in a join: one that no smaller join within it has.
fn seam(first: u8, last: u8, known: &[PieceDays]) -> Option<u8> {
    (first..last).find(|seam| {
        !known.iter().any(|known| matches!(known.piece, Piece::Join { seam: s, .. } if s == *seam))
    })
}

/// Runs through the attempts at one piece; `None` if there is none.
fn of_piece<'a>(
    piece: Piece,
    name: &str,
    chunks: &[Prepared],
    attempts: impl Iterator<Item = &'a Attempt>,
) -> Option<PieceDays> {
    let chunk = chunks.first()?;
    let rules = chunks.iter().map(|chunk| Rules::of(chunk.tolerances.level));
    let in_a_row = rules.map(|rules| rules.in_a_row()).min().unwrap_or(1);
    let goal = chunks.iter().map(|chunk| chunk.tempo).reduce(Tempo::slower)?;
    let goal = (goal.hundredths_of_beats_per_minute(chunk.metre.beat()) + 50) / 100;
    let level = crate::log::level_word(chunk.tolerances.level);
    let days = BTreeMap::new();
    let name = name.to_owned();
    let attempts: Vec<&Attempt> =
        attempts.filter(|attempt| strictness(&attempt.level) >= strictness(level)).collect();
    let breaks = breaks(&attempts);
    let (fastest, passed, reached) = (None, None, None);
    let mut known = PieceDays { piece, name, goal, fastest, passed, reached, days, breaks };
    let mut row = CleanRow::new();
    for attempt in attempts {
        let day = day_of(attempt.began);
        known.days.entry(day).or_default().take(attempt);
        let clean_at = row.take(&kept(attempt), in_a_row);
        let Some(clean_at) = clean_at else { continue };
        known.fastest = known.fastest.max(Some(clean_at));
        known.passed = known.passed.or(Some(day));
        if clean_at >= known.goal {
            known.reached = known.reached.or(Some(day));
        }
    }
    (!known.days.is_empty()).then_some(known)
}

/// Levels in order; one that this version does not know counts for nothing.
fn strictness(level: &str) -> u8 {
    match level {
        "first" => 1,
        "steady" => 2,
        "performance" => 3,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use evenhand_core::verdict::Outcome;
    use jiff::Timestamp;

    const STUDY: &str = "evenhand study 1\nmetre 2/4\ntempo 100\nlevel first\n\
         chunk \"A\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 |\nchunk \"B\" at bar 2\n  m: 1/8 4:0 4:2 4:3 3:0 |\n";

    fn chunks() -> Vec<Prepared> {
        crate::study::parse(STUDY).unwrap().prepare().unwrap()
    }

    /// A sitting on a day of March: for each attempt the chunk, the tempo and the verdict.
    fn sitting(day: i8, attempts: &[(&str, u32, Outcome)]) -> StoredSitting {
        let began: Timestamp = format!("2026-03-{day:02}T12:00:00Z").parse().unwrap();
        let attempt = |(number, (chunk, beats, verdict)): (u32, &(&str, u32, Outcome))| Attempt {
            number,
            began,
            chunk: (*chunk).to_owned(),
            level: "first".to_owned(),
            practised: beats * 100,
            heard: None,
            verdict: *verdict,
            together: 1,
            findings: "[]".to_owned(),
            false_starts: 0,
            interrupted: false,
            notes: Vec::new(),
            disputed: false,
        };
        StoredSitting {
            id: day.into(),
            began,
            ended: began,
            who: None,
            program: String::new(),
            study: String::new(),
            path: String::new(),
            hash: "same".to_owned(),
            attempts: (1..).zip(attempts).map(attempt).collect(),
        }
    }

    fn of(sittings: &[StoredSitting]) -> Vec<Known> {
        let pieces = pieces(&chunks(), sittings, |hash, _| hash == "same");
        known(&chunks(), &pieces, "2026-03-10".parse().unwrap())
    }

    fn beats(known: &Known) -> Option<u32> {
        let beat = chunks()[0].metre.beat();
        known.fastest_clean.map(|tempo| (tempo.hundredths_of_beats_per_minute(beat) + 50) / 100)
    }

    use Outcome::{NeedsWork, Passed, Unclear};

    #[test]
    fn nothing_is_known_of_what_was_never_played() {
        assert_eq!(of(&[]), []);
        assert_eq!(of(&[sitting(9, &[("Other", 60, Passed)])]), []);
    }

    #[test]
    fn clean_often_enough_in_a_row_counts_and_an_earlier_day_is_told_from_today() {
        let known = of(&[
            sitting(8, &[("A", 60, Passed), ("A", 60, Unclear), ("A", 60, Passed)]),
            sitting(10, &[("A", 62, Passed), ("A", 62, Passed), ("A", 70, Passed)]),
            sitting(10, &[("B", 60, Passed), ("B", 60, NeedsWork), ("B", 60, Passed)]),
        ]);
        assert_eq!(known.len(), 2);
        assert_eq!((beats(&known[0]), known[0].earlier), (Some(62), Earlier::Passed));
        assert_eq!((beats(&known[1]), known[1].earlier), (None, Earlier::NotPassed));
    }

    #[test]
    fn a_piece_that_rises_from_day_to_day_is_known_to() {
        let days = |rise: u32| -> Vec<StoredSitting> {
            let passed = |day: u32| ("A", 60 + rise * day, Passed);
            (1..=8).map(|day| sitting(day as i8, &[passed(day), passed(day)])).collect()
        };
        assert_eq!(of(&days(2))[0].earlier, Earlier::Improving);
        assert_eq!(of(&days(0))[0].earlier, Earlier::Passed);
        assert_eq!(of(&days(2)[..5])[0].earlier, Earlier::Passed, "too early to say");
    }

    #[test]
    fn what_has_not_been_played_for_weeks_is_known_to_be_away() {
        let passed = |day: i8| sitting(day, &[("A", 60, Passed), ("A", 60, Passed)]);
        let pieces = pieces(&chunks(), &[passed(2)], |_, _| true);
        let on = |day: &str| {
            let known = known(&chunks(), &pieces, day.parse().unwrap());
            (known[0].earlier, known[0].tried_today)
        };
        assert_eq!(on("2026-03-02"), (Earlier::NotPassed, true));
        assert_eq!(on("2026-03-08"), (Earlier::Passed, false));
        assert_eq!(on("2026-03-09"), (Earlier::Away { weeks: 1 }, false));
        assert_eq!(on("2026-04-13"), (Earlier::Away { weeks: 6 }, false));
        assert_eq!(on("2046-04-13"), (Earlier::Away { weeks: 255 }, false));
    }

    #[test]
    fn joins_are_known_by_their_names() {
        let known = of(&[sitting(8, &[("A and B", 60, Passed), ("A and B", 60, Passed)])]);
        let join = Piece::Join { first: 0, seam: 0, last: 1 };
        assert_eq!(known.iter().map(|known| known.piece).collect::<Vec<_>>(), [join]);
        assert_eq!((beats(&known[0]), known[0].earlier), (Some(60), Earlier::Passed));
    }

    #[test]
    fn what_was_played_much_slower_counts_at_its_own_tempo() {
        let mut slow = sitting(8, &[("A", 100, Passed), ("A", 100, Passed)]);
        slow.attempts.iter_mut().for_each(|attempt| attempt.heard = Some(7_030));
        assert_eq!(beats(&of(&[slow])[0]), Some(70));
    }

    #[test]
    fn what_was_played_twice_much_faster_counts_at_its_own_tempo() {
        let mut fast = sitting(8, &[("A", 60, Passed), ("A", 60, Passed)]);
        fast.attempts[0].heard = Some(9_100);
        fast.attempts[1].heard = Some(8_830);
        assert_eq!(beats(&of(&[fast.clone()])[0]), Some(88));
        fast.attempts[1].heard = Some(6_000);
        assert_eq!(beats(&of(&[fast])[0]), Some(60), "once is not enough");
    }

    #[test]
    fn other_versions_and_easier_levels_count_for_nothing() {
        let mut other = sitting(8, &[("A", 60, Passed), ("A", 60, Passed)]);
        other.hash = "other".to_owned();
        assert_eq!(of(&[other]), []);
        let mut strict = chunks();
        strict[0].tolerances = evenhand_core::tolerance::Tolerances::of(
            evenhand_core::tolerance::PracticeLevel::Performance,
        );
        let easy = [sitting(8, &[("A", 60, Passed), ("A", 60, Passed)])];
        assert_eq!(pieces(&strict, &easy, |_, _| true), []);
    }
}
