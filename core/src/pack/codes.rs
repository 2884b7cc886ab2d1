//! Numbers that stand for words in packs and results. A number that was given is never given
//! again: add new ones at the end, here and in `docs/pack-format.md`.

use crate::attempt::Onset;
use crate::practice::{Piece, PracticeVariant, Side, Spot};
use crate::tolerance::PracticeLevel;
use crate::verdict::{Kind, Outcome, SettledBy, Severity};

/// Makes the two ways between a word and its number. A word without a number does not compile.
macro_rules! codes {
    ($to:ident, $from:ident, $of:ty, $($word:path = $code:literal),+ $(,)?) => {
        pub(super) const fn $to(word: $of) -> u8 {
            match word { $($word => $code),+ }
        }
        pub(super) const fn $from(code: u8) -> Option<$of> {
            match code { $($code => Some($word),)+ _ => None }
        }
    };
}

codes!(
    level,
    level_of,
    PracticeLevel,
    PracticeLevel::First = 0,
    PracticeLevel::Steady = 1,
    PracticeLevel::Performance = 2
);

codes!(
    way,
    way_of,
    PracticeVariant,
    PracticeVariant::AsWritten = 0,
    PracticeVariant::LongShort = 1,
    PracticeVariant::ShortLong = 2,
    PracticeVariant::Burst = 3,
    PracticeVariant::Accents = 4
);

codes!(
    outcome,
    outcome_of,
    Outcome,
    Outcome::Passed = 0,
    Outcome::NeedsWork = 1,
    Outcome::Unclear = 2
);

codes!(
    severity,
    severity_of,
    Severity,
    Severity::Advice = 0,
    Severity::Unsettled = 1,
    Severity::Fails = 2
);

codes!(
    onset,
    onset_of,
    Onset,
    Onset::Struck = 0,
    Onset::Trailing = 1,
    Onset::Corrected = 2,
    Onset::Bent = 3,
    Onset::Again = 4,
    Onset::Crosstalk = 5
);

codes!(
    kind,
    kind_of,
    Kind,
    Kind::NothingHeard = 0,
    Kind::NotThisChunk = 1,
    Kind::BrokenOff = 2,
    Kind::TooManyNotes = 3,
    Kind::WrongNotes = 4,
    Kind::MissingNotes = 5,
    Kind::ExtraNotes = 6,
    Kind::SwappedNotes = 7,
    Kind::Unsteady = 8,
    Kind::OffBeat = 9,
    Kind::Hesitation = 10,
    Kind::HesitationAtShift = 11,
    Kind::Drift = 12,
    Kind::OffPace = 13,
    Kind::OnsetOffClick = 14,
    Kind::TempoOffClick = 15,
    Kind::LandingNotes = 16,
    Kind::LandingTime = 17,
    Kind::SpreadLanding = 18,
    Kind::ClickBias = 19,
    Kind::NoTimeHeard = 20,
    Kind::TimingNotHeard = 21,
    Kind::Uneven = 22,
    Kind::LoudNotes = 23,
    Kind::SoftNotes = 24,
    Kind::WeakSlurs = 25,
    Kind::SlursNotHeard = 26,
    Kind::WeakAccents = 27,
    Kind::EvennessNotHeard = 28,
    Kind::SpreadChords = 29,
    Kind::ShortTrill = 30,
    Kind::UnevenTrill = 31,
    Kind::TrillRepeats = 32,
    Kind::TrillStopsEarly = 33,
    Kind::HeldNotes = 34,
    Kind::LongStaccato = 35,
    Kind::Gaps = 36,
    Kind::OtherStrings = 37,
    Kind::PickupErrors = 38,
    Kind::BegunMidway = 39,
    Kind::LandingNotPlayed = 40,
    Kind::Return = 41,
    Kind::NotesNotHeard = 42,
    Kind::NotesInDoubt = 43,
    Kind::PoorHearing = 44
);

/// A piece in four numbers: what it is, and its chunks.
pub(super) const fn piece(piece: Piece) -> (u8, u8, u8, u8) {
    match piece {
        Piece::Chunk(chunk) => (0, chunk, 0, 0),
        Piece::Half(chunk, Side::First) => (1, chunk, 0, 0),
        Piece::Half(chunk, Side::Second) => (2, chunk, 0, 0),
        Piece::Seam(chunk) => (3, chunk, 0, 0),
        Piece::Join { first, seam, last } => (4, first, seam, last),
        Piece::Spot(Spot { first, last, half, from, to }) => {
            let kind = match half {
                Some(Side::First) => 5,
                Some(Side::Second) => 6,
                // Studies have fewer chunks than would overflow this.
                None => last.saturating_sub(first).saturating_add(IN_CHUNKS),
            };
            (kind, first, from, to)
        }
    }
}

/// A spot in a chunk; each number beyond it is one more chunk in a line.
const IN_CHUNKS: u8 = 7;

/// The piece that four numbers say.
pub(super) const fn piece_of(numbers: (u8, u8, u8, u8)) -> Option<Piece> {
    match numbers {
        (0, chunk, 0, 0) => Some(Piece::Chunk(chunk)),
        (1, chunk, 0, 0) => Some(Piece::Half(chunk, Side::First)),
        (2, chunk, 0, 0) => Some(Piece::Half(chunk, Side::Second)),
        (3, chunk, 0, 0) => Some(Piece::Seam(chunk)),
        (4, first, seam, last) if first <= seam && seam < last => {
            Some(Piece::Join { first, seam, last })
        }
        (kind @ 5.., first, from, to) if from <= to => {
            let half = match kind {
                5 => Some(Side::First),
                6 => Some(Side::Second),
                _ => None,
            };
            let Some(last) = first.checked_add(kind.saturating_sub(IN_CHUNKS)) else { return None };
            Some(Piece::Spot(Spot { first, last, half, from, to }))
        }
        _ => None,
    }
}

/// What would settle a finding, in two numbers.
pub(super) const fn settled_by(by: SettledBy) -> (u8, u8) {
    match by {
        SettledBy::Nothing => (0, 0),
        SettledBy::MoreAttempts(attempts) => (1, attempts),
        SettledBy::AnotherAttempt => (2, 0),
        SettledBy::ThePickup => (3, 0),
    }
}

/// What two numbers say would settle it.
pub(super) const fn settled_by_of(numbers: (u8, u8)) -> Option<SettledBy> {
    match numbers {
        (0, 0) => Some(SettledBy::Nothing),
        (1, attempts) => Some(SettledBy::MoreAttempts(attempts)),
        (2, 0) => Some(SettledBy::AnotherAttempt),
        (3, 0) => Some(SettledBy::ThePickup),
        _ => None,
    }
}
