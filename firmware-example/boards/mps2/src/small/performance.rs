//! A chunk of two bars and two attempts at it, and what a session says of them.

use core::fmt::{self, Write as _};

use evenhand_core::session::{Judged, Session, SessionConfig};
use evenhand_core::study::{Chunk, ExpectedNote};
use evenhand_core::units::{Instant, Pitch, Tempo, Ticks};
use evenhand_mps2_board::device::Serial;
use evenhand_mps2_board::ending::give_up;
use evenhand_pedal::report;

const EIGHTH: u32 = Ticks::PER_QUARTER / 2;
/// 100 quarters a minute.
const TEMPO: Tempo = Tempo::from_micros_per_quarter(600_000).unwrap();
const WRITTEN: [u8; 16] = [52, 55, 59, 64, 59, 55, 57, 60, 64, 67, 64, 60, 59, 55, 54, 52];

/// Milliseconds from the first note of the attempt, pitch, and velocity.
type Played = [(u64, u8, u8); 16];

const STEADY: Played = [
    (0, 52, 84),
    (304, 55, 80),
    (597, 59, 82),
    (903, 64, 85),
    (1_196, 59, 79),
    (1_502, 55, 81),
    (1_805, 57, 83),
    (2_099, 60, 80),
    (2_394, 64, 84),
    (2_701, 67, 86),
    (3_005, 64, 82),
    (3_297, 60, 80),
    (3_603, 59, 81),
    (3_899, 55, 79),
    (4_202, 54, 82),
    (4_500, 52, 84),
];

/// The same with one wrong pitch, and with time lost before a note.
const WITH_FAULTS: Played = {
    let mut played = STEADY;
    played[5].1 = 56;
    let mut note = 9;
    while note < played.len() {
        played[note].0 += 700;
        note += 1;
    }
    played
};

/// Has it judge both attempts.
pub(crate) fn judge<const EXPECTED: usize, const PLAYED: usize>(
    session: &mut Session<EXPECTED, PLAYED>,
) {
    let mut notes = [ExpectedNote::plain(Ticks::ZERO, Ticks::new(EIGHTH), PITCH); WRITTEN.len()];
    let chunk = written(&mut notes);
    if let Err(error) = session.load(chunk, SessionConfig::default()) {
        give_up(format_args!("a chunk: {error}"));
    }
    for (number, (begins, played)) in (1..).zip([(1_000, &STEADY), (9_000, &WITH_FAULTS)]) {
        for bytes in messages(begins, played) {
            let (now, bytes) = bytes;
            session.feed(&bytes, now);
        }
        let due = session.poll_at().unwrap_or(Instant::ZERO);
        if session.poll(due).is_none_or(|judged| tell(number, &judged).is_err()) {
            give_up(format_args!("no verdict"));
        }
    }
}

const PITCH: Pitch = Pitch::new(60).unwrap();

fn written(notes: &mut [ExpectedNote]) -> Chunk<'_> {
    for ((at, note), pitch) in (0..).zip(&mut *notes).zip(WRITTEN) {
        note.onset = Ticks::new(at * EIGHTH);
        note.pitch = Pitch::new(pitch).unwrap_or(PITCH);
    }
    match Chunk::new(notes, TEMPO) {
        Ok(chunk) => chunk,
        Err(error) => give_up(format_args!("a chunk: {error}")),
    }
}

/// What comes on the line: each note ends where the next begins.
fn messages(begins: u64, played: &Played) -> impl Iterator<Item = (Instant, [u8; 6])> + '_ {
    let mut before = 0;
    played.iter().map(move |&(at, pitch, velocity)| {
        let now = Instant::from_micros((begins + at) * 1_000);
        let ended = core::mem::replace(&mut before, pitch);
        (now, [0x80, ended, 64, 0x90, pitch, velocity])
    })
}

#[inline(never)]
fn tell(number: u32, judged: &Judged<'_>) -> fmt::Result {
    let mut out = Serial::first();
    report::attempt(number, &judged.chunk, judged.verdict, &mut out)?;
    writeln!(out, "  {} notes heard of {}", judged.played.len(), judged.chunk.notes().len())
}
