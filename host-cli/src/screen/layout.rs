//! What of a page has room, and how large.
//!
//! Where everything is, follows from the size of the terminal and from what has to be said, not from the
//! word that stands large at the moment: nothing jumps when a number takes the place of a word.

use super::letters::{COMPACT, HEIGHT, columns, compact_lines, large};
use super::page::{Page, PracticeState};
use crate::wrap::wrap;
use evenhand_core::verdict::Outcome;

/// How large the word and the tempo are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Band {
    /// Cells for points, each so many cells wide and high.
    Large(usize),
    /// Four points to a cell.
    Compact,
    /// Plain letters, in one line.
    Plain,
}

impl Band {
    /// Lines that it takes, with the one under it.
    const fn rows(self) -> usize {
        match self {
            Self::Large(scale) => HEIGHT * scale + 1,
            Self::Compact => COMPACT + 1,
            Self::Plain => 1,
        }
    }

    /// What it costs that letters are smaller.
    const fn cost(self) -> u32 {
        match self {
            Self::Large(_) => 0,
            Self::Compact => 4,
            Self::Plain => 10,
        }
    }
}

/// What a page shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Layout {
    pub(super) band: Band,
    /// Which of the pictures.
    pub(super) picture: Option<usize>,
    /// Whether blank lines part one thing from the other.
    pub(super) blanks: bool,
}

/// What it costs that the picture says less, or that there is none. Our defaults: whoever has marks has
/// no need of a word that is read from four metres.
const PICTURES: [u32; 4] = [0, 2, 5, 9];
const NO_PICTURE: u32 = 20;

/// What it costs that nothing parts one thing from the other.
const NO_BLANKS: u32 = 1;

/// From this size on letters are twice as large.
const TWICE: (usize, usize) = (160, 44);

/// On a screen of more lines there is a blank one under the heading. Our default.
pub(super) const ROOMY: usize = 12;

/// On a screen of more lines there is one under the large word, too. Our default.
pub(super) const AIRY: usize = 20;

/// Lines of sentences without which the picture is not shown. Our default: the heaviest finding
/// and the next step.
const FEWEST_SENTENCES: usize = 3;

/// From this size on sentences are large, too: a screen of 100 columns with its margins. Our default; a
/// line holds some 35 letters then.
const LARGE_SENTENCES: (usize, usize) = (98, 30);

/// How much room there is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Room {
    /// Columns.
    pub(super) width: usize,
    /// Lines of the whole screen.
    pub(super) height: usize,
    /// Lines that keys, notices and what is missing take.
    pub(super) taken: usize,
    /// Whether there are characters beyond ASCII.
    pub(super) unicode: bool,
}

impl Layout {
    /// What has room: the best of all ways to use it.
    pub(super) fn of(page: &Page, room: Room) -> Self {
        let scale = if room.width >= TWICE.0 && room.height >= TWICE.1 { 2 } else { 1 };
        let mut bands = vec![Band::Plain];
        bands.extend(
            (room.unicode && fits(page, Band::Compact, room.width)).then_some(Band::Compact),
        );
        bands
            .extend([1, scale].map(Band::Large).into_iter().filter(|b| fits(page, *b, room.width)));
        let pictures = (0..page.pictures.len()).map(Some).chain([None]);
        let mut best = (u32::MAX, Self { band: Band::Plain, picture: None, blanks: false });
        for picture in pictures {
            for &band in &bands {
                for blanks in [false, true] {
                    let layout = Self { band, picture, blanks };
                    let cost = layout.cost();
                    // Of equally good ones the larger: it comes later.
                    if cost <= best.0 && layout.rows(page, room) <= room.height {
                        best = (cost, layout);
                    }
                }
            }
        }
        best.1
    }

    fn cost(self) -> u32 {
        let picture = self.picture.map_or(NO_PICTURE, |index| {
            PICTURES.get(index).or(PICTURES.last()).copied().unwrap_or_default()
        });
        picture + self.band.cost() + if self.blanks { 0 } else { NO_BLANKS }
    }

    /// Lines that are needed.
    fn rows(self, page: &Page, room: Room) -> usize {
        let blank = usize::from(self.blanks);
        let under_heading = if room.height > ROOMY && page.missing.is_none() { blank } else { 0 };
        let under_band = match self.band {
            Band::Large(_) | Band::Compact if room.height > AIRY => blank,
            _ => 0,
        };
        let picture = self.picture.and_then(|index| page.pictures.get(index));
        let picture = picture.map_or(0, |lines| lines.len() + blank);
        let sentences = match (self.picture, self.band) {
            (Some(_), _) => FEWEST_SENTENCES,
            (None, Band::Plain) => 1,
            // Without a picture all rests on the sentences, so they go before large letters.
            (None, _) => 2 * FEWEST_SENTENCES,
        };
        1 + under_heading + self.band.rows() + under_band + picture + sentences + room.taken
    }
}

/// Whether the widest word that a page says large fits beside the tempo.
fn fits(page: &Page, band: Band, width: usize) -> bool {
    let widest = match page.standing {
        PracticeState::Asked(word) => word,
        _ => Outcome::NeedsWork.word(),
    };
    let tempo = page.tempo.map(|tempo| tempo.to_string()).unwrap_or_default();
    let wide = |text: &str| match band {
        Band::Large(scale) => large(text, scale)[0].chars().count(),
        Band::Compact => columns(text).unwrap_or(usize::MAX / 4),
        Band::Plain => 0,
    };
    wide(widest) + wide(&tempo) + 3 <= width
}

/// What sentences are said large, in lines that fit, and which are left to be said in plain letters.
pub(super) struct Said {
    /// Rows of cells.
    pub(super) large: Vec<String>,
    pub(super) plain: Vec<String>,
}

impl Said {
    /// The sentences of a page in so many lines.
    pub(super) fn of(page: &Page, room: Room, left: usize) -> Self {
        let is_large =
            room.unicode && room.width >= LARGE_SENTENCES.0 && room.height >= LARGE_SENTENCES.1;
        let ways = std::iter::once(&page.sentences).chain(&page.brief).filter(|_| is_large);
        for (index, sentences) in ways.enumerate() {
            // A blank line between them reads more easily, where there is one.
            let Some(large) =
                [1, 0].into_iter().find_map(|gap| rows(sentences, room.width, left, gap))
            else {
                continue;
            };
            // What is said in few words is said in full below them, as far as there is room.
            let plain = if index == 0 { 0 } else { left - large.len() };
            let plain = if plain > FEWEST_SENTENCES { plain } else { 0 };
            return Self { large, plain: plainly(page, room.width, plain) };
        }
        Self { large: Vec::new(), plain: plainly(page, room.width, left) }
    }
}

/// Sentences in large letters, each line with so many blank ones after it. `None` if there is a sentence that
/// cannot be said so, or too little room.
fn rows(sentences: &[String], width: usize, left: usize, gap: usize) -> Option<Vec<String>> {
    let lines = sentences.iter().map(|text| compact_lines(text, width));
    let lines = lines.collect::<Option<Vec<_>>>()?.concat();
    let rows: Vec<String> = lines
        .into_iter()
        .flat_map(|line| line.into_iter().chain(std::iter::repeat_n(String::new(), gap)))
        .collect();
    (!rows.is_empty() && rows.len() <= left).then_some(rows)
}

/// Sentences in plain letters in so many lines: the last, which says what comes next, and before it
/// the first ones, which weigh most. Where something is left out, a mark says so.
fn plainly(page: &Page, width: usize, left: usize) -> Vec<String> {
    if left == 0 {
        return Vec::new();
    }
    let said: Vec<Vec<String>> =
        page.sentences.iter().map(|sentence| wrap(sentence, width, "", "")).collect();
    let Some((next, others)) = said.split_last() else { return Vec::new() };
    let mut lines: Vec<String> = Vec::new();
    let mut is_cut = false;
    for sentence in others {
        if lines.len() + sentence.len() + next.len() > left {
            is_cut = true;
            break;
        }
        lines.extend_from_slice(sentence);
    }
    if is_cut {
        match lines.last_mut() {
            Some(line) => more(line, width),
            // Not even the heaviest has room as a whole: as much of it as there is.
            None => {
                let room = left.saturating_sub(next.len());
                lines.extend(others.iter().flatten().take(room).cloned());
                lines.last_mut().into_iter().for_each(|line| more(line, width));
            }
        }
    }
    let room = left.saturating_sub(lines.len());
    lines.extend(next.iter().take(room).cloned());
    if next.len() > room {
        lines.last_mut().into_iter().for_each(|line| more(line, width));
    }
    lines
}

/// Marks a line after which something was left out. Words stay whole where there are several.
pub(super) fn more(line: &mut String, width: usize) {
    // Three points where there is no character for them.
    const MARK: usize = 4;
    while line.chars().count() + MARK > width {
        match line.trim_end().rfind(' ') {
            Some(space) => line.truncate(space),
            None if line.pop().is_none() => break,
            None => {}
        }
    }
    line.push_str(" \u{2026}");
}
