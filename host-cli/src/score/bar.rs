//! The bars of one part, one after the other.

use super::attributes::Attributes;
use super::direction::{self, Said};
use super::model::{Note, Part, Signs, Slur};
use super::note::{self, Kind};
use super::refusal::Refusal;
use super::ties::Tied;
use super::time::Quarters;
use super::xml::{Element, children, text_of};

/// More notes than these under one arc are a phrase. Our default: a hand slurs two or three, seldom four.
const MOST_SLURRED: usize = 4;

/// A bar that was read; when it begins depends on all parts.
pub(super) struct ReadBar {
    pub(super) label: String,
    /// How far its notes and rests reach; none if it is empty.
    pub(super) reaches: Option<Quarters>,
    pub(super) metre: Option<(u16, u16)>,
    pub(super) signs: Signs,
    /// Tempi, by how far into it they stand.
    pub(super) tempos: Vec<(Quarters, u32)>,
}

/// One part, while it is read.
pub(super) struct Reading {
    pub(super) part: Part,
    pub(super) bars: Vec<ReadBar>,
    /// Notes, whose time counts from their bar.
    pub(super) notes: Vec<Tied>,
    attributes: Attributes,
    arcs: Vec<Arc>,
    at: Quarters,
    furthest: Option<Quarters>,
    /// Where the last note began, for those in a chord with it.
    last: Quarters,
    /// What was said of the next note.
    next: Said,
}

/// An arc that is open.
struct Arc {
    number: u8,
    voice: String,
    /// The notes under it, but for the first, one of each chord.
    notes: Vec<usize>,
}

impl Reading {
    pub(super) fn new(id: &str, name: &str) -> Self {
        Self {
            part: Part { id: id.to_owned(), name: name.to_owned(), ..Part::default() },
            bars: Vec::new(),
            notes: Vec::new(),
            attributes: Attributes::default(),
            arcs: Vec::new(),
            at: Quarters::ZERO,
            furthest: None,
            last: Quarters::ZERO,
            next: Said::default(),
        }
    }

    /// Reads a bar. `measure` has its number, `content` what stands in it.
    pub(super) fn bar(
        &mut self,
        measure: Element<'_>,
        content: Element<'_>,
    ) -> Result<(), Refusal> {
        let index = self.bars.len();
        let number = measure.attribute("number").unwrap_or_default().trim();
        let label = if number.is_empty() {
            (index + 1).to_string()
        } else {
            number.chars().take(12).collect()
        };
        let mut bar = ReadBar {
            label,
            reaches: None,
            metre: None,
            signs: Signs::default(),
            tempos: Vec::new(),
        };
        (self.at, self.furthest) = (Quarters::ZERO, None);
        for one in children(content) {
            self.element(one, index, &mut bar)?;
        }
        bar.reaches = self.furthest.filter(|reaches| reaches.is_positive());
        bar.metre = self.attributes.metre;
        self.bars.push(bar);
        Ok(())
    }

    fn element(
        &mut self,
        one: Element<'_>,
        index: usize,
        bar: &mut ReadBar,
    ) -> Result<(), Refusal> {
        match one.tag_name().name() {
            "note" => self.note(one, index, bar)?,
            "backup" | "forward" => {
                let word = text_of(one, "duration").unwrap_or("0");
                let length = note::duration(word, &self.attributes)
                    .map_err(|found| self.uncounted(bar, found))?;
                let moved = if one.tag_name().name() == "backup" {
                    // Some programs go back to before the bar; nothing is there.
                    self.at.minus(length).map(|at| at.max(Quarters::ZERO))
                } else {
                    self.at.plus(length)
                };
                self.at = moved.ok_or_else(|| self.uncounted(bar, word.to_owned()))?;
                self.reach(self.at);
            }
            "attributes" => {
                if !self.attributes.take(one, index, &mut self.part.remarks) {
                    return Err(self.uncounted(bar, "its “divisions”".to_owned()));
                }
                for frets in self.attributes.frets.values() {
                    if !frets.open.is_empty() {
                        self.part.frets.open.clone_from(&frets.open);
                    }
                    self.part.frets.capo = self.part.frets.capo.max(frets.capo);
                }
                self.part.tablature.extend(&self.attributes.tablature);
            }
            "direction" => {
                let said = direction::direction(one, index, &mut bar.signs, &mut self.part.remarks);
                self.said(&said, bar);
            }
            "sound" => {
                let mut said = Said::default();
                direction::sound(one, &mut bar.signs, &mut said);
                self.said(&said, bar);
            }
            "barline" => {
                direction::barline(one, &mut bar.signs, index, &mut self.part.remarks);
            }
            "harmony" => self.part.remarks.add("chord symbols", index),
            "figured-bass" => self.part.remarks.add("figured bass", index),
            "print" | "grouping" | "link" | "bookmark" | "listening" => {}
            other => self.part.remarks.add(format!("“{other}”"), index),
        }
        Ok(())
    }

    fn said(&mut self, said: &Said, bar: &mut ReadBar) {
        bar.tempos.extend(said.tempo.map(|tempo| (self.at, tempo)));
        self.next.barre = said.barre.or(self.next.barre);
        self.next.shift = said.shift.or(self.next.shift);
    }

    fn note(&mut self, one: Element<'_>, index: usize, bar: &ReadBar) -> Result<(), Refusal> {
        let (kind, length) = note::note(one, &self.attributes, index, &mut self.part.remarks)
            .map_err(|found| self.uncounted(bar, found))?;
        if matches!(kind, Kind::Nothing) {
            return Ok(());
        }
        let in_chord = note::is_in_chord(one);
        let onset = if in_chord { self.last } else { self.at };
        let end = onset.plus(length).ok_or_else(|| self.uncounted(bar, "its end".to_owned()))?;
        if !in_chord {
            self.last = onset;
            self.at = end;
        }
        self.reach(end);
        let Kind::Sounds(read) = kind else { return Ok(()) };
        let note::Read { note, around } = *read;
        let mut note = Note { onset, ..note };
        if note.length == Quarters::ZERO {
            self.part.remarks.add("notes without a length (not judged)", index);
            return Ok(());
        }
        if !around.tie_comes {
            // The hand does nothing new while a note only lasts.
            note.barre = self.next.barre.take();
            note.shift = self.next.shift.take();
        }
        let at = self.notes.len();
        let voice = note.voice.clone();
        // What is tied to the note before it is no further note under an arc, nor are others of a chord.
        let counts = !in_chord && !around.tie_comes;
        let mut is_slurred = false;
        for number in &around.arcs_end {
            let of_voice = |arc: &Arc| arc.number == *number && arc.voice == voice;
            let open = self.arcs.iter().position(of_voice);
            let open = open.or_else(|| self.arcs.iter().position(|arc| arc.number == *number));
            if let Some(open) = open {
                let mut arc = self.arcs.swap_remove(open);
                arc.notes.extend(counts.then_some(at));
                is_slurred |= self.close(&arc, index) && counts;
            }
        }
        if counts {
            for arc in self.arcs.iter_mut().filter(|arc| arc.voice == voice) {
                arc.notes.push(at);
            }
        }
        // A new arc may have the number of the one that has just ended.
        for number in around.arcs_begin {
            self.arcs.push(Arc { number, voice: voice.clone(), notes: Vec::new() });
        }
        if is_slurred && note.slur == Slur::None {
            note.slur = Slur::Arc;
        }
        let tied = Tied { note, goes_on: around.tie_goes_on, comes: around.tie_comes };
        self.notes.push(tied);
        Ok(())
    }

    /// Decides what an arc means, now that it is known how far it goes; whether it is a slur of the hand.
    fn close(&mut self, arc: &Arc, index: usize) -> bool {
        if arc.notes.len() >= MOST_SLURRED {
            self.part.remarks.add("arcs over more than four notes (taken as phrases)", index);
            return false;
        }
        for at in &arc.notes {
            if let Some(tied) = self.notes.get_mut(*at)
                && tied.note.slur == Slur::None
            {
                tied.note.slur = Slur::Arc;
            }
        }
        true
    }

    fn reach(&mut self, at: Quarters) {
        self.furthest = Some(self.furthest.map_or(at, |furthest| furthest.max(at)));
    }

    fn uncounted(&self, bar: &ReadBar, found: String) -> Refusal {
        let part = if self.part.name.is_empty() { &self.part.id } else { &self.part.name };
        Refusal::Length { part: part.clone(), bar: bar.label.clone(), found }
    }

    /// Whether an arc was still open in the last bar.
    pub(super) fn end(&mut self) {
        let last = self.bars.len().saturating_sub(1);
        if !self.arcs.is_empty() {
            self.part.remarks.add("an arc that does not end", last);
        }
    }
}
