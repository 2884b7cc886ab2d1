//! A score: what is expected, from a Standard MIDI File.

use super::clock::Clock;
use super::{in_order, open, parse};
use crate::channels::{self, ChannelChoice};
use crate::fault::{Exit, Fault};
use crate::study::{Fingering, Prepared};
use evenhand_core::notes::Channels;
use evenhand_core::study::{Chunk, ChunkError, ExpectedNote, Metre};
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::{Pitch, Tempo, Ticks};
use midly::{MetaMessage, MidiMessage, Smf, Timing, TrackEventKind};
use std::collections::{HashMap, VecDeque};
use std::path::Path;

/// Notes of a recording that begin within this time are struck together: a hand that spreads a
/// chord takes longer, and nobody plays one note after the other as fast. Our default.
const TOGETHER: u64 = 30_000;

/// The tempo of a file that names none: 120 quarters a minute (Standard MIDI Files 1.0). That of a
/// recording, too, whose ticks are those of a clock.
const USUAL_TEMPO: Tempo = match Tempo::from_micros_per_quarter(500_000) {
    Some(tempo) => tempo,
    None => Tempo::SLOWEST,
};

/// A score.
#[derive(Clone, Debug)]
pub struct Score {
    /// The notes as a chunk.
    pub prepared: Prepared,
    /// How its channels were read.
    pub channels: Channels,
}

/// A note of the file.
struct Written {
    channel: u8,
    pitch: u8,
    from: u64,
    to: Option<u64>,
}

impl Score {
    /// Reads a score. Its first tempo and its first metre hold for all of it.
    pub fn read(path: &Path, choice: ChannelChoice, tolerances: Tolerances) -> Result<Self, Fault> {
        let shown = path.display().to_string();
        let name = path
            .file_stem()
            .map_or_else(|| shown.clone(), |stem| stem.to_string_lossy().into_owned());
        open(path, "score", |smf| Self::named(smf, name, &shown, choice, tolerances))
    }

    /// The same from memory; `name` is the chunk's, and used in errors.
    pub fn from_bytes(
        content: &[u8],
        name: &str,
        choice: ChannelChoice,
        tolerances: Tolerances,
    ) -> Result<Self, Fault> {
        parse(content, name, |smf| Self::named(smf, name.to_owned(), name, choice, tolerances))
    }

    fn named(
        smf: &Smf<'_>,
        name: String,
        shown: &str,
        choice: ChannelChoice,
        tolerances: Tolerances,
    ) -> Result<Self, Fault> {
        Self::of(smf, name, choice, tolerances).map_err(|error| {
            let (what, advice) = in_words(&error);
            Fault::new(Exit::Input, format!("the score {shown}: {what}")).advise(advice)
        })
    }

    fn of(
        smf: &Smf<'_>,
        name: String,
        choice: ChannelChoice,
        tolerances: Tolerances,
    ) -> Result<Self, Unfit> {
        let mut written: Vec<Written> = Vec::new();
        // The notes that sound, by channel and pitch; of equal ones the first ends first.
        let mut sounding: HashMap<(u8, u8), VecDeque<usize>> = HashMap::new();
        let mut metre = None;
        let written_tempo = tempo(smf);
        let mut clock = Clock::new(smf.header.timing);
        let mut last = 0;
        for event in in_order(smf) {
            let micros = clock.at(event.tick, &event.kind);
            last = if written_tempo.is_some() { event.tick } else { micros };
            match event.kind {
                TrackEventKind::Meta(MetaMessage::TimeSignature(upper, lower, _, _)) => {
                    let lower = 1_u8.checked_shl(lower.into()).unwrap_or(0);
                    metre = metre.or(Metre::new(upper, lower));
                }
                TrackEventKind::Midi { channel, message } => {
                    let channel = channel.as_int();
                    let (pitch, begins) = match message {
                        MidiMessage::NoteOn { key, vel } => (key.as_int(), vel.as_int() > 0),
                        MidiMessage::NoteOff { key, .. } => (key.as_int(), false),
                        _ => continue,
                    };
                    let same = sounding.entry((channel, pitch)).or_default();
                    if begins {
                        same.push_back(written.len());
                        written.push(Written { channel, pitch, from: last, to: None });
                    } else if let Some(note) = same.pop_front().and_then(|i| written.get_mut(i)) {
                        note.to = Some(last);
                    }
                }
                _ => {}
            }
        }
        let (tempo, per_quarter) = written_tempo.unwrap_or_else(|| {
            strike_together(&mut written);
            (USUAL_TEMPO, USUAL_TEMPO.micros_per_quarter().into())
        });
        let ticks = |tick: u64| {
            let scaled = (u128::from(tick) * u128::from(Ticks::PER_QUARTER)
                + u128::from(per_quarter / 2))
                / u128::from(per_quarter);
            Ticks::new(u32::try_from(scaled).unwrap_or(u32::MAX))
        };
        let channels = choice
            .settle(&written.iter().map(|note| (note.channel, note.pitch)).collect::<Vec<_>>());
        let mut notes: Vec<ExpectedNote> = written
            .iter()
            .filter_map(|note| {
                let onset = ticks(note.from);
                let duration = ticks(note.to.unwrap_or(last)).since(onset);
                let string = match channels {
                    Channels::One | Channels::Auto | Channels::Zone => None,
                    // A channel that is no string's is not the guitar's.
                    Channels::PerString { .. } => Some(channels.string(note.channel)?),
                };
                let pitch = Pitch::new(note.pitch)?;
                Some(ExpectedNote { string, ..ExpectedNote::plain(onset, duration, pitch) })
            })
            .collect();
        notes.sort_by_key(ExpectedNote::order);
        // One string cannot begin two notes: the second is a slip of the file.
        notes.dedup_by(|b, a| a.order() == b.order() && a.string.is_some());
        Chunk::new(&notes, tempo).map_err(|error| {
            let at = match error {
                ChunkError::TooManyTogether(index) => notes.get(index).map(|note| note.onset),
                _ => None,
            };
            Unfit { error, at }
        })?;
        let length =
            notes.iter().map(|note| note.onset.plus(note.duration)).max().unwrap_or(Ticks::ZERO);
        let hand = notes
            .iter()
            .map(|note| Fingering { fret: channels::fret(note), ..Fingering::default() })
            .collect();
        let prepared = Prepared {
            name,
            notes,
            hand,
            tempo,
            metre: metre.unwrap_or(Metre::FOUR_FOUR),
            first_bar: 1,
            into_first_bar: Ticks::ZERO,
            tolerances,
            alternatives: Vec::new(),
            length,
            voices: Vec::new(),
        };
        Ok(Self { prepared, channels })
    }
}

/// The first tempo of a file with the ticks of its quarter. None where its ticks are not those of
/// music: in time code, or in a recording, whose quarter is shorter or longer than any that can be
/// practised. There the time is what counts.
fn tempo(smf: &Smf<'_>) -> Option<(Tempo, u64)> {
    let Timing::Metrical(per_quarter) = smf.header.timing else { return None };
    let said = in_order(smf).into_iter().find_map(|event| match event.kind {
        TrackEventKind::Meta(MetaMessage::Tempo(micros)) => Some(micros.as_int()),
        _ => None,
    });
    let tempo = match said {
        Some(micros) => Tempo::from_micros_per_quarter(micros)?,
        None => USUAL_TEMPO,
    };
    Some((tempo, u64::from(per_quarter.as_int()).max(1)))
}

/// What begins within [`TOGETHER`] after a note begins with it: a recording spreads every chord a
/// little, and a score does not mean that.
fn strike_together(notes: &mut [Written]) {
    let mut first = None;
    for note in notes {
        match first {
            Some(at) if note.from <= at + TOGETHER => note.from = at,
            _ => first = Some(note.from),
        }
    }
}

/// Why the notes of a score are no chunk.
struct Unfit {
    error: ChunkError,
    /// Where, if it is in one place.
    at: Option<Ticks>,
}

/// What is wrong, and what to do about it.
fn in_words(unfit: &Unfit) -> (String, &'static str) {
    let Unfit { error, at } = unfit;
    match error {
        ChunkError::Empty => {
            ("it holds no notes".to_owned(), "Is it the right file, and its channels the guitar's?")
        }
        ChunkError::TooManyTogether(_) => {
            let quarter = at.map_or(0, |onset| onset.get() / Ticks::PER_QUARTER);
            let what = format!("{error} (quarter {} of the piece)", quarter + 1);
            (what, "Leave out what the guitar does not play, and save it again.")
        }
        _ => (error.to_string(), "Cut the score into chunks, as one would to practise it."),
    }
}
