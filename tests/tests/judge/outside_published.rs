//! Values that others published, against ours. Each check names its source.

use evenhand::study::PitchName;
use evenhand_core::notes::level_of;
use evenhand_core::units::{Pitch, Tempo, Ticks, Velocity};

/// Level in decibels, as a number.
fn decibels(velocity: u8) -> f64 {
    let velocity = Velocity::new(velocity).expect("1 to 127");
    f64::from(level_of(velocity).hundredths()) / 100.0
}

/// The concave curve of the DLS level 1 specification, which General MIDI 2 recommends for
/// velocity: 40 log10(v / 127) dB. Ours is rounded to a hundredth of a decibel.
#[test]
fn every_level_lies_on_the_curve_of_dls() {
    for velocity in 1..=127_u8 {
        let published = 40.0 * (f64::from(velocity) / 127.0).log10();
        let ours = decibels(velocity);
        // 0.005 dB is half of our last place; the rest is for the sum in floating point.
        assert!((ours - published).abs() <= 0.005 + 1e-9, "{velocity}: {ours}, not {published}");
    }
}

/// Four points of the same curve, computed by hand to a tenth of a decibel.
#[test]
fn four_levels_are_as_computed() {
    for (velocity, tenths) in [(100, -42), (80, -80), (64, -119), (40, -201)] {
        let ours = (decibels(velocity) * 10.0).round() as i32;
        assert_eq!(ours, tenths, "velocity {velocity}");
    }
}

/// MIDI 1.0: note number 69 is the A of 440 Hz. The open strings of the standard tuning by
/// name, their note numbers, and their frequencies in equal temperament as in any table of it.
#[test]
fn open_strings_have_their_note_numbers_and_frequencies() {
    let strings = [
        ('E', 2, 40, 82.41),
        ('A', 2, 45, 110.00),
        ('D', 3, 50, 146.83),
        ('G', 3, 55, 196.00),
        ('B', 3, 59, 246.94),
        ('E', 4, 64, 329.63),
    ];
    let a = PitchName::new('A', 0, 4).expect("a name").pitch();
    assert_eq!(a.number(), 69);
    for (letter, octave, number, hertz) in strings {
        let string = PitchName::new(letter, 0, octave).expect("a name").pitch();
        assert_eq!(string, Pitch::new(number).expect("a note number"), "{letter}{octave}");
        let ours = 440.0 * (f64::from(string.semitones_above(a)) / 12.0).exp2();
        assert!((ours - hertz).abs() <= 0.005, "{letter}{octave}: {ours:.3} Hz, not {hertz}");
    }
}

/// Standard MIDI Files 1.0: without a tempo event a quarter lasts 500,000 µs, which is 120 a
/// minute.
#[test]
fn a_quarter_at_120_lasts_half_a_second() {
    let quarter = Ticks::new(Ticks::PER_QUARTER);
    let tempo = Tempo::from_beats_per_minute(120, quarter).expect("a usual tempo");
    assert_eq!(tempo.micros_per_quarter(), 500_000);
    assert_eq!(tempo.lasting(quarter).as_micros(), 500_000);
    assert_eq!(tempo.hundredths_of_beats_per_minute(quarter), 12_000);
}
