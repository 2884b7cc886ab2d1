//! The study text format, versions 1 and 2: what a teacher types, and what the judge needs from it.
//!
//! ```text
//! text --parse--> Study --prepare--> Vec<Prepared> --chunk--> evenhand_core::study::Chunk
//!   ^                |
//!   +-----print------+
//! ```
//!
//! [`parse`] checks the spelling and keeps what the text says, with its positions.
//! [`Study::prepare`] does what needs knowledge of music and of the guitar: lengths of bars,
//! strings, slurs, capacities. Both report every problem they find, not only the first. The
//! format itself is specified in `docs/study-format.md`.

mod allow;
mod gather;
mod guess;
mod hands;
mod lex;
mod model;
mod name;
mod note_value;
mod parse;
mod pitch_name;
mod place;
mod position;
mod prepare;
mod print;
mod problem;
mod quantity;
mod report;
mod span;

pub use allow::{Allow, TimeAllowance};
pub use gather::{Gathered, gather};
pub(crate) use guess::nearest;
pub use hands::{Caution, SCALE, Strain, cautions, fret_of, nearest_places};
pub use model::{
    Again, AlternativeText, ChunkText, FigureText, FigureUse, Item, Landing, LeftFinger, MetreText,
    Note, Part, PartEnd, Plectrum, RightFinger, Section, Settings, Shift, Sound, Spot, Start, Step,
    Study, TempoText, TrillTo, Tuplet, VoiceLine,
};
pub(crate) use name::{is_quotable, tidy};
pub(crate) use note_value::as_fraction;
pub use note_value::{NoteValue, Ratio};
pub use parse::{LARGEST_TEXT, MOST_CHUNKS, parse};
pub use pitch_name::PitchName;
pub use place::{note_name, place_name};
pub(crate) use place::{pitch_name, stretch_name};
pub use position::Position;
pub use prepare::{Alternative, FRETS, Fingering, Piece, PieceBar, Prepared, Slur, VOICES};
pub use print::print;
pub use problem::Problem;
pub use report::MOST_PROBLEMS;
pub use span::{Span, Spanned};
