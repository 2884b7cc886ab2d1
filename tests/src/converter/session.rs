//! A session in a file: four takes of one exercise, or a single one, as a converter sent them and as
//! they were played.

use std::fs;
use std::path::{Path, PathBuf};

use evenhand::study::{Fingering, Prepared};
use evenhand_core::study::{Attack, Chunk, ExpectedNote, Metre};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{GuitarString, Pitch, Tempo, Ticks};
use serde_json::Value;

use super::json::{Problem, byte, flag, list, maybe_text, number, text};
use super::slip::Slip;

/// What a note is in truth that is a stroke, with its pitch.
pub const MATCH: &str = "match";

/// What a note is of which nothing is said.
pub const PLAYED: &str = "played";

/// A session.
#[derive(Clone, Debug)]
pub struct Session {
    /// Its name.
    pub id: String,
    /// The name of the exercise.
    pub exercise: String,
    /// What goes wrong in each take.
    pub slip: Slip,
    /// Where: expected notes, by their number in the chunk.
    pub places: Vec<usize>,
    /// The setting of the converter.
    pub quality: Quality,
    /// Whether all strings share a channel.
    pub one_channel: bool,
    /// What is expected.
    pub chunk: Prepared,
    /// What was played.
    pub takes: Vec<Take>,
}

/// How well the converter is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quality {
    /// Few errors.
    Good,
    /// Some.
    Mid,
    /// Many.
    Bad,
}

impl Quality {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Good, Self::Mid, Self::Bad];

    /// Its name in files and tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Mid => "mid",
            Self::Bad => "bad",
        }
    }
}

/// A take.
#[derive(Clone, Debug)]
pub struct Take {
    /// What the converter sent.
    pub played: Vec<Sent>,
    /// What was played, as a converter without errors would send it.
    pub ideal: Vec<Sent>,
    /// Of how many notes that were played nothing was sent.
    pub lost: usize,
}

/// A note as it is sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sent {
    /// When it begins, in microseconds from the start of the take.
    pub at: u64,
    /// How long it lasts, in microseconds.
    pub lasts: u64,
    /// Its MIDI note.
    pub pitch: u8,
    /// Its velocity.
    pub velocity: u8,
    /// Its channel, from 0.
    pub channel: u8,
    /// What it is in truth, by the rig's own account: `match`, `double`, `stale` ...
    pub truth: String,
}

/// Every session in these folders and files, in the order of their names.
pub fn read_all(places: &[PathBuf]) -> Result<Vec<Session>, Problem> {
    let mut files = Vec::new();
    for place in places {
        let told = |error| format!("{}: {error}", place.display());
        if place.is_dir() {
            for entry in fs::read_dir(place).map_err(told)? {
                let path = entry.map_err(told)?.path();
                if path.extension().is_some_and(|ending| ending == "json") {
                    files.push(path);
                }
            }
        } else {
            files.push(place.clone());
        }
    }
    files.sort();
    let mut sessions = Vec::new();
    for file in &files {
        sessions.extend(read(file).map_err(|problem| format!("{}: {problem}", file.display()))?);
    }
    Ok(sessions)
}

/// The sessions of a file: one, or a list of them.
fn read(file: &Path) -> Result<Vec<Session>, Problem> {
    let text = fs::read_to_string(file).map_err(|error| error.to_string())?;
    let value: Value = serde_json::from_str(&text).map_err(|error| error.to_string())?;
    match value {
        Value::Array(all) => {
            let sessions = all.iter().map(sessions).collect::<Result<Vec<_>, _>>()?;
            Ok(sessions.into_iter().flatten().collect())
        }
        one => sessions(&one),
    }
}

/// The sessions of a value. One that does not say how many channels there are is heard on six and on one.
pub(super) fn sessions(value: &Value) -> Result<Vec<Session>, Problem> {
    if let Some(said) = value.get("one_channel") {
        let said = said.as_bool().ok_or("`one_channel` is neither true nor false")?;
        return Ok(vec![session(value, said)?]);
    }
    let mut one = session(value, true)?;
    one.id.push_str("-one");
    Ok(vec![session(value, false)?, one])
}

fn session(value: &Value, one_channel: bool) -> Result<Session, Problem> {
    let id = text(value, "id")?.to_owned();
    // A single case is a session of one take, and stands for itself.
    let takes = match value.get("takes") {
        Some(_) => list(value, "takes")?.iter().collect(),
        None => vec![value],
    };
    let first = *takes.first().ok_or("`takes` is empty")?;
    let (chunk, ids) = chunk(first, &id)?;
    let (slip, named) = slip(value)?;
    let place = |id: &String| {
        let found = ids.iter().position(|known| known == id);
        found.ok_or_else(|| format!("`place` is {id}, and no expected note has that name"))
    };
    let places = named.iter().map(place).collect::<Result<Vec<_>, _>>()?;
    let slip = refined(slip, &places, &chunk.notes);
    let quality = text(value, "quality")?;
    let quality = Quality::ALL.into_iter().find(|known| known.name() == quality);
    let takes = takes.into_iter().map(|take| {
        Ok(Take {
            played: notes(take, "played", one_channel)?,
            ideal: notes(take, "ideal", one_channel)?,
            lost: list(take, "lost")?.len(),
        })
    });
    Ok(Session {
        exercise: maybe_text(value, "exercise").unwrap_or(&id).to_owned(),
        id,
        slip,
        places,
        quality: quality.ok_or("`quality` is none of good, mid, bad")?,
        one_channel,
        chunk,
        takes: takes.collect::<Result<_, Problem>>()?,
    })
}

/// The slip, and the names of the notes that it concerns.
fn slip(value: &Value) -> Result<(Slip, Vec<String>), Problem> {
    if let Some(faults) = value.get("faults").and_then(Value::as_array) {
        // [["wrong", 7], ["extra", null]]: the extra note has no place of its own.
        let place = |fault: &Value| Some(format!("e{}", fault.get(1)?.as_u64()?));
        let slip = if faults.is_empty() { Slip::Clean } else { Slip::Several };
        return Ok((slip, faults.iter().filter_map(place).collect()));
    }
    let Some(name) = maybe_text(value, "slip") else { return Ok((Slip::Clean, Vec::new())) };
    let slip = Slip::named(name).ok_or_else(|| format!("`slip` is {name}, which is none"))?;
    Ok((slip, maybe_text(value, "place").map(str::to_owned).into_iter().collect()))
}

/// A note that is left out among strokes of its pitch on its string is another matter.
fn refined(slip: Slip, places: &[usize], notes: &[ExpectedNote]) -> Slip {
    let [place] = places else { return slip };
    let out = notes[*place];
    let on_string = |note: &&ExpectedNote| note.string == out.string;
    let before = notes[..*place].iter().rev().find(on_string);
    let after = notes[*place + 1..].iter().find(on_string);
    let again = [before, after].into_iter().flatten().any(|note| note.pitch == out.pitch);
    if slip == Slip::Missing && again { Slip::MissingRepeat } else { slip }
}

/// What is expected, and the name of each note.
fn chunk(take: &Value, name: &str) -> Result<(Prepared, Vec<String>), Problem> {
    let mut notes = Vec::new();
    for note in list(take, "expected")? {
        let ticks = |name: &str| -> Result<Ticks, Problem> {
            let beats = number(note, name, 0.0, 340.0)?;
            Ok(Ticks::new((beats * f64::from(Ticks::PER_QUARTER)).round() as u32))
        };
        let pitch = Pitch::new(byte(note, "pitch", 0, 127)?).ok_or("`pitch` is none")?;
        let plain = ExpectedNote::plain(ticks("onset_beat")?, ticks("duration_beat")?, pitch);
        let slurred = flag(note, "slur");
        let expected = ExpectedNote {
            string: GuitarString::new(byte(note, "string", 1, 6)?),
            attack: if slurred { Attack::Slurred } else { Attack::Plucked },
            voice: if note.get("voice").is_some() { byte(note, "voice", 0, 7)? } else { 0 },
            ..plain
        };
        notes.push((expected, text(note, "id")?.to_owned()));
    }
    notes.sort_by_key(|(note, _)| note.order());
    let (notes, ids): (Vec<_>, Vec<_>) = notes.into_iter().unzip();
    let micros = 60_000_000.0 / number(take, "tempo_bpm", 10.0, 600.0)?;
    let tempo = Tempo::from_micros_per_quarter(micros.round() as u32).ok_or("`tempo_bpm`")?;
    Chunk::new(&notes, tempo).map_err(|error| format!("`expected`: {error}"))?;
    let end = notes.iter().map(|note| note.onset.plus(note.duration)).max();
    let prepared = Prepared {
        name: name.to_owned(),
        hand: vec![Fingering::default(); notes.len()],
        notes,
        tempo,
        metre: Metre::FOUR_FOUR,
        first_bar: 1,
        into_first_bar: Ticks::ZERO,
        // What a study is judged by that says nothing else.
        tolerances: Tolerances::of(PracticeLevel::Steady),
        alternatives: Vec::new(),
        length: end.unwrap_or(Ticks::ZERO),
        voices: Vec::new(),
    };
    Ok((prepared, ids))
}

fn notes(take: &Value, name: &str, one_channel: bool) -> Result<Vec<Sent>, Problem> {
    let sent = |note: &Value| -> Result<Sent, Problem> {
        let micros =
            |name: &str| number(note, name, 0.0, 3_600.0).map(|s| (s * 1e6).round() as u64);
        let string = byte(note, "string", 0, 6)?;
        Ok(Sent {
            at: micros("onset_s")?,
            lasts: micros("duration_s")?,
            pitch: byte(note, "pitch", 0, 127)?,
            velocity: byte(note, "velocity", 1, 127)?,
            channel: if one_channel { 0 } else { string.saturating_sub(1) },
            truth: maybe_text(note, "cat").unwrap_or(PLAYED).to_owned(),
        })
    };
    let told = |(number, note)| sent(note).map_err(|told| format!("`{name}` {number}: {told}"));
    list(take, name)?.iter().enumerate().map(told).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    /// Two takes of four notes on one string, the second and third of one pitch.
    pub(super) fn four_notes() -> Value {
        let expected = |(number, pitch): (usize, u8)| {
            json!({"id": format!("e{number}"),
            "onset_beat": number, "duration_beat": 1, "pitch": pitch, "string": 2, "slur": number == 3})
        };
        let sent = |(number, pitch): (usize, u8)| {
            json!({"onset_s": number, "duration_s": 0.9,
            "pitch": pitch, "velocity": 80, "string": 2, "cat": "match"})
        };
        let pitches = [60, 62, 62, 64];
        let all = |note: &dyn Fn((usize, u8)) -> Value| -> Vec<Value> {
            pitches.into_iter().enumerate().map(note).collect()
        };
        let take = json!({"tempo_bpm": 60, "expected": all(&expected), "played": all(&sent),
            "ideal": all(&sent), "lost": []});
        json!({"id": "four", "slip": null, "place": null, "quality": "mid", "takes": [take, take]})
    }

    #[test]
    fn a_session_is_heard_on_as_many_channels_as_it_says() {
        let mut value = four_notes();
        let both = sessions(&value).expect("it is right");
        let channels: Vec<u8> = both.iter().map(|one| one.takes[0].played[0].channel).collect();
        assert_eq!(channels, [1, 0]);
        value["one_channel"] = json!(true);
        let one = sessions(&value).expect("it is right");
        assert_eq!((one.len(), one[0].takes[1].played[3].channel), (1, 0));
        assert_eq!(one[0].chunk.notes[3].attack, Attack::Slurred);
    }

    #[test]
    fn a_stroke_left_out_among_others_of_its_pitch_is_another_slip() {
        let slip = |place: &str| {
            let mut value = four_notes();
            value["slip"] = json!("missing");
            value["place"] = json!(place);
            sessions(&value).expect("it is right")[0].slip
        };
        assert_eq!(
            ["e0", "e1", "e2"].map(slip),
            [Slip::Missing, Slip::MissingRepeat, Slip::MissingRepeat]
        );
    }

    #[test]
    fn what_is_wrong_is_said_with_its_place() {
        let told = |change: &dyn Fn(&mut Value)| {
            let mut value = four_notes();
            change(&mut value);
            sessions(&value).expect_err("it is wrong")
        };
        let velocity = told(&|v| v["takes"][1]["played"][2]["velocity"] = json!(0));
        assert_eq!(velocity, "`played` 2: `velocity` is 0, and a number from 1 to 127 is wanted");
        assert_eq!(told(&|v| v["slip"] = json!("sneeze")), "`slip` is sneeze, which is none");
        let place = told(&|v| {
            v["slip"] = json!("wrong");
            v["place"] = json!("e9");
        });
        assert_eq!(place, "`place` is e9, and no expected note has that name");
        assert_eq!(told(&|v| v["quality"] = json!("fair")), "`quality` is none of good, mid, bad");
        assert_eq!(told(&|v| v["takes"] = json!([])), "`takes` is empty");
    }
}
