//! The periods of the notes.

use crate::units::{Offset, Pitch};

/// How long one period of a pitch is, rounded to a microsecond: in equal temperament with
/// A4 = 69 = 440 Hz (MIDI 1.0, ISO 16), 1,000,000 / (440 · 2^((n − 69) / 12)).
pub(super) fn period(pitch: Pitch) -> Offset {
    let micros = PERIODS.get(usize::from(pitch.number())).copied().unwrap_or(0);
    Offset::from_micros(micros)
}

/// Computed from the formula above, for notes 0 to 127, an octave a line.
#[rustfmt::skip]
const PERIODS: [i32; 128] = [
    122_312, 115_447, 108_968, 102_852, 97_079, 91_631, 86_488, 81_634, 77_052, 72_727, 68_645, 64_793,
    61_156, 57_724, 54_484, 51_426, 48_540, 45_815, 43_244, 40_817, 38_526, 36_364, 34_323, 32_396,
    30_578, 28_862, 27_242, 25_713, 24_270, 22_908, 21_622, 20_408, 19_263, 18_182, 17_161, 16_198,
    15_289, 14_431, 13_621, 12_856, 12_135, 11_454, 10_811, 10_204, 9_631, 9_091, 8_581, 8_099,
    7_645, 7_215, 6_810, 6_428, 6_067, 5_727, 5_405, 5_102, 4_816, 4_545, 4_290, 4_050,
    3_822, 3_608, 3_405, 3_214, 3_034, 2_863, 2_703, 2_551, 2_408, 2_273, 2_145, 2_025,
    1_911, 1_804, 1_703, 1_607, 1_517, 1_432, 1_351, 1_276, 1_204, 1_136, 1_073, 1_012,
    956, 902, 851, 804, 758, 716, 676, 638, 602, 568, 536, 506,
    478, 451, 426, 402, 379, 358, 338, 319, 301, 284, 268, 253,
    239, 225, 213, 201, 190, 179, 169, 159, 150, 142, 134, 127,
    119, 113, 106, 100, 95, 89, 84, 80,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Frequencies of the open strings of a guitar, in hundredths of a hertz, as any textbook
    /// lists them for A4 = 440 Hz.
    #[test]
    fn open_strings_have_their_textbook_periods() {
        let open =
            [(40, 8_241), (45, 11_000), (50, 14_683), (55, 19_600), (59, 24_694), (64, 32_963)];
        for (number, hundredths_of_hertz) in open {
            let period = period(Pitch::new(number).unwrap()).as_micros();
            let expected = 100_000_000 / hundredths_of_hertz;
            assert!((period - expected).abs() <= 1, "{number}: {period}, not {expected}");
        }
    }

    #[test]
    fn an_octave_halves_the_period() {
        for number in 0..116 {
            let low = period(Pitch::new(number).unwrap()).as_micros();
            let high = period(Pitch::new(number + 12).unwrap()).as_micros();
            assert!((low - 2 * high).abs() <= 1, "{number}");
        }
    }
}
