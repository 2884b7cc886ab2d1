//! A score as it is written: parts, bars and notes, in exact time, and what was not taken from it.

use super::time::Quarters;
use crate::study::{LeftFinger, Position, RightFinger, Shift};
use std::collections::BTreeSet;

/// A score.
#[derive(Clone, Debug, Default)]
pub struct Score {
    /// Its title, as far as it has one.
    pub title: Option<String>,
    /// Its parts, in the order in which they are listed.
    pub parts: Vec<Part>,
}

/// What one player plays.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// What the file calls it.
    pub id: String,
    /// What people call it; may be empty.
    pub name: String,
    /// Its bars, in the order in which they are written.
    pub bars: Vec<Bar>,
    /// Its notes in order of time, ties joined, as written: no repeat is played.
    pub notes: Vec<Note>,
    /// Tempi, in order of time.
    pub tempos: Vec<TempoMark>,
    /// What an instrument with frets is tuned to.
    pub frets: Frets,
    /// Staves that are tablature.
    pub tablature: BTreeSet<u8>,
    /// What stands in it and was not taken.
    pub remarks: Remarks,
}

/// A bar.
#[derive(Clone, Debug)]
pub struct Bar {
    /// Its number as it is printed.
    pub label: String,
    /// When it begins.
    pub start: Quarters,
    /// How long it is, by what stands in it.
    pub length: Quarters,
    /// Beats, and what they are.
    pub metre: (u16, u16),
    /// Where one goes from it.
    pub signs: Signs,
}

/// What says in which order bars are played.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Signs {
    /// A repeat begins here.
    pub forward: bool,
    /// A repeat ends here: how many times it is played altogether.
    pub backward: Option<u32>,
    /// An ending begins here, for these times.
    pub ending: Vec<u32>,
    /// An ending ends with this bar.
    pub ending_stops: bool,
    /// A segno stands at its beginning.
    pub segno: bool,
    /// A coda begins with it.
    pub coda: bool,
    /// The piece ends with it, when it is played after a jump.
    pub fine: bool,
    /// After it one goes to the coda, when it is played after a jump.
    pub to_coda: bool,
    /// After it, from the beginning.
    pub da_capo: bool,
    /// After it, from the segno.
    pub dal_segno: bool,
}

/// A tempo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TempoMark {
    /// From when on.
    pub at: Quarters,
    /// Hundredths of quarters a minute.
    pub hundredths: u32,
}

/// An instrument with frets.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Frets {
    /// The open strings as they sound without a capo, low to high; empty if the score does not say.
    pub open: Vec<u8>,
    /// The fret of the capo.
    pub capo: u8,
}

/// A note.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// The bar in which it begins.
    pub bar: usize,
    /// When it begins.
    pub onset: Quarters,
    /// How long it lasts, what is tied to it included.
    pub length: Quarters,
    /// The pitch as it is written, as MIDI 1.0 numbers it.
    pub written: u8,
    /// The pitch as it sounds.
    pub sounding: u8,
    /// The staff, from 1.
    pub staff: u8,
    /// The voice, as the file calls it.
    pub voice: String,
    /// The tuplet that its length is written in.
    pub tuplet: Option<(u8, u8)>,
    /// The string.
    pub string: Option<u8>,
    /// The fret, counted from the capo.
    pub fret: Option<u8>,
    /// The finger of the left hand.
    pub left: Option<LeftFinger>,
    /// The finger of the right hand.
    pub right: Option<RightFinger>,
    /// How it is slurred.
    pub slur: Slur,
    /// The other note of a trill, as it sounds.
    pub trill: Option<u8>,
    /// A barre from here.
    pub barre: Option<Position>,
    /// The hand moves to reach it.
    pub shift: Option<Shift>,
    /// Spread from string to string.
    pub rolled: bool,
    /// Louder than its neighbours.
    pub accent: bool,
    /// Shorter than written.
    pub short: bool,
    /// Kept sounding for its whole length.
    pub hold: bool,
}

/// What comes to a note from the one before it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Slur {
    /// Nothing.
    #[default]
    None,
    /// A hammer-on or pull-off, said as such.
    Named,
    /// An arc from the note before it, which may mean either that or a phrase.
    Arc,
}

/// What stands in a score and was not taken, each with the bars that it stands in.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Remarks(Vec<(String, BTreeSet<usize>)>);

impl Remarks {
    /// The most that is kept apart. Our default: whoever reads more of them reads none.
    const MOST: usize = 60;

    /// Notes that something stands in a bar, by its index.
    pub fn add(&mut self, what: impl Into<String>, bar: usize) {
        let what = what.into();
        if let Some((_, bars)) = self.0.iter_mut().find(|(known, _)| *known == what) {
            bars.insert(bar);
        } else if self.0.len() < Self::MOST {
            self.0.push((what, BTreeSet::from([bar])));
        } else {
            let rest = "other things that are not taken";
            if let Some((last, bars)) = self.0.last_mut()
                && last == rest
            {
                bars.insert(bar);
            } else {
                self.0.push((rest.to_owned(), BTreeSet::from([bar])));
            }
        }
    }

    /// All of it, in the order in which it was first met.
    pub fn all(&self) -> impl Iterator<Item = (&str, &BTreeSet<usize>)> {
        self.0.iter().map(|(what, bars)| (what.as_str(), bars))
    }

    /// Those of some bars.
    #[must_use]
    pub fn within(&self, bars: &std::ops::Range<usize>) -> Self {
        let mut some = Self::default();
        for (what, all) in &self.0 {
            all.iter()
                .filter(|bar| bars.contains(bar))
                .for_each(|bar| some.add(what.as_str(), *bar));
        }
        some
    }

    /// Whether everything was taken.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}
