//! The kinds of trouble that attempts are played with.

use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::Level;
use evenhand_core::verdict::Kind;

use super::line::With;

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
    /// One held note is let go too early.
    ShortHeld,
    /// One staccato note is too long.
    LongStaccato,
    /// The landing comes late.
    LateLanding,
    /// The landing comes too soon.
    SoonLanding,
    /// The landing is spread.
    SpreadLanding,
    /// One note of the landing does not come.
    LandingMissing,
    /// One note of the landing is another one.
    LandingWrong,
    /// A stretch is faster than the rest.
    Rushed,
    /// A stretch is slower than the rest.
    Dragged,
    /// No accent stands out as it should.
    WeakAccents,
    /// Trills stop before their end.
    TrillStops,
    /// Trills of uneven intervals.
    UnevenTrill,
    /// One note of each trill has the pitch of the one before.
    TrillRepeats,
    /// Some notes are played on the next string.
    OtherStrings,
    /// With a click: one note is early or late.
    OnsetOffClick,
    /// With a click: another tempo than the click's.
    TempoOffClick,
}

impl Trouble {
    /// Those of the first table, in its order.
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

    /// Those of the second table, in its order: what only some music has a place for.
    pub const MORE: [Self; 16] = [
        Self::ShortHeld,
        Self::LongStaccato,
        Self::LateLanding,
        Self::SoonLanding,
        Self::SpreadLanding,
        Self::LandingMissing,
        Self::LandingWrong,
        Self::Rushed,
        Self::Dragged,
        Self::WeakAccents,
        Self::TrillStops,
        Self::UnevenTrill,
        Self::TrillRepeats,
        Self::OtherStrings,
        Self::OnsetOffClick,
        Self::TempoOffClick,
    ];

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
            Self::ShortHeld => "one held note too short",
            Self::LongStaccato => "one staccato note too long",
            Self::LateLanding => "landing late",
            Self::SoonLanding => "landing too soon",
            Self::SpreadLanding => "spread landing",
            Self::LandingMissing => "one note of the landing missing",
            Self::LandingWrong => "one note of the landing wrong",
            Self::Rushed => "a stretch rushed",
            Self::Dragged => "a stretch dragged",
            Self::WeakAccents => "weak accents",
            Self::TrillStops => "trill stops early",
            Self::UnevenTrill => "uneven trill",
            Self::TrillRepeats => "trill repeats a note",
            Self::OtherStrings => "notes on other strings",
            Self::OnsetOffClick => "with a click: one note off it",
            Self::TempoOffClick => "with a click: tempo away from it",
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
            Self::ShortHeld => Kind::HeldNotes,
            Self::LongStaccato => Kind::LongStaccato,
            Self::LateLanding | Self::SoonLanding => Kind::LandingTime,
            Self::SpreadLanding => Kind::SpreadLanding,
            Self::LandingMissing | Self::LandingWrong => Kind::LandingNotes,
            Self::Rushed | Self::Dragged => Kind::OffPace,
            Self::WeakAccents => Kind::WeakAccents,
            Self::TrillStops => Kind::TrillStopsEarly,
            Self::UnevenTrill => Kind::UnevenTrill,
            Self::TrillRepeats => Kind::TrillRepeats,
            Self::OtherStrings => Kind::OtherStrings,
            Self::OnsetOffClick => Kind::OnsetOffClick,
            Self::TempoOffClick => Kind::TempoOffClick,
        }
    }

    /// The reasons that it may rightly show as, too: onsets that scatter leave some off the beat, and
    /// some late after all others; loudness that scatters leaves some slurs weak.
    pub const fn shows_as(self) -> &'static [Kind] {
        match self {
            Self::Hesitation | Self::HesitationAtShift => {
                &[Kind::Hesitation, Kind::HesitationAtShift]
            }
            Self::Unsteady => &[
                Kind::Unsteady,
                Kind::OffBeat,
                Kind::Hesitation,
                Kind::HesitationAtShift,
                Kind::SpreadChords,
            ],
            Self::SlowingDown | Self::SpeedingUp | Self::Rushed | Self::Dragged => {
                &[Kind::Drift, Kind::OffPace]
            }
            Self::OffBeat => &[Kind::OffBeat],
            Self::Uneven => &[
                Kind::Uneven,
                Kind::LoudNotes,
                Kind::SoftNotes,
                Kind::WeakAccents,
                Kind::WeakSlurs,
            ],
            Self::WeakSlurs => &[Kind::WeakSlurs],
            Self::SpreadChord => &[Kind::SpreadChords],
            Self::LoudNote => &[Kind::LoudNotes],
            Self::SoftNote => &[Kind::SoftNotes],
            Self::WrongNote => &[Kind::WrongNotes],
            Self::MissingNote => &[Kind::MissingNotes, Kind::BrokenOff, Kind::BegunMidway],
            Self::ExtraNote => &[Kind::ExtraNotes],
            Self::SwappedNotes => &[Kind::SwappedNotes],
            Self::FixedVelocity => &[Kind::EvennessNotHeard],
            Self::ShortHeld => &[Kind::HeldNotes],
            Self::LongStaccato => &[Kind::LongStaccato],
            Self::LateLanding => &[Kind::LandingTime],
            // The hand that lands too soon has left its trill too soon.
            Self::SoonLanding => &[Kind::LandingTime, Kind::TrillStopsEarly],
            Self::SpreadLanding => &[Kind::SpreadLanding],
            Self::LandingMissing | Self::LandingWrong => &[Kind::LandingNotes],
            Self::WeakAccents => &[Kind::WeakAccents],
            Self::TrillStops => &[Kind::TrillStopsEarly, Kind::ShortTrill],
            Self::UnevenTrill => &[Kind::UnevenTrill],
            Self::TrillRepeats => &[Kind::TrillRepeats],
            Self::OtherStrings => &[Kind::OtherStrings],
            Self::OnsetOffClick => &[Kind::OnsetOffClick, Kind::OffBeat],
            Self::TempoOffClick => &[Kind::TempoOffClick, Kind::OnsetOffClick],
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
                | Self::LandingMissing
                | Self::LandingWrong
                | Self::TrillRepeats
        )
    }

    /// Whether it is told as advice, and so fails nobody.
    pub const fn is_advice(self) -> bool {
        matches!(self, Self::OtherStrings)
    }

    /// Whether these limits ask for anything of the kind.
    pub fn is_asked(self, tolerances: &Tolerances) -> bool {
        match self {
            Self::WeakAccents => tolerances.accent_above > Level::ZERO,
            Self::OtherStrings => tolerances.other_strings_per_mille < 1_000,
            _ => true,
        }
    }

    /// Whether the player hears a click.
    pub const fn has_click(self) -> bool {
        matches!(self, Self::OnsetOffClick | Self::TempoOffClick)
    }

    /// What a line must carry to have a place for it.
    pub const fn needs(self) -> With {
        match self {
            Self::SpreadChord => With::Chords,
            Self::ShortHeld => With::Held,
            Self::LongStaccato => With::Staccato,
            Self::LateLanding
            | Self::SoonLanding
            | Self::SpreadLanding
            | Self::LandingMissing
            | Self::LandingWrong => With::Landing,
            Self::WeakAccents => With::Accents,
            Self::TrillStops | Self::UnevenTrill | Self::TrillRepeats => With::Trill,
            _ => With::Nothing,
        }
    }
}
