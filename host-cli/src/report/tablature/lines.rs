//! A picture in lines of a width: as many systems as it needs, one below the other.

use super::{Column, Extent, LABEL, Picture, StyledLine};

/// What stands in a column of some row.
type Text<'a> = &'a dyn Fn(&Column) -> &str;

/// A column, as wide as it is drawn.
struct Drawn<'p> {
    column: &'p Column,
    width: usize,
}

/// The lines of a picture.
pub(super) fn systems(picture: &Picture, extent: Extent, width: usize) -> Vec<StyledLine> {
    let rows = Rows::of(picture, extent);
    let columns = widths(picture, &rows, width.saturating_sub(LABEL + 2));
    let mut lines = Vec::new();
    let mut rest = columns.as_slice();
    while !rest.is_empty() {
        let mut taken = 0;
        let mut used = LABEL + 2;
        for (index, drawn) in rest.iter().enumerate() {
            let barline = if index > 0 && starts_bar(&rest[index - 1], drawn) { 2 } else { 0 };
            if used + drawn.width + barline > width && index > 0 {
                break;
            }
            used += drawn.width + barline;
            taken = index + 1;
        }
        let (system, after) = rest.split_at(taken);
        lines.extend(rows.draw(system, after.is_empty()));
        if !after.is_empty() && extent.numbers {
            lines.push(StyledLine::default());
        }
        rest = after;
    }
    lines
}

/// Makes all columns equally wide, if the chunk fits one line that way: a page is read more
/// easily when time goes on evenly. Where notes are long and short in turn, each is as wide as it lasts.
/// Otherwise each is as wide as it must be.
fn widths<'p>(picture: &'p Picture, rows: &Rows<'_>, room: usize) -> Vec<Drawn<'p>> {
    let drawn = |column| Drawn { column, width: rows.own_width(column) };
    let mut columns: Vec<Drawn<'p>> = picture.columns.iter().map(drawn).collect();
    let barlines = columns.windows(2).filter(|pair| starts_bar(&pair[0], &pair[1])).count();
    let widest = columns.iter().map(|drawn| drawn.width).max().unwrap_or(0);
    let shortest = picture.columns.iter().map(|column| column.lasts).min().unwrap_or(1).max(1);
    let share = |column: &Column| match picture.is_bent && !column.landing {
        true => (column.lasts / shortest).clamp(1, LONGEST) as usize,
        false => 1,
    };
    for even in (2..=widest.max(4)).rev() {
        let wide = |drawn: &Drawn<'_>| drawn.width.max(even * share(drawn.column));
        let all: usize = columns.iter().map(wide).sum();
        if all + barlines * 2 < room {
            columns.iter_mut().for_each(|drawn| drawn.width = wide(drawn));
            break;
        }
    }
    columns
}

/// A note is not drawn wider than so many of the shortest. Our default: twice the longest of a pair.
const LONGEST: u32 = 6;

fn starts_bar(before: &Drawn<'_>, drawn: &Drawn<'_>) -> bool {
    let (before, column) = (before.column, drawn.column);
    before.bar != column.bar || (column.landing && !before.landing)
}

/// The rows of a picture that are drawn.
struct Rows<'p> {
    strings: Vec<(usize, &'p str)>,
    under: Vec<(usize, &'p str)>,
    numbers: bool,
}

impl<'p> Rows<'p> {
    fn of(picture: &'p Picture, extent: Extent) -> Self {
        let strings = picture.strings.iter().map(String::as_str).enumerate();
        let in_use = |row: &usize| picture.columns.iter().any(|c| !c.rows[*row].is_empty());
        let rows = 0..picture.strings.len();
        let first = rows.clone().find(in_use).unwrap_or(0);
        let last = rows.clone().rev().find(in_use).unwrap_or(rows.end);
        let shown = |row: usize| extent.all_strings || (first..=last).contains(&row);
        let under = picture.labels.iter().map(String::as_str).enumerate();
        let is_kept = |label: &str| match label {
            "left" | "right" => extent.hands,
            // How wide a note is says how long it lasts.
            "length" => extent.numbers,
            _ => true,
        };
        Self {
            strings: strings.filter(|(row, _)| shown(*row)).collect(),
            under: under.filter(|(_, label)| is_kept(label)).collect(),
            numbers: extent.numbers,
        }
    }

    fn own_width(&self, column: &Column) -> usize {
        let long = |text: &str| text.chars().count();
        let strings = self.strings.iter().map(|(row, _)| long(&column.rows[*row]));
        let under = self.under.iter().map(|(row, _)| {
            // A sign over its limit may touch what follows.
            let signs = column.under[*row].sign.trim_end_matches('!');
            long(if self.numbers { &column.under[*row].text } else { signs })
        });
        strings.chain(under).chain([long(&column.beat)]).max().unwrap_or(0) + 1
    }

    fn draw(&self, system: &[Drawn<'_>], is_last: bool) -> Vec<StyledLine> {
        let row = |label: &str, fill: char, text: Text<'_>, bars: bool| {
            let mut line = format!("{label:>LABEL$} ");
            line.push(if bars { '|' } else { ' ' });
            for (index, drawn) in system.iter().enumerate() {
                if index > 0 && starts_bar(&system[index - 1], drawn) {
                    line.push(if bars { '|' } else { ' ' });
                    line.push(fill);
                }
                let text = text(drawn.column);
                let pad = drawn.width.saturating_sub(text.chars().count());
                line.push_str(text);
                line.extend(std::iter::repeat_n(fill, pad));
            }
            if bars && is_last {
                line.push('|');
            }
            line.trim_end().to_owned()
        };
        let mut lines = vec![StyledLine::faint(row("beat", ' ', &|c| &c.beat, false))];
        for (index, label) in &self.strings {
            lines.push(row(label, '-', &|c| &c.rows[*index], true).into());
        }
        let warn = |line: String| {
            line.split_inclusive(' ').fold(StyledLine::default(), |line, word| {
                line.and(if word.contains('!') { StyledLine::warm(word) } else { word.into() })
            })
        };
        for (index, label) in &self.under {
            let cell = |c: &Column| !c.under[*index].text.is_empty();
            if system.iter().any(|drawn| cell(drawn.column)) {
                let text: Text<'_> = match self.numbers {
                    true => &|c| &c.under[*index].text,
                    false => &|c| &c.under[*index].sign,
                };
                lines.push(warn(row(label, ' ', text, false)));
            }
        }
        for trill in system.iter().flat_map(|drawn| &drawn.column.trills) {
            lines.push(format!("{:>LABEL$}  {trill}", "trill").into());
        }
        lines
    }
}
