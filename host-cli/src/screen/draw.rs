//! The page in the cells of a terminal, of any size.
//!
//! From top to bottom: what is practised; what is missing, such as sound; the verdict and the
//! tempo, large; the tablature; the sentences; the keys. Where there is too little room the
//! tablature gives way first, since the sentences say where to look, then large letters become
//! small ones.

use super::letters::{HEIGHT, large};
use super::page::{Page, PracticeState};
use crate::wrap::wrap;
use evenhand_core::verdict::Outcome;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier, Style};

/// What the terminal can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TerminalStyle {
    /// Accents: warm for work to do, cool for what is done. Yellow and blue of the terminal's
    /// own palette, which colour-blind readers can tell apart, on light and on dark.
    pub colour: bool,
    /// Characters beyond ASCII.
    pub unicode: bool,
}

impl TerminalStyle {
    /// What the environment says: `NO_COLOR`, `TERM=dumb`, and a locale in UTF-8.
    pub fn of_environment() -> Self {
        let set = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(set).unwrap_or_default();
        let locale = locale.to_uppercase();
        Self {
            colour: set("NO_COLOR").is_none() && set("TERM").as_deref() != Some("dumb"),
            unicode: cfg!(windows) || locale.contains("UTF-8") || locale.contains("UTF8"),
        }
    }

    fn accent(self, standing: PracticeState) -> Style {
        let strong = Style::new().add_modifier(Modifier::BOLD);
        match standing {
            PracticeState::Judged(Outcome::Passed) if self.colour => strong.fg(Color::Blue),
            PracticeState::Judged(Outcome::NeedsWork) if self.colour => strong.fg(Color::Yellow),
            _ => strong,
        }
    }
}

/// Margin on either side, in columns.
const MARGIN: u16 = 1;

/// From this size on letters are twice as large.
const TWICE: (u16, u16) = (160, 44);

/// On a screen of more lines there is a blank one under the heading. Our default.
const ROOMY: u16 = 12;

/// Lines of sentences without which the picture is not shown. Our default: the heaviest finding
/// and the next step.
const FEWEST_SENTENCES: usize = 3;

/// Draws the page.
pub fn draw(page: &Page, look: TerminalStyle, area: Rect, buffer: &mut Buffer) {
    if area.width < 4 || area.height == 0 {
        return;
    }
    let page = &page.visible();
    let inner = Rect { x: area.x + MARGIN, width: area.width - 2 * MARGIN, ..area };
    let width = usize::from(inner.width);
    let mut sheet = Sheet { buffer, area: inner, top: 0, bottom: area.height };

    sheet.last(&page.keys, Style::new().add_modifier(Modifier::DIM));
    if !page.ways.is_empty() {
        for line in wrap(&page.ways, width, "", "").iter().rev() {
            sheet.last(line, Style::new());
        }
    }
    if let Some(notice) = &page.notice {
        // Never so much that nothing else is seen.
        let most = usize::from(area.height / 2).saturating_sub(1).max(1);
        let lines = wrap(notice, width, "", "");
        for line in lines.iter().take(most).rev() {
            sheet.last(line, Style::new().add_modifier(Modifier::REVERSED));
        }
    }
    sheet.heading(page);
    sheet.band(page, look);

    let said: Vec<Vec<String>> =
        page.sentences.iter().map(|sentence| wrap(sentence, width, "", "")).collect();
    let picture = page.tablature.len() + 1;
    let room = usize::from(sheet.left()).saturating_sub(picture);
    let wanted = said.iter().map(Vec::len).sum::<usize>().min(FEWEST_SENTENCES);
    // A part of the picture is worse than none; the heaviest and the next step stand beside it.
    if wanted <= room && usize::from(sheet.left()) >= picture {
        for line in &page.tablature {
            sheet.next(&shown(line, look), mark(line, look));
        }
        sheet.next("", Style::new());
    }
    for line in fitting(&said, usize::from(sheet.left())) {
        sheet.next(line, Style::new());
    }
}

/// The lines of as many sentences as there is room for: the last, which says what comes next, and
/// before it the first ones, which weigh most.
fn fitting(said: &[Vec<String>], room: usize) -> Vec<&String> {
    let Some((next, others)) = said.split_last() else { return Vec::new() };
    let next = next.get(..next.len().min(room)).unwrap_or_default();
    let mut lines: Vec<&String> = Vec::new();
    for sentence in others {
        if lines.len() + sentence.len() + next.len() > room {
            break;
        }
        lines.extend(sentence);
    }
    lines.extend(next);
    lines
}

/// Lines of the picture that carry a mark of something over its limit stand out.
fn mark(line: &str, look: TerminalStyle) -> Style {
    let is_marks = line.trim_start().starts_with("time") || line.trim_start().starts_with("level");
    match (is_marks && line.contains('!'), look.colour) {
        (true, true) => Style::new().fg(Color::Yellow),
        (true, false) => Style::new().add_modifier(Modifier::BOLD),
        _ => Style::new(),
    }
}

/// Strings as lines, where there are characters for it.
fn shown(line: &str, look: TerminalStyle) -> String {
    let is_string = line.contains('|');
    if look.unicode && is_string {
        line.replace('-', "─").replace('|', "│")
    } else {
        line.to_owned()
    }
}

/// Where the next line goes, from above and from below.
struct Sheet<'b> {
    buffer: &'b mut Buffer,
    area: Rect,
    top: u16,
    bottom: u16,
}

impl Sheet<'_> {
    fn left(&self) -> u16 {
        self.bottom.saturating_sub(self.top)
    }

    fn put(&mut self, row: u16, column: usize, text: &str, style: Style) {
        let Ok(column) = u16::try_from(column) else { return };
        if column < self.area.width {
            let room = usize::from(self.area.width - column);
            let (x, y) = (self.area.x + column, self.area.y + row);
            self.buffer.set_stringn(x, y, text, room, style);
        }
    }

    fn next(&mut self, text: &str, style: Style) {
        if self.left() > 0 {
            self.put(self.top, 0, text, style);
            self.top += 1;
        }
    }

    fn last(&mut self, text: &str, style: Style) {
        if self.left() > 0 && !text.is_empty() {
            self.bottom -= 1;
            self.put(self.bottom, 0, text, style);
        }
    }

    /// The study and the piece, and how far it is.
    fn heading(&mut self, page: &Page) {
        if self.left() == 0 {
            return;
        }
        let strong = Style::new().add_modifier(Modifier::BOLD);
        let row = self.top;
        let left = format!("{}   {}", page.study, page.piece);
        let width = usize::from(self.area.width);
        let right = page.progress.chars().count();
        self.next(&left, Style::new());
        let piece_at = page.study.chars().count() + 3;
        self.put(row, piece_at, &page.piece, strong);
        if !page.progress.is_empty() && right + 2 < width {
            // Two cells before it, so that a long name does not run into it.
            self.put(row, width - right - 2, "  ", Style::new());
            self.put(row, width - right, &page.progress, Style::new());
        }
        let roomy = self.area.height > ROOMY;
        // A small screen has no room for it beside what is said of an attempt.
        let judged = matches!(page.standing, PracticeState::Judged(_));
        match page.missing.as_ref().filter(|_| roomy || !judged) {
            // In the place of the blank line, so that nothing gives way to it where it is short.
            Some(missing) => {
                let most = if roomy { usize::from(self.area.height / 4) } else { 1 };
                wrap(missing, width, "", "").iter().take(most).for_each(|line| {
                    self.next(line, Style::new());
                });
            }
            None if roomy => self.next("", Style::new()),
            None => {}
        }
    }

    /// The word and the tempo, large where there is room.
    fn band(&mut self, page: &Page, look: TerminalStyle) {
        let width = usize::from(self.area.width);
        let word = page.standing.word().to_uppercase();
        let tempo = page.tempo.map(|tempo| tempo.to_string()).unwrap_or_default();
        let accent = look.accent(page.standing);
        let strong = Style::new().add_modifier(Modifier::BOLD);
        let scale = if self.area.width >= TWICE.0 && self.area.height >= TWICE.1 { 2 } else { 1 };
        let fits = |scale: usize| {
            let columns = |text: &str| large(text, scale)[0].chars().count();
            columns(&word) + columns(&tempo) + 3 <= width
        };
        let high = usize::from(self.left()) >= HEIGHT * scale + 6;
        if !high || !fits(scale) {
            let small = if tempo.is_empty() {
                word
            } else {
                format!("{word}   {tempo} {} {}", page.unit, page.goal)
            };
            self.next(&small, accent);
            return;
        }
        let cell =
            |line: &str| if look.unicode { line.replace('#', "█") } else { line.to_owned() };
        for (word, tempo) in large(&word, scale).iter().zip(large(&tempo, scale)) {
            let row = self.top;
            self.next(&cell(word), accent);
            self.put(row, width - tempo.chars().count(), &cell(&tempo), strong);
        }
        let row = self.top;
        self.next("", Style::new());
        if !tempo.is_empty() {
            let under = format!("{} {}", page.unit, page.goal);
            let under = under.trim_end();
            self.put(row, width.saturating_sub(under.chars().count()), under, Style::new());
        }
        if self.area.height > 20 {
            self.next("", Style::new());
        }
    }
}
