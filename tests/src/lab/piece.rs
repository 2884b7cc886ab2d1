//! What is played: chunks of the bundled study, and plain lines of known length.

use evenhand::study::{Fingering, Prepared};
use evenhand_core::study::{Chunk, ExpectedNote, Marks, Metre};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{Offset, Tempo, Ticks};

use super::line::{With, line};
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

    /// Its pieces; the plain lines carry `with`.
    pub fn pieces(self, with: With) -> Vec<Piece> {
        match self {
            Self::Eight => vec![line(8, 2, with), line(8, 4, with)],
            Self::Sixteen => vec![line(16, 4, with)],
            Self::ThirtyTwo => vec![line(32, 4, with)],
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

    /// The same as a study has it, for the commands.
    pub fn prepared(&self, level: PracticeLevel) -> Prepared {
        let end = |note: &ExpectedNote| note.onset.plus(note.duration);
        let landing = self.notes.iter().find(|note| note.marks.has(Marks::LANDING));
        let last = self.notes.iter().map(end).max().unwrap_or(Ticks::ZERO);
        let voices = self.notes.iter().map(|note| note.voice).max().unwrap_or(0);
        Prepared {
            name: self.name.clone(),
            notes: self.notes.clone(),
            hand: vec![Fingering::default(); self.notes.len()],
            tempo: self.tempo,
            metre: self.metre,
            first_bar: 1,
            into_first_bar: Ticks::ZERO,
            tolerances: Tolerances::of(level),
            alternatives: Vec::new(),
            length: landing.map_or(last, |note| note.onset),
            voices: (0..=voices).map(|voice| format!("voice {voice}")).collect(),
        }
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

    /// How far the chord of a note may spread, where one may spread by `limit`: chords of five notes and
    /// more are swept, and may take three times as long.
    pub fn may_spread(&self, note: u16, limit: Offset) -> Offset {
        let onset = self.notes[usize::from(note)].onset;
        let notes = self.notes.iter().filter(|note| note.onset == onset).count();
        if notes >= 5 { Offset::from_micros(3 * limit.as_micros()) } else { limit }
    }

    /// The notes of its landing, if it has one that is not rolled.
    pub fn landing(&self) -> std::ops::Range<usize> {
        let proper = self.events().last().map_or(0, |event| event.end);
        let rolled = self.notes[proper..].iter().any(|note| note.marks.has(Marks::ROLLED));
        if rolled { proper..proper } else { proper..self.notes.len() }
    }

    /// The time written from the last event to the landing.
    pub fn gap_before_landing(&self) -> Offset {
        let last = self.events().last().map_or(0, |event| event.start);
        let landing = self.landing().next().unwrap_or(last);
        self.tempo.lasting(self.notes[landing].onset.since(self.notes[last].onset))
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
