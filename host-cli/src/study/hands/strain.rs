//! What a hand cannot do, or hardly, in words.

use crate::study::model::{LeftFinger, RightFinger};
use crate::study::position::Position;
use evenhand_core::units::GuitarString;

/// What is wrong for a hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Strain {
    /// Two frets at once are further apart than these fingers reach, in millimetres.
    Reach {
        /// How far they are apart.
        apart: u16,
        /// How far these fingers reach.
        most: u16,
    },
    /// One finger presses at two frets at once.
    TwoFrets(LeftFinger),
    /// One finger presses two strings, and no barre is written.
    TwoStrings(LeftFinger, u8),
    /// A finger nearer the nut presses further from it.
    Crossed(LeftFinger, LeftFinger),
    /// A note is pressed below the barre.
    BelowBarre(Position, u8),
    /// A shift names one position, and the finger is in another.
    NotThere {
        /// The position that is named.
        named: Position,
        /// The finger and its fret, by which the hand is elsewhere.
        finger: LeftFinger,
        /// Its fret.
        fret: u8,
    },
    /// A slur or a trill between frets so far apart, in millimetres.
    SlurReach(u16),
    /// One finger plucks two strings at once.
    PlucksTwo(RightFinger),
    /// One finger plucks again after so many milliseconds.
    SameFinger(RightFinger, u16),
    /// So many strokes a second, one after the other.
    TooFast(u16),
    /// A pitch without a string; a place where it could be played.
    NoString(Option<(GuitarString, u8)>),
}

impl Strain {
    /// Whether no hand does it; other strains are hard, or leave something open.
    pub const fn is_impossible(&self) -> bool {
        matches!(
            self,
            Self::TwoFrets(_)
                | Self::Crossed(..)
                | Self::BelowBarre(..)
                | Self::SlurReach(_)
                | Self::PlucksTwo(_)
        )
    }

    /// What it is, and what would be right.
    pub fn in_words(&self) -> String {
        match *self {
            Self::Reach { apart, most } => format!(
                "{apart} mm between two fingers at once, and these reach about {most} mm: another \
                 fingering, or another string"
            ),
            Self::TwoFrets(finger) => {
                format!("finger {finger} is at two frets at once: give one note another finger")
            }
            Self::TwoStrings(finger, fret) => {
                format!(
                    "finger {finger} presses two strings at fret {fret}: “barre” before it, or two fingers"
                )
            }
            Self::Crossed(near, far) => {
                format!("finger {near} is at a higher fret than finger {far}: change the two")
            }
            Self::BelowBarre(barre, fret) => {
                format!("fret {fret} under a barre at {barre}: the barre covers it")
            }
            Self::NotThere { named, finger, fret } => {
                format!(
                    "“shift {named}”, and finger {finger} at fret {fret} is in another position"
                )
            }
            Self::SlurReach(apart) => {
                format!("a slur or trill over {apart} mm, which one hand does not span")
            }
            Self::PlucksTwo(finger) => {
                format!("{finger} plucks two strings at once: give one note another finger")
            }
            Self::SameFinger(finger, millis) => format!(
                "{finger} plucks again after {millis} ms at the goal; one finger does about seven in a \
                 second: take turns"
            ),
            Self::TooFast(strokes) => format!(
                "{strokes} strokes a second at the goal; sixteenths of a fast tremolo are about eleven: \
                 a slower goal"
            ),
            Self::NoString(Some((string, fret))) => {
                format!("a pitch without a string; {}:{fret} would lie near", string.number())
            }
            Self::NoString(None) => {
                "a pitch without a string, and none that is free has it".to_owned()
            }
        }
    }
}
