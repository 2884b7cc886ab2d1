//! A chunk as the judge needs it, with how it is fingered beside it.

use crate::study::Span;
use crate::study::model::{LeftFinger, RightFinger, Shift};
use crate::study::position::Position;
use evenhand_core::study::{Attack, Chunk, ChunkError, ExpectedNote, Marks, Metre};
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::{GuitarString, Tempo, Ticks};

/// How the left hand sounds a note by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slur {
    /// Upwards.
    HammerOn,
    /// Downwards.
    PullOff,
}

/// How a note is fingered, as far as the study says it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Fingering {
    /// The fret, counted from the capo; 0 is the open string.
    pub fret: Option<u8>,
    /// The finger of the left hand. On a trill from an open string, the one that trills.
    pub left: Option<LeftFinger>,
    /// The finger of the right hand.
    pub right: Option<RightFinger>,
    /// The left hand moves to reach this note.
    pub shift: Option<Shift>,
    /// The first finger lies across the strings.
    pub barre: Option<Position>,
    /// Sounded by the left hand.
    pub slur: Option<Slur>,
    /// The fret of the other note of a trill.
    pub trill_fret: Option<u8>,
}

/// Another fingering of the same notes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Alternative {
    /// Its name.
    pub name: String,
    /// The strings, parallel to the notes of the chunk.
    pub strings: Vec<Option<GuitarString>>,
    /// The fingering, parallel to the notes of the chunk.
    pub hand: Vec<Fingering>,
}

/// A chunk that can be played and judged.
#[derive(Clone, Debug)]
pub struct Prepared {
    /// Its name.
    pub name: String,
    /// What is expected, in the order the judge wants; the landing's notes are the last.
    pub notes: Vec<ExpectedNote>,
    /// How it is fingered, parallel to `notes`.
    pub hand: Vec<Fingering>,
    /// The tempo to reach.
    pub tempo: Tempo,
    /// The metre.
    pub metre: Metre,
    /// The bar in which it begins.
    pub first_bar: u16,
    /// How far into that bar.
    pub into_first_bar: Ticks,
    /// What it is judged by.
    pub tolerances: Tolerances,
    /// Other fingerings.
    pub alternatives: Vec<Alternative>,
    /// How long it lasts, rests at its end included and the landing not.
    pub length: Ticks,
    /// The names of its voices in small letters, in the order of their numbers; none where they
    /// are not known.
    pub voices: Vec<String>,
}

impl Prepared {
    /// The chunk at the tempo to reach.
    ///
    /// # Panics
    ///
    /// Never on what [`Study::prepare`](crate::study::Study::prepare) returned, which was
    /// checked there; only if `notes` were since changed into what the core refuses. Use
    /// [`Prepared::checked`] after changing them.
    pub fn chunk(&self) -> Chunk<'_> {
        self.at_tempo(self.tempo)
    }

    /// The chunk at a tempo of practice.
    ///
    /// # Panics
    ///
    /// As [`Prepared::chunk`].
    pub fn at_tempo(&self, tempo: Tempo) -> Chunk<'_> {
        match self.checked(tempo) {
            Ok(chunk) => chunk,
            Err(error) => panic!("the notes of “{}” were changed: {error}", self.name),
        }
    }

    /// The chunk at a tempo of practice, checked once more.
    ///
    /// # Errors
    ///
    /// If `notes` were changed into what the core refuses.
    pub fn checked(&self, tempo: Tempo) -> Result<Chunk<'_>, ChunkError> {
        let chunk = Chunk::new(&self.notes, tempo)?;
        let placed = chunk.placed(self.metre, self.first_bar, self.into_first_bar);
        Ok(placed.judged_by(self.tolerances))
    }

    /// The same chunk in its alternative fingering number `index`; `None` if there is none.
    #[must_use]
    pub fn in_alternative(&self, index: usize) -> Option<Self> {
        let other = self.alternatives.get(index)?;
        let pairs = other.strings.iter().zip(&other.hand);
        let mut fingered: Vec<(ExpectedNote, Fingering)> =
            self.notes.iter().zip(pairs).map(|(n, (s, h))| (fingered(n, *s, h), *h)).collect();
        fingered.sort_by_key(|(note, _)| note.order());
        let (notes, hand) = fingered.into_iter().unzip();
        Some(Self { notes, hand, alternatives: Vec::new(), ..self.clone() })
    }
}

/// The note on another string, with the marks of another hand.
fn fingered(note: &ExpectedNote, string: Option<GuitarString>, hand: &Fingering) -> ExpectedNote {
    let mut marks = Marks::NONE;
    for kept in
        [Marks::ROLLED, Marks::ACCENT, Marks::HELD, Marks::STACCATO, Marks::LANDING, Marks::SWEPT]
    {
        if note.marks.has(kept) {
            marks = marks.with(kept);
        }
    }
    if hand.shift.is_some() {
        marks = marks.with(Marks::SHIFT);
    }
    let attack = if hand.slur.is_some() { Attack::Slurred } else { Attack::Plucked };
    ExpectedNote { string, marks, attack, ..*note }
}

/// A note that sounds, with how it is fingered and where it is written.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sounding {
    pub(super) note: ExpectedNote,
    pub(super) hand: Fingering,
    pub(super) span: Span,
}
