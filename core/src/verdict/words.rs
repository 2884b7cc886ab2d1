//! Verdicts, findings and sizes in a few words: one wording for a display, a log and a list.
//! Sentences and advice are the program's.

use super::{Finding, Kind, Outcome, SettledBy, Severity, Size};
use core::fmt::{Display, Formatter, Result};

/// A side of playing. A pedal has a lamp for each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Aspect {
    /// Wrong, missing and extra notes, and where they were played.
    Notes,
    /// When notes came.
    Time,
    /// How they sounded: loud, soft, short or long.
    Sound,
}

/// One row a kind: its name in event streams and logs, its side of playing, and what is said of a finding of it; where
/// early, softer, shorter or faster is another thing than late, louder, longer or slower, both.
macro_rules! kinds {
    ($($kind:ident = $name:literal, $aspect:ident, $more:literal $(| $less:literal)?;)+) => {
        impl Kind {
            /// All kinds.
            pub const ALL: &'static [Self] = &[$(Self::$kind),+];

            /// Its name in event streams and logs; it never changes.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$kind => $name),+ }
            }

            /// Which side of playing it is about.
            pub const fn aspect(self) -> Aspect {
                match self { $(Self::$kind => Aspect::$aspect),+ }
            }

            /// What is said of a finding of this kind, in 21 letters at most, which a line of a
            /// small display has; `less` is early, softer, shorter or faster.
            pub const fn phrase(self, less: bool) -> &'static str {
                match (self, less) {
                    $($((Self::$kind, true) => $less,)? (Self::$kind, _) => $more),+
                }
            }
        }
    };
}

kinds! {
    NothingHeard = "nothing-heard", Notes, "no note came";
    NotThisChunk = "not-this-chunk", Notes, "not this chunk";
    BrokenOff = "broken-off", Notes, "broken off";
    BegunMidway = "begun-midway", Notes, "begun on the way";
    TooManyNotes = "too-many-notes", Notes, "too many notes";
    WrongNotes = "wrong-notes", Notes, "wrong notes";
    MissingNotes = "missing-notes", Notes, "missing notes";
    ExtraNotes = "extra-notes", Notes, "extra notes";
    SwappedNotes = "swapped-notes", Notes, "notes changed places";
    Return = "return", Notes, "went back";
    Unsteady = "unsteady", Time, "unsteady";
    OffBeat = "off-beat", Time, "a note too late" | "a note too early";
    Hesitation = "hesitation", Time, "time lost" | "an entry too soon";
    HesitationAtShift = "hesitation-at-shift", Time, "time lost at a shift" | "a shift too soon";
    Drift = "drift", Time, "slows down" | "speeds up";
    OffPace = "off-pace", Time, "a stretch dragged" | "a stretch rushed";
    OnsetOffClick = "off-the-click", Time, "late by the click" | "early by the click";
    TempoOffClick = "away-from-the-click", Time, "slower than the click" | "faster than the click";
    LandingNotPlayed = "landing-not-played", Notes, "play on: no landing";
    LandingNotes = "landing-notes", Notes, "notes of the landing";
    LandingTime = "landing-time", Time, "landing too late" | "landing too soon";
    SpreadLanding = "spread-landing", Time, "landing spread out";
    ClickBias = "beside-the-click", Time, "all behind the click" | "all before the click";
    NoTimeHeard = "no-time-heard", Time, "no time was heard";
    TimingNotHeard = "timing-not-heard", Time, "too few for timing";
    Uneven = "uneven", Sound, "uneven loudness";
    LoudNotes = "loud-notes", Sound, "a note too loud";
    SoftNotes = "soft-notes", Sound, "a note too soft";
    WeakSlurs = "weak-slurs", Sound, "weak slurs";
    SlursNotHeard = "slurs-not-heard", Sound, "slurs came as bends";
    WeakAccents = "weak-accents", Sound, "weak accents";
    EvennessNotHeard = "evenness-not-heard", Sound, "loudness not heard";
    SpreadChords = "spread-chords", Time, "chords spread out";
    ShortTrill = "short-trill", Notes, "short trill";
    UnevenTrill = "uneven-trill", Time, "uneven trill";
    TrillRepeats = "trill-repeats", Notes, "a trill repeats notes";
    TrillStopsEarly = "trill-stops-early", Time, "a trill stops early";
    HeldNotes = "held-notes", Sound, "let go too soon";
    LongStaccato = "long-staccato", Sound, "staccato too long";
    Gaps = "gaps", Sound, "gaps between notes";
    OtherStrings = "other-strings", Notes, "on other strings";
    PickupErrors = "pickup-errors", Notes, "the pickup erred";
    NotesNotHeard = "notes-not-heard", Notes, "notes not heard";
    NotesInDoubt = "notes-in-doubt", Notes, "notes in doubt";
    PoorHearing = "poor-hearing", Notes, "the pickup errs a lot";
}

impl Display for Kind {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        f.pad(self.phrase(false))
    }
}

impl Display for Outcome {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        f.pad(self.word())
    }
}

impl Display for Severity {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        f.pad(match self {
            Self::Advice => "advice",
            Self::Unsettled => "unsettled",
            Self::Fails => "fails",
        })
    }
}

/// A size without its sign, rounded, with its unit.
impl Display for Size {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let size = self.magnitude();
        match self {
            Self::Notes(1) => f.write_str("1 note"),
            Self::Notes(_) => write!(f, "{size} notes"),
            Self::Time(_) => write!(f, "{} ms", (size + 500) / 1_000),
            Self::Loudness(_) => tenths((size + 5) / 10, "dB", f),
            // A tenth of a per cent matters to what is below ten of them.
            Self::PerMille(_) if size >= 100 => tenths((size + 5) / 10 * 10, "%", f),
            Self::PerMille(_) => tenths(size, "%", f),
        }
    }
}

fn tenths(size: u32, unit: &str, f: &mut Formatter<'_>) -> Result {
    match size % 10 {
        0 => write!(f, "{} {unit}", size / 10),
        tenth => write!(f, "{}.{tenth} {unit}", size / 10),
    }
}

/// What would settle it; nothing where it is settled.
impl Display for SettledBy {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        match self {
            Self::Nothing => Ok(()),
            Self::MoreAttempts(1) => f.write_str("one more attempt"),
            Self::MoreAttempts(more) => write!(f, "{more} more attempts"),
            Self::AnotherAttempt => f.write_str("try it once more"),
            Self::ThePickup => f.write_str("set up the pickup"),
        }
    }
}

/// What it is, how much, and what would pass: `a note too late, 62 ms (limit 38 ms)`.
impl Display for Finding {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        write!(f, "{}, {}", self.kind.phrase(self.size.is_negative()), self.size)?;
        match self.limit.magnitude() {
            0 => Ok(()),
            _ => write!(f, " (limit {})", self.limit),
        }
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::units::{Level, Offset};
    use std::string::ToString;

    #[test]
    fn every_phrase_fits_a_line_of_a_display() {
        for kind in Kind::ALL {
            for less in [false, true] {
                let phrase = kind.phrase(less);
                assert!(phrase.len() <= 21 && phrase.is_ascii(), "{phrase}");
            }
        }
    }

    #[test]
    fn sizes_have_units_and_are_rounded() {
        let said = |size: Size| size.to_string();
        assert_eq!(said(Size::Notes(1)), "1 note");
        assert_eq!(said(Size::Time(Offset::from_micros(-61_500))), "62 ms");
        assert_eq!(said(Size::Loudness(Level::from_hundredths(-300))), "3 dB");
        assert_eq!(said(Size::Loudness(Level::from_hundredths(256))), "2.6 dB");
        assert_eq!(said(Size::PerMille(25)), "2.5 %");
        assert_eq!(said(Size::PerMille(-255)), "26 %");
    }

    #[test]
    fn a_finding_says_which_way_and_what_would_pass() {
        let time = |micros| Size::Time(Offset::from_micros(micros));
        let finding = Finding {
            kind: Kind::OffBeat,
            severity: Severity::Fails,
            note: None,
            count: 1,
            size: time(-62_000),
            limit: time(38_000),
            weight: 0,
            settled_by: SettledBy::Nothing,
        };
        assert_eq!(finding.to_string(), "a note too early, 62 ms (limit 38 ms)");
    }
}
