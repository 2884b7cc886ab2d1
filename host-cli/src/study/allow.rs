//! Single tolerances that a study changes: their names, their ranges, what they set.

use super::quantity::Unit;
use evenhand_core::tolerance::{TimeLimit, Tolerances};
use evenhand_core::units::{Level, Offset};
use std::fmt;

/// A limit in time, as a fixed time, as a share of the interval between the notes, or as
/// the larger of both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TimeAllowance {
    /// This time, whatever the interval.
    Time(Offset),
    /// Per mille of the interval.
    Share(u16),
    /// The larger of both.
    Either(Offset, u16),
}

impl TimeAllowance {
    const fn limit(self) -> TimeLimit {
        match self {
            Self::Time(at_least) => TimeLimit { at_least, per_mille: 0 },
            Self::Share(per_mille) => TimeLimit { at_least: Offset::ZERO, per_mille },
            Self::Either(at_least, per_mille) => TimeLimit { at_least, per_mille },
        }
    }
}

/// One tolerance with its new value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Allow {
    /// One wrong note in so many; 0 allows none.
    Slips(u16),
    /// Standard deviation of the onsets.
    Unsteadiness(TimeAllowance),
    /// One note's distance from its place.
    NoteOffset(TimeAllowance),
    /// Time lost before a note.
    Hesitation(TimeAllowance),
    /// Change of tempo, per mille.
    Drift(u16),
    /// From the first to the last note of a chord.
    ChordSpread(Offset),
    /// Standard deviation of loudness.
    Unevenness(Level),
    /// One note above or below its group.
    NoteLevel(Level),
    /// A slurred note below the plucked ones.
    SlurLevel(Level),
    /// Mean offset to a click, earliest and latest.
    ClickOffset(Offset, Offset),
    /// Spread of a trill's intervals, per mille.
    TrillUnevenness(u16),
    /// What a trill fills of its length at least, per mille.
    TrillLength(u16),
    /// What a held note sounds of its length at least, per mille.
    HeldLength(u16),
    /// What a staccato note sounds of its length at most, per mille.
    ShortLength(u16),
    /// Median gap between notes, per mille.
    Gaps(u16),
    /// How far an accent stands out at least; 0 asks for nothing.
    Accent(Level),
    /// Notes on other strings, per mille.
    OtherStrings(u16),
}

impl Allow {
    /// Which tolerance it is.
    pub(super) const fn kind(&self) -> Kind {
        match self {
            Self::Slips(_) => Kind::Slips,
            Self::Unsteadiness(_) => Kind::Unsteadiness,
            Self::NoteOffset(_) => Kind::NoteOffset,
            Self::Hesitation(_) => Kind::Hesitation,
            Self::Drift(_) => Kind::Drift,
            Self::ChordSpread(_) => Kind::ChordSpread,
            Self::Unevenness(_) => Kind::Unevenness,
            Self::NoteLevel(_) => Kind::NoteLevel,
            Self::SlurLevel(_) => Kind::SlurLevel,
            Self::ClickOffset(..) => Kind::ClickOffset,
            Self::TrillUnevenness(_) => Kind::TrillUnevenness,
            Self::TrillLength(_) => Kind::TrillLength,
            Self::HeldLength(_) => Kind::HeldLength,
            Self::ShortLength(_) => Kind::ShortLength,
            Self::Gaps(_) => Kind::Gaps,
            Self::Accent(_) => Kind::Accent,
            Self::OtherStrings(_) => Kind::OtherStrings,
        }
    }

    /// Puts the value into its place.
    pub fn apply(&self, to: &mut Tolerances) {
        match *self {
            Self::Slips(in_so_many) => to.notes_a_slip = in_so_many,
            Self::Unsteadiness(limit) => to.unsteadiness = limit.limit(),
            Self::NoteOffset(limit) => to.single_note = limit.limit(),
            Self::Hesitation(limit) => to.hesitation = limit.limit(),
            Self::Drift(per_mille) => to.drift_per_mille = per_mille,
            Self::ChordSpread(time) => to.chord_spread = time,
            Self::Unevenness(level) => to.unevenness = level,
            Self::NoteLevel(level) => to.single_level = level,
            Self::SlurLevel(level) => to.slur_below = level,
            Self::ClickOffset(from, until) => to.click_offset = (from, until),
            Self::TrillUnevenness(per_mille) => to.trill_unevenness_per_mille = per_mille,
            Self::TrillLength(per_mille) => to.trill_cover_per_mille = per_mille,
            Self::HeldLength(per_mille) => to.held_per_mille = per_mille,
            Self::ShortLength(per_mille) => to.staccato_per_mille = per_mille,
            Self::Gaps(per_mille) => to.gap_per_mille = per_mille,
            Self::Accent(level) => to.accent_above = level,
            Self::OtherStrings(per_mille) => to.other_strings_per_mille = per_mille,
        }
    }
}

/// The kinds of tolerance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Slips,
    Unsteadiness,
    NoteOffset,
    Hesitation,
    Drift,
    ChordSpread,
    Unevenness,
    NoteLevel,
    SlurLevel,
    ClickOffset,
    TrillUnevenness,
    TrillLength,
    HeldLength,
    ShortLength,
    Gaps,
    Accent,
    OtherStrings,
}

impl Kind {
    /// Every kind with its name in the text.
    pub(super) const NAMES: [(Self, &'static str); 17] = [
        (Self::Slips, "slips"),
        (Self::Unsteadiness, "unsteadiness"),
        (Self::NoteOffset, "note offset"),
        (Self::Hesitation, "hesitation"),
        (Self::Drift, "drift"),
        (Self::ChordSpread, "chord spread"),
        (Self::Unevenness, "unevenness"),
        (Self::NoteLevel, "note level"),
        (Self::SlurLevel, "slur level"),
        (Self::ClickOffset, "click offset"),
        (Self::TrillUnevenness, "trill unevenness"),
        (Self::TrillLength, "trill length"),
        (Self::HeldLength, "held length"),
        (Self::ShortLength, "short length"),
        (Self::Gaps, "gaps"),
        (Self::Accent, "accent"),
        (Self::OtherStrings, "other strings"),
    ];

    /// The name in the text.
    pub(super) fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(kind, _)| *kind == self).map_or("", |(_, name)| name)
    }

    /// A line that would be right.
    pub(super) const fn example(self) -> &'static str {
        match self {
            Self::Slips => "“slips none” or “slips 1 in 8”",
            Self::Unsteadiness => "“unsteadiness 15 ms or 5 %”",
            Self::NoteOffset => "“note offset 40 ms or 16 %”",
            Self::Hesitation => "“hesitation 70 ms or 25 %”",
            Self::Drift => "“drift 6 %”",
            Self::ChordSpread => "“chord spread 40 ms”",
            Self::Unevenness => "“unevenness 2.5 dB”",
            Self::NoteLevel => "“note level 5 dB”",
            Self::SlurLevel => "“slur level 9 dB”",
            Self::ClickOffset => "“click offset -45 to 25 ms”",
            Self::TrillUnevenness => "“trill unevenness 18 %”",
            Self::TrillLength => "“trill length 75 %”",
            Self::HeldLength => "“held length 75 %”",
            Self::ShortLength => "“short length 60 %”",
            Self::Gaps => "“gaps 20 %”",
            Self::Accent => "“accent 2 dB” or “accent none”",
            Self::OtherStrings => "“other strings 10 %”",
        }
    }
}

impl fmt::Display for TimeAllowance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let time = |t: &Offset| format!("{} ms", Unit::Ms.show(i64::from(t.as_micros())));
        let share = |s: &u16| format!("{} %", Unit::Percent.show(i64::from(*s)));
        match self {
            Self::Time(t) => f.write_str(&time(t)),
            Self::Share(s) => f.write_str(&share(s)),
            Self::Either(t, s) => write!(f, "{} or {}", time(t), share(s)),
        }
    }
}

impl fmt::Display for Allow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ", self.kind().name())?;
        let ms = |t: &Offset| Unit::Ms.show(i64::from(t.as_micros()));
        let percent = |s: &u16| Unit::Percent.show(i64::from(*s));
        let db = |l: &Level| Unit::Db.show(i64::from(l.hundredths()));
        match self {
            Self::Slips(0) => write!(f, "none"),
            Self::Slips(n) => write!(f, "1 in {n}"),
            Self::Unsteadiness(t) | Self::NoteOffset(t) | Self::Hesitation(t) => write!(f, "{t}"),
            Self::Drift(s)
            | Self::TrillUnevenness(s)
            | Self::TrillLength(s)
            | Self::HeldLength(s)
            | Self::ShortLength(s)
            | Self::Gaps(s)
            | Self::OtherStrings(s) => write!(f, "{} %", percent(s)),
            Self::Accent(Level::ZERO) => write!(f, "none"),
            Self::ChordSpread(t) => write!(f, "{} ms", ms(t)),
            Self::Unevenness(l) | Self::NoteLevel(l) | Self::SlurLevel(l) | Self::Accent(l) => {
                write!(f, "{} dB", db(l))
            }
            Self::ClickOffset(from, until) => write!(f, "{} to {} ms", ms(from), ms(until)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_sets_its_own_field() {
        let base = Tolerances::default();
        let level = Level::from_hundredths(111);
        let time = Offset::from_millis(11);
        let all = [
            Allow::Slips(11),
            Allow::Unsteadiness(TimeAllowance::Time(time)),
            Allow::NoteOffset(TimeAllowance::Share(11)),
            Allow::Hesitation(TimeAllowance::Either(time, 11)),
            Allow::Drift(11),
            Allow::ChordSpread(time),
            Allow::Unevenness(level),
            Allow::NoteLevel(level),
            Allow::SlurLevel(level),
            Allow::ClickOffset(time, time),
            Allow::TrillUnevenness(11),
            Allow::TrillLength(11),
            Allow::HeldLength(11),
            Allow::ShortLength(11),
            Allow::Gaps(11),
            Allow::Accent(level),
            Allow::OtherStrings(11),
        ];
        let mut changed: Vec<Tolerances> = Vec::new();
        for (allow, (kind, _)) in all.iter().zip(Kind::NAMES) {
            assert_eq!(allow.kind(), kind);
            let mut tolerances = base;
            allow.apply(&mut tolerances);
            assert_ne!(tolerances, base, "{allow}");
            assert!(!changed.contains(&tolerances), "{allow}");
            changed.push(tolerances);
        }
    }
}
