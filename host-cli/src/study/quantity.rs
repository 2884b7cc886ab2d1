//! Numbers with their units, and the ranges in which tolerances can be set.

/// A unit with what a number in it is stored in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    /// Milliseconds, stored in microseconds.
    Ms,
    /// Per cent, stored in per mille.
    Percent,
    /// Decibels, stored in hundredths.
    Db,
}

impl Unit {
    /// As it is written.
    pub(super) const fn sign(self) -> &'static str {
        match self {
            Self::Ms => "ms",
            Self::Percent => "%",
            Self::Db => "dB",
        }
    }

    /// How many decimal places are kept.
    pub(super) const fn places(self) -> u32 {
        match self {
            Self::Ms => 3,
            Self::Percent => 1,
            Self::Db => 2,
        }
    }

    /// The stored number, as it is written.
    pub(super) fn show(self, stored: i64) -> String {
        let one = 10_u64.pow(self.places());
        let size = stored.unsigned_abs();
        let sign = if stored < 0 { "-" } else { "" };
        let places = self.places() as usize;
        let decimals = format!("{:0places$}", size % one);
        let decimals = decimals.trim_end_matches('0');
        let point = if decimals.is_empty() { "" } else { "." };
        format!("{sign}{}{point}{decimals}", size / one)
    }

    /// Reads a number such as `15`, `-2.5`; `None` for more decimals than are kept.
    pub(super) fn read(self, word: &str) -> Option<i64> {
        let (sign, digits) = match word.strip_prefix(['-', '−', '–']) {
            Some(rest) => (-1, rest),
            None => (1, word),
        };
        let (whole, decimals) = digits.split_once('.').unwrap_or((digits, ""));
        let number = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
        let places = self.places() as usize;
        let fits = !whole.is_empty() && whole.len() <= 9 && decimals.len() <= places;
        if !fits || !number(whole) || !number(decimals) || digits.ends_with('.') {
            return None;
        }
        format!("{whole}{decimals:0<places$}").parse::<i64>().ok().map(|n| sign * n)
    }
}

/// The least and the most that can be asked for, in the units stored. All are our defaults:
/// wide enough for any teacher, narrow enough to catch a slipped decimal point.
pub(super) struct Range {
    pub(super) unit: Unit,
    pub(super) least: i64,
    pub(super) most: i64,
}

impl Range {
    const fn new(unit: Unit, least: i64, most: i64) -> Self {
        Self { unit, least, most }
    }

    /// A limit in time, as a time: 1 to 1,000 ms.
    pub(super) const TIME: Self = Self::new(Unit::Ms, 1_000, 1_000_000);
    /// A limit in time, as a share: 0.1 to 200 %.
    pub(super) const SHARE: Self = Self::new(Unit::Percent, 1, 2_000);
    /// Drift: 0.1 to 100 %.
    pub(super) const DRIFT: Self = Self::new(Unit::Percent, 1, 1_000);
    /// The spread of a chord: 1 to 500 ms.
    pub(super) const SPREAD: Self = Self::new(Unit::Ms, 1_000, 500_000);
    /// Differences in loudness: 0.1 to 40 dB; MIDI velocity spans about 42 dB where it is
    /// taken as proportional to amplitude (20 · log10(127)).
    pub(super) const LOUDNESS: Self = Self::new(Unit::Db, 10, 4_000);
    /// Offsets to a click: 500 ms early to 500 ms late.
    pub(super) const CLICK: Self = Self::new(Unit::Ms, -500_000, 500_000);
    /// A part of a whole: 0.1 to 100 %.
    pub(super) const PART: Self = Self::new(Unit::Percent, 1, 1_000);

    /// The range in words.
    pub(super) fn in_words(&self) -> String {
        let Self { unit, least, most } = self;
        format!("{} to {} {}", unit.show(*least), unit.show(*most), unit.sign())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_their_decimals() {
        for (unit, word, stored) in [
            (Unit::Ms, "15", 15_000),
            (Unit::Ms, "-45", -45_000),
            (Unit::Ms, "0.25", 250),
            (Unit::Percent, "2.5", 25),
            (Unit::Db, "2.5", 250),
        ] {
            assert_eq!(unit.read(word), Some(stored), "{word}");
            assert_eq!(unit.show(stored), word);
        }
        for word in ["", ".", "1.", ".5", "1.25", "1e3", "--1", "+1", "1234567890", "½"] {
            assert_eq!(Unit::Percent.read(word), None, "{word}");
        }
    }
}
