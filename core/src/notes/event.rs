//! What the strings do.

use crate::units::{GuitarString, Pitch, Velocity};

/// Something that a string did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum NoteEvent {
    /// A note began.
    Begun {
        /// Its sounding pitch.
        pitch: Pitch,
        /// How hard it was struck.
        velocity: Velocity,
        /// The string, where the channel tells.
        string: Option<GuitarString>,
    },
    /// A sounding note was bent to another semitone: a slur, a vibrato, a slide; what it is
    /// shows later. How hard it came nobody knows.
    Bent {
        /// The pitch before.
        from: Pitch,
        /// The pitch now.
        pitch: Pitch,
        /// The string, where the channel tells.
        string: Option<GuitarString>,
    },
    /// A note ended.
    Ended {
        /// Its sounding pitch.
        pitch: Pitch,
        /// The string, where the channel tells.
        string: Option<GuitarString>,
    },
    /// Every note ended: of one string, or of all.
    AllEnded {
        /// The string; `None` for all of them.
        string: Option<GuitarString>,
    },
}
