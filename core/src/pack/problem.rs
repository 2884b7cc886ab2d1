//! What can be wrong with a pack or a result.

use crate::limits;
use crate::study::ChunkError;
use core::fmt;

/// Why a pack cannot be opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum PackProblem {
    /// It does not begin as packs do.
    NotAPack,
    /// It is a pack, but its end is missing.
    Cut {
        /// Bytes that it says it has.
        wanted: usize,
        /// Bytes that there are.
        there: usize,
    },
    /// Its checksum is not that of its bytes.
    Damaged,
    /// It is whole, but of a version that this program does not know.
    TooNew {
        /// Its version.
        found: u16,
    },
    /// It is longer than [`limits::PACK_BYTES`].
    TooLong(usize),
    /// It is whole, but this cannot be: whoever wrote it made a mistake.
    Wrong(Wrong),
    /// The same, in this chunk.
    InChunk(u8, Wrong),
}

/// What cannot be, in a pack that is whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Wrong {
    /// The version is 0, or bytes that must be 0 are not.
    Header,
    /// There are no chunks, or more than [`limits::CHUNKS`].
    Chunks,
    /// It ends early, goes on for too long, or a chunk does not stand where it should.
    Place,
    /// A name or the title is longer than [`limits::NAME_BYTES`], or is not text.
    Name,
    /// A tempo, a metre, a rule or a tolerance is out of its range.
    Setting,
    /// More other fingerings than [`limits::FINGERINGS`].
    Fingerings,
    /// More voices than [`limits::VOICES`].
    Voices,
    /// It says of itself what its parts do not bear out.
    ChunkFacts,
    /// A note is out of its range.
    Note,
    /// The notes of a part make no chunk.
    Music(ChunkError),
}

impl fmt::Display for PackProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAPack => write!(f, "it is no pack"),
            Self::Cut { wanted, there } => {
                write!(f, "its end is missing: {there} of {wanted} bytes are there")
            }
            Self::Damaged => write!(f, "it is damaged: its checksum is not that of its bytes"),
            Self::TooNew { found } => {
                write!(f, "it has version {found} of the format, and this program knows 1")
            }
            Self::TooLong(bytes) => {
                write!(f, "it says that it has {bytes} bytes; at most {}", limits::PACK_BYTES)
            }
            Self::Wrong(wrong) => write!(f, "it was not written properly: {wrong}"),
            Self::InChunk(chunk, wrong) => {
                let number = u16::from(*chunk) + 1;
                write!(f, "its chunk {number} was not written properly: {wrong}")
            }
        }
    }
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Header => write!(f, "the header"),
            Self::Chunks => write!(f, "a pack has 1 to {} chunks", limits::CHUNKS),
            Self::Place => write!(f, "something does not stand in its place"),
            Self::Name => write!(f, "a name of at most {} bytes", limits::NAME_BYTES),
            Self::Setting => write!(f, "a setting out of its range"),
            Self::Fingerings => write!(f, "more than {} other fingerings", limits::FINGERINGS),
            Self::Voices => write!(f, "more than {} voices", limits::VOICES),
            Self::ChunkFacts => write!(f, "what is said of the chunk is not in it"),
            Self::Note => write!(f, "a note out of its range"),
            Self::Music(error) => write!(f, "{error}"),
        }
    }
}

impl core::error::Error for PackProblem {}

/// Why the music of a piece cannot be had.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Missing {
    /// The study has no such piece.
    NoSuchPiece,
    /// In one, these chunks cannot be judged.
    NotInOne(ChunkError),
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSuchPiece => write!(f, "the study has no such piece"),
            Self::NotInOne(error) => write!(f, "not in one: {error}"),
        }
    }
}

impl core::error::Error for Missing {}

/// Why a pack or a result cannot be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum WriteProblem {
    /// The bytes given are too few for it.
    NoRoom,
    /// What was written is no pack that can be opened.
    Wrong(PackProblem),
}

impl fmt::Display for WriteProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoRoom => write!(f, "there is no room for it"),
            Self::Wrong(problem) => write!(f, "{problem}"),
        }
    }
}

impl core::error::Error for WriteProblem {}

/// Why a result cannot be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum RecordProblem {
    /// Its end is missing.
    Cut,
    /// Its checksum is not that of its bytes.
    Damaged,
    /// It is whole, but of a version that this program does not know.
    TooNew {
        /// Its version.
        found: u8,
    },
    /// It is whole, but holds what cannot be.
    Wrong,
}

impl fmt::Display for RecordProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Cut => write!(f, "its end is missing"),
            Self::Damaged => write!(f, "it is damaged"),
            Self::TooNew { found } => {
                write!(f, "it has version {found} of the format, and this program knows 1")
            }
            Self::Wrong => write!(f, "it was not written properly"),
        }
    }
}

impl core::error::Error for RecordProblem {}
