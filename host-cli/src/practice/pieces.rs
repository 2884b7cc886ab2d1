//! The music of a piece of practice, and its name.

use super::rhythm::Bend;
use super::{cut, join};
use crate::study::{Prepared, Study, place_name};
use evenhand_core::practice::{ChunkFacts, Earlier, Piece, PracticeVariant, Rules, Side, Task};
use evenhand_core::study::{Marks, accent_beats};
use evenhand_core::units::{Tempo, Ticks};

/// The chunks of a study and what can be made of them.
#[derive(Clone, Debug)]
pub(super) struct Pieces {
    chunks: Vec<Prepared>,
    /// For each chunk the names of its voices, in the order of their numbers; none if they are
    /// not known.
    voices: Vec<Vec<String>>,
}

impl Pieces {
    /// The chunks as they are, their voices known by number only.
    pub(super) fn of_chunks(chunks: Vec<Prepared>) -> Self {
        Self { voices: vec![Vec::new(); chunks.len()], chunks }
    }

    /// The same, with the names of voices as the study writes them.
    pub(super) fn with_voices_of(mut self, study: &Study) -> Self {
        for (voices, text) in self.voices.iter_mut().zip(&study.chunks) {
            for line in &text.lines {
                let name = line.name.value.to_lowercase();
                if !voices.contains(&name) {
                    voices.push(name);
                }
            }
        }
        self
    }

    pub(super) fn chunks(&self) -> &[Prepared] {
        &self.chunks
    }

    /// What practice has to know of a chunk.
    pub(super) fn facts(&self, index: usize) -> Option<ChunkFacts> {
        let chunk = self.chunks.get(index)?;
        let end = chunk.notes.iter().map(|note| note.onset.plus(note.duration)).max();
        let varies = |way| Bend::of(chunk, way).is_some_and(|bend| bend.bend(chunk).is_some());
        Some(ChunkFacts {
            goal: chunk.tempo,
            beat: chunk.metre.beat(),
            rules: Rules::of(chunk.tolerances.level),
            fastest_clean: None,
            earlier: Earlier::Unknown,
            notes: u16::try_from(chunk.notes.len()).unwrap_or(u16::MAX),
            length: end.unwrap_or_default().max(chunk.length),
            splits: cut::place(chunk).is_some(),
            varies: varies(PracticeVariant::LongShort) && varies(PracticeVariant::ShortLong),
            joins_next: self.chunks.get(index + 1).is_some_and(|next| join::can(chunk, next)),
            fingerings: u8::try_from(chunk.alternatives.len()).unwrap_or(u8::MAX),
        })
    }

    /// The tempo that a piece is to reach: the slowest of its chunks.
    pub(super) fn goal(&self, piece: Piece) -> Option<Tempo> {
        let (first, last) = piece.span();
        let chunks = self.chunks.get(usize::from(first)..=usize::from(last))?;
        chunks.iter().map(|chunk| chunk.tempo).reduce(Tempo::slower)
    }

    /// The beat in which a piece is counted.
    pub(super) fn beat(&self, piece: Piece) -> Ticks {
        let chunk = self.chunks.get(usize::from(piece.span().0));
        chunk.map_or(Ticks::new(Ticks::PER_QUARTER), |chunk| chunk.metre.beat())
    }

    /// The music of a task, at its tempo. `fingering` tells for each chunk which one is in use;
    /// 0 is the one that is written. `None` for a piece that these chunks do not have.
    pub(super) fn build(&self, task: Task, fingering: &dyn Fn(u8) -> u8) -> Option<Prepared> {
        let chunk = |chunk: u8| self.chunk(chunk, task.way, fingering(chunk));
        let half = |index: u8, side| self.half(index, side, task.way, fingering(index));
        let mut music = match task.piece {
            Piece::Chunk(index) => chunk(index)?.0,
            Piece::Half(index, side) => half(index, side)?,
            Piece::Seam(index) => {
                let next = index.checked_add(1)?;
                let (left, right) = (half(index, Side::Second)?, half(next, Side::First)?);
                self.joined(&left, &right, index, next)
            }
            Piece::Spot(spot) => {
                let whole = self.build(Task { piece: spot.piece(), ..task }, fingering)?;
                cut::events(&whole, spot.from, spot.to)?
            }
            Piece::Join { first, last, .. } => {
                let mut line = chunk(first)?.0;
                for index in first.checked_add(1)?..=last {
                    line = self.joined(&line, &chunk(index)?.0, first, index);
                }
                line
            }
        };
        if task.way == PracticeVariant::Accents {
            accent_beats(&mut music.notes, music.metre, music.into_first_bar);
        }
        music.name = self.plain_name(task.piece);
        music.name.push_str(in_rhythm(task.way));
        music.tempo = task.tempo;
        music.checked(task.tempo).is_ok().then_some(music)
    }

    /// An event of a piece in words: `bar 5, beat 2`, `the shift at bar 5, beat 2`, `the landing`.
    pub(super) fn place(&self, piece: Piece, event: u8) -> Option<String> {
        let way = PracticeVariant::AsWritten;
        let music = self.build(Task { piece, way, tempo: self.goal(piece)? }, &|_| 0)?;
        let mut onsets: Vec<Ticks> = music.notes.iter().map(|note| note.onset).collect();
        onsets.dedup();
        let onset = *onsets.get(usize::from(event))?;
        let note = music.notes.iter().position(|note| note.onset == onset)?;
        let marks = music.notes.get(note)?.marks;
        if marks.has(Marks::LANDING) {
            return Some("the landing".to_owned());
        }
        let place = place_name(&music, note);
        let shifts =
            music.notes.iter().any(|note| note.onset == onset && note.marks.has(Marks::SHIFT));
        Some(if shifts { format!("the shift at {place}") } else { place })
    }

    /// A chunk in a fingering and in a rhythm.
    pub(super) fn whole(&self, index: u8, way: PracticeVariant, fingering: u8) -> Option<Prepared> {
        self.chunk(index, way, fingering).map(|(whole, _)| whole)
    }

    /// Whether a chunk in a fingering is another one in this rhythm.
    pub(super) fn is_varied(&self, index: u8, way: PracticeVariant, fingering: u8) -> bool {
        self.chunk(index, way, fingering).is_some_and(|(_, bend)| bend.is_some())
    }

    /// Half of a chunk in a fingering and in a rhythm.
    pub(super) fn half(
        &self,
        index: u8,
        side: Side,
        way: PracticeVariant,
        fingering: u8,
    ) -> Option<Prepared> {
        let at = cut::place(self.chunks.get(usize::from(index))?)?;
        let (whole, bend) = self.chunk(index, way, fingering)?;
        let at = bend.map_or(at, |bend| bend.at(at));
        Some(cut::half(&whole, at, side))
    }

    /// The names of the voices of each chunk.
    pub(super) fn voices(&self) -> &[Vec<String>] {
        &self.voices
    }

    /// A chunk in a fingering and in a rhythm, with how its time is bent.
    fn chunk(
        &self,
        index: u8,
        way: PracticeVariant,
        fingering: u8,
    ) -> Option<(Prepared, Option<Bend>)> {
        let written = self.chunks.get(usize::from(index))?;
        let other = usize::from(fingering).checked_sub(1);
        let chunk = match other.and_then(|other| written.in_alternative(other)) {
            Some(other) => other,
            None => written.clone(),
        };
        // Practice varies only what can be varied; in a line that may not be all of it.
        let bend = Bend::of(written, way);
        match bend.and_then(|bend| bend.bend(&chunk)) {
            Some(bent) => Some((bent, bend)),
            None => Some((chunk, None)),
        }
    }

    /// Joins music of chunk `index` to a line that began with chunk `first`. Voices of one name
    /// go on in each other.
    fn joined(&self, left: &Prepared, right: &Prepared, first: u8, index: u8) -> Prepared {
        let names = |chunk: u8| self.voices.get(usize::from(chunk)).map_or(&[][..], Vec::as_slice);
        let mut line: Vec<&String> = Vec::new();
        for name in (first..=index).flat_map(names) {
            if !line.contains(&name) {
                line.push(name);
            }
        }
        join::join(left, right, |voice| {
            let name = names(index).get(usize::from(voice));
            let known = name.and_then(|name| line.iter().position(|other| *other == name));
            known.and_then(|number| u8::try_from(number).ok()).unwrap_or(voice)
        })
    }

    /// The name of a piece for a heading: `Lanterns, one`.
    fn plain_name(&self, piece: Piece) -> String {
        self.named(piece, &|name| name.to_owned())
    }

    /// The name of a piece in a sentence: `“Lanterns, one”`.
    pub(super) fn name(&self, piece: Piece) -> String {
        self.named(piece, &|name| format!("“{name}”"))
    }

    fn named(&self, piece: Piece, quoted: &dyn Fn(&str) -> String) -> String {
        let chunk = |index: u8| {
            let chunk = self.chunks.get(usize::from(index));
            quoted(chunk.map_or("", |chunk| chunk.name.as_str()))
        };
        match piece {
            Piece::Chunk(index) => chunk(index),
            Piece::Half(index, Side::First) => format!("{}, first half", chunk(index)),
            Piece::Half(index, Side::Second) => format!("{}, second half", chunk(index)),
            Piece::Seam(index) => {
                format!("{} into {}", chunk(index), chunk(index.saturating_add(1)))
            }
            Piece::Join { first, last, .. } if last == first.saturating_add(1) => {
                format!("{} and {}", chunk(first), chunk(last))
            }
            Piece::Join { first, last, .. } => format!("{} to {}", chunk(first), chunk(last)),
            Piece::Spot(spot) => {
                let (from, to) = (u16::from(spot.from) + 1, u16::from(spot.to) + 1);
                format!("{}, notes {from} to {to}", self.named(spot.piece(), quoted))
            }
        }
    }
}

/// What is added to the name of a piece that is played in another rhythm: what is clean in pairs
/// is not clean as it is written, and the log tells them apart.
pub const fn in_rhythm(way: PracticeVariant) -> &'static str {
    match way {
        PracticeVariant::LongShort => ", long then short",
        PracticeVariant::ShortLong => ", short then long",
        PracticeVariant::Accents => ", with accents",
        PracticeVariant::AsWritten | PracticeVariant::Burst => "",
    }
}
