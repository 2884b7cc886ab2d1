//! The event stream: JSON Lines, version 1. Specified in `docs/events.md`.

mod now;

pub use now::{NowRecord, SpokenRecord};

use crate::listening::{FalseStart, Finished};
use crate::marks::{NoteMark, marks, played_trills};
use crate::practice::Effect;
use evenhand_core::align::Class;
use evenhand_core::align::{Origin, Role};
use evenhand_core::pack::{FoundRecord, ResultRecord};
use evenhand_core::practice::{Choice, Choices, Piece, Reason, Step, Task};
use evenhand_core::study::Place;
use evenhand_core::units::{Tempo, Ticks};
use evenhand_core::verdict::{Finding, Kind, Outcome, SettledBy, Severity, Size};
use serde::Serialize;
use std::io::{self, Write};

/// The version of the stream's format.
pub const VERSION: u32 = 1;

/// What happens to a live line, as a line of the stream.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum LineEvent<'a> {
    /// The pickup is away.
    Interrupted {
        /// Which.
        source: &'a str,
        /// When that was noticed, from the start of the source.
        at_us: u64,
        /// Whether an attempt was under way, which is not judged.
        attempt_under_way: bool,
    },
    /// So much of what comes is the pickup's noise that nothing can be judged by it.
    PoorHearing {
        /// Where it came from.
        source: &'a str,
        /// When that was noticed, from the start of the source.
        at_us: u64,
    },
    /// It is back.
    Resumed {
        /// Which.
        source: &'a str,
        /// When that was noticed.
        at_us: u64,
    },
    /// Messages came faster than they could be taken.
    Lost {
        /// Where from.
        source: &'a str,
        /// When that was noticed.
        at_us: u64,
        /// How many, where the system says so.
        messages: Option<u32>,
        /// Whether an attempt was under way, which is not judged.
        attempt_under_way: bool,
    },
}

/// Whether the click and the cues are heard, as a line of the stream.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "kind", rename = "sound")]
pub struct SoundRecord {
    /// Whether they are.
    pub heard: bool,
    /// Through what.
    pub through: Option<String>,
    /// Why not.
    pub why: Option<String>,
}

/// An attempt that the player says was right, as a line of the stream.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(tag = "kind", rename = "disputed")]
pub struct DisputedRecord {
    /// Its number.
    pub attempt: u32,
    /// Whether it is kept with its bytes.
    pub kept: bool,
}

/// What comes next in practice, as a line of the stream.
#[derive(Clone, Debug, Serialize)]
pub struct StepRecord<'a> {
    kind: &'static str,
    task: Option<Task>,
    reason: Reason,
    choices: Vec<Choice>,
    rest: bool,
    sentences: &'a [String],
}

impl<'a> StepRecord<'a> {
    /// A step, and what is said of it.
    pub fn of(step: &Step, sentences: &'a [String]) -> Self {
        Self {
            kind: "step",
            task: step.task,
            reason: step.reason,
            choices: step.offer.iter().collect(),
            rest: step.rest.is_some(),
            sentences,
        }
    }

    /// The reason, in a word.
    pub fn word(&self) -> String {
        match serde_json::to_value(self.reason) {
            Ok(serde_json::Value::String(word)) => word,
            Ok(serde_json::Value::Object(fields)) => {
                fields.keys().next().cloned().unwrap_or_default()
            }
            _ => String::new(),
        }
    }
}

/// What was played where no attempt was made of it, as a line of the stream.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "kind", rename = "otherwise")]
pub struct OtherwiseRecord<'a> {
    /// The chunk that it was.
    pub chunk: &'a str,
    /// By so many semitones too high.
    pub semitones: i8,
    /// That in words.
    pub sentence: &'a str,
}

/// What became of a piece after something was changed, as a line of the stream.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "kind", rename = "changed")]
pub struct EffectRecord<'a> {
    piece: Piece,
    change: Choice,
    attempts_before: u32,
    best_before: Option<Tempo>,
    attempts_since: u32,
    best_since: Option<Tempo>,
    sentence: &'a str,
}

impl<'a> EffectRecord<'a> {
    /// That, with the sentence that says it.
    pub const fn of(effect: &Effect, sentence: &'a str) -> Self {
        Self {
            piece: effect.piece,
            change: effect.change,
            attempts_before: effect.before,
            best_before: effect.best_before,
            attempts_since: effect.since,
            best_since: effect.best_since,
            sentence,
        }
    }
}

/// What can be chosen and how, where the player has asked for it, as a line of the stream.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "kind", rename = "choices")]
pub struct ChoicesRecord<'a> {
    choices: Vec<Choice>,
    ways: &'a str,
}

impl<'a> ChoicesRecord<'a> {
    /// What is offered, and the line that says how to choose.
    pub fn of(offered: Choices, ways: &'a str) -> Self {
        Self { choices: offered.iter().collect(), ways }
    }
}

/// One line of the stream.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
enum Record<'a> {
    Stream {
        version: u32,
        program: &'a str,
    },
    /// A chunk was begun and broken off.
    FalseStart {
        chunk: &'a str,
        source: &'a str,
        at_us: u64,
        played_notes: u32,
        bar: Option<u16>,
        beat: Option<String>,
    },
    /// The whole source held no attempt.
    Nothing {
        source: &'a str,
        played_notes: u32,
        verdict: Outcome,
    },
    Attempt {
        attempt: u32,
        chunk: &'a str,
        also: &'a [&'a str],
        part_of: Option<&'a str>,
        source: &'a str,
        at_us: u64,
        expected_notes: usize,
        played_notes: usize,
    },
    Pair {
        attempt: u32,
        expected: usize,
        played: Option<u32>,
        pitch: u8,
        string: Option<u8>,
        at_us: i32,
        late_us: Option<i32>,
        level_hundredths_db: Option<i16>,
    },
    Wrong {
        attempt: u32,
        expected: usize,
        played: Option<u32>,
        expected_pitch: u8,
        pitch: u8,
        at_us: i32,
        cause: WrongCause,
    },
    Missing {
        attempt: u32,
        expected: usize,
        pitch: u8,
    },
    Extra {
        attempt: u32,
        played: Option<u32>,
        cause: Class,
        pitch: u8,
        at_us: i32,
    },
    Trill {
        attempt: u32,
        expected: usize,
        played: Option<u32>,
        pitch: u8,
        at_us: i32,
    },
    TrillPlayed {
        attempt: u32,
        expected: usize,
        notes: u16,
        hundredths_a_second: u32,
        uneven_per_mille: Option<u16>,
        repeats: u16,
        change_per_mille: Option<i16>,
        cover_per_mille: Option<u16>,
    },
    Verdict {
        attempt: u32,
        chunk: &'a str,
        also: &'a [&'a str],
        verdict: Outcome,
        attempts_together: u8,
        findings: Vec<Found>,
    },
}

/// Whose doing a wrong note is.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
enum WrongCause {
    /// The player's.
    Slip,
    /// Possibly the pickup's: an octave off or a twelfth above, on the right string.
    Mistracked,
}

#[derive(Debug, Serialize)]
struct Found {
    what: Kind,
    #[serde(rename = "bearing")]
    severity: Severity,
    expected: Option<u16>,
    bar: Option<u16>,
    beat: Option<String>,
    count: u16,
    size: i64,
    limit: i64,
    unit: &'static str,
    more_attempts: Option<u8>,
}

/// Writes the first line of a stream.
pub fn begin(out: &mut dyn Write) -> io::Result<()> {
    let program = concat!("evenhand ", env!("CARGO_PKG_VERSION"));
    line(out, &Record::Stream { version: VERSION, program })
}

/// Writes that a source held no attempt, but so many notes.
pub fn nothing(out: &mut dyn Write, source: &str, played_notes: u32) -> io::Result<()> {
    line(out, &Record::Nothing { source, played_notes, verdict: Outcome::Unclear })
}

/// Writes that a chunk was begun and broken off, and before which place.
pub fn false_start(out: &mut dyn Write, start: &FalseStart, source: &str) -> io::Result<()> {
    line(
        out,
        &Record::FalseStart {
            chunk: &start.chunk,
            source,
            at_us: start.began.as_micros(),
            played_notes: start.notes,
            bar: start.reached.map(|place| place.bar),
            beat: start.reached.map(|place| beat(place, start.beat)),
        },
    )
}

/// Writes all that is known of an attempt; `attempt` is its number, from 1, and `source` is
/// where it came from.
pub fn attempt(
    out: &mut dyn Write,
    finished: &Finished<'_>,
    attempt: u32,
    source: &str,
) -> io::Result<()> {
    let chunk = finished.chunk.name.as_str();
    let notes = &finished.chunk.notes;
    let played = &finished.played;
    line(
        out,
        &Record::Attempt {
            attempt,
            chunk,
            also: &finished.also,
            part_of: finished.part_of.as_deref(),
            source,
            at_us: finished.began.as_micros(),
            expected_notes: notes.len(),
            played_notes: played.len(),
        },
    )?;
    let marks = marks(finished);
    for (expected, (wanted, mark)) in notes.iter().zip(&marks).enumerate() {
        let record = match *mark {
            NoteMark::Right { played: by, late, level, .. } => {
                let Some(note) = played.get(by) else { continue };
                Record::Pair {
                    attempt,
                    expected,
                    played: finished.arrival(by),
                    pitch: note.pitch.number(),
                    string: note.string.map(|string| string.number()),
                    at_us: note.at.as_micros(),
                    late_us: late.map(|late| late.as_micros()),
                    level_hundredths_db: level.map(|level| level.hundredths()),
                }
            }
            NoteMark::Wrong { played: by } => {
                let Some(note) = played.get(by) else { continue };
                Record::Wrong {
                    attempt,
                    expected,
                    played: finished.arrival(by),
                    expected_pitch: wanted.pitch.number(),
                    pitch: note.pitch.number(),
                    at_us: note.at.as_micros(),
                    cause: if finished.pairing.class(by).origin() == Origin::Pickup {
                        WrongCause::Mistracked
                    } else {
                        WrongCause::Slip
                    },
                }
            }
            NoteMark::Missing => {
                Record::Missing { attempt, expected, pitch: wanted.pitch.number() }
            }
            NoteMark::NotReached => continue,
        };
        line(out, &record)?;
    }
    for (by, note) in played.iter().enumerate() {
        let (at_us, pitch, number) =
            (note.at.as_micros(), note.pitch.number(), finished.arrival(by));
        match finished.pairing.role(by) {
            Role::Note(_) => {}
            Role::Trill(expected) => {
                line(out, &Record::Trill { attempt, expected, played: number, pitch, at_us })?;
            }
            Role::Extra => {
                let cause = finished.pairing.class(by);
                line(out, &Record::Extra { attempt, played: number, cause, pitch, at_us })?;
            }
        }
    }
    for trill in played_trills(finished) {
        let record = Record::TrillPlayed {
            attempt,
            expected: trill.note,
            notes: trill.notes,
            hundredths_a_second: trill.rate,
            uneven_per_mille: trill.unevenness.map(|(unevenness, _)| unevenness),
            repeats: trill.repeats,
            change_per_mille: trill.change_per_mille,
            cover_per_mille: trill.cover_per_mille,
        };
        line(out, &record)?;
    }
    line(
        out,
        &Record::Verdict {
            attempt,
            chunk,
            also: &finished.also,
            verdict: finished.verdict.outcome,
            attempts_together: finished.together,
            findings: all_found(finished),
        },
    )
}

/// The findings of an attempt as a JSON list, as its verdict's line holds them.
pub fn findings(finished: &Finished<'_>) -> String {
    // Writing to memory does not fail.
    serde_json::to_string(&all_found(finished)).unwrap_or_default()
}

/// The same of a result from a pedal.
pub(crate) fn findings_of_record(record: &ResultRecord) -> String {
    let found = |found: &FoundRecord| written(&found.finding, found.place, record.beat);
    let all: Vec<Found> = record.findings.iter().map(found).collect();
    serde_json::to_string(&all).unwrap_or_default()
}

fn all_found(finished: &Finished<'_>) -> Vec<Found> {
    finished.verdict.findings.iter().map(|finding| found(finished, finding)).collect()
}

fn found(finished: &Finished<'_>, finding: &Finding) -> Found {
    let place = finding.note.and_then(|note| {
        let note = finished.chunk.notes.get(usize::from(note))?;
        Some(finished.chunk.chunk().place(note.onset))
    });
    written(finding, place, finished.chunk.metre.beat())
}

fn written(finding: &Finding, place: Option<Place>, of: Ticks) -> Found {
    let (size, unit) = number(finding.size);
    let (limit, _) = number(finding.limit);
    Found {
        what: finding.kind,
        severity: finding.severity,
        expected: finding.note,
        bar: place.map(|place| place.bar),
        beat: place.map(|place| beat(place, of)),
        count: finding.count,
        size,
        limit,
        unit,
        more_attempts: match finding.settled_by {
            SettledBy::MoreAttempts(more) => Some(more),
            _ => None,
        },
    }
}

/// A beat with its fraction: `2`, `2 1/2`, `2 1/3`.
fn beat(place: Place, beat: Ticks) -> String {
    let (mut a, mut b) = (place.into_beat.get(), beat.get().max(1));
    if a == 0 {
        return place.beat.to_string();
    }
    while b != 0 {
        (a, b) = (b, a % b);
    }
    format!("{} {}/{}", place.beat, place.into_beat.get() / a, beat.get() / a)
}

fn number(size: Size) -> (i64, &'static str) {
    match size {
        Size::Notes(notes) => (notes.into(), "notes"),
        Size::Time(time) => (time.as_micros().into(), "us"),
        Size::Loudness(level) => (level.hundredths().into(), "0.01 dB"),
        Size::PerMille(share) => (share.into(), "per mille"),
    }
}

/// Writes one line of the stream.
pub(crate) fn line(out: &mut dyn Write, record: &impl Serialize) -> io::Result<()> {
    let mut text = serde_json::to_string(record)?;
    text.push('\n');
    out.write_all(text.as_bytes())
}
