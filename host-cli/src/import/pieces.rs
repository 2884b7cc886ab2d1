//! Chunks: two bars each, with their landing.

use super::bars::StudyBar;
use super::tell;
use super::tones::Tone;
use crate::score::Remarks;
use crate::study::{ChunkText, Part, PartEnd, Settings, Start};
use evenhand_core::limits::{CHUNK_QUARTERS, CHUNKS, EXPECTED_NOTES, NOTES_TOGETHER};
use evenhand_core::units::Ticks;
use std::ops::Range;

/// How many bars a chunk has at first (common practice: half a bar to two are practised at a time).
const BARS: usize = 2;

/// Bars that are a chunk.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    bars: Range<usize>,
    /// When it begins.
    pub(super) start: Ticks,
}

impl Piece {
    pub(super) fn chunk(&self, played: &[StudyBar]) -> ChunkText {
        let number = |index: usize| played.get(index).map_or(1, |bar| bar.number);
        let (first, last) = (number(self.bars.start), number(self.bars.end.saturating_sub(1)));
        let name = match first == last {
            true => format!("Bar {first}"),
            false => format!("Bars {first} to {last}"),
        };
        let from = Start { bar: first, beat: None, plus: None };
        ChunkText {
            name: name.into(),
            at: None,
            part: Some(Part { from, to: PartEnd::Bar(last), voices: Vec::new() }.into()),
            settings: Settings::default(),
            lines: Vec::new(),
            landing: None,
            alternatives: Vec::new(),
        }
    }
}

/// Cuts the music into pieces that the judge takes. Silence is in none.
pub(super) fn pieces(
    played: &[StudyBar],
    tones: &[Tone],
    whole: bool,
    remarks: &mut Remarks,
) -> Vec<Piece> {
    let same = played.iter().all(|bar| played.first().is_some_and(|one| one.metre == bar.metre));
    let mut bars = if whole && same && fits(played, tones) { played.len() } else { BARS };
    loop {
        let mut told = remarks.clone();
        let pieces = cut(played, tones, bars, &mut told);
        // More bars in a piece are fewer pieces.
        if pieces.len() <= CHUNKS || bars >= played.len() {
            *remarks = told;
            return pieces;
        }
        bars += 1;
    }
}

fn cut(played: &[StudyBar], tones: &[Tone], many: usize, remarks: &mut Remarks) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut from = 0;
    while let Some(first) = played.get(from) {
        // A pickup is no bar of its own.
        let is_pickup = from == 0 && first.length < first.full();
        let most = if is_pickup { many + 1 } else { many };
        let same = |bar: &&StudyBar| bar.metre == first.metre;
        let mut to = from + played[from..].iter().take(most).take_while(same).count();
        while to > from + 1 && !fits(&played[from..to], tones) {
            to -= 1;
        }
        let start = first.start;
        match notes(&played[from..to], tones) {
            0 => {}
            _ if fits(&played[from..to], tones) => pieces.push(Piece { bars: from..to, start }),
            _ => {
                let (written, _) = first.written.first().copied().unwrap_or_default();
                tell(remarks, "more notes than a chunk holds (they are in no chunk)", written);
            }
        }
        from = to.max(from + 1);
    }
    pieces
}

/// The notes that begin in these bars.
fn notes(bars: &[StudyBar], tones: &[Tone]) -> usize {
    let (Some(first), Some(last)) = (bars.first(), bars.last()) else { return 0 };
    let from = tones.partition_point(|tone| tone.onset < first.start);
    tones.partition_point(|tone| tone.onset < last.end()) - from
}

/// Whether the judge takes them, with what they land on.
fn fits(bars: &[StudyBar], tones: &[Tone]) -> bool {
    let length: u32 = bars.iter().map(|bar| bar.length.get()).sum();
    let most = (CHUNK_QUARTERS - 64) * Ticks::PER_QUARTER;
    notes(bars, tones) <= EXPECTED_NOTES - NOTES_TOGETHER && length <= most
}
