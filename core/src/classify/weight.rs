//! Weights of evidence: whether a hand or a converter made a deviation.
//!
//! *Formula.* 10 · log10 of how likely a hand makes it, over how likely this converter does, in decibans
//! (Good 1950, from memory): 10 is ten times as likely. Positive speaks for the hand. Independent pieces
//! of evidence add up.

use crate::align::log2;

/// So much speaks for the hand before anybody is told of a slip, and so much for the converter before
/// nothing is said of it: ten times as likely. Between, it is open. Our default.
pub(crate) const ENOUGH: i32 = 10;

/// How often a hand that practises leaves a note out, plays another, or adds one, in ten thousandths of a
/// note: one in fifty, and one in a hundred. Our defaults.
pub(crate) const HAND_MISSES: u32 = 200;
pub(crate) const HAND_ERRS: u32 = 200;
pub(crate) const HAND_ADDS: u32 = 100;

/// 10 · log10(hand / converter), for rates of at least 1.
pub(crate) fn decibans(hand: u32, converter: u32) -> i32 {
    // 256 · log2, and 10 · log10(2) is 3.0103.
    (log2(hand) - log2(converter)) * 301 / 25_600
}

#[cfg(test)]
mod tests {
    use super::decibans;

    #[test]
    fn ten_times_as_likely_is_ten() {
        assert_eq!(decibans(200, 20), 10);
        assert_eq!(decibans(20, 200), -10);
        assert_eq!(decibans(100, 100), 0);
        assert_eq!(decibans(200, 100), 3);
        assert_eq!(decibans(100, 1), 20);
    }
}
