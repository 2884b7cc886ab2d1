//! Quantities with their units, so that a number cannot be taken for another.
//!
//! Everything is an integer: a Cortex-M0+ has no floating point unit, and integer
//! arithmetic gives the same verdict on every machine.

mod note;
mod time;

pub use note::{GuitarString, Level, Pitch, Velocity};
pub(crate) use note::{PARTIALS, is_partial};
pub(crate) use time::lasting;
pub use time::{Instant, Offset, Seconds, Span, Tempo, Ticks};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn early_is_negative() {
        let click = Instant::from_micros(1_000_000);
        let note = Instant::from_micros(984_400);
        assert_eq!(note.since(click), Offset::from_micros(-15_600));
        assert_eq!(note.since(click).as_millis_rounded(), -16);
    }

    #[test]
    fn far_distances_are_held() {
        let far = Instant::from_micros(u64::MAX);
        assert_eq!(far.since(Instant::ZERO).as_micros(), i32::MAX);
        assert_eq!(Instant::ZERO.since(far).as_micros(), i32::MIN);
        assert_eq!(far.plus(Offset::from_micros(5)), far);
    }

    #[test]
    fn tempo_counts_the_beat_that_is_named() {
        let dotted = Ticks::new(Ticks::PER_QUARTER * 3 / 2);
        let tempo = Tempo::from_beats_per_minute(60, dotted).unwrap();
        assert_eq!(tempo.micros_per_quarter(), 666_667);
        assert_eq!(tempo.hundredths_of_beats_per_minute(dotted), 6_000);
        assert_eq!(tempo.lasting(dotted).as_millis_rounded(), 1_000);
    }

    #[test]
    fn shares_of_a_tempo_stay_in_its_range() {
        let quarter = Ticks::new(Ticks::PER_QUARTER);
        let tempo = Tempo::from_beats_per_minute(72, quarter).unwrap();
        let slower = tempo.at_per_mille(600);
        assert_eq!(slower.hundredths_of_beats_per_minute(quarter), 4_320);
        assert_eq!(slower.in_whole_beats(quarter), Tempo::of_beats(43, quarter));
        assert!(slower.is_slower_than(tempo) && slower.slower(tempo) == slower);
        assert_eq!(slower.faster(tempo), tempo);
        assert_eq!(tempo.at_per_mille(0), Tempo::SLOWEST);
        assert_eq!(tempo.at_per_mille(u32::MAX), Tempo::FASTEST);
        assert_eq!(Tempo::of_beats(u64::MAX, Ticks::ZERO), Tempo::FASTEST);
    }

    #[test]
    fn levels_print_with_a_tenth() {
        extern crate std;
        use std::string::ToString;
        assert_eq!(Level::from_hundredths(-704).to_string(), "-7.0 dB");
        assert_eq!(Level::from_hundredths(-5).to_string(), "-0.1 dB");
        assert_eq!(Level::from_hundredths(120).to_string(), "1.2 dB");
    }
}
