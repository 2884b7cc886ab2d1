//! A chunk and two performances of it that need no storage and no guitar: for the emulated
//! board, and for the first minute with a new one. All of it is made up for this purpose.

use evenhand_core::pickup::{Channels, Pickup};
use evenhand_core::session::Hearing;
use evenhand_core::study::{Attack, Chunk, ChunkError, ExpectedNote};
use evenhand_core::units::{GuitarString, Pitch, Tempo, Ticks};

use crate::script::{Played, Timed, bytes, length};

/// 100 quarters a minute.
const TEMPO: Tempo = Tempo::from_micros_per_quarter(600_000).unwrap();
const EIGHTH: u32 = Ticks::PER_QUARTER / 2;

const fn note(eighths: u32, length: u32, string: u8, pitch: u8) -> ExpectedNote {
    let onset = Ticks::new(eighths * EIGHTH);
    ExpectedNote {
        string: GuitarString::new(string),
        ..ExpectedNote::plain(onset, Ticks::new(length * EIGHTH), Pitch::new(pitch).unwrap())
    }
}

/// One bar of broken A minor up and down, with a slur at the top, and the chord to land on.
static NOTES: [ExpectedNote; 13] = [
    note(0, 1, 5, 45),
    note(1, 1, 3, 57),
    note(2, 1, 2, 60),
    note(3, 1, 1, 64),
    ExpectedNote { attack: Attack::Slurred, ..note(4, 1, 1, 67) },
    note(5, 1, 2, 60),
    note(6, 1, 3, 57),
    note(7, 1, 4, 52),
    note(8, 4, 5, 45),
    note(8, 4, 4, 52),
    note(8, 4, 3, 57),
    note(8, 4, 2, 60),
    note(8, 4, 1, 64),
];

/// The chunk.
///
/// # Errors
/// None while the notes above are in order, which a test sees to.
pub fn chunk() -> Result<Chunk<'static>, ChunkError> {
    Chunk::new(&NOTES, TEMPO)
}

/// How to listen to [`BYTES`].
pub fn hearing() -> Hearing {
    let pickup = Pickup::UNKNOWN.on(Channels::PerString { first: 0 });
    Hearing { pickup, ..Hearing::default() }
}

/// A played note: its onset in ms, its string, its pitch, its velocity and its length in ms.
const fn played(at: u32, string: u8, pitch: u8, velocity: u8, lasts: u32) -> Played {
    Played { at, string, pitch, velocity, lasts }
}

/// A clean pass, and after a pause one with faults of known size: the C of the second beat is
/// left out, and the second half comes 180 ms late.
static PASSES: [Played; 25] = [
    played(1_000, 5, 45, 88, 590),
    played(1_304, 3, 57, 84, 570),
    played(1_597, 2, 60, 90, 560),
    played(1_903, 1, 64, 86, 290),
    played(2_199, 1, 67, 78, 280),
    played(2_502, 2, 60, 87, 580),
    played(2_798, 3, 57, 85, 570),
    played(3_103, 4, 52, 88, 280),
    played(3_398, 5, 45, 90, 1_180),
    played(3_402, 4, 52, 88, 1_170),
    played(3_405, 3, 57, 86, 1_170),
    played(3_409, 2, 60, 87, 1_160),
    played(3_414, 1, 64, 89, 1_150),
    played(9_000, 5, 45, 88, 590),
    played(9_304, 3, 57, 84, 570),
    played(9_903, 1, 64, 86, 290),
    played(10_199, 1, 67, 78, 280),
    played(10_682, 2, 60, 87, 580),
    played(10_978, 3, 57, 85, 570),
    played(11_283, 4, 52, 88, 280),
    played(11_578, 5, 45, 90, 1_180),
    played(11_582, 4, 52, 88, 1_170),
    played(11_585, 3, 57, 86, 1_170),
    played(11_589, 2, 60, 87, 1_160),
    played(11_594, 1, 64, 89, 1_150),
];

/// Both passes as a pickup with a channel for each string sends them.
pub static BYTES: [Timed; length(PASSES.len())] = bytes(&PASSES);
