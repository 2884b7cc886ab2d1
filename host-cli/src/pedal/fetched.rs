//! Results from a pedal as attempts of the log.

use super::talk::{Fetched, WhoItIs};
use crate::events;
use crate::log::{Attempt, RawNote, level_word};
use crate::practice;
use evenhand_core::pack::{Pack, RecordProblem, ResultRecord};
use evenhand_core::practice::Piece;
use jiff::{SignedDuration, Timestamp};
use std::collections::BTreeMap;

/// The attempts of one sitting of a pedal at one study.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Batch {
    /// The sitting's number on the pedal.
    pub sitting: u32,
    /// The hash of the study.
    pub study: u64,
    /// When the first of these attempts began.
    pub began: Timestamp,
    /// When the last of them began.
    pub ended: Timestamp,
    /// How these times are known.
    pub told: TimeSource,
    /// The attempts.
    pub attempts: Vec<Attempt>,
}

/// How the time of a sitting is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TimeSource {
    /// A computer told the pedal, or the pedal is on since then.
    Known,
    /// Not at all: the time is the latest that is possible, in the order of the sittings.
    AtTheLatest,
}

/// Names of pieces, for the studies that are known.
pub trait Names {
    /// The pack of a study, if it can be had.
    fn pack(&mut self, study: u64) -> Option<Pack<'_>>;
}

/// Reads results, and puts those together that belong in one sitting of the log. Beside them,
/// those that cannot be read. `now` is when `who` was heard.
pub fn batches(
    results: &[Fetched],
    who: &WhoItIs,
    now: Timestamp,
    names: &mut dyn Names,
) -> (Vec<Batch>, Vec<(u32, RecordProblem)>) {
    let mut wrong = Vec::new();
    let mut sittings: BTreeMap<u32, Vec<(ResultRecord, Vec<RawNote>)>> = BTreeMap::new();
    for fetched in results {
        match ResultRecord::decode(&fetched.bytes) {
            Ok((record, played)) if record.number == fetched.number => {
                let notes = played.iter().map(|note| RawNote::from(&note)).collect();
                sittings.entry(record.sitting).or_default().push((record, notes));
            }
            Ok(_) => wrong.push((fetched.number, RecordProblem::Wrong)),
            Err(problem) => wrong.push((fetched.number, problem)),
        }
    }
    let mut batches: Vec<Batch> = Vec::new();
    // From the latest on: what is not dated lies before what came after it.
    let mut before = now;
    for (sitting, records) in sittings.into_iter().rev() {
        let (start, told) = start_of(sitting, &records, who, now, before);
        before = start.checked_sub(SignedDuration::from_secs(1)).unwrap_or(start);
        let mut by_study: BTreeMap<u64, Vec<(ResultRecord, Vec<RawNote>)>> = BTreeMap::new();
        for (record, notes) in records {
            by_study.entry(record.study).or_default().push((record, notes));
        }
        for (study, records) in by_study.into_iter().rev() {
            let began_at = |record: &ResultRecord| match record.clock {
                Some(clock) => Timestamp::from_second(clock.into()).unwrap_or(start),
                None => after(start, record.began.get()),
            };
            let times = || records.iter().map(|(record, _)| began_at(record));
            let (began, ended) = (times().min().unwrap_or(start), times().max().unwrap_or(start));
            let pack = names.pack(study);
            let attempts = records
                .iter()
                .map(|(record, notes)| attempt(record, notes.clone(), began_at(record), pack))
                .collect();
            batches.push(Batch { sitting, study, began, ended, told, attempts });
        }
    }
    batches.reverse();
    (batches, wrong)
}

fn after(start: Timestamp, seconds: u32) -> Timestamp {
    start.checked_add(SignedDuration::from_secs(seconds.into())).unwrap_or(start)
}

fn earlier(end: Timestamp, seconds: u32) -> Timestamp {
    end.checked_sub(SignedDuration::from_secs(seconds.into())).unwrap_or(end)
}

/// When the pedal was switched on for a sitting.
fn start_of(
    sitting: u32,
    records: &[(ResultRecord, Vec<RawNote>)],
    who: &WhoItIs,
    now: Timestamp,
    before: Timestamp,
) -> (Timestamp, TimeSource) {
    let clocked = records.iter().find_map(|(record, _)| {
        let at = Timestamp::from_second(record.clock?.into()).ok()?;
        Some(earlier(at, record.began.get()))
    });
    if let Some(start) = clocked {
        return (start, TimeSource::Known);
    }
    if sitting == who.sitting {
        return (earlier(now, who.seconds), TimeSource::Known);
    }
    let last = records.iter().map(|(record, _)| record.began.get()).max().unwrap_or(0);
    (earlier(before, last), TimeSource::AtTheLatest)
}

fn attempt(
    record: &ResultRecord,
    notes: Vec<RawNote>,
    began: Timestamp,
    pack: Option<Pack<'_>>,
) -> Attempt {
    let hundredths =
        |tempo: evenhand_core::units::Tempo| tempo.hundredths_of_beats_per_minute(record.beat);
    let chunk = match pack {
        Some(pack) => {
            format!("{}{}", pack.piece_name(record.piece), practice::in_rhythm(record.way))
        }
        None => by_number(record.piece),
    };
    Attempt {
        number: record.attempt,
        began,
        chunk,
        level: level_word(record.level).to_owned(),
        practised: hundredths(record.asked),
        heard: record.heard.map(hundredths),
        verdict: record.outcome,
        together: record.together,
        findings: events::findings_of_record(record),
        false_starts: record.false_starts,
        interrupted: record.interrupted,
        notes,
        disputed: false,
    }
}

/// A piece of a study that is not known any more.
fn by_number(piece: Piece) -> String {
    let number = |chunk: u8| u16::from(chunk) + 1;
    match piece {
        Piece::Chunk(chunk) => format!("chunk {}", number(chunk)),
        Piece::Half(chunk, _) => format!("half of chunk {}", number(chunk)),
        Piece::Seam(chunk) => format!("chunk {} into {}", number(chunk), number(chunk) + 1),
        Piece::Join { first, last, .. } => {
            format!("chunks {} to {}", number(first), number(last))
        }
        Piece::Spot(spot) => {
            let (from, to) = (u16::from(spot.from) + 1, u16::from(spot.to) + 1);
            format!("{}, notes {from} to {to}", by_number(spot.piece()))
        }
    }
}
