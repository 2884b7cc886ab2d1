//! The kinds of clear faults.

use evenhand_core::verdict::Kind;

use super::extent::Extent;

/// One clear fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Lapse {
    /// The landing comes late, or never.
    LandingLate,
    /// The landing comes too soon.
    LandingSoon,
    /// One note of the landing's chord is another one.
    LandingNoteWrong,
    /// All notes of the landing are others.
    LandingWrong,
    /// One note of the landing's chord does not come.
    LandingNoteMissing,
    /// The landing's chord is spread.
    LandingSpread,
    /// Time is lost between two neighbours that are played through.
    SeamStop,
    /// One note is another one.
    WrongNote,
    /// One note does not come.
    MissingNote,
    /// A whole event does not come.
    MissingEvent,
    /// One note too many.
    ExtraNote,
    /// Two neighbours change places.
    Swapped,
    /// Time is lost inside.
    Gap,
    /// Time is lost before a note that a shift is marked for.
    GapAtShift,
    /// Time is lost before the last event.
    GapBeforeLast,
    /// One event comes late.
    LateNote,
    /// One event comes early.
    EarlyNote,
    /// All onsets scatter.
    Scatter,
    /// The tempo gives way.
    SlowingDown,
    /// The tempo runs away.
    SpeedingUp,
    /// The second half is faster.
    SecondHalfFaster,
    /// The second half is slower.
    SecondHalfSlower,
    /// One note is louder.
    LoudNote,
    /// One note is softer.
    SoftNote,
    /// All slurs are weak.
    WeakSlurs,
    /// A chord is spread.
    ChordSpread,
    /// Loudness scatters.
    Uneven,
    /// A held note is let go.
    ShortHeld,
    /// Staccato notes are as long as others.
    LongStaccato,
    /// Accents do not stand out.
    NoAccents,
    /// A trill stops early.
    TrillStops,
    /// A trill is uneven.
    UnevenTrill,
    /// A trill repeats notes.
    TrillRepeats,
}

/// What is asked of the judge for a lapse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Group {
    /// None of them passes.
    Never,
    /// At most one in two hundred passes, or the bound beside it.
    Rarely,
}

impl Lapse {
    /// All of them, in the order of the table.
    pub const ALL: [Self; 33] = [
        Self::LandingLate,
        Self::LandingSoon,
        Self::LandingNoteWrong,
        Self::LandingWrong,
        Self::LandingNoteMissing,
        Self::LandingSpread,
        Self::SeamStop,
        Self::WrongNote,
        Self::MissingNote,
        Self::MissingEvent,
        Self::ExtraNote,
        Self::Swapped,
        Self::Gap,
        Self::GapAtShift,
        Self::GapBeforeLast,
        Self::LateNote,
        Self::EarlyNote,
        Self::Scatter,
        Self::SlowingDown,
        Self::SpeedingUp,
        Self::SecondHalfFaster,
        Self::SecondHalfSlower,
        Self::LoudNote,
        Self::SoftNote,
        Self::WeakSlurs,
        Self::ChordSpread,
        Self::Uneven,
        Self::ShortHeld,
        Self::LongStaccato,
        Self::NoAccents,
        Self::TrillStops,
        Self::UnevenTrill,
        Self::TrillRepeats,
    ];

    /// Its name in the table.
    pub const fn name(self) -> &'static str {
        match self {
            Self::LandingLate => "landing late",
            Self::LandingSoon => "landing too soon",
            Self::LandingNoteWrong => "a note of the landing wrong",
            Self::LandingWrong => "the whole landing wrong",
            Self::LandingNoteMissing => "a note of the landing missing",
            Self::LandingSpread => "landing spread",
            Self::SeamStop => "stop between neighbours",
            Self::WrongNote => "wrong note",
            Self::MissingNote => "missing note",
            Self::MissingEvent => "missing event",
            Self::ExtraNote => "extra note",
            Self::Swapped => "swapped notes",
            Self::Gap => "gap",
            Self::GapAtShift => "gap at a shift",
            Self::GapBeforeLast => "gap before the last event",
            Self::LateNote => "one note late",
            Self::EarlyNote => "one note early",
            Self::Scatter => "scatter",
            Self::SlowingDown => "slowing down",
            Self::SpeedingUp => "speeding up",
            Self::SecondHalfFaster => "second half faster",
            Self::SecondHalfSlower => "second half slower",
            Self::LoudNote => "one loud note",
            Self::SoftNote => "one soft note",
            Self::WeakSlurs => "weak slurs",
            Self::ChordSpread => "spread chord",
            Self::Uneven => "uneven loudness",
            Self::ShortHeld => "held note let go",
            Self::LongStaccato => "staccato not short",
            Self::NoAccents => "no accents",
            Self::TrillStops => "trill stops early",
            Self::UnevenTrill => "uneven trill",
            Self::TrillRepeats => "trill repeats notes",
        }
    }

    /// What is asked of the judge.
    pub const fn group(self) -> Group {
        match self {
            Self::LandingLate
            | Self::LandingSoon
            | Self::LandingNoteWrong
            | Self::LandingWrong
            | Self::LandingNoteMissing
            | Self::LandingSpread
            | Self::SeamStop
            | Self::WrongNote
            | Self::MissingNote
            | Self::MissingEvent
            | Self::ExtraNote
            | Self::Swapped
            | Self::Gap
            | Self::GapAtShift
            | Self::GapBeforeLast => Group::Never,
            _ => Group::Rarely,
        }
    }

    /// Whether one of them may be allowed among many notes: a slip in eight at `first`.
    pub const fn is_slip(self) -> bool {
        matches!(
            self,
            Self::LandingNoteWrong
                | Self::LandingWrong
                | Self::LandingNoteMissing
                | Self::WrongNote
                | Self::MissingNote
                | Self::MissingEvent
                | Self::ExtraNote
                | Self::Swapped
        )
    }

    /// Whether its sizes are more and more of the same, so that fewer and fewer may pass.
    pub const fn grows(self) -> bool {
        !matches!(
            self,
            Self::LandingNoteWrong | Self::LandingWrong | Self::WrongNote | Self::ExtraNote
        )
    }

    /// The reasons that name it rightly.
    pub const fn reasons(self) -> &'static [Kind] {
        match self {
            Self::LandingLate => &[Kind::LandingTime, Kind::LandingNotPlayed],
            Self::LandingSoon => &[Kind::LandingTime],
            Self::LandingNoteWrong | Self::LandingWrong | Self::LandingNoteMissing => {
                &[Kind::LandingNotes, Kind::LandingNotPlayed]
            }
            Self::SeamStop => &[
                Kind::Hesitation,
                Kind::HesitationAtShift,
                Kind::LandingTime,
                Kind::LandingNotPlayed,
            ],
            Self::LandingSpread => &[Kind::SpreadLanding],
            Self::WrongNote => &[Kind::WrongNotes],
            Self::MissingNote | Self::MissingEvent => {
                &[Kind::MissingNotes, Kind::BrokenOff, Kind::BegunMidway]
            }
            Self::ExtraNote => &[Kind::ExtraNotes],
            Self::Swapped => &[Kind::SwappedNotes],
            Self::Gap | Self::GapAtShift | Self::GapBeforeLast => {
                &[Kind::Hesitation, Kind::HesitationAtShift, Kind::BrokenOff]
            }
            // At the beginning and the end one note off the beat *is* a pause, or an entry too soon.
            Self::LateNote | Self::EarlyNote => &[
                Kind::OffBeat,
                Kind::Hesitation,
                Kind::HesitationAtShift,
                Kind::SwappedNotes,
                Kind::Unsteady,
            ],
            Self::Scatter => &[Kind::Unsteady, Kind::OffBeat],
            Self::SlowingDown | Self::SpeedingUp => &[Kind::Drift, Kind::OffPace],
            Self::SecondHalfFaster | Self::SecondHalfSlower => &[Kind::OffPace, Kind::Drift],
            Self::LoudNote => &[Kind::LoudNotes],
            Self::SoftNote => &[Kind::SoftNotes],
            Self::WeakSlurs => &[Kind::WeakSlurs],
            Self::ChordSpread => &[Kind::SpreadChords],
            Self::Uneven => &[Kind::Uneven, Kind::LoudNotes, Kind::SoftNotes],
            Self::ShortHeld => &[Kind::HeldNotes],
            Self::LongStaccato => &[Kind::LongStaccato],
            Self::NoAccents => &[Kind::WeakAccents],
            Self::TrillStops => &[Kind::TrillStopsEarly, Kind::ShortTrill],
            Self::UnevenTrill => &[Kind::UnevenTrill],
            Self::TrillRepeats => &[Kind::TrillRepeats],
        }
    }

    /// Its sizes, the smallest first.
    pub const fn extents(self) -> &'static [Extent] {
        use Extent::{Level, Millis, PerMille, Semitones, Times, Whole};
        match self {
            Self::LandingLate => &[
                Times(2),
                Times(3),
                Millis(600),
                Millis(1_000),
                Millis(2_000),
                Millis(5_000),
                Whole,
            ],
            Self::LandingSoon => &[Times(2), Times(3)],
            Self::SeamStop => {
                &[Times(2), Times(3), Millis(300), Millis(600), Millis(1_000), Millis(3_000)]
            }
            Self::LandingNoteWrong | Self::LandingWrong => {
                &[Semitones(1), Semitones(2), Semitones(5)]
            }
            Self::WrongNote => &[Semitones(1), Semitones(2), Semitones(5), Semitones(13)],
            Self::ExtraNote => &[Semitones(1), Semitones(2), Semitones(6)],
            Self::LandingNoteMissing
            | Self::MissingNote
            | Self::MissingEvent
            | Self::Swapped
            | Self::LongStaccato
            | Self::NoAccents
            | Self::TrillRepeats => &[Whole],
            Self::LandingSpread | Self::ChordSpread => {
                &[Times(2), Times(3), Millis(300), Millis(600)]
            }
            Self::Gap | Self::GapAtShift | Self::GapBeforeLast => {
                &[Times(2), Times(3), Millis(300), Millis(600), Millis(1_000), Millis(3_000)]
            }
            Self::LateNote | Self::EarlyNote => &[Times(2), Times(3), Times(4), Times(6)],
            Self::Scatter => &[Times(2), Times(3), Times(4)],
            Self::SlowingDown
            | Self::SpeedingUp
            | Self::SecondHalfFaster
            | Self::SecondHalfSlower => &[Times(2), Times(3), PerMille(300), PerMille(500)],
            Self::LoudNote | Self::SoftNote => &[Times(2), Times(3), Level(2_000)],
            Self::WeakSlurs | Self::Uneven | Self::UnevenTrill => &[Times(2), Times(3)],
            Self::ShortHeld | Self::TrillStops => &[Times(2), Times(3), Whole],
        }
    }
}
