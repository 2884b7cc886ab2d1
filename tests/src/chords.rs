//! Invented chord progressions on a guitar with the timing of real ones.
//!
//! The timing follows figures measured on public recordings of real guitars with one pickup
//! per string (GuitarSet, Xi et al. 2018, CC BY 4.0; 5 takes, 633 notes): how far the notes of
//! a chord lie apart, in which order they arrive, how far chords lie from the beat, and how
//! many notes ring on. The music is random and ours.

use crate::attempt::{Attempt, ExpectedNote, PlayedNote, Role, TICKS_PER_QUARTER};
use crate::seeded::Seeded;

/// Median time from the first to the last note of a chord, in milliseconds (measured: 11.4).
const SPREAD_MEDIAN: f64 = 11.4;
/// Standard deviation of its logarithm, between what the measured 95 % point (30.8 ms asks for
/// 0.604) and 99 % point (51 ms asks for 0.644) ask for.
const SPREAD_LOG_DEVIATION: f64 = 0.62;
/// A longest spread, in milliseconds (our choice, above the measured 99 % point): with it, the
/// notes of two chords never interleave, so the truth is beyond doubt.
const SPREAD_MOST: f64 = 80.0;
/// Sizes of chords with their weights. The sizes of the measured chords are not known; these
/// are our choice, so that steps between neighbours and the share of chords in neither order
/// come out as measured.
const SIZES: [(usize, u32); 5] = [(2, 22), (3, 32), (4, 31), (5, 9), (6, 6)];
/// Standard deviation of a chord from the beat, in milliseconds (measured on chords: 20).
const OFF_THE_BEAT: f64 = 20.0;
/// Share of notes that ring on into the next chord where their string is free (measured over
/// takes: 20 to 71 %).
const RING_ON: f64 = 0.4;
/// The open strings, string 1 first, as MIDI note numbers (standard tuning).
const OPEN_STRINGS: [u8; 6] = [64, 59, 55, 50, 45, 40];
/// Lengths of chords in ticks with their weights (our choice).
const LENGTHS: [(u32, u32); 3] =
    [(TICKS_PER_QUARTER / 2, 3), (TICKS_PER_QUARTER, 14), (TICKS_PER_QUARTER * 2, 3)];

/// Times from the first note of a chord of this many notes, in milliseconds, in rising order.
pub fn spread(notes: usize, seeded: &mut Seeded) -> Vec<f64> {
    let drawn = SPREAD_MEDIAN * (SPREAD_LOG_DEVIATION * seeded.normal()).exp();
    let whole = drawn.min(SPREAD_MOST);
    let mut times = vec![0.0, whole];
    times.extend((2..notes).map(|_| seeded.unit() * whole));
    times.sort_by(f64::total_cmp);
    times
}

/// A chord's size.
pub fn size(seeded: &mut Seeded) -> usize {
    seeded.weighted(&SIZES)
}

/// A chord as (string from 0, pitch) on neighbouring strings, fretted within four frets or open.
fn shape(seeded: &mut Seeded) -> Vec<(u8, u8)> {
    let notes = size(seeded);
    let first = seeded.index(6 - notes + 1);
    let position = seeded.between(1, 9) as u8;
    (first..first + notes)
        .map(|string| {
            let open = seeded.chance(0.2);
            let fret = if open { 0 } else { position + seeded.between(0, 3) as u8 };
            (string as u8, OPEN_STRINGS[string] + fret)
        })
        .collect()
}

/// An attempt at `chords` chords at 70 to 160 quarters a minute, everything played right, with
/// a channel for each string; string 1 has channel 0 and is used at least once.
pub fn progression(chords: usize, seeded: &mut Seeded) -> Attempt {
    let mut shapes: Vec<Vec<(u8, u8)>> = Vec::new();
    while !shapes.iter().flatten().any(|&(string, _)| string == 0) {
        shapes.clear();
        for number in 0..chords {
            // Chords come back and stand twice in a row, as they do in music.
            let again = number > 0 && seeded.chance(0.4);
            let next = if again { shapes[seeded.index(number)].clone() } else { shape(seeded) };
            shapes.push(next);
        }
    }
    let micros_per_quarter = 60_000_000 / seeded.between(70, 160) as u32;
    let (mut expected, mut played) = (Vec::new(), Vec::new());
    let mut onset = 0;
    for (number, chord) in shapes.iter().enumerate() {
        let length: u32 = seeded.weighted(&LENGTHS);
        let micros = |ticks: u32| {
            f64::from(ticks) * f64::from(micros_per_quarter) / f64::from(TICKS_PER_QUARTER)
        };
        // Two deviations at most: see SPREAD_MOST.
        let off = OFF_THE_BEAT * seeded.normal().clamp(-2.0, 2.0) * 1_000.0;
        let times = spread(chord.len(), seeded);
        let mut order: Vec<usize> = (0..chord.len()).collect();
        seeded.shuffle(&mut order);
        for (&place, time) in order.iter().zip(times) {
            let (string, pitch) = chord[place];
            let next = shapes.get(number + 1);
            let free = next.is_none_or(|next| next.iter().all(|&(other, _)| other != string));
            let sounding = if free && seeded.chance(RING_ON) { 1.4 } else { 0.8 };
            played.push(PlayedNote {
                onset: (500_000.0 + micros(onset) + off + time * 1_000.0) as u32,
                length: (micros(length) * sounding) as u32,
                pitch,
                channel: string,
                velocity: (80.0 + 10.0 * seeded.normal()).clamp(30.0, 120.0) as u8,
                role: Role::Plays(expected.len() + place),
            });
        }
        expected.extend(chord.iter().map(|&(string, pitch)| ExpectedNote {
            onset,
            length,
            pitch,
            channel: string,
            bar: 0,
        }));
        onset += length;
    }
    Attempt::new(&expected, &played, micros_per_quarter, 4)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quantile(sorted: &[f64], share: f64) -> f64 {
        sorted[(share * (sorted.len() - 1) as f64).round() as usize]
    }

    /// The measured figures, each with the distance that we call near: about 15 %.
    #[test]
    fn timing_is_near_the_measured_figures() {
        let mut seeded = Seeded::new(11);
        let (mut spreads, mut steps, mut neither) = (Vec::new(), Vec::new(), 0);
        let chords = 20_000;
        for _ in 0..chords {
            let times = spread(size(&mut seeded), &mut seeded);
            spreads.push(times[times.len() - 1]);
            steps.extend(times.windows(2).map(|pair| pair[1] - pair[0]));
            let mut order: Vec<usize> = (0..times.len()).collect();
            seeded.shuffle(&mut order);
            let rising = order.is_sorted();
            order.reverse();
            neither += usize::from(!rising && !order.is_sorted());
        }
        spreads.sort_by(f64::total_cmp);
        steps.sort_by(f64::total_cmp);
        let near = |what: &str, made: f64, measured: f64| {
            assert!((made / measured - 1.0).abs() < 0.15, "{what}: {made:.2}, measured {measured}");
        };
        near("median spread", quantile(&spreads, 0.5), 11.4);
        near("95 % spread", quantile(&spreads, 0.95), 30.8);
        near("99 % spread", quantile(&spreads, 0.99), 51.0);
        near("median step", quantile(&steps, 0.5), 3.8);
        near("95 % step", quantile(&steps, 0.95), 17.5);
        near("share in neither order", f64::from(neither as u32) / f64::from(chords), 0.65);
    }

    #[test]
    fn chords_do_not_interleave() {
        let mut seeded = Seeded::new(12);
        for _ in 0..200 {
            let attempt = progression(16, &mut seeded);
            let mut last = 0;
            for note in &attempt.played {
                let Role::Plays(expected) = note.role else { panic!("nothing else is made") };
                let onset = attempt.expected[expected].onset;
                assert!(onset >= last, "a note of an earlier chord arrives late");
                last = onset;
            }
        }
    }
}
