//! The guitar: which pitch a string and a fret give.

use crate::study::model::{Spot, Study};
use crate::study::pitch_name::PitchName;
use evenhand_core::units::{GuitarString, Pitch};

/// The highest fret, counted from the nut. Most necks have 19 to 24; 30 leaves room for the
/// longest (our default).
pub const FRETS: u8 = 30;

/// Standard tuning, low to high: E2 A2 D3 G3 B3 E4.
const STANDARD: [u8; 6] = [40, 45, 50, 55, 59, 64];

/// Why there is no such note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NoNote {
    /// The guitar has fewer strings: how many.
    NoString(usize),
    /// The neck is shorter: the last fret, counted from the capo.
    NoFret(u8),
    /// The pitch is above MIDI's range.
    TooHigh,
    /// It is a note of a chord, and there is no chord here.
    NoChord,
}

/// A tuned guitar.
#[derive(Clone, Debug)]
pub(in crate::study) struct Guitar {
    /// The strings with the capo on, string 1 first.
    open: Vec<Pitch>,
    capo: u8,
}

impl Guitar {
    /// The guitar that a study is written for. A capo that would leave MIDI's range counts
    /// as none; the notes then say so.
    pub(in crate::study) fn of(study: &Study) -> Self {
        let capo = study.capo.map_or(0, |c| c.value);
        let from_nut: Vec<Pitch> = match &study.tuning {
            Some(tuning) => tuning.iter().rev().map(|name| name.pitch()).collect(),
            None => STANDARD.iter().rev().filter_map(|n| Pitch::new(*n)).collect(),
        };
        let raised = |p: Pitch| p.transposed(i8::try_from(capo).unwrap_or(0)).unwrap_or(p);
        Self { open: from_nut.into_iter().map(raised).collect(), capo }
    }

    /// The last fret, counted from the capo.
    pub(super) const fn last_fret(&self) -> u8 {
        FRETS.saturating_sub(self.capo)
    }

    /// The pitch of a string at a fret.
    pub(super) fn at(&self, string: GuitarString, fret: u8) -> Result<Pitch, NoNote> {
        let open = self.open.get(usize::from(string.number()) - 1);
        let open = open.ok_or(NoNote::NoString(self.open.len()))?;
        if fret > self.last_fret() {
            return Err(NoNote::NoFret(self.last_fret()));
        }
        // At most 30.
        open.transposed(i8::try_from(fret).unwrap_or(i8::MAX)).ok_or(NoNote::TooHigh)
    }

    /// The fret of a pitch on a string, if it is there.
    pub(in crate::study) fn fret(&self, string: GuitarString, pitch: Pitch) -> Option<u8> {
        let open = self.open.get(usize::from(string.number()) - 1)?;
        let fret = pitch.number().checked_sub(open.number())?;
        (fret <= self.last_fret()).then_some(fret)
    }

    /// What a written note sounds, and on which string at which fret.
    pub(super) fn sounding(
        &self,
        spot: Spot,
    ) -> Result<(Pitch, Option<(GuitarString, u8)>), NoNote> {
        match spot {
            Spot::Named(name) => Ok((name.pitch(), None)),
            Spot::Fretted(string, fret) => Ok((self.at(string, fret)?, Some((string, fret)))),
            Spot::OfChord(_) => Err(NoNote::NoChord),
        }
    }

    /// The names of the open strings, low to high, for messages.
    pub(super) fn names(&self) -> String {
        let names: Vec<String> =
            self.open.iter().rev().map(|p| PitchName::of(*p).to_string()).collect();
        names.join(" ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn string(n: u8) -> GuitarString {
        GuitarString::new(n).unwrap()
    }

    #[test]
    fn frets_count_from_the_capo() {
        let mut study = Study::default();
        let guitar = Guitar::of(&study);
        assert_eq!(guitar.at(string(5), 3).map(Pitch::number), Ok(48));
        assert_eq!(guitar.at(string(7), 0), Err(NoNote::NoString(6)));
        assert_eq!(guitar.at(string(1), 31), Err(NoNote::NoFret(30)));
        study.capo = Some(2.into());
        let guitar = Guitar::of(&study);
        assert_eq!(guitar.at(string(5), 3).map(Pitch::number), Ok(50));
        assert_eq!(guitar.at(string(1), 29), Err(NoNote::NoFret(28)));
        assert_eq!(guitar.fret(string(5), Pitch::new(50).unwrap()), Some(3));
        assert_eq!(guitar.fret(string(5), Pitch::new(46).unwrap()), None);
        assert_eq!(guitar.names(), "F#2 B2 E3 A3 C#4 F#4");
    }
}
