//! A study whose chunks each have their music, as one whose music is written once: version 1 as version 2.

use super::model::{
    ChunkText, Item, Landing, MetreText, Part, PartEnd, Section, Settings, Start, Step, Study,
    VoiceLine,
};
use super::note_value::NoteValue;
use super::prepare::{Prepared, same_name};
use super::problem::Problem;
use super::span::{Source, Spanned};
use evenhand_core::study::{ExpectedNote, Marks, Metre};
use evenhand_core::units::Ticks;

/// What became of a study.
#[derive(Clone, Debug)]
pub struct Gathered {
    /// The same study with its music once.
    pub study: Study,
    /// Names of the chunks that keep a music of their own, since it does not follow what stands before it:
    /// they overlap others, go back, or land elsewhere.
    pub apart: Vec<String>,
}

/// Gathers the music of a study's chunks. What is played and judged stays the same, to the note.
///
/// # Errors
/// The problems of a study that is not right.
pub fn gather(study: &Study) -> Result<Gathered, Vec<Problem>> {
    let prepared = study.prepare()?;
    let mut apart: Vec<bool> = study.chunks.iter().map(|chunk| chunk.part.is_some()).collect();
    // One that lands elsewhere than the music goes on keeps its own; what then follows may change once more.
    for _ in 0..=study.chunks.len() {
        let gathered = attempt(study, &prepared, &mut apart);
        let Ok(again) = gathered.prepare() else { break };
        let mut differs = false;
        for ((was, is), apart) in prepared.iter().zip(&again).zip(&mut apart) {
            if !*apart && !alike(was, is) {
                *apart = true;
                differs = true;
            }
        }
        if !differs {
            let names = study
                .chunks
                .iter()
                .zip(&apart)
                .filter(|(chunk, apart)| **apart && chunk.part.is_none());
            let apart = names.map(|(chunk, _)| chunk.name.value.clone()).collect();
            return Ok(Gathered { study: gathered, apart });
        }
    }
    let apart = study.chunks.iter().map(|chunk| chunk.name.value.clone()).collect();
    Ok(Gathered { study: study.clone(), apart })
}

/// Gathers all chunks that can be and are not to stay apart; those that cannot are marked.
fn attempt(study: &Study, prepared: &[Prepared], apart: &mut [bool]) -> Study {
    let mut music = Music::of(study);
    let mut chunks = Vec::with_capacity(study.chunks.len());
    for ((text, chunk), apart) in study.chunks.iter().zip(prepared).zip(apart) {
        *apart |= !music.take(text, chunk);
        chunks.push(if text.part.is_some() {
            text.clone()
        } else if *apart {
            // Where the last one ended may be another place now.
            ChunkText { at: Some(start(chunk).into()), ..text.clone() }
        } else {
            ChunkText {
                at: None,
                part: Some(part(chunk).into()),
                settings: Settings { metre: None, ..text.settings.clone() },
                lines: Vec::new(),
                landing: match &text.landing {
                    Some(landing) => Some(landing.clone()).filter(|l| l.value != Landing::Next),
                    None => Some(Landing::Nothing.into()),
                },
                ..text.clone()
            }
        });
    }
    let mut gathered = Study { music: music.finish(), chunks, ..study.clone() };
    gathered.source = Source::default();
    gathered
}

/// Whether two chunks are the same to play and to judge. Their voices may be counted otherwise; those of a
/// landing are counted where it is played.
fn alike(a: &Prepared, b: &Prepared) -> bool {
    let notes = |of: &Prepared| -> Vec<_> {
        let note = |note: &ExpectedNote| {
            let name = of.voices.get(usize::from(note.voice)).cloned();
            let lands = note.marks.has(Marks::LANDING);
            (name.filter(|_| !lands), ExpectedNote { voice: 0, ..*note })
        };
        of.notes.iter().map(note).collect()
    };
    a.name == b.name
        && (a.tempo, a.metre, a.tolerances) == (b.tempo, b.metre, b.tolerances)
        && (a.first_bar, a.into_first_bar, a.length) == (b.first_bar, b.into_first_bar, b.length)
        && (&a.hand, &a.alternatives) == (&b.hand, &b.alternatives)
        && notes(a) == notes(b)
}

/// A place as it is written.
fn start(chunk: &Prepared) -> Start {
    place(chunk.first_bar, chunk.into_first_bar, chunk.metre)
}

fn place(bar: u16, into: Ticks, metre: Metre) -> Start {
    let beat = metre.beat().get();
    let (beats, rest) = (into.get() / beat, into.get() % beat);
    let plus = NoteValue::ALL.into_iter().find(|value| value.ticks().get() == rest);
    let beat = u8::try_from(beats + 1).ok().filter(|_| into > Ticks::ZERO);
    Start { bar, beat, plus }
}

/// The part of the music that a chunk is.
fn part(chunk: &Prepared) -> Part {
    let bar = chunk.metre.bar().get();
    let end = chunk.into_first_bar.get() + chunk.length.get();
    let bars = u16::try_from(end / bar).unwrap_or(u16::MAX);
    let last = chunk.first_bar.saturating_add(bars);
    let whole = end.is_multiple_of(bar) && chunk.into_first_bar == Ticks::ZERO;
    let to = match whole {
        true => PartEnd::Bar(last.saturating_sub(1)),
        false => PartEnd::Until(place(last, Ticks::new(end % bar), chunk.metre)),
    };
    Part { from: start(chunk), to, voices: Vec::new() }
}

/// The music that has been gathered.
struct Music<'s> {
    study: &'s Study,
    sections: Vec<Section>,
    metre: Metre,
    /// How far into its first bar the section begins, and how long it is.
    into: Ticks,
    length: Ticks,
    /// The voices of the section, and how far each is filled.
    voices: Vec<(String, Ticks)>,
}

impl<'s> Music<'s> {
    const fn of(study: &'s Study) -> Self {
        Self {
            study,
            sections: Vec::new(),
            metre: Metre::FOUR_FOUR,
            into: Ticks::ZERO,
            length: Ticks::ZERO,
            voices: Vec::new(),
        }
    }

    /// Where the music ends so far: a bar, and how far into it.
    fn end(&self) -> Option<(u16, Ticks)> {
        let section = self.sections.last()?;
        let (end, bar) = (self.into.get() + self.length.get(), self.metre.bar().get());
        let bars = u16::try_from(end / bar).ok()?;
        Some((section.at.bar.checked_add(bars)?, Ticks::new(end % bar)))
    }

    /// Takes the music of a chunk, if it goes on where the music ends or begins a later bar.
    fn take(&mut self, text: &ChunkText, chunk: &Prepared) -> bool {
        let begins = (chunk.first_bar, chunk.into_first_bar);
        let is_silent = |line: &VoiceLine| self.filled(&line.name) < self.length;
        // A voice that was silent comes in with a bar of its own, not after rests that nobody would write.
        let comes_in = begins.1 == Ticks::ZERO && text.lines.iter().any(is_silent);
        let goes_on = self.end() == Some(begins) && self.metre == chunk.metre && !comes_in;
        if text.part.is_some() || !goes_on && !self.begin(text, chunk) {
            return false;
        }
        let at = self.length;
        for line in &text.lines {
            // Further lines of a voice stand after its first.
            let filled = self.filled(&line.name);
            if filled < at {
                let Some(rests) = rests(&line.name.value, at.since(filled)) else { return false };
                self.sections.last_mut().into_iter().for_each(|s| s.lines.push(rests.clone()));
            }
            self.fill(&line.name, at.plus(chunk.length));
            self.sections.last_mut().into_iter().for_each(|s| s.lines.push(line.clone()));
        }
        self.length = at.plus(chunk.length);
        true
    }

    /// How far a voice of the section is filled.
    fn filled(&self, name: &str) -> Ticks {
        let voice = self.voices.iter().find(|(known, _)| same_name(known, name));
        voice.map_or(Ticks::ZERO, |(_, filled)| *filled)
    }

    fn fill(&mut self, name: &str, until: Ticks) {
        match self.voices.iter_mut().find(|(known, _)| same_name(known, name)) {
            Some((_, filled)) => *filled = until,
            None => self.voices.push((name.to_owned(), until)),
        }
    }

    /// Begins a section with a chunk: the first anywhere, later ones with a bar that is free.
    fn begin(&mut self, text: &ChunkText, chunk: &Prepared) -> bool {
        if let Some((bar, into)) = self.end() {
            let free = if into == Ticks::ZERO { bar } else { bar.saturating_add(1) };
            if chunk.into_first_bar != Ticks::ZERO || chunk.first_bar < free {
                return false;
            }
        }
        self.fill_up();
        self.end_bar();
        let own = text.settings.metre.or(self.study.settings.metre);
        let own = own.unwrap_or_else(|| MetreText { upper: 4, lower: 4 }.into());
        let is_new = match self.sections.is_empty() {
            true => text.settings.metre.is_some(),
            false => self.metre != chunk.metre,
        };
        self.sections.push(Section {
            at: start(chunk).into(),
            metre: is_new.then_some(own),
            tempo: None,
            lines: Vec::new(),
        });
        (self.metre, self.into) = (chunk.metre, chunk.into_first_bar);
        (self.length, self.voices) = (Ticks::ZERO, Vec::new());
        true
    }

    /// Fills up voices that stop inside a bar while others go on.
    fn fill_up(&mut self) {
        let (bar, into, length) = (self.metre.bar().get(), self.into.get(), self.length);
        let Some(section) = self.sections.last_mut() else { return };
        for (name, filled) in &mut self.voices {
            let inside = !(into + filled.get()).is_multiple_of(bar);
            if inside && *filled < length {
                section.lines.extend(rests(name, length.since(*filled)));
                *filled = length;
            }
        }
    }

    /// Ends the last bar with silence, where what follows begins with another one.
    fn end_bar(&mut self) {
        let bar = self.metre.bar().get();
        let over = (self.into.get() + self.length.get()) % bar;
        let Some(section) = self.sections.last_mut().filter(|_| over > 0) else { return };
        for (name, filled) in &self.voices {
            if *filled == self.length {
                section.lines.extend(rests(name, Ticks::new(bar - over)));
            }
        }
    }

    fn finish(mut self) -> Vec<Section> {
        self.fill_up();
        self.sections
    }
}

/// Silence in a voice; none if no note values last so long.
fn rests(name: &str, length: Ticks) -> Option<VoiceLine> {
    let mut items: Vec<Spanned<Item>> = Vec::new();
    let mut left = length.get();
    while left > 0 {
        let value = NoteValue::ALL.into_iter().find(|value| value.ticks().get() <= left)?;
        left -= value.ticks().get();
        items.push(Item::Step(Step::Value(value)).into());
        items.push(Item::Step(Step::Rest).into());
    }
    Some(VoiceLine { name: name.to_owned().into(), items })
}
