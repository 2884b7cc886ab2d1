//! An attempt as a pedal keeps it until a computer fetches it.

use super::codes;
use super::crc::crc32_of;
use super::header::short;
use super::played::{self, PlayedNotes};
use super::problem::{RecordProblem, WriteProblem};
use crate::attempt::PlayedNote;
use crate::limits;
use crate::practice::{Piece, PracticeVariant};
use crate::study::Place;
use crate::tolerance::PracticeLevel;
use crate::units::{Level, Offset, Seconds, Tempo, Ticks};
use crate::verdict::{Finding, Outcome, Size};
use heapless::Vec;
use serde::{Deserialize, Serialize};

/// The version of results that is written here, and the newest that can be read.
pub const RECORD_VERSION: u8 = 1;

/// Bytes before the body of a result: its version, the length of the body, the checksum.
pub const RECORD_HEADER: usize = 7;

/// A finding with its place in the study.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FoundRecord {
    /// What was found.
    pub finding: Finding,
    /// Where, if it has a place.
    pub place: Option<Place>,
}

/// An attempt.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ResultRecord {
    /// Its running number: from 1, one more for each attempt, never begun anew while the
    /// pedal's memory lasts.
    pub number: u32,
    /// The sitting, from 1: one more each time that the pedal starts and something is played.
    pub sitting: u32,
    /// Its number in the sitting, from 1.
    pub attempt: u32,
    /// When its first note came, since the pedal's start.
    pub began: Seconds,
    /// The same in seconds since 1970-01-01 00:00 UTC, if a computer had told the pedal the
    /// time since its start.
    pub clock: Option<u32>,
    /// The hash of the study's text.
    pub study: u64,
    /// What was to be played.
    pub piece: Piece,
    /// How.
    pub way: PracticeVariant,
    /// Which fingering of a chunk; 0 is the one that is written.
    pub fingering: u8,
    /// The beat in which the tempi are counted.
    pub beat: Ticks,
    /// The tempo that was asked for.
    pub asked: Tempo,
    /// The tempo that was heard, if it was.
    pub heard: Option<Tempo>,
    /// How strictly it was judged.
    pub level: PracticeLevel,
    /// The verdict.
    pub outcome: Outcome,
    /// How many attempts the verdict rests on.
    pub together: u8,
    /// What was found, the heaviest first.
    pub findings: Vec<FoundRecord, { limits::RESULT_FINDINGS }>,
    /// How often the player began and broke off before it.
    pub false_starts: u16,
    /// Whether it broke off before its end.
    pub interrupted: bool,
}

/// What is written before the findings.
#[derive(Clone, Copy, Serialize, Deserialize)]
struct Written {
    number: u32,
    sitting: u32,
    attempt: u32,
    began: u32,
    clock: Option<u32>,
    study: u64,
    piece: (u8, u8, u8, u8),
    way: u8,
    fingering: u8,
    beat: u32,
    asked: u32,
    heard: Option<u32>,
    level: u8,
    outcome: u8,
    together: u8,
    false_starts: u16,
    interrupted: bool,
    findings: u8,
    notes: u16,
}

/// A finding as it is written.
#[derive(Clone, Copy, Serialize, Deserialize)]
struct FindingWritten {
    kind: u8,
    severity: u8,
    note: Option<u16>,
    count: u16,
    /// The unit of both sizes.
    unit: u8,
    size: i32,
    /// The limit's unit and number.
    limit_unit: u8,
    limit: i32,
    weight: u16,
    settled_by: (u8, u8),
    /// Bar, beat, ticks into the beat.
    place: Option<(u16, u8, u32)>,
}

impl ResultRecord {
    /// Writes the attempt with what was played. Of more notes than
    /// [`limits::RESULT_NOTES`] none is kept. It has at most [`limits::RESULT_BYTES`].
    /// Gives how many bytes it has.
    ///
    /// # Errors
    ///
    /// If there is no room.
    pub fn encode(&self, played: &[PlayedNote], out: &mut [u8]) -> Result<usize, WriteProblem> {
        self.write(played, out).ok_or(WriteProblem::NoRoom)
    }

    fn write(&self, played: &[PlayedNote], out: &mut [u8]) -> Option<usize> {
        let played = if played.len() > limits::RESULT_NOTES { &[] } else { played };
        let body = out.get_mut(RECORD_HEADER..)?;
        let whole = body.len();
        let written = Written {
            number: self.number,
            sitting: self.sitting,
            attempt: self.attempt,
            began: self.began.get(),
            clock: self.clock,
            study: self.study,
            piece: codes::piece(self.piece),
            way: codes::way(self.way),
            fingering: self.fingering,
            beat: self.beat.get(),
            asked: self.asked.micros_per_quarter(),
            heard: self.heard.map(Tempo::micros_per_quarter),
            level: codes::level(self.level),
            outcome: codes::outcome(self.outcome),
            together: self.together,
            false_starts: self.false_starts,
            interrupted: self.interrupted,
            findings: u8::try_from(self.findings.len()).ok()?,
            notes: u16::try_from(played.len()).ok()?,
        };
        let mut room = put(&written, body)?;
        for found in &self.findings {
            room = put(&FindingWritten::of(found), room)?;
        }
        let left = played::write(played, room)?.len();
        let length = whole.checked_sub(left)?;
        let checked = [RECORD_VERSION, 0, 0];
        let (head, body) = out.split_at_mut_checked(RECORD_HEADER)?;
        let body = body.get(..length)?;
        let two = u16::try_from(length).ok()?.to_le_bytes();
        let checked = [checked[0], two[0], two[1]];
        let checksum = crc32_of([&checked[..], body]);
        head.get_mut(..3)?.copy_from_slice(&checked);
        head.get_mut(3..)?.copy_from_slice(&checksum.to_le_bytes());
        RECORD_HEADER.checked_add(length)
    }

    /// How long the result is that begins here; `None` if not even its length is there. Not
    /// checked for damage.
    pub fn total(bytes: &[u8]) -> Option<usize> {
        short(bytes, 1).map(|length| RECORD_HEADER.saturating_add(usize::from(length)))
    }

    /// Reads the attempt at the beginning of these bytes, and what was played.
    ///
    /// # Errors
    ///
    /// What is wrong with it.
    pub fn decode(bytes: &[u8]) -> Result<(Self, PlayedNotes<'_>), RecordProblem> {
        let total = Self::total(bytes).ok_or(RecordProblem::Cut)?;
        if total > limits::RESULT_BYTES {
            return Err(RecordProblem::Damaged);
        }
        let bytes = bytes.get(..total).ok_or(RecordProblem::Cut)?;
        let (head, body) = bytes.split_at_checked(RECORD_HEADER).ok_or(RecordProblem::Cut)?;
        let (checked, checksum) = head.split_at_checked(3).ok_or(RecordProblem::Cut)?;
        if checksum != crc32_of([checked, body]).to_le_bytes() {
            return Err(RecordProblem::Damaged);
        }
        match checked.first() {
            Some(&RECORD_VERSION) => Self::read(body).ok_or(RecordProblem::Wrong),
            Some(&found) if found > RECORD_VERSION => Err(RecordProblem::TooNew { found }),
            _ => Err(RecordProblem::Wrong),
        }
    }

    fn read(body: &[u8]) -> Option<(Self, PlayedNotes<'_>)> {
        let (written, mut rest) = postcard::take_from_bytes::<Written>(body).ok()?;
        let mut findings = Vec::new();
        for _ in 0..written.findings {
            let (found, after) = postcard::take_from_bytes::<FindingWritten>(rest).ok()?;
            findings.push(found.found()?).ok()?;
            rest = after;
        }
        if usize::from(written.notes) > limits::RESULT_NOTES {
            return None;
        }
        let played = PlayedNotes::read(written.notes, rest)?;
        let heard = match written.heard {
            None => None,
            Some(micros) => Some(Tempo::from_micros_per_quarter(micros)?),
        };
        let record = Self {
            number: written.number,
            sitting: written.sitting,
            attempt: written.attempt,
            began: Seconds::new(written.began),
            clock: written.clock,
            study: written.study,
            piece: codes::piece_of(written.piece)?,
            way: codes::way_of(written.way)?,
            fingering: written.fingering,
            beat: Ticks::new(written.beat),
            asked: Tempo::from_micros_per_quarter(written.asked)?,
            heard,
            level: codes::level_of(written.level)?,
            outcome: codes::outcome_of(written.outcome)?,
            together: written.together,
            findings,
            false_starts: written.false_starts,
            interrupted: written.interrupted,
        };
        Some((record, played))
    }
}

fn put<'b, T: Serialize>(value: &T, room: &'b mut [u8]) -> Option<&'b mut [u8]> {
    let used = postcard::to_slice(value, room).ok()?.len();
    room.get_mut(used..)
}

impl FindingWritten {
    fn of(found: &FoundRecord) -> Self {
        let finding = &found.finding;
        let (unit, size) = size(finding.size);
        let (limit_unit, limit) = self::size(finding.limit);
        Self {
            kind: codes::kind(finding.kind),
            severity: codes::severity(finding.severity),
            note: finding.note,
            count: finding.count,
            unit,
            size,
            limit_unit,
            limit,
            weight: finding.weight,
            settled_by: codes::settled_by(finding.settled_by),
            place: found.place.map(|at| (at.bar, at.beat, at.into_beat.get())),
        }
    }

    fn found(&self) -> Option<FoundRecord> {
        let finding = Finding {
            kind: codes::kind_of(self.kind)?,
            severity: codes::severity_of(self.severity)?,
            note: self.note,
            count: self.count,
            size: size_from(self.unit, self.size)?,
            limit: size_from(self.limit_unit, self.limit)?,
            weight: self.weight,
            settled_by: codes::settled_by_of(self.settled_by)?,
        };
        let place = |(bar, beat, into)| Place { bar, beat, into_beat: Ticks::new(into) };
        Some(FoundRecord { finding, place: self.place.map(place) })
    }
}

/// A size as its unit and its number.
const fn size(size: Size) -> (u8, i32) {
    match size {
        Size::Notes(notes) => (0, notes as i32),
        Size::Time(time) => (1, time.as_micros()),
        Size::Loudness(level) => (2, level.hundredths() as i32),
        Size::PerMille(share) => (3, share as i32),
    }
}

fn size_from(unit: u8, number: i32) -> Option<Size> {
    match unit {
        0 => Some(Size::Notes(u16::try_from(number).ok()?)),
        1 => Some(Size::Time(Offset::from_micros(number))),
        2 => Some(Size::Loudness(Level::from_hundredths(i16::try_from(number).ok()?))),
        3 => Some(Size::PerMille(i16::try_from(number).ok()?)),
        _ => None,
    }
}
