//! Why a score is not read, and what to do about it.

use thiserror::Error;

/// Why a score is not read. The words go on after the name of the file.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Refusal {
    /// Neither text nor packed text.
    #[error("is no score in MusicXML: it does not begin as one")]
    NotXml,
    /// Text, but of something else.
    #[error("is no score in MusicXML: its outermost element is “{0}”")]
    Other(String),
    /// A text that breaks off or whose elements do not close.
    #[error("is a damaged score: {0}")]
    Broken(String),
    /// It is not text.
    #[error("is no text that can be read: its letters are neither UTF-8 nor UTF-16")]
    Letters,
    /// A document type that declares something inside the file.
    #[error("declares a document type of its own inside the file, which no score needs")]
    Declares,
    /// More than is read.
    #[error("is larger than a score that is read: over 12 MiB unpacked, or 250,000 elements")]
    Large,
    /// Elements within elements within elements.
    #[error("has elements within elements, more than 40 deep, which no score needs")]
    Deep,
    /// A packed score that cannot be unpacked.
    #[error("is a packed score that cannot be unpacked: {0}")]
    Packed(String),
    /// Repeats that never end, or nearly.
    #[error("has repeats that make more than {0} bars of it")]
    Endless(usize),
    /// A length that nobody can count.
    #[error("has a length in part “{part}”, bar {bar}, that cannot be counted: {found}")]
    Length {
        /// The part.
        part: String,
        /// The bar as it is numbered.
        bar: String,
        /// What stands there.
        found: String,
    },
    /// A note without what a note needs.
    #[error("has a note in part “{part}”, bar {bar}, without {lacks}")]
    Note {
        /// The part.
        part: String,
        /// The bar as it is numbered.
        bar: String,
        /// What it lacks.
        lacks: &'static str,
    },
    /// No part, or no bar.
    #[error("holds no music")]
    Empty,
}

impl Refusal {
    /// What to do about it.
    pub const fn advice(&self) -> &'static str {
        match self {
            Self::NotXml | Self::Other(_) | Self::Letters => {
                "Is it the right file? A score is saved as MusicXML, usually named .musicxml, .xml or .mxl."
            }
            Self::Broken(_) | Self::Packed(_) => "Copy it again, or export it again as MusicXML.",
            Self::Declares | Self::Deep => {
                "Where does it come from? Open it in the program that made it, and export it again."
            }
            Self::Large => "Export one movement, or the guitar's part alone.",
            Self::Endless(_) => "Look at its repeats: one of them is probably counted wrongly.",
            Self::Length { .. } | Self::Note { .. } => {
                "Open it in a notation program, mend that bar, and export it again."
            }
            Self::Empty => "Is it the right file?",
        }
    }
}
