//! Invented broken-chord figures, as in preludes for the guitar, and players that leave some of
//! their notes out. The music is random and ours.

use crate::attempt::{Attempt, ExpectedNote, PlayedNote, Role, TICKS_PER_QUARTER};
use crate::seeded::Seeded;

/// The open strings, string 1 first, as MIDI note numbers (standard tuning).
const OPEN_STRINGS: [u8; 6] = [64, 59, 55, 50, 45, 40];

/// In which order the voices of a chord are plucked, the lowest being 0: half a bar of
/// sixteenths. Many come back to a voice at once or alternate two of them.
const ORDERS: [[usize; 8]; 7] = [
    [0, 1, 2, 3, 4, 2, 3, 4],
    [0, 2, 1, 2, 3, 2, 1, 2],
    [1, 2, 1, 2, 1, 2, 1, 2],
    [0, 3, 0, 3, 1, 3, 1, 3],
    [0, 1, 2, 1, 3, 1, 2, 1],
    [0, 2, 3, 2, 3, 2, 3, 2],
    [3, 2, 3, 1, 3, 2, 3, 0],
];

/// How a player leaves notes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeavesOut {
    /// Single notes, and waits their time.
    Waiting,
    /// Single notes, and goes on as if they were not written.
    GoingOn,
    /// One, two or four notes in a row, and goes on as if they were not written: of alternating
    /// notes, that is the figure played once less.
    Figures,
}

impl LeavesOut {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Waiting, Self::GoingOn, Self::Figures];

    /// In a word.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::GoingOn => "going on",
            Self::Figures => "figures",
        }
    }
}

/// Four to fourteen bars of figures with everything played, at a tempo of the player's own (two
/// thirds to one and a half times the written one) that drifts, with 8 to 22 ms of scatter and a
/// pause here and there.
pub fn figures(seeded: &mut Seeded) -> Attempt {
    let micros_per_quarter = 60_000_000 / seeded.between(60, 110) as u32;
    let expected = written(seeded);
    let step = f64::from(TICKS_PER_QUARTER / 4) * f64::from(micros_per_quarter)
        / f64::from(TICKS_PER_QUARTER);
    let own = step * (0.6 * (2.0 * seeded.unit() - 1.0)).exp2();
    let scatter = [8_000.0, 14_000.0, 22_000.0][seeded.index(3)];
    let (mut at, mut drift) = (400_000.0, 0.0);
    let mut played = Vec::new();
    for (number, note) in expected.iter().enumerate() {
        // Two and a half deviations at most, and never past a neighbour.
        let off = (scatter * seeded.normal()).clamp(-2.5 * scatter, 2.5 * scatter);
        played.push(PlayedNote {
            onset: (at + off.clamp(-0.4 * own, 0.4 * own)) as u32,
            length: (own * 0.9) as u32,
            pitch: note.pitch,
            channel: note.channel,
            velocity: (80.0 + 8.0 * seeded.normal()).clamp(30.0, 120.0) as u8,
            role: Role::Plays(number),
        });
        drift += 0.01 * seeded.normal() - 0.03 * drift;
        at += own * (1.0 + drift);
        if seeded.chance(0.01) {
            at += 300_000.0 * seeded.unit();
        }
    }
    Attempt::new(&expected, &played, micros_per_quarter, 4)
}

fn written(seeded: &mut Seeded) -> Vec<ExpectedNote> {
    let bars = seeded.between(4, 14);
    let usual = ORDERS[seeded.index(ORDERS.len())];
    let (mut expected, mut chord) = (Vec::new(), Vec::new());
    let step = TICKS_PER_QUARTER / 4;
    let mut onset = 0;
    for bar in 0..bars {
        if bar == 0 || seeded.chance(0.75) {
            let position = seeded.between(0, 7) as u8;
            let lowest = 4 + seeded.index(2);
            chord.clear();
            for string in [lowest, 3, 2, 1, 0] {
                let open = seeded.chance(0.15);
                let fret = if open { 0 } else { position + seeded.between(0, 3) as u8 };
                chord.push((string as u8, OPEN_STRINGS[string] + fret));
            }
        }
        let other = seeded.chance(0.15);
        let order = if other { ORDERS[seeded.index(ORDERS.len())] } else { usual };
        for voice in [order, order].concat() {
            let (channel, pitch) = chord[voice];
            expected.push(ExpectedNote { onset, length: step, pitch, channel, bar: 0 });
            onset += step;
        }
    }
    expected
}

/// The attempt with about so many per cent of its notes left out.
pub fn shortened(
    attempt: &Attempt,
    leaves: LeavesOut,
    percent: u32,
    seeded: &mut Seeded,
) -> Attempt {
    let notes = attempt.played.len();
    let mut out = vec![false; notes];
    if leaves == LeavesOut::Figures {
        let most = notes * percent as usize / 100;
        while out.iter().filter(|out| **out).count() < most {
            let length = [1, 2, 2, 4][seeded.index(4)];
            let from = seeded.index(notes - length);
            out[from..from + length].fill(true);
        }
    } else {
        out.fill_with(|| seeded.chance(f64::from(percent) / 100.0));
    }
    let mut earlier = 0;
    let mut played = Vec::new();
    for (at, note) in attempt.played.iter().enumerate() {
        if !out[at] {
            played.push(PlayedNote { onset: note.onset - earlier, ..*note });
        } else if leaves != LeavesOut::Waiting
            && let Some(next) = attempt.played.get(at + 1)
        {
            earlier += next.onset - note.onset;
        }
    }
    let (tempo, bar) = (attempt.micros_per_quarter, attempt.quarters_per_bar);
    Attempt::new(&attempt.expected, &played, tempo, bar)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_many_are_left_out_as_asked_and_time_waits_or_goes_on() {
        for seed in 0..20 {
            let whole = figures(&mut Seeded::new(seed));
            let end = |attempt: &Attempt| attempt.played.last().map_or(0, |note| note.onset);
            assert!(whole.played.windows(2).all(|two| two[0].onset < two[1].onset), "{seed}");
            for leaves in LeavesOut::ALL {
                let short = shortened(&whole, leaves, 10, &mut Seeded::new(seed));
                let share = 100 * (whole.played.len() - short.played.len()) / whole.played.len();
                assert!((2..=20).contains(&share), "{leaves:?}, seed {seed}: {share} %");
                let sooner = f64::from(end(&short)) < 0.97 * f64::from(end(&whole));
                assert_eq!(sooner, leaves != LeavesOut::Waiting, "{leaves:?}, seed {seed}");
            }
        }
    }
}
