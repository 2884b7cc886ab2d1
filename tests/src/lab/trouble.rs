//! The kinds of trouble that attempts are played with.

use evenhand_core::verdict::Kind;

/// What goes wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// All slurred notes are so far below the plucked ones.
    WeakSlurs,
    /// Time is lost before a note.
    Hesitation,
    /// Time is lost before a note that a shift is marked for.
    HesitationAtShift,
    /// One note is early or late.
    OffBeat,
    /// Hands of so large a standard deviation.
    Unsteady,
    /// A tempo that gives way.
    SlowingDown,
    /// A tempo that runs away.
    SpeedingUp,
    /// One chord is spread.
    SpreadChord,
    /// Loudness of so large a standard deviation.
    Uneven,
    /// One note is louder.
    LoudNote,
    /// One note is softer.
    SoftNote,
    /// One note is another one.
    WrongNote,
    /// One note does not come.
    MissingNote,
    /// One note too many.
    ExtraNote,
    /// Two notes change places.
    SwappedNotes,
    /// A pickup that sends one velocity for all.
    FixedVelocity,
}

impl Trouble {
    /// All of them, in the order of the table.
    pub const ALL: [Self; 16] = [
        Self::WeakSlurs,
        Self::Hesitation,
        Self::HesitationAtShift,
        Self::OffBeat,
        Self::Unsteady,
        Self::SlowingDown,
        Self::SpeedingUp,
        Self::SpreadChord,
        Self::Uneven,
        Self::LoudNote,
        Self::SoftNote,
        Self::WrongNote,
        Self::MissingNote,
        Self::ExtraNote,
        Self::SwappedNotes,
        Self::FixedVelocity,
    ];

    /// Those that several attempts together are tried on.
    pub const POOLED: [Self; 5] =
        [Self::WeakSlurs, Self::Unsteady, Self::SlowingDown, Self::SpeedingUp, Self::Uneven];

    /// Its name in the table.
    pub const fn name(self) -> &'static str {
        match self {
            Self::WeakSlurs => "weak slurs",
            Self::Hesitation => "hesitation",
            Self::HesitationAtShift => "hesitation at a shift",
            Self::OffBeat => "one note off the beat",
            Self::Unsteady => "unsteadiness",
            Self::SlowingDown => "slowing down",
            Self::SpeedingUp => "speeding up",
            Self::SpreadChord => "one spread chord",
            Self::Uneven => "uneven loudness",
            Self::LoudNote => "one loud note",
            Self::SoftNote => "one soft note",
            Self::WrongNote => "one wrong note",
            Self::MissingNote => "one missing note",
            Self::ExtraNote => "one extra note",
            Self::SwappedNotes => "two swapped notes",
            Self::FixedVelocity => "fixed velocity",
        }
    }

    /// The reason that the judge should give.
    pub const fn reason(self) -> Kind {
        match self {
            Self::WeakSlurs => Kind::WeakSlurs,
            Self::Hesitation => Kind::Hesitation,
            Self::HesitationAtShift => Kind::HesitationAtShift,
            Self::OffBeat => Kind::OffBeat,
            Self::Unsteady => Kind::Unsteady,
            Self::SlowingDown | Self::SpeedingUp => Kind::Drift,
            Self::SpreadChord => Kind::SpreadChords,
            Self::Uneven => Kind::Uneven,
            Self::LoudNote => Kind::LoudNotes,
            Self::SoftNote => Kind::SoftNotes,
            Self::WrongNote => Kind::WrongNotes,
            Self::MissingNote => Kind::MissingNotes,
            Self::ExtraNote => Kind::ExtraNotes,
            Self::SwappedNotes => Kind::SwappedNotes,
            Self::FixedVelocity => Kind::EvennessNotHeard,
        }
    }

    /// Whether it is larger or smaller, or only there or not.
    pub const fn has_size(self) -> bool {
        !matches!(
            self,
            Self::WrongNote
                | Self::MissingNote
                | Self::ExtraNote
                | Self::SwappedNotes
                | Self::FixedVelocity
        )
    }
}
