//! The whole music of a study, note by note and bar by bar, for whoever writes it in another form.

use super::{Hands, Music};
use crate::study::Fingering;
use crate::study::model::{MetreText, Start, Study};
use crate::study::prepare::guitar::Guitar;
use crate::study::prepare::settings::Effective;
use crate::study::problem::Problem;
use crate::study::report::Report;
use evenhand_core::study::ExpectedNote;
use evenhand_core::units::{Tempo, Ticks};

/// The music of a study.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Its notes, in order of time.
    pub notes: Vec<ExpectedNote>,
    /// How they are fingered, parallel to them.
    pub hand: Vec<Fingering>,
    /// The names of its voices.
    pub voices: Vec<String>,
    /// Its bars.
    pub bars: Vec<PieceBar>,
}

/// A bar of a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PieceBar {
    /// Its number.
    pub number: u16,
    /// When it begins.
    pub at: Ticks,
    /// How long it is; a pickup is shorter than its metre.
    pub length: Ticks,
    /// Its metre.
    pub metre: MetreText,
    /// The tempo to reach in it.
    pub tempo: Tempo,
}

impl Study {
    /// The music that is written once in it, every figure and every repetition written out; no bars where there is none.
    ///
    /// # Errors
    /// The problems of a study that is not right.
    pub fn piece(&self) -> Result<Piece, Vec<Problem>> {
        self.prepare()?;
        let mut report = Report::new(self.source.text());
        let guitar = Guitar::of(self);
        let hands = Hands { guitar: &guitar, figures: &self.figures };
        let whole = Effective::of_study(&self.settings, &mut report);
        let music = Music::of(&self.music, whole.metre, hands, &mut report);
        let usual = self.settings.metre.map_or(MetreText { upper: 4, lower: 4 }, |own| own.value);
        let mut bars = Vec::new();
        let numbers = music.bars.first()..=music.bars.last_bar(music.length);
        for number in numbers.filter(|_| music.length > Ticks::ZERO) {
            let start = Start { bar: number, beat: None, plus: None };
            // A pickup bar begins where the music does.
            let at = music.bars.at(&start).unwrap_or(Ticks::ZERO);
            let Some(stretch) = music.bars.stretch(number) else { continue };
            let Some(end) = music.bars.end(number) else { continue };
            let mut settings = self.settings.clone();
            settings.metre = stretch.metre_text.or(settings.metre);
            settings.tempo = stretch.tempo_text.or(settings.tempo);
            // What the metre changes leaves the tempo's speed.
            let named = stretch.tempo_text.is_some() || stretch.metre_text.is_none();
            let tempo = match named {
                true => Effective::of_study(&settings, &mut report).tempo,
                false => whole.tempo,
            };
            let metre = stretch.metre_text.map_or(usual, |own| own.value);
            bars.push(PieceBar { number, at, length: end.since(at), metre, tempo });
        }
        let problems = report.finish();
        if !problems.is_empty() {
            return Err(problems);
        }
        Ok(Piece {
            notes: music.notes.iter().map(|sounding| sounding.note).collect(),
            hand: music.notes.iter().map(|sounding| sounding.hand).collect(),
            voices: music.voices,
            bars,
        })
    }
}
