//! What an attempt was like: one file a measure.
//!
//! | measure | file |
//! |---|---|
//! | wrong, missing and extra notes | [`slips`] |
//! | notes that changed places | [`order`] |
//! | the player's own tempo, pauses | [`tempo`], `fit` |
//! | steadiness, drift, single notes off the beat | [`timing`] |
//! | a stretch that was rushed or dragged | [`stretch`], `shapes`, `explained` |
//! | the onsets against a click | [`click`] |
//! | time lost before a note | [`hesitation`] |
//! | loudness of plucked notes | [`evenness`] |
//! | each note's loudness against what it is compared with | [`single_levels`] |
//! | slurred notes against plucked ones | [`slurs`] |
//! | accents | [`accents`] |
//! | chords | [`togetherness`] |
//! | how late each string's notes come | `lateness` |
//! | the arrival on what comes next | [`landing`] |
//! | held notes | [`holding`] |
//! | staccato, gaps between notes | [`length`] |
//! | trills | [`trill`] |
//! | the strings that were used | [`path`] |
//!
//! A measure reports sizes; whether a size is too much is for the
//! [verdict](crate::verdict) to say.

pub mod accents;
pub mod click;
pub mod evenness;
pub(crate) mod explained;
mod fit;
pub mod hesitation;
pub mod holding;
pub mod landing;
pub(crate) mod lateness;
pub mod length;
pub mod onsets;
pub mod order;
pub mod path;
mod shapes;
pub mod single_levels;
pub mod slips;
pub mod slurs;
pub mod sounding;
pub mod statistics;
pub mod stretch;
pub mod tempo;
pub mod timing;
pub mod togetherness;
pub mod trill;

pub use crate::align::Material;

use crate::limits::EXPECTED_NOTES;

/// A set of expected notes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct NoteSet([u8; EXPECTED_NOTES / 8]);

impl NoteSet {
    /// No note.
    pub const NONE: Self = Self([0; EXPECTED_NOTES / 8]);

    /// Puts a note in.
    pub fn insert(&mut self, note: usize) {
        if let Some(byte) = self.0.get_mut(note / 8) {
            *byte |= 1 << (note % 8);
        }
    }

    /// Whether a note is in.
    pub fn has(&self, note: usize) -> bool {
        self.0.get(note / 8).is_some_and(|byte| byte & (1 << (note % 8)) != 0)
    }

    /// How many are in.
    pub fn count(&self) -> usize {
        self.0.iter().map(|byte| byte.count_ones() as usize).sum()
    }
}
