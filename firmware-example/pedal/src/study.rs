//! A study of two chunks that is built in: for the first minute with a new board, and for the
//! emulated one. Made up for this purpose.

use evenhand_core::pickup::{Channels, Pickup};
use evenhand_core::practice::{ChunkFacts, Earlier, Piece, PracticeVariant, Rules, Task};
use evenhand_core::session::SessionConfig;
use evenhand_core::study::{Chunk, ExpectedNote, Marks, Metre};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{GuitarString, Pitch, Tempo, Ticks};

use crate::music::{Music, Notes};

const QUARTER: Ticks = Ticks::new(Ticks::PER_QUARTER);
const EIGHTH: u32 = Ticks::PER_QUARTER / 2;
const BAR: Ticks = Metre::FOUR_FOUR.bar();
const CHUNKS: u8 = 2;
const LEVEL: PracticeLevel = PracticeLevel::First;

/// String and pitch of eight eighths a chunk: broken chords of A minor and of E.
const FIGURES: [[(u8, u8); 8]; CHUNKS as usize] = [
    [(5, 45), (3, 57), (2, 60), (1, 64), (1, 67), (2, 60), (3, 57), (4, 52)],
    [(6, 40), (3, 56), (2, 59), (1, 64), (1, 68), (2, 59), (3, 56), (4, 52)],
];

/// How to listen to a player who sends each string on a channel of its own, from the first on.
pub fn session_config() -> SessionConfig {
    let pickup = Pickup::UNKNOWN.on(Channels::PerString { first: 0 });
    SessionConfig { pickup, ..SessionConfig::default() }
}

/// The built-in study.
#[derive(Clone, Copy, Debug)]
pub struct BuiltIn {
    goal: Tempo,
}

impl BuiltIn {
    /// The study with this goal.
    pub const fn to(goal: Tempo) -> Self {
        Self { goal }
    }

    /// The study with its own goal, 90 quarters a minute.
    pub const fn new() -> Self {
        Self::to(Tempo::from_micros_per_quarter(666_667).unwrap())
    }
}

impl Default for BuiltIn {
    fn default() -> Self {
        Self::new()
    }
}

/// The notes of chunk after chunk; what the last one lands on, where there is more.
fn figure(first: u8, last: u8) -> impl Iterator<Item = ExpectedNote> {
    let bars = FIGURES.iter().skip(first.into()).take((last - first + 1).into()).flatten();
    let landing = FIGURES.iter().skip(usize::from(last) + 1).flatten().take(1);
    let landing = landing.map(|note| (note, Marks::LANDING));
    let all = bars.map(|note| (note, Marks::NONE)).chain(landing);
    all.enumerate().filter_map(|(index, (&(string, pitch), marks))| {
        let onset = Ticks::new(index as u32 * EIGHTH);
        let note = ExpectedNote::plain(onset, Ticks::new(EIGHTH), Pitch::new(pitch)?);
        Some(ExpectedNote { string: GuitarString::new(string), marks, ..note })
    })
}

impl Music for BuiltIn {
    fn facts(&self, chunk: u8) -> Option<ChunkFacts> {
        (chunk < CHUNKS).then_some(ChunkFacts {
            goal: self.goal,
            beat: QUARTER,
            rules: Rules::of(LEVEL),
            fastest_clean: None,
            earlier: Earlier::Unknown,
            notes: figure(chunk, chunk).count() as u16,
            length: BAR,
            splits: false,
            varies: false,
            joins_next: chunk + 1 < CHUNKS,
            fingerings: 0,
        })
    }

    fn music<'n>(
        &self,
        task: Task,
        fingering: &dyn Fn(u8) -> u8,
        notes: &'n mut Notes,
    ) -> Option<Chunk<'n>> {
        let (first, last) = match (task.piece, task.way) {
            (Piece::Chunk(chunk), PracticeVariant::AsWritten | PracticeVariant::Burst) => {
                (chunk, chunk)
            }
            (
                Piece::Join { first, last, .. },
                PracticeVariant::AsWritten | PracticeVariant::Burst,
            ) => (first, last),
            _ => return None,
        };
        if first > last || last >= CHUNKS || (first..=last).any(|chunk| fingering(chunk) != 0) {
            return None;
        }
        notes.clear();
        for note in figure(first, last) {
            notes.push(note).ok()?;
        }
        let chunk = Chunk::new(notes, task.tempo).ok()?;
        let placed = chunk.placed(Metre::FOUR_FOUR, u16::from(first) + 1, Ticks::ZERO);
        Some(placed.judged_by(Tolerances::of(LEVEL)))
    }
}
