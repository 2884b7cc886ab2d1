//! The page in the cells of a terminal, of any size.
//!
//! From top to bottom: what is practised; what is missing, such as sound; where practice stands and the
//! tempo, large, and under them that it hears; the tablature; the sentences; the keys. What gives way
//! where there is too little room, `layout` says.

use super::layout::{AIRY, Band, Layout, ROOMY, Room, Said, more};
use super::letters::{compact, large};
use super::page::{Page, PracticeState, SeenBeat};
use crate::wrap::wrap;
use evenhand_core::verdict::Outcome;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier, Style};
use ratatui::text::Line;

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

/// Between one thing and the next in a line.
const GAP: &str = "   ";

/// Lines that keys may take where there is room. Our default.
const KEY_LINES: usize = 2;

/// Draws the page.
pub fn draw(page: &Page, look: TerminalStyle, area: Rect, buffer: &mut Buffer) {
    if area.width < 4 || area.height == 0 {
        return;
    }
    let page = &page.visible();
    let inner = Rect { x: area.x + MARGIN, width: area.width - 2 * MARGIN, ..area };
    let (width, height) = (usize::from(inner.width), usize::from(inner.height));
    let mut sheet = Sheet { buffer, area: inner, top: 0, bottom: area.height, look };
    let keys = keys(&page.keys, width, if height > AIRY { KEY_LINES } else { 1 });
    let notice = notice(page, width, height);
    let missing = missing(page, width, height);
    let ways = ways(page, width, height);
    let taken = keys.len() + ways.len() + notice.len() + missing.len();
    let room = Room { width, height, taken, unicode: look.unicode };
    let layout = Layout::of(page, room);

    let dim = Style::new().add_modifier(Modifier::DIM);
    keys.iter().rev().for_each(|line| sheet.last(line, dim));
    ways.iter().rev().for_each(|line| sheet.last(line, Style::new()));
    let reversed = Style::new().add_modifier(Modifier::REVERSED);
    notice.iter().rev().for_each(|line| sheet.last(line, reversed));
    sheet.heading(page);
    missing.iter().for_each(|line| sheet.next(line, Style::new()));
    if missing.is_empty() && layout.blanks && height > ROOMY {
        sheet.next("", Style::new());
    }
    sheet.band(page, layout.band);
    if layout.blanks && height > AIRY && layout.band != Band::Plain {
        sheet.next("", Style::new());
    }
    if let Some(picture) = layout.picture.and_then(|index| page.pictures.get(index)) {
        for line in picture {
            sheet.next(&shown(line, look), mark(line, look));
        }
        if layout.blanks {
            sheet.next("", Style::new());
        }
    }
    let said = Said::of(page, room, usize::from(sheet.left()));
    let strong = Style::new().add_modifier(Modifier::BOLD);
    said.large.iter().for_each(|line| sheet.next(line, strong));
    said.plain.iter().for_each(|line| sheet.next(line, Style::new()));
}

/// What the keys do, in at most so many lines; whole ones, and a mark where some are left out.
fn keys(keys: &str, width: usize, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for key in keys.split(GAP).filter(|key| !key.is_empty()) {
        let fits = |line: &String| line.chars().count() + GAP.len() + key.chars().count() <= width;
        match lines.last_mut() {
            Some(line) if fits(line) => *line = format!("{line}{GAP}{key}"),
            _ => lines.push(key.to_owned()),
        }
    }
    if lines.len() > most {
        lines.truncate(most);
        let last = lines.pop().unwrap_or_default();
        let mut left: Vec<&str> = last.split(GAP).collect();
        while left.len() > 1 && left.join(GAP).chars().count() + 4 > width {
            left.pop();
        }
        lines.push(format!("{} …", left.join(GAP)));
    }
    lines
}

/// Something about the machine; never so much that nothing else is seen.
fn notice(page: &Page, width: usize, height: usize) -> Vec<String> {
    let most = (height / 2).saturating_sub(1).max(1);
    page.notice.as_ref().map_or(Vec::new(), |notice| cut(wrap(notice, width, "", ""), most, width))
}

/// What can be chosen, and how; a third of a screen at most.
fn ways(page: &Page, width: usize, height: usize) -> Vec<String> {
    if page.ways.is_empty() {
        return Vec::new();
    }
    cut(wrap(&page.ways, width, "", ""), (height / 3).max(1), width)
}

/// What is missing all the time. A small screen has no room for it beside what is said of an attempt.
fn missing(page: &Page, width: usize, height: usize) -> Vec<String> {
    let judged = matches!(page.standing, PracticeState::Judged(_));
    let roomy = height > ROOMY;
    let Some(missing) = page.missing.as_ref().filter(|_| roomy || !judged) else {
        return Vec::new();
    };
    cut(wrap(missing, width, "", ""), if roomy { height / 4 } else { 1 }, width)
}

/// The first lines, with a mark where some are left out.
fn cut(mut lines: Vec<String>, most: usize, width: usize) -> Vec<String> {
    if lines.len() > most {
        lines.truncate(most);
        lines.last_mut().into_iter().for_each(|line| more(line, width));
    }
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

/// The beats of a bar, the one that is heard now by its number.
fn beats(beat: SeenBeat, look: TerminalStyle) -> String {
    let other = if look.unicode { "·" } else { "." };
    let shown = |number: u8| {
        if number == beat.in_bar { number.to_string() } else { other.to_owned() }
    };
    (1..=beat.of).map(shown).collect::<Vec<_>>().join(" ")
}

/// Where the next line goes, from above and from below.
struct Sheet<'b> {
    buffer: &'b mut Buffer,
    area: Rect,
    top: u16,
    bottom: u16,
    look: TerminalStyle,
}

impl Sheet<'_> {
    fn left(&self) -> u16 {
        self.bottom.saturating_sub(self.top)
    }

    /// Puts a text there. What has no room is cut with a mark.
    fn put(&mut self, row: u16, column: usize, text: &str, style: Style) {
        let end = usize::from(self.area.width);
        self.put_until(row, column, end, text, style);
    }

    /// The same up to a column.
    fn put_until(&mut self, row: u16, column: usize, end: usize, text: &str, style: Style) {
        let Ok(from) = u16::try_from(column) else { return };
        let room = end.saturating_sub(column);
        if room == 0 {
            return;
        }
        let text = if self.look.unicode { text.to_owned() } else { text.replace('…', "...") };
        let (x, y) = (self.area.x + from, self.area.y + row);
        self.buffer.set_stringn(x, y, &text, room, style);
        let mark = if self.look.unicode { "…" } else { "..." };
        let wide = mark.chars().count();
        if Line::raw(text).width() > room && room >= wide {
            let at = self.area.x + from + u16::try_from(room - wide).unwrap_or(0);
            self.buffer.set_stringn(at, y, mark, wide, style);
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
        let width = usize::from(self.area.width);
        let progress = page.progress.chars().count();
        let has_progress = progress > 0 && progress + 2 < width;
        // Two cells before it, so that a long name does not run into it.
        let end = if has_progress { width - progress - 2 } else { width };
        let row = self.top;
        self.next("", Style::new());
        // The piece is what changes: the study's name gives way to it.
        let piece = page.piece.chars().count();
        let study = page.study.chars().count();
        let most = end.saturating_sub(piece + GAP.len()).clamp(study.min(8), study.max(8));
        let study = study.min(most);
        self.put_until(row, 0, study, &page.study, Style::new());
        let strong = Style::new().add_modifier(Modifier::BOLD);
        if !page.piece.is_empty() {
            self.put_until(row, study + GAP.len(), end, &page.piece, strong);
        }
        if has_progress {
            self.put(row, width - progress, &page.progress, Style::new());
        }
    }

    /// The word and the tempo, and under them that it hears.
    fn band(&mut self, page: &Page, band: Band) {
        let width = usize::from(self.area.width);
        let word = page.standing.word().to_uppercase();
        let tempo = page.tempo.map(|tempo| tempo.to_string()).unwrap_or_default();
        let accent = self.look.accent(page.standing);
        let strong = Style::new().add_modifier(Modifier::BOLD);
        let unit = format!("{} {}", page.unit, page.goal);
        let unit = if tempo.is_empty() { "" } else { unit.trim_end() };
        let lines = |text: &str| match band {
            Band::Large(scale) => large(text, scale),
            Band::Compact => compact(text).map(Vec::from).unwrap_or_default(),
            Band::Plain => Vec::new(),
        };
        if band == Band::Plain {
            // That it hears, and the beat, go before the goal.
            let beat =
                page.beat.map_or(0, |beat| GAP.len() + beats(beat, self.look).chars().count());
            let status = GAP.len() + page.hears.chars().count() + beat;
            let with = |unit: &str| match tempo.is_empty() {
                true => word.clone(),
                false => format!("{word}{GAP}{tempo} {unit}"),
            };
            let line = with(unit);
            let has_room = line.chars().count() + status <= width;
            let line = if has_room { line } else { with(page.unit) };
            let row = self.top;
            self.next(&line, accent);
            self.status(page, row, line.chars().count() + GAP.len(), width);
            return;
        }
        let is_solid = self.look.unicode;
        let cell = |line: &str| if is_solid { line.replace('#', "█") } else { line.to_owned() };
        let (words, tempi) = (lines(&word), lines(&tempo));
        for index in 0..words.len().max(tempi.len()) {
            let row = self.top;
            self.next(&words.get(index).map(|line| cell(line)).unwrap_or_default(), accent);
            if let Some(tempo) = tempi.get(index) {
                self.put(row, width.saturating_sub(tempo.chars().count()), &cell(tempo), strong);
            }
        }
        let row = self.top;
        self.next("", Style::new());
        let unit_at = width.saturating_sub(unit.chars().count());
        self.put(row, unit_at, unit, Style::new());
        self.status(page, row, 0, unit_at.saturating_sub(GAP.len() - 1));
    }

    /// That it hears, the beat of a click that is only seen, and the last verdict where it does not
    /// stand large: as much of it as there is room for, from one column to another.
    fn status(&mut self, page: &Page, row: u16, from: usize, to: usize) {
        let beat = page.beat.map(|beat| beats(beat, self.look)).unwrap_or_default();
        let mut at = from;
        for part in [&page.hears, &beat, &page.last] {
            let wide = part.chars().count();
            if wide > 0 && at + wide <= to {
                self.put(row, at, part, Style::new());
                at += wide + GAP.len();
            }
        }
    }
}
