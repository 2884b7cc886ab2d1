//! What is played: chunks of the bundled study, and plain lines of known length.

use evenhand_core::study::{Attack, Chunk, ExpectedNote, Marks, Metre};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{GuitarString, Offset, Pitch, Tempo, Ticks};

use crate::performances;

/// A chunk of music at one tempo.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Its name.
    pub name: String,
    /// Its notes.
    pub notes: Vec<ExpectedNote>,
    /// The tempo it is played at.
    pub tempo: Tempo,
    /// Its metre.
    pub metre: Metre,
}

/// Pieces that are counted together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Eight single notes: in eighths, and in sixteenths.
    Eight,
    /// Sixteen single notes in sixteenths.
    Sixteen,
    /// Thirty-two single notes in sixteenths.
    ThirtyTwo,
    /// Chunks of the bundled study.
    Study,
}

impl Group {
    /// All of them, in the order of the table's columns.
    pub const ALL: [Self; 4] = [Self::Eight, Self::Sixteen, Self::ThirtyTwo, Self::Study];

    /// The head of its column.
    pub const fn head(self) -> &'static str {
        match self {
            Self::Eight => "8 notes",
            Self::Sixteen => "16 notes",
            Self::ThirtyTwo => "32 notes",
            Self::Study => "study",
        }
    }

    /// Its pieces; `chords` puts a chord of three on every fourth event of the plain lines.
    pub fn pieces(self, chords: bool) -> Vec<Piece> {
        match self {
            Self::Eight => vec![line(8, 2, chords), line(8, 4, chords)],
            Self::Sixteen => vec![line(16, 4, chords)],
            Self::ThirtyTwo => vec![line(32, 4, chords)],
            Self::Study => study(),
        }
    }
}

/// Chunks of the bundled study with enough in them to be judged: eight notes or more.
const CHUNKS: [&str; 9] = [
    "Lanterns, one",
    "Lanterns, two",
    "The climb",
    "Last steps in first position",
    "Two shifts to the top",
    "Across the barre",
    "Harbour engine on A",
    "Four bells, one",
    "The last lamp",
];

fn study() -> Vec<Piece> {
    let chunks = performances::chunks();
    let piece = |name: &str| {
        let chunk = chunks.iter().find(|chunk| chunk.name == name);
        let chunk = chunk.unwrap_or_else(|| panic!("the bundled study has no chunk “{name}”"));
        Piece {
            name: chunk.name.clone(),
            notes: chunk.notes.clone(),
            tempo: chunk.tempo,
            metre: chunk.metre,
        }
    };
    CHUNKS.iter().map(|name| piece(name)).collect()
}

/// A line of `events` events, `a_quarter` of them a quarter note, at 72 quarters a minute: up
/// and down a scale, every fourth note slurred, a shift in the middle.
fn line(events: u32, a_quarter: u32, chords: bool) -> Piece {
    const STEPS: [u8; 8] = [0, 2, 4, 5, 7, 9, 11, 12];
    let length = Ticks::PER_QUARTER / a_quarter;
    let mut notes = Vec::new();
    for event in 0..events {
        let around = event as usize % 14;
        let step = if around < 8 { around } else { 14 - around };
        let pitch = |above: u8| Pitch::new(52 + STEPS[step] + above).expect("a guitar's pitch");
        let plain = ExpectedNote::plain(Ticks::new(event * length), Ticks::new(length), pitch(0));
        let marks = if event == events / 2 { Marks::SHIFT } else { Marks::NONE };
        let attack = if event % 4 == 3 { Attack::Slurred } else { Attack::Plucked };
        notes.push(ExpectedNote { marks, attack, string: GuitarString::new(4), ..plain });
        if chords && event % 4 == 1 {
            for (string, above) in [(3, 7), (2, 12)] {
                let string = GuitarString::new(string);
                notes.push(ExpectedNote { pitch: pitch(above), string, ..plain });
            }
        }
    }
    let tempo = Tempo::from_beats_per_minute(72, Ticks::new(Ticks::PER_QUARTER)).expect("a tempo");
    let name = format!("{events} notes of 1/{}", 4 * a_quarter);
    Piece { name, notes, tempo, metre: Metre::FOUR_FOUR }
}

impl Piece {
    /// As the judge takes it, with the defaults of a level and nothing that the study changed.
    ///
    /// # Panics
    /// If the notes are no chunk.
    pub fn chunk(&self, level: PracticeLevel) -> Chunk<'_> {
        Chunk::new(&self.notes, self.tempo)
            .expect("a chunk")
            .placed(self.metre, 1, Ticks::ZERO)
            .judged_by(Tolerances::of(level))
    }

    /// Its events, without those of the landing: indices of the notes that begin together.
    pub fn events(&self) -> Vec<std::ops::Range<usize>> {
        let mut events: Vec<std::ops::Range<usize>> = Vec::new();
        for (index, note) in self.notes.iter().enumerate() {
            if note.marks.has(Marks::LANDING) {
                break;
            }
            match events.last_mut() {
                Some(last) if self.notes[last.start].onset == note.onset => last.end = index + 1,
                _ => events.push(index..index + 1),
            }
        }
        events
    }

    /// How many onsets tell about timing: those of rolled chords do not, those of the landing do.
    pub fn timed(&self) -> usize {
        let mut onsets: Vec<Ticks> = self
            .notes
            .iter()
            .filter(|note| !note.marks.has(Marks::ROLLED))
            .map(|note| note.onset)
            .collect();
        onsets.dedup();
        onsets.len()
    }

    /// The time written before an event; of the first, after it.
    pub fn gap(&self, event: usize) -> Offset {
        let events = self.events();
        let event = event.max(1);
        let onset = |event: usize| self.notes[events[event].start].onset;
        self.tempo.lasting(onset(event).since(onset(event - 1)))
    }

    /// The median time written between neighbouring events, as the judge takes it.
    pub fn interval(&self) -> Offset {
        let mut onsets: Vec<Ticks> = self.notes.iter().map(|note| note.onset).collect();
        onsets.dedup();
        let mut gaps: Vec<i32> = onsets
            .windows(2)
            .map(|pair| self.tempo.lasting(pair[1].since(pair[0])).as_micros())
            .collect();
        let median = evenhand_core::measure::statistics::median(&mut gaps);
        Offset::from_micros(median.expect("two events"))
    }
}
