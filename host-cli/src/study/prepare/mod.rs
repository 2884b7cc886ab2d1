//! [`Study`] to chunks that can be judged: what needs knowledge of music and of the guitar.

mod alternative;
mod bars;
mod body;
mod guitar;
mod landing;
mod music;
mod note;
mod playable;
mod settings;
mod slur;
mod walk;

pub use guitar::FRETS;
pub use playable::{Alternative, Fingering, Prepared, Slur};

use super::model::{ChunkText, Landing, Part, Study};
use super::parse::MOST_CHUNKS;
use super::problem::{Problem, quote};
use super::report::Report;
use super::span::{Span, Spanned};
use alternative::Setting;
use bars::BarPosition;
use body::Body;
pub(super) use body::same_name;
use evenhand_core::limits;
use evenhand_core::study::{Chunk, Marks};
use evenhand_core::units::GuitarString;
pub(super) use guitar::Guitar;
use music::{Cut, Music};
pub use music::{Piece, PieceBar};
use playable::Sounding;
use settings::Effective;
use walk::Hands;

/// The most voices in a chunk, our default: as many as a guitar has strings.
pub const VOICES: usize = 6;

/// The most strings that a tuning has.
pub(super) const STRINGS: u8 = GuitarString::MOST;

/// A chunk of which the music is known, but not yet what comes after it.
struct Draft<'s> {
    text: &'s ChunkText,
    settings: Effective,
    start: BarPosition,
    body: Body,
    /// What follows it in the music that it is a part of.
    follows: Option<Vec<Sounding>>,
}

impl Study {
    /// Makes the chunks ready to be played and judged.
    ///
    /// # Errors
    ///
    /// All problems, in the order of the text, up to
    /// [`MOST_PROBLEMS`](super::MOST_PROBLEMS).
    pub fn prepare(&self) -> Result<Vec<Prepared>, Vec<Problem>> {
        let mut report = Report::new(self.source.text());
        let guitar = Guitar::of(self);
        let hands = Hands { guitar: &guitar, figures: &self.figures };
        let drafts = self.drafts(hands, &mut report);
        let mut prepared = Vec::with_capacity(drafts.len());
        for (index, draft) in drafts.iter().enumerate() {
            let next = drafts.get(index + 1).map(|d| &d.body);
            prepared.extend(finish(draft, next, (hands, self.plectrum.is_some()), &mut report));
        }
        let problems = report.finish();
        if problems.is_empty() { Ok(prepared) } else { Err(problems) }
    }

    fn drafts(&self, hands: Hands<'_>, report: &mut Report<'_>) -> Vec<Draft<'_>> {
        let whole = Effective::of_study(&self.settings, report);
        let music = Music::of(&self.music, whole.metre, hands, report);
        if self.chunks.is_empty() {
            let top = Span {
                line: self.source.text().lines().count().min(1) as u32,
                column: 1,
                width: 1,
            };
            report.add(top, "a study without a chunk", "a line such as chunk \"The climb\"");
        }
        if let Some(over) = self.chunks.get(MOST_CHUNKS) {
            let found = format!("more than {MOST_CHUNKS} chunks");
            report.add(over.name.span, found, "a second study for the rest");
        }
        let mut follows = BarPosition::FIRST;
        let mut drafts: Vec<Draft<'_>> = Vec::new();
        for text in self.chunks.iter().take(MOST_CHUNKS) {
            if drafts.iter().any(|d| d.text.name == text.name) {
                report.add(
                    text.name.span,
                    format!("a second {}", quote(&text.name)),
                    "another name",
                );
            }
            if let Some(part) = &text.part {
                drafts.extend(self.part_of(&music, part, text, &whole, report));
                continue;
            }
            let settings = whole.of_chunk(&self.settings, &text.settings, report);
            let metre = settings.metre;
            let start = bars::place(text.at.as_ref(), follows, metre, text.name.span, report);
            let body = body::body(&text.lines, text.name.span, hands, metre, start, report);
            follows = start.after(body.length, metre);
            drafts.push(Draft { text, settings, start, body, follows: None });
        }
        drafts
    }

    /// A chunk that is a part of the music: metre and tempo are those of the place, if it has no tempo of its own.
    fn part_of<'s>(
        &'s self,
        music: &Music,
        part: &Spanned<Part>,
        text: &'s ChunkText,
        whole: &Effective,
        report: &mut Report<'_>,
    ) -> Option<Draft<'s>> {
        if let Some(metre) = &text.settings.metre {
            report.add(metre.span, "a metre in a part of the music", "this line in the music");
        }
        let cut = music.part(part, report)?;
        let mut own = text.settings.clone();
        own.metre = cut.metre.or(self.settings.metre);
        own.tempo = own.tempo.or(cut.tempo);
        let settings = whole.of_chunk(&self.settings, &own, report);
        let Cut { start, body, follows, .. } = cut;
        Some(Draft { text, settings, start, body, follows: Some(follows) })
    }
}

/// Adds landing and alternatives, and checks the whole against the judge's capacities.
fn finish(
    draft: &Draft<'_>,
    next: Option<&Body>,
    (hands, plectrum): (Hands<'_>, bool),
    report: &mut Report<'_>,
) -> Option<Prepared> {
    let Draft { text, settings, start, body, follows } = draft;
    let guitar = hands.guitar;
    let landing = match (follows, text.landing.as_deref()) {
        (Some(follows), None | Some(Landing::Next)) => follows.clone(),
        _ => landing::landing(text.landing.as_ref(), body.length, next, guitar, report),
    };
    let setting = Setting { hands, metre: settings.metre, start: *start };
    let mut alternatives: Vec<Alternative> = Vec::new();
    let mut names: Vec<&Spanned<String>> = Vec::new();
    for other in &text.alternatives {
        if names.contains(&&other.name) {
            let found = format!("a second {}", quote(&other.name));
            report.add(other.name.span, found, "another name");
        }
        names.push(&other.name);
        alternatives.extend(alternative::alternative(other, body, &landing, setting, report));
    }
    let all: Vec<&Sounding> = body.notes.iter().chain(&landing).collect();
    if all.len() > limits::EXPECTED_NOTES {
        let found = format!("{} notes in {}", all.len(), quote(&text.name));
        let right = format!("at most {} with the landing, so two chunks,", limits::EXPECTED_NOTES);
        report.add(text.name.span, found, right);
        return None;
    }
    let mut notes: Vec<_> = all.iter().map(|s| s.note).collect();
    if plectrum {
        for chord in notes.chunk_by_mut(|a, b| a.onset == b.onset).filter(|chord| chord.len() > 1) {
            chord.iter_mut().for_each(|note| note.marks = note.marks.with(Marks::SWEPT));
        }
    }
    // Nothing that passed so far is refused here, unless other problems were told before.
    if let Err(error) = Chunk::new(&notes, settings.tempo) {
        if report.count() == 0 {
            let found = format!("{} that cannot be judged ({error})", quote(&text.name));
            report.add(text.name.span, found, "a shorter chunk");
        }
        return None;
    }
    Some(Prepared {
        name: text.name.value.clone(),
        notes,
        hand: all.iter().map(|s| s.hand).collect(),
        tempo: settings.tempo,
        metre: settings.metre,
        first_bar: start.bar,
        into_first_bar: start.into,
        tolerances: settings.tolerances,
        alternatives,
        length: body.length,
        voices: body.voices.clone(),
    })
}
