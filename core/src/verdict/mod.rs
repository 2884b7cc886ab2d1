//! The verdict: passed, needs work or unclear, with the findings that led to it.

mod evidence;
mod fingerprint;
mod places;
pub mod pool;
mod recent;
mod rules;
mod words;

pub use pool::{Pool, Pooled};
pub(crate) use rules::is_midway;
pub use rules::judge;
pub use words::Aspect;

use crate::limits::FINDINGS;
use crate::units::{Level, Offset};
use heapless::Vec;

/// What is said of an attempt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Outcome {
    /// Everything asked for was heard.
    #[cfg_attr(feature = "serde", serde(rename = "passed"))]
    Passed,
    /// Something was not as asked for.
    #[cfg_attr(feature = "serde", serde(rename = "needs work"))]
    NeedsWork,
    /// What was heard does not settle it.
    #[cfg_attr(feature = "serde", serde(rename = "unclear"))]
    Unclear,
}

impl Outcome {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Passed => "passed",
            Self::NeedsWork => "needs work",
            Self::Unclear => "unclear",
        }
    }
}

/// What a finding is about. The comments say what its size means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Kind {
    /// No note came.
    NothingHeard,
    /// Less than half of the notes are the chunk's. Size: notes that are.
    NotThisChunk,
    /// The attempt ended before the chunk did. Size: notes that did not come.
    BrokenOff,
    /// The attempt began on the way, not with the chunk's beginning. Size: notes before it.
    BegunMidway,
    /// More notes came than an attempt can hold. Size: notes beyond.
    TooManyNotes,
    /// Wrong pitches. Size: notes.
    WrongNotes,
    /// Notes that did not come. Size: notes.
    MissingNotes,
    /// Notes that belong nowhere. Size: notes.
    ExtraNotes,
    /// Notes that changed places. Size: notes.
    SwappedNotes,
    /// The player went back some notes to mend something, and then went on. Size: notes that were
    /// played again, the most; count: how often.
    Return,
    /// Onsets scatter around the player's own tempo. Size: standard deviation.
    Unsteady,
    /// Single notes away from the beat. Size: the furthest, late is positive.
    OffBeat,
    /// Time lost before a note (positive), or an entry that came too soon.
    Hesitation,
    /// Time lost before a note that a shift of the left hand is marked for.
    HesitationAtShift,
    /// The tempo changed on the way. Size: per mille of the length of a beat, slower is
    /// positive.
    Drift,
    /// A stretch inside the chunk was faster or slower than the rest. Size: per mille of the
    /// length of a beat, slower is positive. Count: its events.
    OffPace,
    /// Single notes away from the click, the lag of all taken off. Size: the furthest, late is
    /// positive.
    #[cfg_attr(feature = "serde", serde(rename = "off-the-click"))]
    OnsetOffClick,
    /// The player's tempo is not the click's. Size: per mille of the length of a beat, slower is
    /// positive.
    #[cfg_attr(feature = "serde", serde(rename = "away-from-the-click"))]
    TempoOffClick,
    /// The landing was asked for, and nothing was played in its place. Size: its notes; count: how
    /// often in a row.
    LandingNotPlayed,
    /// Notes of the landing that were wrong or did not come. Size: notes.
    LandingNotes,
    /// Time lost before the landing (positive), or a landing that came too soon.
    LandingTime,
    /// The chord of the landing does not speak together. Size: its spread.
    SpreadLanding,
    /// All onsets lie before or after the click. Size: the median, late is positive.
    #[cfg_attr(feature = "serde", serde(rename = "beside-the-click"))]
    ClickBias,
    /// Notes followed each other faster than anyone plays: the stream carries no time. Size:
    /// notes.
    NoTimeHeard,
    /// Too few notes were heard to say anything about timing. Size: notes.
    TimingNotHeard,
    /// Plucked notes of one voice differ in loudness. Size: standard deviation.
    Uneven,
    /// Single notes louder than their group. Size: the loudest.
    LoudNotes,
    /// Single notes softer than their group. Size: the softest, negative.
    SoftNotes,
    /// Slurred notes weaker than plucked ones. Size: the weakest, negative.
    WeakSlurs,
    /// Every slurred note came as a bend, without a velocity. Size: notes.
    SlursNotHeard,
    /// Accents that do not stand out enough. Size: the weakest, above its neighbours.
    WeakAccents,
    /// Every note came without a velocity or with the same.
    EvennessNotHeard,
    /// Chords that do not speak together. Size: the widest spread.
    SpreadChords,
    /// A trill of too few notes. Size: notes.
    ShortTrill,
    /// A trill whose notes follow each other unevenly. Size: standard deviation over mean, in
    /// per mille.
    UnevenTrill,
    /// A trill's neighbours of the same pitch. Size: notes.
    TrillRepeats,
    /// A trill that stops before its written end. Size: per mille of its length that it filled.
    TrillStopsEarly,
    /// Held notes that ended too soon. Size: per mille of the written length, the shortest.
    HeldNotes,
    /// Staccato notes that sounded too long. Size: per mille of the written length, the longest.
    LongStaccato,
    /// Gaps between notes that are not marked short. Size: the median, per mille of the interval.
    Gaps,
    /// Notes were played on other strings than written. Size: notes.
    OtherStrings,
    /// Notes that are taken for errors of the pickup and do not count. Size: notes.
    PickupErrors,
    /// Expected notes that did not come as they should, and that the pickup may have lost or mistaken.
    /// Size: notes.
    NotesNotHeard,
    /// Notes beside the expected ones that may be the pickup's or the player's. Size: notes.
    NotesInDoubt,
    /// The pickup errs so often that nothing else can be said. Size: its errors.
    PoorHearing,
}

/// A size with its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Size {
    /// A number of notes.
    #[cfg_attr(feature = "serde", serde(rename = "notes"))]
    Notes(u16),
    /// A time.
    #[cfg_attr(feature = "serde", serde(rename = "microseconds"))]
    Time(Offset),
    /// A difference in loudness.
    #[cfg_attr(feature = "serde", serde(rename = "hundredths of a dB"))]
    Loudness(Level),
    /// A share.
    #[cfg_attr(feature = "serde", serde(rename = "per mille"))]
    PerMille(i16),
}

impl Size {
    /// Whether it is early, softer or less than nothing.
    pub const fn is_negative(self) -> bool {
        match self {
            Self::Notes(_) => false,
            Self::Time(time) => time.as_micros() < 0,
            Self::Loudness(level) => level.hundredths() < 0,
            Self::PerMille(share) => share < 0,
        }
    }

    /// The bare number without its sign, for comparing sizes of one unit.
    pub const fn magnitude(self) -> u32 {
        match self {
            Self::Notes(notes) => notes as u32,
            Self::Time(time) => time.as_micros().unsigned_abs(),
            Self::Loudness(level) => level.hundredths().unsigned_abs() as u32,
            Self::PerMille(share) => share.unsigned_abs() as u32,
        }
    }
}

/// What a finding does to the verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Severity {
    /// Nothing: it is worth knowing.
    Advice,
    /// It cannot be settled: unclear, if nothing fails.
    Unsettled,
    /// It is over the limit: needs work.
    Fails,
}

/// What would settle a finding, in a few words where it is displayed; none where it is settled.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SettledBy {
    /// It is settled.
    #[default]
    Nothing,
    /// So many more attempts at this tempo, taken together with this one, if they go like it.
    MoreAttempts(u8),
    /// Another attempt: this one says nothing about it, or it hangs on one note.
    AnotherAttempt,
    /// A pickup that sends what is missing.
    ThePickup,
}

/// Something that was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Finding {
    /// What it is about.
    pub kind: Kind,
    /// What it does to the verdict, which event streams and logs call its bearing.
    #[cfg_attr(feature = "serde", serde(rename = "bearing"))]
    pub severity: Severity,
    /// The expected note it is told at: the first, or the worst.
    pub note: Option<u16>,
    /// How many notes, chords or places are concerned.
    pub count: u16,
    /// How much.
    pub size: Size,
    /// What would still pass.
    pub limit: Size,
    /// How heavy it weighs against the others: per mille of the limit, notes first.
    pub weight: u16,
    /// What would settle it, if it is not settled.
    pub settled_by: SettledBy,
}

/// What is said of an attempt, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Verdict {
    /// The verdict.
    pub outcome: Outcome,
    /// What was found: what fails first, then what is unsettled, then advice; the heaviest
    /// first.
    pub findings: Vec<Finding, FINDINGS>,
}

impl Verdict {
    /// Nothing was found.
    pub const EMPTY: Self = Self { outcome: Outcome::Passed, findings: Vec::new() };

    /// The same with one more finding, from whoever sees more than the notes of the attempt. Where
    /// there is no room for it, the lightest gives way.
    #[must_use]
    pub fn with(self, finding: Finding) -> Self {
        let mut findings = self.findings;
        if let Err(finding) = findings.push(finding)
            && let Some(lightest) = findings.last_mut()
        {
            *lightest = finding;
        }
        Self::of(findings)
    }

    /// The verdict that findings lead to, with the heaviest first.
    pub(crate) fn of(mut findings: Vec<Finding, FINDINGS>) -> Self {
        // Equal ones stay in the order they were found in: notes, timing, loudness.
        insertion_sort(&mut findings, |f| {
            (core::cmp::Reverse((f.severity, f.weight)), f.kind as u8, f.note)
        });
        let heaviest = findings.first().map_or(Severity::Advice, |finding| finding.severity);
        let outcome = match heaviest {
            Severity::Advice => Outcome::Passed,
            Severity::Unsettled => Outcome::Unclear,
            Severity::Fails => Outcome::NeedsWork,
        };
        Self { outcome, findings }
    }

    /// The finding of a kind, if there is one.
    pub fn finding(&self, kind: Kind) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.kind == kind)
    }
}

/// Sorts a few values: the library's sort is for many, and takes 5 KB of a board's flash.
fn insertion_sort<T, K: Ord>(values: &mut [T], key: impl Fn(&T) -> K) {
    for sorted in 1..values.len() {
        for at in (1..=sorted).rev() {
            let Some([before, here]) = values.get(at - 1..=at) else { break };
            if key(before) <= key(here) {
                break;
            }
            values.swap(at - 1, at);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::insertion_sort;

    #[test]
    fn a_few_values_are_sorted_and_equal_ones_stay_in_order() {
        let mut values = [(3, 'a'), (1, 'b'), (3, 'c'), (2, 'd'), (1, 'e'), (0, 'f')];
        insertion_sort(&mut values, |value| value.0);
        assert_eq!(values.map(|value| value.1), ['f', 'b', 'e', 'd', 'a', 'c']);
        insertion_sort(&mut values[..0], |value| value.0);
    }
}
