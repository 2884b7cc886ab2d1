//! Where the music comes from: a study in flash, or one that is built in.

use evenhand_core::next_step::{Facts, Task};
use evenhand_core::study::{ExpectedNote, Metre};
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::Ticks;

/// What belongs to the notes of a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// How many notes were written.
    pub notes: usize,
    /// The metre.
    pub metre: Metre,
    /// The bar in which it begins.
    pub first_bar: u16,
    /// How far into that bar.
    pub into_first_bar: Ticks,
    /// What is asked for.
    pub tolerances: Tolerances,
}

/// A study.
pub trait Music {
    /// What practice has to know of a chunk, counted from 0; `None` beyond the last.
    fn facts(&self, chunk: u8) -> Option<Facts>;

    /// Writes the notes of a piece, played in the way and with the fingering that are asked for.
    /// `None` if there is no such piece.
    fn write(&self, task: Task, fingering: u8, notes: &mut [ExpectedNote]) -> Option<Sheet>;

    /// How many chunks there are.
    fn chunks(&self) -> u8 {
        (0..u8::MAX).take_while(|chunk| self.facts(*chunk).is_some()).count() as u8
    }
}

impl<M: Music + ?Sized> Music for &M {
    fn facts(&self, chunk: u8) -> Option<Facts> {
        (**self).facts(chunk)
    }

    fn write(&self, task: Task, fingering: u8, notes: &mut [ExpectedNote]) -> Option<Sheet> {
        (**self).write(task, fingering, notes)
    }
}
