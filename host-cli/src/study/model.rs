//! What the text of a study says, and no more: nothing here is computed from anything else.
//!
//! Places in the text are kept in [`Spanned`] and do not count when studies are compared.
//! A study can also be built in memory; [`print`](super::print()) it and read it back to get
//! places for its problems.

use super::allow::Allow;
use super::note_value::{NoteValue, Ratio};
use super::pitch_name::PitchName;
use super::position::Position;
use super::span::{Source, Spanned};
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::units::GuitarString;
use std::fmt;

/// A study.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Study {
    /// The title, its spaces single.
    pub title: Option<String>,
    /// The open strings, low to high; the last is string 1. Four to eight.
    pub tuning: Option<Spanned<Vec<PitchName>>>,
    /// The fret of the capo; 0 is none.
    pub capo: Option<Spanned<u8>>,
    /// Every chord is swept with a plectrum.
    pub plectrum: Option<Spanned<Plectrum>>,
    /// What holds in every chunk that does not say otherwise.
    pub settings: Settings,
    /// Figures that chords are played in.
    pub figures: Vec<FigureText>,
    /// The music of the whole piece, section by section.
    pub music: Vec<Section>,
    /// The chunks, in the order of the text.
    pub chunks: Vec<ChunkText>,
    /// The text it was read from.
    pub(super) source: Source,
}

/// The word for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plectrum;

/// What both a study and a chunk can set.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settings {
    /// The metre.
    pub metre: Option<Spanned<MetreText>>,
    /// The tempo to reach.
    pub tempo: Option<Spanned<TempoText>>,
    /// How strictly it is judged.
    pub level: Option<Spanned<PracticeLevel>>,
    /// Single tolerances, at most one of each kind.
    pub allow: Vec<Spanned<Allow>>,
}

/// A metre as it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MetreText {
    /// The upper number.
    pub upper: u8,
    /// The lower number.
    pub lower: u8,
}

/// A tempo as it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TempoText {
    /// Beats a minute.
    pub beats: u16,
    /// What is counted, where it is not the beat of the metre.
    pub of: Option<NoteValue>,
}

/// A figure: how the notes of a chord follow each other.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureText {
    /// Its name: a letter, then letters, digits, `-` or `_`.
    pub name: Spanned<String>,
    /// Its steps; notes of the chord are [`Spot::OfChord`].
    pub items: Vec<Spanned<Item>>,
}

/// The music from a bar on.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Where it begins. Only the first may begin inside a bar.
    pub at: Spanned<Start>,
    /// The metre from here on, where it changes.
    pub metre: Option<Spanned<MetreText>>,
    /// The tempo to reach from here on, where it changes.
    pub tempo: Option<Spanned<TempoText>>,
    /// The voices, line by line.
    pub lines: Vec<VoiceLine>,
}

/// A chunk.
#[derive(Clone, Debug, PartialEq)]
pub struct ChunkText {
    /// Its name.
    pub name: Spanned<String>,
    /// Where it begins; without it, where the last chunk ended.
    pub at: Option<Spanned<Start>>,
    /// Which part of the music it is, where it has no lines of its own.
    pub part: Option<Spanned<Part>>,
    /// What differs from the study's settings.
    pub settings: Settings,
    /// The music, line by line.
    pub lines: Vec<VoiceLine>,
    /// What is reached after the last note.
    pub landing: Option<Spanned<Landing>>,
    /// The same music, fingered otherwise.
    pub alternatives: Vec<AlternativeText>,
}

/// Where a chunk begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Start {
    /// The number of the bar; 0 is a pickup bar.
    pub bar: u16,
    /// The beat, from 1.
    pub beat: Option<u8>,
    /// How far after that beat.
    pub plus: Option<NoteValue>,
}

/// A part of the music.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// Where it begins.
    pub from: Start,
    /// Where it ends.
    pub to: PartEnd,
    /// These voices alone; all of them if it is empty.
    pub voices: Vec<String>,
}

/// Where a part of the music ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartEnd {
    /// With the end of this bar.
    Bar(u16),
    /// Right before this place.
    Until(Start),
}

/// Another fingering of a chunk.
#[derive(Clone, Debug, PartialEq)]
pub struct AlternativeText {
    /// Its name.
    pub name: Spanned<String>,
    /// The music again.
    pub lines: Vec<VoiceLine>,
}

/// A line of a voice. Lines of one name in one chunk follow each other in time.
#[derive(Clone, Debug, PartialEq)]
pub struct VoiceLine {
    /// The name of the voice: a letter, then letters, digits, `-` or `_`.
    pub name: Spanned<String>,
    /// What stands in it, at least one item.
    pub items: Vec<Spanned<Item>>,
}

/// What can stand in a voice.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A step of the music.
    Step(Step),
    /// A barline.
    Barline,
    /// A tuplet.
    Tuplet(Tuplet),
    /// A figure, played on a chord.
    Figure(FigureUse),
    /// The same voice's bars once more.
    Again(Again),
}

/// A figure, played on a chord.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureUse {
    /// The name of the figure.
    pub name: String,
    /// The chord, with what stands before it; its notes are counted as they are written.
    pub chord: Sound,
}

/// The same voice's bars once more, perhaps higher or lower on the neck.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Again {
    /// The first bar.
    pub first: u16,
    /// The last bar.
    pub last: u16,
    /// So many frets higher; lower is negative.
    pub higher: i8,
}

/// What can stand in a tuplet as well.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// The value of what follows.
    Value(NoteValue),
    /// Notes that begin together.
    Sound(Sound),
    /// Silence.
    Rest,
    /// The previous notes last longer.
    Tie,
}

/// Notes in another number than the time would hold.
#[derive(Clone, Debug, PartialEq)]
pub struct Tuplet {
    /// How many in the time of how many.
    pub ratio: Ratio,
    /// What stands in it, at least one step.
    pub steps: Vec<Spanned<Step>>,
}

/// A note, or a chord of notes that begin together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sound {
    /// Spread on purpose.
    pub rolled: bool,
    /// The left hand moves to reach it.
    pub shift: Option<Shift>,
    /// The first finger lies across the strings at this fret.
    pub barre: Option<Position>,
    /// The notes, at least one.
    pub notes: Vec<Spanned<Note>>,
}

/// A movement of the left hand along the neck.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shift {
    /// The position it reaches, where the text says it.
    pub to: Option<Position>,
}

/// A note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Note {
    /// Sounded by the left hand from the previous note on its string.
    pub slurred: bool,
    /// Which note.
    pub spot: Spot,
    /// The finger of the left hand.
    pub left: Option<LeftFinger>,
    /// The finger of the right hand.
    pub right: Option<RightFinger>,
    /// The other note of a trill.
    pub trill: Option<TrillTo>,
    /// Kept sounding for its whole length.
    pub hold: bool,
    /// Louder than its neighbours.
    pub accent: bool,
    /// Shorter than written.
    pub short: bool,
}

impl Note {
    /// A note without any marks.
    pub const fn plain(spot: Spot) -> Self {
        Self {
            slurred: false,
            spot,
            left: None,
            right: None,
            trill: None,
            hold: false,
            accent: false,
            short: false,
        }
    }
}

/// Which note, as it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// A string and a fret, counted from the capo.
    Fretted(GuitarString, u8),
    /// A sounding pitch on no particular string.
    Named(PitchName),
    /// In a figure: the note of the chord with this number, from 1.
    OfChord(u8),
}

/// The other note of a trill, as it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TrillTo {
    /// Another fret of the same string.
    Fret(u8),
    /// A sounding pitch.
    Named(PitchName),
}

/// A finger of the left hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftFinger {
    /// 1, the index finger.
    First,
    /// 2, the middle finger.
    Second,
    /// 3, the ring finger.
    Third,
    /// 4, the little finger.
    Fourth,
    /// t, the thumb over the edge of the neck.
    Thumb,
}

impl LeftFinger {
    /// The fingers with their signs.
    pub const ALL: [(Self, char); 5] = [
        (Self::First, '1'),
        (Self::Second, '2'),
        (Self::Third, '3'),
        (Self::Fourth, '4'),
        (Self::Thumb, 't'),
    ];
}

impl fmt::Display for LeftFinger {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = Self::ALL.iter().find(|(finger, _)| finger == self);
        sign.map_or(Ok(()), |(_, sign)| write!(f, "{sign}"))
    }
}

/// A finger of the right hand, by the first letter of its Spanish name as guitarists write it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RightFinger {
    /// p, the thumb.
    Thumb,
    /// i, the index finger.
    Index,
    /// m, the middle finger.
    Middle,
    /// a, the ring finger.
    Ring,
    /// c, the little finger.
    Little,
}

impl RightFinger {
    /// The fingers with their signs.
    pub const ALL: [(Self, char); 5] = [
        (Self::Thumb, 'p'),
        (Self::Index, 'i'),
        (Self::Middle, 'm'),
        (Self::Ring, 'a'),
        (Self::Little, 'c'),
    ];
}

impl fmt::Display for RightFinger {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = Self::ALL.iter().find(|(finger, _)| finger == self);
        sign.map_or(Ok(()), |(_, sign)| write!(f, "{sign}"))
    }
}

/// What is reached after the last note of a chunk.
#[derive(Clone, Debug, PartialEq)]
pub enum Landing {
    /// The first notes of the next chunk.
    Next,
    /// These notes.
    On(Sound),
    /// Nothing, where a part of the music would be followed by its next notes.
    Nothing,
}
