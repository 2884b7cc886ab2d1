//! Chunks and performances of any size, made up as the bytes are asked for.

use evenhand_core::study::ExpectedNote;
use evenhand_core::units::{Pitch, Tempo, Ticks};

/// 100 quarters a minute.
pub(crate) const TEMPO: Tempo = Tempo::from_micros_per_quarter(600_000).unwrap();
const EIGHTH: u32 = Ticks::PER_QUARTER / 2;
const EIGHTH_MICROS: u32 = 300_000;

/// What a chunk is made of.
#[derive(Clone, Copy)]
pub(crate) struct Shape {
    pub(crate) notes: usize,
    /// Notes that begin together.
    pub(crate) together: usize,
    /// Every event is the same, so that every played note could be any of them.
    pub(crate) repeated: bool,
}

impl Shape {
    fn pitch(self, note: usize) -> u8 {
        let (event, within) = (note / self.together, note % self.together);
        let step = if self.repeated { 0 } else { (event * 5) % 17 };
        (45 + step + 4 * within) as u8
    }

    /// Writes the expected notes into the first places.
    pub(crate) fn write(self, notes: &mut [ExpectedNote]) {
        for (index, note) in notes.iter_mut().enumerate().take(self.notes) {
            let onset = Ticks::new((index / self.together) as u32 * EIGHTH);
            let pitch = Pitch::new(self.pitch(index)).unwrap_or(note.pitch);
            *note = ExpectedNote::plain(onset, Ticks::new(EIGHTH), pitch);
        }
    }
}

/// How it is played.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Manner {
    /// Every note, with small deviations.
    AsWritten,
    /// One note in four is another one of the chunk.
    WithFaults,
    /// Notes that the chunk does not have.
    SomethingElse,
}

/// A played note: its pitch, its velocity and when it begins, in microseconds.
pub(crate) struct Played {
    pub(crate) pitch: u8,
    pub(crate) velocity: u8,
    pub(crate) at: u32,
}

/// The chunk once and again, `count` notes in all.
pub(crate) fn performance(
    shape: Shape,
    manner: Manner,
    count: usize,
) -> impl Iterator<Item = Played> {
    // Numerical Recipes' quick generator (Press and others, 1992, section 7.1), from its seed.
    let mut chance = 1_u32;
    let mut below = move |limit: u32| {
        chance = chance.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (chance >> 16) % limit
    };
    (0..count).map(move |index| {
        let (round, note) = (index / shape.notes, index % shape.notes);
        let pitch = match manner {
            Manner::SomethingElse => 100 + below(20) as u8,
            Manner::WithFaults if below(4) == 0 => shape.pitch(below(shape.notes as u32) as usize),
            _ => shape.pitch(note),
        };
        let event = note / shape.together + round * shape.notes.div_ceil(shape.together);
        // The notes of a chord come one after the other, 2 ms apart and never out of order.
        let at =
            event as u32 * EIGHTH_MICROS + (note % shape.together) as u32 * 3_000 + below(1_000);
        let late = if shape.together == 1 { below(11_000) } else { 0 };
        Played { pitch, velocity: 80 + below(9) as u8, at: 1_000_000 + at + late }
    })
}
