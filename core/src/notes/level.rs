//! The loudness that a velocity stands for.

use crate::units::{Level, Velocity};

/// The level of a velocity below full velocity: 40 · log10(v / 127) dB, in hundredths of a
/// decibel, rounded. This is the concave curve of the DLS level 1 specification, which
/// General MIDI 2 recommends: velocity 100 is -4.2 dB, 64 is -11.9 dB.
///
/// What law a pickup's own converter follows is not known, so only differences of levels
/// from one pickup mean anything.
pub fn level_of(velocity: Velocity) -> Level {
    let index = usize::from(velocity.value()).saturating_sub(1);
    Level::from_hundredths(LEVELS.get(index).copied().unwrap_or(0))
}

/// Computed from the formula above, for velocities 1 to 127.
#[rustfmt::skip]
const LEVELS: [i16; 127] = [
    -8415, -7211, -6507, -6007, -5619, -5303, -5035, -4803, -4598, -4415,
    -4250, -4098, -3959, -3831, -3711, -3599, -3493, -3394, -3300, -3211,
    -3126, -3046, -2968, -2894, -2823, -2755, -2690, -2627, -2566, -2507,
    -2450, -2395, -2341, -2289, -2239, -2190, -2142, -2096, -2051, -2007,
    -1964, -1922, -1881, -1841, -1802, -1764, -1727, -1690, -1654, -1619,
    -1585, -1551, -1518, -1486, -1454, -1422, -1392, -1362, -1332, -1303,
    -1274, -1246, -1218, -1190, -1164, -1137, -1111, -1085, -1060, -1035,
    -1010, -986, -962, -938, -915, -892, -869, -847, -825, -803,
    -781, -760, -739, -718, -698, -677, -657, -637, -618, -598,
    -579, -560, -541, -523, -504, -486, -468, -450, -433, -415,
    -398, -381, -364, -347, -330, -314, -298, -282, -266, -250,
    -234, -218, -203, -188, -172, -157, -142, -128, -113, -98,
    -84, -70, -56, -42, -28, -14, 0,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_is_the_published_one() {
        // Published values of the curve, to a tenth of a decibel.
        for (velocity, tenths) in [(127, 0), (100, -42), (80, -80), (64, -119), (40, -201)] {
            let level = level_of(Velocity::new(velocity).unwrap()).hundredths();
            assert!((level - tenths * 10).abs() <= 5, "velocity {velocity}: {level}");
        }
    }
}
