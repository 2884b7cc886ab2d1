//! How strong the notes are that nobody played.

use super::Take;

/// Notes that are needed before it is said that there is no noise. Our default.
const FEWEST: usize = 12;

/// Further from a note of the string than this, in microseconds, a note is something else: a
/// string that was touched. Default of the judge's own rule for ghosts.
const NEAR: u64 = 50_000;

/// Room above the strongest that came, in per cent of the velocity. Our default.
const ROOM: u32 = 5;

/// The least and the most that is written, in per cent: below it the judge's default is better,
/// above it played notes would be doubted. Our defaults.
const RANGE: (u32, u32) = (20, 60);

/// What was found out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Noise {
    /// So many notes of noise came, the strongest of this share of the velocity around it, in per
    /// cent; a profile says `percent`.
    Found {
        /// How many.
        notes: usize,
        /// What a profile says.
        percent: u8,
    },
    /// None came.
    None,
    /// Too few notes were played to tell.
    TooFew,
}

/// From what came of each string.
pub fn noise(strings: &[Take]) -> Noise {
    let (mut played, mut count, mut strongest) = (0, 0, 0_u32);
    for take in strings {
        let main = take.main();
        played += main.len();
        for note in take.notes.iter().filter(|note| !main.contains(note)) {
            let around = main.iter().filter(|main| main.at.abs_diff(note.at) <= NEAR);
            let Some(loudest) = around.map(|main| main.velocity).max() else { continue };
            count += 1;
            let share = u32::from(note.velocity) * 100 / u32::from(loudest.max(1));
            strongest = strongest.max(share);
        }
    }
    match (played, count) {
        (0..FEWEST, _) => Noise::TooFew,
        (_, 0) => Noise::None,
        _ => {
            let percent = (strongest + ROOM).clamp(RANGE.0, RANGE.1);
            Noise::Found { notes: count, percent: u8::try_from(percent).unwrap_or(u8::MAX) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Note;
    use super::*;

    fn take(ghosts: &[(u64, u8)]) -> Take {
        let main = (1..=5).map(|at| (at * 1_000_000, 64, 80));
        let ghosts = ghosts.iter().map(|(at, velocity)| (*at, 76, *velocity));
        let mut notes: Vec<Note> = main
            .chain(ghosts)
            .map(|(at, pitch, velocity)| Note { channel: 0, pitch, velocity, at })
            .collect();
        notes.sort_by_key(|note| note.at);
        Take { notes, ..Take::default() }
    }

    #[test]
    fn ghosts_are_weighed_against_the_note_beside_them() {
        let strings = [take(&[(1_010_000, 24), (3_020_000, 32)]), take(&[]), take(&[])];
        // 32 of 80 are 40 per cent, and room above.
        assert_eq!(noise(&strings), Noise::Found { notes: 2, percent: 45 });
        // What came half a second after a note is no noise of it.
        assert_eq!(noise(&[take(&[(1_500_000, 70)]), take(&[]), take(&[])]), Noise::None);
    }

    #[test]
    fn of_few_notes_nothing_is_said() {
        assert_eq!(noise(&[take(&[])]), Noise::TooFew);
        assert_eq!(noise(&[take(&[]), take(&[]), take(&[])]), Noise::None);
    }
}
