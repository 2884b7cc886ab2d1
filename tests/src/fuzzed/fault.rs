//! Music that nobody has written, played once with one clear fault: that never passes.

use evenhand::report::{self, Ink};
use evenhand_core::player::perform;
use evenhand_core::study::{Attack, ExpectedNote, Marks, Metre};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{GuitarString, Pitch, Tempo, Ticks};
use evenhand_core::verdict::Outcome;

use super::script::Bytes;
use crate::lab::piece::Piece;
use crate::paths::{Lateness, Message, listen, live, send};
use crate::search::extent::Extent;
use crate::search::lapse::{Group, Lapse};
use crate::search::lay;
use crate::seeded::Seeded;

/// The shortest written time between two events: a sixteenth.
const STEP: u32 = Ticks::PER_QUARTER / 4;

/// The open strings of the standard tuning, string 1 first (MIDI 1.0: 60 is C4).
const OPEN: [u8; 6] = [64, 59, 55, 50, 45, 40];

/// Fewer events than this have no inside.
const FEWEST: usize = 4;

/// Events at most, so that an input is tried in a moment.
const MOST: usize = 24;

/// Reads a piece, a level and a lapse, and has it played.
///
/// # Panics
/// If it passes.
pub(super) fn clear_fault(input: &[u8]) {
    let mut bytes = Bytes::new(input);
    let Some([kind, size, how, seed]) = bytes.four() else { return };
    let never: Vec<Lapse> = Lapse::ALL
        .into_iter()
        .filter(|lapse| lapse.group() == Group::Never && *lapse != Lapse::SeamStop)
        .collect();
    let lapse = never[usize::from(kind) % never.len()];
    let clear: Vec<Extent> =
        lapse.extents().iter().copied().filter(|extent| extent.is_clear()).collect();
    let extent = clear[usize::from(size) % clear.len()];
    let level = if how & 1 == 0 { PracticeLevel::Steady } else { PracticeLevel::Performance };
    let lateness = if how & 2 == 0 { Lateness::None } else { Lateness::TwoPeriods };
    let Some(piece) = piece(&mut bytes, how >> 2) else { return };
    let tolerances = Tolerances::of(level);
    let mut seeded = Seeded::new(u64::from(seed));
    let Some(laid) = lay(lapse, extent, &piece, &tolerances, &mut seeded) else { return };
    let chunk = [piece.prepared(level)];
    let performance =
        perform(&chunk[0].chunk(), piece.tempo, laid.skill, &laid.faults, u64::from(seed));
    let mut messages: Vec<Message> = Vec::new();
    send(&performance, lateness, 1_000_000, u64::from(seed), &mut messages);
    listen(&chunk, live(None), (&messages, None), |finished| {
        let mut said = Vec::new();
        report::attempt(&mut said, finished, Ink::Plain).expect("memory takes all");
        assert_ne!(
            finished.verdict.outcome,
            Outcome::Passed,
            "{}, {}, at {level:?}, {lateness:?}: {:?}\n{}{messages:?}",
            lapse.name(),
            extent.name(),
            laid.faults,
            String::from_utf8_lossy(&said),
        );
    });
}

/// A piece that fingers can play: each event on strings of its own, with a landing or without.
fn piece(bytes: &mut Bytes<'_>, tempo: u8) -> Option<Piece> {
    let mut notes: Vec<ExpectedNote> = Vec::new();
    let mut onset = 0;
    let mut events = 0;
    while events < MOST
        && let Some([when, first]) = bytes.two()
    {
        // Sixteenths to quarters, the chord's further notes on the strings above.
        let gap = (u32::from(when & 3) + 1) * STEP;
        let more = usize::from(when >> 2 & 3) % 3;
        let string = usize::from(first & 7) % OPEN.len();
        let slurred = when & 0x10 != 0 && events > 0 && more == 0;
        for string in (0..=string).rev().take(1 + more) {
            let pitch = OPEN[string] + (first >> 3) % 13;
            let plain = ExpectedNote::plain(Ticks::new(onset), Ticks::new(gap), Pitch::new(pitch)?);
            let attack = if slurred { Attack::Slurred } else { Attack::Plucked };
            let string = GuitarString::new(string as u8 + 1);
            notes.push(ExpectedNote { string, attack, ..plain });
        }
        onset += gap;
        events += 1;
    }
    if events < FEWEST {
        return None;
    }
    if tempo & 1 != 0 {
        let last = notes.last()?.onset;
        for note in notes.iter_mut().filter(|note| note.onset == last) {
            note.marks = Marks::LANDING;
            note.attack = Attack::Plucked;
        }
    }
    notes.sort_by_key(ExpectedNote::order);
    // 40 to 102 quarters a minute, so that sixteenths are 147 ms apart at least.
    let beats = 40 + u32::from(tempo);
    let tempo = Tempo::from_beats_per_minute(beats, Ticks::new(Ticks::PER_QUARTER))?;
    Some(Piece { name: "fuzzed".to_owned(), notes, tempo, metre: Metre::FOUR_FOUR })
}
