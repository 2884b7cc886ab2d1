//! Slurs and vibrato as pitch bends.

use super::super::Chance;
use super::Transmission;

/// Notes shorter than this have no vibrato, in microseconds.
pub(super) const LONG_ENOUGH: i32 = 300_000;

/// A vibrato begins so long after the note, in microseconds.
const BEGINS: i32 = 100_000;

/// How far a wide vibrato swings, in cents, and how much of that is chance.
const SWING: (i32, u32) = (60, 40);

/// Swings a second, in tenths: 4.5 to 6.5 (common practice: 5 to 6).
const RATE: (u32, u32) = (45, 20);

/// A message every so many microseconds.
const STEP: i32 = 10_000;

/// The message that bends a channel by so many cents of a range.
pub(super) fn wheel(channel: u8, cents: i32, range: i32) -> [u8; 3] {
    let position = (8_192 + cents * 8_192 / range.max(1)).clamp(0, 16_383) as u16;
    [0xe0 | channel, (position & 0x7f) as u8, (position >> 7) as u8]
}

/// Bends from one pitch to another in three steps, over 6 ms.
pub(super) fn slur(
    channel: u8,
    at: i32,
    (from, to): (i32, i32),
    range: i32,
    sent: &mut Transmission,
) {
    for step in 1..=3 {
        let cents = from + (to - from) * step / 3;
        sent.send(at + (step - 1) * 3_000, wheel(channel, cents, range));
    }
}

/// Swings around the pitch of a note that sounds from `from` to `to`, and comes to rest.
pub(super) fn vibrato(
    channel: u8,
    (from, to): (i32, i32),
    range: i32,
    chance: &mut Chance,
    sent: &mut Transmission,
) {
    let swing = SWING.0 + chance.below(SWING.1) as i32;
    let tenths = i64::from(RATE.0 + chance.below(RATE.1));
    let begin = from + BEGINS;
    let mut at = begin;
    while at < to - STEP {
        // 1,024ths of a swing.
        let phase = i64::from(at - begin) * tenths * 1_024 / 10_000_000 % 1_024;
        sent.send(at, wheel(channel, swing * wave(phase as i32) / 1_024, range));
        at += STEP;
    }
    sent.send(to - 1_000, wheel(channel, 0, range));
}

/// A swing like a sine, made of two parabolas: −1,024 to 1,024 for phases of 0 to 1,023.
const fn wave(phase: i32) -> i32 {
    let half = phase % 512;
    let arc = half * (512 - half) / 64;
    if phase < 512 { arc } else { -arc }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wave_swings_both_ways() {
        assert_eq!([0, 256, 512, 768].map(wave), [0, 1_024, 0, -1_024]);
    }

    /// MIDI 1.0: the middle is 8,192, low seven bits first.
    #[test]
    fn the_wheel_rests_in_the_middle() {
        assert_eq!(wheel(3, 0, 200), [0xe3, 0, 64]);
        assert_eq!(wheel(0, 100, 200), [0xe0, 0, 96]);
        assert_eq!(wheel(0, 200, 200), [0xe0, 127, 127]);
    }
}
