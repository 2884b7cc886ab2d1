//! Whether slurs come as new notes or as bends of the note that sounds.

use super::Take;

/// Slurs that are needed. Our default.
const FEWEST: usize = 3;

/// After a plucked note, a slur comes within this time, in microseconds. Our default.
const WITHIN: u64 = 1_500_000;

/// A bend of at least this, of 8192, is a slur's: with the largest usual range, 48 semitones
/// (MPE), two semitones are 341. Smaller ones are a string that is out of tune.
const BENT: i32 = 250;

/// How far apart the two notes are that are asked for: an open string and its second fret.
pub const SEMITONES: u8 = 2;

/// What was found out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slurs {
    /// As new notes.
    NewNotes,
    /// As bends; the range of a whole bend, in semitones, if it could be told.
    Bends(Option<u8>),
    /// So many slurs are too few.
    TooFew(usize),
}

/// From hammer-ons of [`SEMITONES`], whose lower note is `open`.
pub fn slurs(take: &Take, open: u8) -> Slurs {
    let slurred = open.saturating_add(SEMITONES);
    let (mut new, mut bent) = (0, Vec::new());
    let plucked: Vec<_> = take.notes.iter().filter(|note| note.pitch == open).collect();
    for (index, note) in plucked.iter().enumerate() {
        let end = plucked.get(index + 1).map_or(u64::MAX, |next| next.at);
        let end = end.min(note.at.saturating_add(WITHIN));
        let within = |at: u64| at > note.at && at < end;
        if take.notes.iter().any(|other| other.pitch == slurred && within(other.at)) {
            new += 1;
            continue;
        }
        let bends = take.bends.iter().filter(|bend| bend.channel == note.channel);
        let most = bends.filter(|bend| within(bend.at)).map(|bend| bend.by).max();
        bent.extend(most.filter(|by| *by >= BENT));
    }
    if new.max(bent.len()) < FEWEST {
        return Slurs::TooFew(new.max(bent.len()));
    }
    if new >= bent.len() {
        return Slurs::NewNotes;
    }
    bent.sort_unstable();
    let middle = bent.get(bent.len() / 2).copied().unwrap_or(8_192).max(1);
    let tenths = i32::from(SEMITONES) * 8_192 * 10 / middle;
    // A finger does not hit the pitch exactly; ranges in use are whole semitones far apart.
    let usual = [2_u8, 12, 24, 48];
    let near = |range: &&u8| (tenths - i32::from(**range) * 10).abs() <= i32::from(**range);
    Slurs::Bends(usual.iter().find(near).copied())
}

#[cfg(test)]
mod tests {
    use super::super::{Bend, Note};
    use super::*;

    fn note(pitch: u8, at: u64) -> Note {
        Note { channel: 1, pitch, velocity: 80, at }
    }

    #[test]
    fn new_notes() {
        let mut take = Take::default();
        for slur in 0..3 {
            take.notes.push(note(59, slur * 2_000_000));
            take.notes.push(note(61, slur * 2_000_000 + 500_000));
        }
        assert_eq!(slurs(&take, 59), Slurs::NewNotes);
        take.notes.truncate(4);
        assert_eq!(slurs(&take, 59), Slurs::TooFew(2));
    }

    #[test]
    fn bends_and_their_range() {
        for (by, range) in [(8_191, Some(2)), (1_365, Some(12)), (683, Some(24)), (3_000, None)] {
            let mut take = Take::default();
            for slur in 0..4 {
                let at = slur * 2_000_000;
                take.notes.push(note(59, at));
                for (step, after) in [(by / 2, 480_000), (by, 500_000), (0, 1_600_000)] {
                    take.bends.push(Bend { channel: 1, by: step, at: at + after });
                }
            }
            assert_eq!(slurs(&take, 59), Slurs::Bends(range), "{by}");
        }
    }

    #[test]
    fn a_string_out_of_tune_is_no_slur() {
        let mut take = Take::default();
        for slur in 0..4 {
            take.notes.push(note(59, slur * 2_000_000));
            take.bends.push(Bend { channel: 1, by: 120, at: slur * 2_000_000 + 10_000 });
        }
        assert_eq!(slurs(&take, 59), Slurs::TooFew(0));
    }
}
