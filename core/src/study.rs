//! The expected side: notes, chunks, and where a note stands in its bar.
//!
//! A [`Chunk`] borrows its notes and is checked once, when it is made; later stages rely on
//! what [`Chunk::new`] promises. A session copies the notes, and keeps what else a chunk says as it
//! is.

mod excerpt;

pub use excerpt::Excerpt;

use crate::limits;
use crate::tolerance::{PracticeLevel, Tolerances};
use crate::units::{GuitarString, Pitch, Tempo, Ticks};
use core::fmt;

/// How a note is begun.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Attack {
    /// By the right hand.
    #[default]
    Plucked,
    /// By the left hand alone: a hammer-on or a pull-off.
    Slurred,
}

/// Marks that a note can carry, as a small set.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Marks(u8);

impl Marks {
    /// No marks.
    pub const NONE: Self = Self(0);
    /// The notes of this chord are spread on purpose; togetherness is not asked for.
    pub const ROLLED: Self = Self(1);
    /// The left hand changes position to reach this note.
    pub const SHIFT: Self = Self(2);
    /// Louder than its neighbours on purpose.
    pub const ACCENT: Self = Self(4);
    /// Kept sounding for the whole written length (an anchor).
    pub const HELD: Self = Self(8);
    /// Shorter than written on purpose.
    pub const STACCATO: Self = Self(16);
    /// Part of the arrival on the next chunk: judged when it is played, not missed when not.
    pub const LANDING: Self = Self(32);
    /// A note of a chord that a plectrum sweeps over: its notes come one after the other.
    pub const SWEPT: Self = Self(128);

    /// Both sets together.
    #[must_use]
    pub const fn with(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// The marks as bits, as they stand in a pack.
    #[cfg(feature = "pack")]
    pub(crate) const fn bits(self) -> u8 {
        self.0
    }

    /// Marks from bits; `None` if there is one that no mark has.
    #[cfg(feature = "pack")]
    pub(crate) const fn of_bits(bits: u8) -> Option<Self> {
        if bits & !(0b11_1111 | Self::SWEPT.0) == 0 { Some(Self(bits)) } else { None }
    }

    /// Whether every mark of `other` is here.
    pub const fn has(self, other: Self) -> bool {
        self.0 & other.0 == other.0
    }
}

/// Puts an accent on what is plucked on a beat, for practice with accents. `into_bar` is where in a bar the
/// notes begin; beats are counted anew in each bar. A landing has none, which is judged by its arrival.
pub fn accent_beats(notes: &mut [ExpectedNote], metre: Metre, into_bar: Ticks) {
    for note in notes {
        let into = note.onset.plus(into_bar).get().checked_rem(metre.bar().get());
        let into = into.and_then(|into| into.checked_rem(metre.beat().get()));
        let is_on_a_beat = into == Some(0);
        let is_own = note.attack == Attack::Plucked && !note.marks.has(Marks::LANDING);
        if is_on_a_beat && is_own {
            note.marks = note.marks.with(Marks::ACCENT);
        }
    }
}

/// One expected note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ExpectedNote {
    /// Where it begins, from the start of the chunk.
    pub onset: Ticks,
    /// How long it is written, ties included. A trill lasts this long.
    pub duration: Ticks,
    /// Its sounding pitch.
    pub pitch: Pitch,
    /// The string it is fingered on, where the study says so.
    pub string: Option<GuitarString>,
    /// Plucked or slurred.
    pub attack: Attack,
    /// The other note of a trill that this note starts, on the same string.
    pub trill: Option<Pitch>,
    /// Marks.
    pub marks: Marks,
    /// Which voice it belongs to, counted from 0: notes of one voice are compared in loudness.
    pub voice: u8,
}

impl ExpectedNote {
    /// A plain plucked note of the first voice, with no string named.
    pub const fn plain(onset: Ticks, duration: Ticks, pitch: Pitch) -> Self {
        Self {
            onset,
            duration,
            pitch,
            string: None,
            attack: Attack::Plucked,
            trill: None,
            marks: Marks::NONE,
            voice: 0,
        }
    }

    /// The order of expected notes in a chunk: onset, then pitch (low first), then string
    /// (1 first, no string before all).
    pub fn order(&self) -> (Ticks, Pitch, Option<GuitarString>) {
        (self.onset, self.pitch, self.string)
    }
}

/// A metre: beats in a bar, and the length of a beat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Metre {
    bar: Ticks,
    beat: Ticks,
}

impl Metre {
    /// Four quarter notes a bar.
    pub const FOUR_FOUR: Self =
        Self { bar: Ticks::new(4 * Ticks::PER_QUARTER), beat: Ticks::new(Ticks::PER_QUARTER) };

    /// A metre as it is written, `upper` notes of the kind 1/`lower`. In 6, 9 and 12 over 8
    /// or 16 the beat is three of them, as musicians count (common practice).
    ///
    /// `None` if `upper` is 0 or over 32, or `lower` is not 1, 2, 4, 8, 16 or 32.
    pub const fn new(upper: u8, lower: u8) -> Option<Self> {
        if upper == 0 || upper > 32 || !matches!(lower, 1 | 2 | 4 | 8 | 16 | 32) {
            return None;
        }
        let unit = 4 * Ticks::PER_QUARTER / lower as u32;
        let compound = lower >= 8 && upper > 3 && upper.is_multiple_of(3);
        Some(Self {
            bar: Ticks::new(unit * upper as u32),
            beat: Ticks::new(if compound { unit * 3 } else { unit }),
        })
    }

    /// The metre with this bar and this beat, if there is one that can be written.
    #[cfg(feature = "pack")]
    pub(crate) fn of(bar: Ticks, beat: Ticks) -> Option<Self> {
        let lower = [1, 2, 4, 8, 16, 32];
        let mut all = lower.into_iter().flat_map(|l| (1..=32).filter_map(move |u| Self::new(u, l)));
        all.find(|metre| metre.bar == bar && metre.beat == beat)
    }

    /// The length of a bar.
    pub const fn bar(self) -> Ticks {
        self.bar
    }

    /// The length of a beat.
    pub const fn beat(self) -> Ticks {
        self.beat
    }
}

/// Where something stands, as a musician says it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Place {
    /// The number of the bar in the study; the first is 1, a pickup bar is 0.
    pub bar: u16,
    /// The beat in the bar, from 1.
    pub beat: u8,
    /// How far into the beat, in ticks.
    pub into_beat: Ticks,
}

/// What is wrong with the parts of a chunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum ChunkError {
    /// There are no notes.
    Empty,
    /// More than [`limits::EXPECTED_NOTES`] notes: how many there are.
    TooManyNotes(usize),
    /// More than [`limits::NOTES_TOGETHER`] notes begin together with this one.
    TooManyTogether(usize),
    /// This note stands before its predecessor; see [`ExpectedNote::order`].
    OutOfOrder(usize),
    /// This note repeats its predecessor: same onset and pitch on the same named string.
    Twice(usize),
    /// The notes reach further than [`limits::CHUNK_QUARTERS`].
    TooLong,
}

impl fmt::Display for ChunkError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "no notes"),
            Self::TooManyNotes(n) => {
                write!(f, "{n} notes, and a chunk holds at most {}", limits::EXPECTED_NOTES)
            }
            Self::TooManyTogether(i) => {
                write!(f, "more than {} notes begin together at note {i}", limits::NOTES_TOGETHER)
            }
            Self::OutOfOrder(i) => write!(f, "note {i} stands before the one that precedes it"),
            Self::Twice(i) => write!(f, "note {i} stands twice"),
            Self::TooLong => {
                write!(f, "longer than {} quarter notes", limits::CHUNK_QUARTERS)
            }
        }
    }
}

impl core::error::Error for ChunkError {}

/// Whether notes that come one by one make a chunk: what [`Chunk::new`] promises of them.
#[derive(Clone, Copy, Debug)]
pub(crate) struct InOrder {
    index: usize,
    together: usize,
    previous: Option<ExpectedNote>,
}

impl InOrder {
    /// Before the first note.
    pub(crate) const NEW: Self = Self { index: 0, together: 0, previous: None };

    /// Takes the next note.
    pub(crate) fn take(&mut self, note: &ExpectedNote) -> Result<(), ChunkError> {
        let index = self.index;
        if index >= limits::EXPECTED_NOTES {
            return Err(ChunkError::TooManyNotes(index.saturating_add(1)));
        }
        if let Some(before) = &self.previous {
            // Unisons are notes of their own, but one string cannot begin two.
            if note.order() == before.order() && note.string.is_some() {
                return Err(ChunkError::Twice(index));
            }
            if note.order() < before.order() {
                return Err(ChunkError::OutOfOrder(index));
            }
            self.together = if note.onset == before.onset { self.together + 1 } else { 0 };
        }
        if self.together >= limits::NOTES_TOGETHER {
            return Err(ChunkError::TooManyTogether(index));
        }
        let end = note.onset.plus(note.duration);
        if end.get() > limits::CHUNK_QUARTERS * Ticks::PER_QUARTER {
            return Err(ChunkError::TooLong);
        }
        self.index = index.saturating_add(1);
        self.previous = Some(*note);
        Ok(())
    }
}

/// What a chunk says besides its notes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Setting {
    pub(crate) tempo: Tempo,
    metre: Metre,
    first_bar: u16,
    into_first_bar: Ticks,
    pub(crate) tolerances: Tolerances,
}

impl Setting {
    /// That of no music.
    pub(crate) const SILENCE: Self = Self {
        tempo: Tempo::SLOWEST,
        metre: Metre::FOUR_FOUR,
        first_bar: 1,
        into_first_bar: Ticks::ZERO,
        tolerances: Tolerances::of(PracticeLevel::Steady),
    };
}

/// A chunk of a study, checked: its notes are in order, fit the capacities and begin at
/// most [`limits::NOTES_TOGETHER`] at a time.
#[derive(Clone, Copy, Debug)]
pub struct Chunk<'a> {
    notes: &'a [ExpectedNote],
    setting: Setting,
}

impl<'a> Chunk<'a> {
    /// No music: what a session has before it gets a chunk. The one chunk without notes.
    pub(crate) const SILENCE: Self = Self { notes: &[], setting: Setting::SILENCE };

    /// Checks `notes` and makes a chunk of them, in 4/4 from the start of bar 1, with the
    /// tolerances of the level `steady`. `tempo` is the tempo that is practised.
    pub fn new(notes: &'a [ExpectedNote], tempo: Tempo) -> Result<Self, ChunkError> {
        if notes.is_empty() {
            return Err(ChunkError::Empty);
        }
        if notes.len() > limits::EXPECTED_NOTES {
            return Err(ChunkError::TooManyNotes(notes.len()));
        }
        let mut order = InOrder::NEW;
        for note in notes {
            order.take(note)?;
        }
        Ok(Self { notes, setting: Setting { tempo, ..Setting::SILENCE } })
    }

    /// The chunk that was taken apart into these.
    pub(crate) const fn of(notes: &'a [ExpectedNote], setting: Setting) -> Self {
        Self { notes, setting }
    }

    /// What it says besides its notes.
    pub(crate) const fn setting(&self) -> Setting {
        self.setting
    }

    /// The same chunk in another metre, beginning in bar `first_bar` (1 is the first of the
    /// study), `into_first_bar` after that bar's start.
    #[must_use]
    pub const fn placed(mut self, metre: Metre, first_bar: u16, into_first_bar: Ticks) -> Self {
        self.setting.metre = metre;
        self.setting.first_bar = first_bar;
        self.setting.into_first_bar = into_first_bar;
        self
    }

    /// The same chunk, judged with other tolerances.
    #[must_use]
    pub const fn judged_by(mut self, tolerances: Tolerances) -> Self {
        self.setting.tolerances = tolerances;
        self
    }

    /// The notes, in order. Never empty in a chunk that was made by [`Chunk::new`].
    pub const fn notes(&self) -> &'a [ExpectedNote] {
        self.notes
    }

    /// The tempo that is practised.
    pub const fn tempo(&self) -> Tempo {
        self.setting.tempo
    }

    /// The metre.
    pub const fn metre(&self) -> Metre {
        self.setting.metre
    }

    /// The tolerances it is judged by.
    pub const fn tolerances(&self) -> &Tolerances {
        &self.setting.tolerances
    }

    /// Where a position of the chunk stands in the study.
    pub const fn place(&self, at: Ticks) -> Place {
        let Setting { metre, first_bar, into_first_bar, .. } = self.setting;
        let from_first_bar = at.plus(into_first_bar).get();
        let bar = metre.bar.get();
        let beat = metre.beat.get();
        let in_bar = from_first_bar % bar;
        Place {
            bar: first_bar.saturating_add((from_first_bar / bar) as u16),
            beat: (in_bar / beat) as u8 + 1,
            into_beat: Ticks::new(in_bar % beat),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(quarter: u32, pitch: u8) -> ExpectedNote {
        let quarter_note = Ticks::new(Ticks::PER_QUARTER);
        let onset = Ticks::new(quarter * Ticks::PER_QUARTER);
        ExpectedNote::plain(onset, quarter_note, Pitch::new(pitch).unwrap())
    }

    const TEMPO: Tempo = Tempo::from_micros_per_quarter(500_000).unwrap();

    #[test]
    fn what_is_plucked_on_a_beat_gets_an_accent() {
        let eighth = |index: u32| Ticks::new(index * Ticks::PER_QUARTER / 2);
        let mut notes: [ExpectedNote; 8] = core::array::from_fn(|index| {
            let at = eighth(u32::try_from(index).unwrap());
            ExpectedNote { onset: at, duration: eighth(1), ..note(0, 60) }
        });
        notes[3].attack = Attack::Slurred;
        notes[7].marks = Marks::LANDING;
        // From the second eighth of the bar on.
        let metre = Metre::new(4, 4).unwrap();
        accent_beats(&mut notes, metre, eighth(1));
        let accents = notes.map(|note| note.marks.has(Marks::ACCENT));
        // The second, fourth, sixth and eighth are on beats; the slurred one and the landing have none.
        assert_eq!(accents, [false, true, false, false, false, true, false, false]);
    }

    #[test]
    fn a_chunk_cannot_be_built_from_nonsense() {
        assert_eq!(Chunk::new(&[], TEMPO).unwrap_err(), ChunkError::Empty);
        let backwards = [note(1, 60), note(0, 60)];
        assert_eq!(Chunk::new(&backwards, TEMPO).unwrap_err(), ChunkError::OutOfOrder(1));
        let named = ExpectedNote { string: GuitarString::new(2), ..note(0, 60) };
        let twice = [named, named];
        assert!(Chunk::new(&[note(0, 60), note(0, 60)], TEMPO).is_ok(), "a unison");
        assert_eq!(Chunk::new(&twice, TEMPO).unwrap_err(), ChunkError::Twice(1));
        let nine: [ExpectedNote; 9] = core::array::from_fn(|i| note(0, 60 + i as u8));
        assert_eq!(Chunk::new(&nine, TEMPO).unwrap_err(), ChunkError::TooManyTogether(8));
        let many: [ExpectedNote; 257] = core::array::from_fn(|i| note(i as u32, 60));
        assert_eq!(Chunk::new(&many, TEMPO).unwrap_err(), ChunkError::TooManyNotes(257));
        let far = [note(400, 60)];
        assert_eq!(Chunk::new(&far, TEMPO).unwrap_err(), ChunkError::TooLong);
    }

    #[test]
    fn places_are_counted_as_musicians_count() {
        let notes = [note(0, 60)];
        let six_eight = Metre::new(6, 8).unwrap();
        assert_eq!(six_eight.beat().get(), Ticks::PER_QUARTER * 3 / 2);
        let half_a_bar = Ticks::new(six_eight.beat().get());
        let chunk = Chunk::new(&notes, TEMPO).unwrap().placed(six_eight, 5, half_a_bar);
        let first = chunk.place(Ticks::ZERO);
        assert_eq!((first.bar, first.beat, first.into_beat.get()), (5, 2, 0));
        let next = chunk.place(Ticks::new(Ticks::PER_QUARTER * 2));
        assert_eq!((next.bar, next.beat, next.into_beat.get()), (6, 1, Ticks::PER_QUARTER / 2));
    }

    #[test]
    fn three_eight_is_counted_in_eighths() {
        assert_eq!(Metre::new(3, 8).unwrap().beat().get(), Ticks::PER_QUARTER / 2);
        assert!(Metre::new(4, 3).is_none());
        assert!(Metre::new(0, 4).is_none());
    }
}
