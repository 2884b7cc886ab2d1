//! What the log knows from earlier days.

use crate::log::{Attempt, StoredSitting};
use crate::practice::Known;
use crate::practice::trend::{DayBest, Trend, rise};
use crate::study::Prepared;
use evenhand_core::practice::rules::AT_TEMPO_PER_MILLE;
use evenhand_core::practice::{Earlier, Piece, Rules};
use evenhand_core::units::Tempo;
use evenhand_core::verdict::Outcome;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::BTreeMap;

/// What is known of the chunks of a study, and of joins of them, from these sittings, the earliest
/// first. `is_same` tells whether a chunk was the same music in the version of the study with
/// that hash.
pub(super) fn known(
    chunks: &[Prepared],
    sittings: &[StoredSitting],
    today: Date,
    is_same: impl Fn(&str, &Prepared) -> bool,
) -> Vec<Known> {
    let count = u8::try_from(chunks.len()).unwrap_or(u8::MAX);
    let mut known = Vec::new();
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
            let rules = within.iter().map(|chunk| Rules::of(chunk.tolerances.level));
            let in_a_row = rules.map(|rules| rules.in_a_row()).min().unwrap_or(1);
            let Some((fastest_clean, earlier)) = of_piece(chunk, attempts, in_a_row, today) else {
                continue;
            };
            let piece = match (last - first, seam(first, last, &known)) {
                (0, _) => Piece::Chunk(first),
                (_, Some(seam)) => Piece::Join { first, seam, last },
                (_, None) => continue,
            };
            known.push(Known { piece, fastest_clean, earlier });
        }
    }
    known
}

/// The seam that is new in a join: one that no smaller join within it has.
fn seam(first: u8, last: u8, known: &[Known]) -> Option<u8> {
    (first..last).find(|seam| {
        !known.iter().any(|known| matches!(known.piece, Piece::Join { seam: s, .. } if s == *seam))
    })
}

/// Runs through the attempts at one piece; `None` if there is none.
fn of_piece<'a>(
    chunk: &Prepared,
    attempts: impl Iterator<Item = &'a Attempt>,
    in_a_row: u8,
    today: Date,
) -> Option<(Option<Tempo>, Earlier)> {
    let beat = chunk.metre.beat();
    let level = crate::log::level_word(chunk.tolerances.level);
    let (mut any, mut fastest, mut earlier) = (false, None::<u32>, Earlier::NotPassed);
    let mut run = (0, 0_u8);
    let mut bests: BTreeMap<Date, u32> = BTreeMap::new();
    for attempt in attempts.filter(|attempt| strictness(&attempt.level) >= strictness(level)) {
        any = true;
        match attempt.verdict {
            Outcome::Unclear => continue,
            Outcome::NeedsWork => {
                run.1 = 0;
                continue;
            }
            Outcome::Passed => {}
        }
        let beats = clean_at(attempt);
        let day = TimeZone::system().to_datetime(attempt.began).date();
        let best = bests.entry(day).or_default();
        *best = beats.max(*best);
        run = if run.0 == beats { (beats, run.1.saturating_add(1)) } else { (beats, 1) };
        if run.1 >= in_a_row {
            fastest = fastest.max(Some(beats));
            if day < today {
                earlier = Earlier::Passed;
            }
        }
    }
    if earlier == Earlier::Passed && improves(&bests) {
        earlier = Earlier::Improving;
    }
    let tempo = fastest.and_then(|beats| Tempo::from_beats_per_minute(beats, beat));
    any.then_some((tempo, earlier))
}

/// Whether the best tempo of a day rises from day to day, for certain.
fn improves(bests: &BTreeMap<Date, u32>) -> bool {
    let best = |(day, beats): (&Date, &u32)| DayBest { day: *day, tempo: f64::from(*beats) };
    let bests: Vec<DayBest> = bests.iter().map(best).collect();
    rise(&bests).is_some_and(|rise| rise.trend == Trend::Progress)
}

/// The tempo at which an attempt was clean, in whole beats a minute: the one it was asked for,
/// unless it was much slower.
fn clean_at(attempt: &Attempt) -> u32 {
    let slowest = u64::from(attempt.practised) * u64::from(AT_TEMPO_PER_MILLE) / 1_000;
    match attempt.heard {
        Some(heard) if u64::from(heard) < slowest => heard / 100,
        _ => (attempt.practised + 50) / 100,
    }
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
        let today = "2026-03-10".parse().unwrap();
        known(&chunks(), sittings, today, |hash, _| hash == "same")
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
    fn other_versions_and_easier_levels_count_for_nothing() {
        let mut other = sitting(8, &[("A", 60, Passed), ("A", 60, Passed)]);
        other.hash = "other".to_owned();
        assert_eq!(of(&[other]), []);
        let mut strict = chunks();
        strict[0].tolerances = evenhand_core::tolerance::Tolerances::of(
            evenhand_core::tolerance::PracticeLevel::Performance,
        );
        let easy = [sitting(8, &[("A", 60, Passed), ("A", 60, Passed)])];
        let today = "2026-03-10".parse().unwrap();
        assert_eq!(known(&strict, &easy, today, |_, _| true), []);
    }
}
