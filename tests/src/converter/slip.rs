//! What the player did wrong in every take of a session.

use evenhand_core::verdict::Kind;

/// A slip that recurs at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Slip {
    /// None: the player is clean.
    Clean,
    /// The neighbouring fret, as loud as the right one.
    Wrong,
    /// A note is left out.
    Missing,
    /// One of several strokes of the same pitch on the same string is left out: what a converter
    /// that joins two strokes sends as well.
    MissingRepeat,
    /// A note that belongs nowhere.
    Extra,
    /// A note is struck twice.
    Double,
    /// A neighbour is struck just before the note.
    Grace,
    /// Several in one take.
    Several,
}

impl Slip {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Clean,
        Self::Wrong,
        Self::Missing,
        Self::MissingRepeat,
        Self::Extra,
        Self::Double,
        Self::Grace,
        Self::Several,
    ];

    /// Its name in files and tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::Wrong => "wrong",
            Self::Missing => "missing",
            Self::MissingRepeat => "missing-repeat",
            Self::Extra => "extra",
            Self::Double => "double",
            Self::Grace => "grace",
            Self::Several => "several",
        }
    }

    /// The slip of a name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|slip| slip.name() == name)
    }

    /// Whether a finding of this kind names it.
    pub const fn fits(self, kind: Kind) -> bool {
        match self {
            Self::Clean => false,
            Self::Wrong => matches!(kind, Kind::WrongNotes),
            Self::Missing | Self::MissingRepeat => matches!(kind, Kind::MissingNotes),
            Self::Extra | Self::Double | Self::Grace => matches!(kind, Kind::ExtraNotes),
            Self::Several => is_of_notes(kind),
        }
    }

    /// Whether it is about strokes of one pitch on one string, of which a converter may join two or
    /// make one two: nobody can tell it from that in the notes of one take.
    pub const fn is_of_repeats(self) -> bool {
        matches!(self, Self::MissingRepeat | Self::Double)
    }
}

/// Whether a kind of finding is about wrong, missing or extra notes.
pub const fn is_of_notes(kind: Kind) -> bool {
    matches!(kind, Kind::WrongNotes | Kind::MissingNotes | Kind::ExtraNotes)
}
