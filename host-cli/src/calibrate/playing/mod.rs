//! What playing tells of a pickup by itself, without a study: notes and what looks like the pickup's
//! mistakes, levels, how late strings come in chords, how slurs arrive. By the core's own rules, where
//! it has one that needs no study.

mod chords;
mod lost;
mod mistakes;

pub use chords::Late;

use super::median;
use crate::channels::ChannelChoice;
use evenhand_core::attempt::PlayedNote;
use evenhand_core::limits::PLAYED_NOTES;
use evenhand_core::notes::{Converter, NoteEvent, level_of};
use evenhand_core::pickup::{Channels, Pickup, TrackingError};
use evenhand_core::session::Arrivals;
use evenhand_core::units::{Instant, Offset, Velocity};
use evenhand_core::wire::Wire;
use wmidi::MidiMessage;

/// More bytes than this are not kept: a MIDI line brings a tenth of it in a minute. Our default.
const MOST_BYTES: usize = 2 * 1_024 * 1_024;

/// So many notes without ten milliseconds between any of them were poured in from a file: nobody plays
/// so, and times say nothing. Our defaults.
const POURED: usize = 16;
const POURED_WITHIN: u64 = 10_000;

/// Strings, and at last what came on none that is known.
pub const PLACES: usize = 7;

/// What is played, as it comes.
#[derive(Debug, Default)]
pub struct Playing {
    pieces: Vec<(Vec<u8>, Instant)>,
    bytes: usize,
    wire: Wire,
    /// The notes that began: channel and number.
    begun: Vec<(u8, u8)>,
    first: Option<Instant>,
    last: Option<Instant>,
}

/// A note of the whole, with its time since the stream began.
#[derive(Clone, Copy, Debug)]
struct Note {
    played: PlayedNote,
    /// In microseconds.
    at: i64,
    /// The mistake that it looks like.
    mistake: Option<TrackingError>,
}

/// What one string did.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StringHeard {
    /// Notes that look like somebody's.
    pub notes: usize,
    /// Mistakes, in the order of [`TrackingError::ALL`].
    pub mistakes: [usize; TrackingError::ALL.len()],
    /// The velocity in the middle of its notes; none without notes.
    pub velocity: Option<u8>,
    /// How far levels scatter (standard deviation, from the median distance), in hundredths of a dB;
    /// none of fewer than four notes.
    pub spread: Option<i64>,
    /// How late it comes in chords, if there were enough.
    pub late: Option<Late>,
}

/// What velocities say altogether.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Velocities {
    /// Notes that have one.
    pub notes: usize,
    /// The velocity that came most often, and how often.
    pub most_common: (u8, usize),
    /// Notes at 127.
    pub full: usize,
    /// Notes at 1.
    pub least: usize,
}

/// What came of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Account {
    /// How strings are spread over channels, by all notes together.
    pub channels: Channels,
    /// The channels in use, from 0, in order.
    pub used: Vec<u8>,
    /// Each string, string 1 first, and at last what came on none that is known.
    pub strings: [StringHeard; PLACES],
    /// Notes that cannot be played on the string that their channel stands for, in the standard tuning
    /// or one near it.
    pub astray: usize,
    /// Velocities.
    pub velocities: Velocities,
    /// Sounding notes that were bent to another semitone and stayed there.
    pub bent: usize,
    /// Notes that began while another one sounded on their string.
    pub over_a_note: usize,
    /// Chords that were struck, of three strings or more.
    pub chords: usize,
    /// Rows of one note, struck evenly, or chords that came again: where a lost note can be told.
    pub rows: usize,
    /// So much is noise that nothing could be judged by it.
    pub is_poor: bool,
    /// All of it came at once, as from a file: times say nothing.
    pub is_poured: bool,
}

impl Playing {
    /// Takes bytes that came at this time.
    pub fn hear(&mut self, bytes: &[u8], at: Instant) {
        if self.is_full() {
            return;
        }
        for byte in bytes {
            if let Some(MidiMessage::NoteOn(channel, pitch, velocity)) = self.wire.push(*byte)
                && u8::from(velocity) > 0
            {
                self.begun.push((channel.index(), pitch.into()));
                self.first.get_or_insert(at);
                self.last = Some(at);
            }
        }
        self.bytes += bytes.len();
        self.pieces.push((bytes.to_vec(), at));
    }

    /// Whether no more is kept.
    pub const fn is_full(&self) -> bool {
        self.bytes > MOST_BYTES
    }

    /// When the first note came.
    pub const fn first(&self) -> Option<Instant> {
        self.first
    }

    /// How long it was played, from the first note to the last, in microseconds.
    pub fn span(&self) -> u64 {
        let micros = |at: Option<Instant>| at.map_or(0, |at| at.as_micros());
        micros(self.last).saturating_sub(micros(self.first))
    }

    /// How many notes began.
    pub const fn note_ons(&self) -> usize {
        self.begun.len()
    }

    /// How many bytes came, of notes or not.
    pub const fn bytes(&self) -> usize {
        self.bytes
    }

    /// What all of it says.
    pub fn account(&self) -> Account {
        let channels = ChannelChoice::Auto.settle(&self.begun);
        let pickup = Pickup::UNKNOWN.on(channels);
        let events = self.events(&pickup);
        let (mut notes, is_poor) = arrived(&pickup, &events);
        let is_poured = is_poured(&notes);
        if !is_poured {
            mistakes::tell(&mut notes);
        }
        let mut strings: [StringHeard; PLACES] = Default::default();
        for note in &notes {
            let string = &mut strings[place(&note.played)];
            match note.mistake {
                Some(mistake) => string.mistakes[mistake as usize] += 1,
                None if note.played.is_bent() => {}
                None => string.notes += 1,
            }
        }
        let mut chords = Vec::new();
        let mut rows = 0;
        if !is_poured {
            chords = chords::chords(&notes);
            for (string, late) in strings.iter_mut().zip(chords::late(&notes, &chords)) {
                string.late = late;
            }
            let (lost, of) = lost::lost(&notes, &chords);
            rows = of;
            for string in lost {
                strings[string].mistakes[TrackingError::Lost as usize] += 1;
            }
        }
        for (index, string) in strings.iter_mut().enumerate() {
            (string.velocity, string.spread) = loudness(&notes, index);
        }
        let mut used: Vec<u8> = self.begun.iter().map(|(channel, _)| *channel).collect();
        used.sort_unstable();
        used.dedup();
        let (bent, over_a_note) = slurs(&events);
        Account {
            channels,
            used,
            astray: astray(&notes),
            strings,
            velocities: velocities(&notes),
            bent,
            over_a_note,
            chords: chords.len(),
            rows,
            is_poor,
            is_poured,
        }
    }

    fn events(&self, pickup: &Pickup) -> Vec<(NoteEvent, Instant)> {
        let (mut wire, mut converter) = (Wire::default(), Converter::new(pickup));
        let mut events = Vec::new();
        for (bytes, at) in &self.pieces {
            for byte in bytes {
                let event = wire.push(*byte).and_then(|message| converter.hear(&message));
                events.extend(event.map(|event| (event, *at)));
            }
        }
        events
    }
}

impl Account {
    /// Notes of all strings that look like somebody's.
    pub fn notes(&self) -> usize {
        self.strings.iter().map(|string| string.notes).sum()
    }
}

/// Open strings of the standard tuning, string 1 first (MIDI 1.0 note numbers of E4 to E2), and how far
/// below and above them a string's notes may lie: frets, with room for capos and other tunings. As the
/// core has it, which finds the channels by it; our defaults.
const OPEN: [u8; 6] = [64, 59, 55, 50, 45, 40];
const DOWN: u8 = 5;
const UP: u8 = 30;

fn astray(notes: &[Note]) -> usize {
    let is_astray = |note: &&Note| {
        let own = note.mistake.is_none() && !note.played.is_bent();
        let open = OPEN.get(place(&note.played)).filter(|_| own);
        open.is_some_and(|open| !(open - DOWN..=open + UP).contains(&note.played.pitch.number()))
    };
    notes.iter().filter(is_astray).count()
}

/// Where a note's string stands.
fn place(note: &PlayedNote) -> usize {
    let index = note.string.map_or(PLACES, |string| usize::from(string.number()) - 1);
    index.min(PLACES - 1)
}

/// The notes as a session takes them, with what is told of them on arrival; and whether the pickup is
/// heard poorly at any time.
fn arrived(pickup: &Pickup, events: &[(NoteEvent, Instant)]) -> (Vec<Note>, bool) {
    let mut arrivals = Box::new(Arrivals::new(pickup));
    let (mut notes, mut is_poor) = (Vec::new(), false);
    for (event, at) in events {
        if arrivals.notes().len() == PLAYED_NOTES {
            take(&mut arrivals, PLAYED_NOTES / 2, &mut notes);
        }
        arrivals.hear(*event, *at);
        is_poor |= arrivals.hears_poorly();
    }
    take(&mut arrivals, PLAYED_NOTES, &mut notes);
    (notes, is_poor)
}

fn take(arrivals: &mut Arrivals, count: usize, into: &mut Vec<Note>) {
    let start = arrivals.start().unwrap_or(Instant::ZERO).as_micros();
    let start = i64::try_from(start).unwrap_or(i64::MAX / 2);
    into.extend(arrivals.notes().iter().take(count).map(|played| Note {
        played: *played,
        at: start + i64::from(played.at.as_micros()),
        mistake: None,
    }));
    arrivals.forget(count);
}

fn is_poured(notes: &[Note]) -> bool {
    let mut apart = notes.windows(POURED);
    apart.any(|row| {
        row.windows(2).all(|two| two[1].at.abs_diff(two[0].at) < POURED_WITHIN)
            && row.len() == POURED
    })
}

/// The velocity in the middle of a string's notes, and how far their levels scatter.
fn loudness(notes: &[Note], index: usize) -> (Option<u8>, Option<i64>) {
    let own = notes.iter().filter(|note| note.mistake.is_none() && place(&note.played) == index);
    let velocities: Vec<Velocity> = own.filter_map(|note| note.played.velocity).collect();
    let mut values: Vec<i64> = velocities.iter().map(|velocity| velocity.value().into()).collect();
    let middle = median(&mut values).and_then(|middle| u8::try_from(middle).ok());
    let mut levels: Vec<i64> =
        velocities.iter().map(|velocity| level_of(*velocity).hundredths().into()).collect();
    let spread = median(&mut levels).filter(|_| levels.len() >= 4).and_then(|middle| {
        let mut off: Vec<i64> = levels.iter().map(|level| (level - middle).abs()).collect();
        // 1.4826 median distances are a standard deviation (Hampel 1974).
        median(&mut off).map(|off| off * 14_826 / 10_000)
    });
    (middle, spread)
}

fn velocities(notes: &[Note]) -> Velocities {
    let mut counts = [0_usize; 128];
    let own = notes.iter().filter(|note| note.mistake.is_none());
    for velocity in own.filter_map(|note| note.played.velocity) {
        counts[usize::from(velocity.value().min(127))] += 1;
    }
    let most = (0..).zip(counts).max_by_key(|(_, count)| *count).unwrap_or((0, 0));
    Velocities {
        notes: counts.iter().sum(),
        most_common: most,
        full: counts[127],
        least: counts[1],
    }
}

/// A bend that is undone within this time is a vibrato's, in microseconds: the judge's own rule for it.
const VIBRATO: Offset = Offset::from_millis(80);

/// Slurs that came as bends that stay, and notes that began while another one sounded on their string,
/// at a pitch within a hand's reach.
fn slurs(events: &[(NoteEvent, Instant)]) -> (usize, usize) {
    /// A hand reaches so many semitones on one string without moving. Our default.
    const REACH: u8 = 5;
    let mut sounding = [None; PLACES];
    let (mut bent, mut over) = (0, 0);
    for (index, (event, at)) in events.iter().enumerate() {
        let slot = |string: &Option<evenhand_core::units::GuitarString>| {
            string.map_or(PLACES, |string| usize::from(string.number()) - 1).min(PLACES - 1)
        };
        match event {
            NoteEvent::Begun { pitch, string, .. } => {
                // Where strings are not known, whatever sounds is another string's, perhaps.
                if string.is_some()
                    && let Some(before) = sounding[slot(string)].replace(*pitch)
                    && before != *pitch
                    && pitch.semitones_above(before).unsigned_abs() <= REACH
                {
                    over += 1;
                }
            }
            NoteEvent::Bent { from, pitch, string } => {
                if string.is_some() {
                    sounding[slot(string)] = Some(*pitch);
                }
                let undone = events[index + 1..]
                    .iter()
                    .take_while(|(_, later)| later.since(*at) <= VIBRATO)
                    .any(|(later, _)| {
                        matches!(later, NoteEvent::Bent { pitch: back, string: same, .. }
                            if back == from && same == string)
                    });
                let undoes = events[..index]
                    .iter()
                    .rev()
                    .take_while(|(_, before)| at.since(*before) <= VIBRATO)
                    .any(|(before, _)| {
                        matches!(before, NoteEvent::Bent { from: back, string: same, .. }
                            if back == pitch && same == string)
                    });
                bent += usize::from(!undone && !undoes);
            }
            NoteEvent::Ended { pitch, string } => {
                let sounds = &mut sounding[slot(string)];
                if *sounds == Some(*pitch) {
                    *sounds = None;
                }
            }
            NoteEvent::AllEnded { string: None } => sounding = [None; PLACES],
            NoteEvent::AllEnded { string } => sounding[slot(string)] = None,
        }
    }
    (bent, over)
}

#[cfg(test)]
mod tests;
