//! The tables of error rates, as text.

use std::fmt::Write;

use evenhand_core::tolerance::PracticeLevel;

use super::goal::{Goal, Reached};
use super::piece::Group;
use super::rows::Row;
use super::tally::{Tally, share};
use super::trouble::Trouble;
use crate::paths::Lateness;

/// What stands above the first table.
pub const HEAD: &str = "\
How often the judge is wrong. Each player of a cell plays three times, with the same trouble, and is
heard as `listen --chunk` hears: attempts are cut out of the stream, and nothing is known of the
pickup. In per cent of the players: the first attempt passed, needs work, is unclear; the third
passed, taken together with those before it; the right reason told after three attempts at most, and
told first. In per cent of what was found fault with: what was not played.

Size: the trouble in multiples of the tolerance of the level. 4,000 players at the sizes that
something is asked of (half of it, twice), 500 at the others. A player without trouble scatters by
6 ms at the hands and 0.9 dB in loudness. 8 notes: in eighths and in sixteenths at 72 beats a
minute; 16 and 32: in sixteenths. Study: chunks of the bundled study that have a place for the
trouble. A chord of three stands on every fourth event for spread chords. Never late: a pickup
that sends notes at once. Late: 4 ms and two periods of each note late, which nobody has told the judge.

Clean playing: what counts is the first attempt from eight timed events on (performance: sixteen),
and below that the third with those before it.

What is asked of the cells, and where it is not given, stands in goals-not-met.txt.
";

/// What stands above the second.
pub const HEAD_OF_MORE: &str = "\
How often the judge is wrong about what only some music has a place for. Players, columns and
shares are those of error-rates.txt; the plain lines carry what a trouble needs: a held bass, staccato
notes, accents, a landing on a chord of three, a trill of 8 notes a second under all of it.

Size: the trouble in multiples of the tolerance, as it is measured.
  Held notes, trills that stop early, accents: what the limit lets them lack, times the size; lacking is
  counted from the whole length, and from the 5 dB of the player's own accents. A trill stops with
  the nearest whole note.
  Staccato: the limit, times the size; the whole length at most, where the next note ends it.
  Landing too soon: only where it still comes after the note before it, by a quarter of the gap.
  Stretch: six events about the middle, at most half of the piece. It pulls at the pace of the
  whole, against which it is measured, and is played as much further off.
  Other strings: the nearest whole number of notes, on the next string, where that is free.
A dash stands where no piece has a place for it, or it cannot be so large. Weak accents are not asked for
at first, other strings not in performance.
";

/// What stands above the list of goals that are not met.
pub const HEAD_OF_GOALS: &str = "\
What is asked of the cells of error-rates.txt and error-rates-more.txt, and where it is not given.
  Clean playing passes in 97 % at least, and is unclear in 3 % at most.
  Half of the tolerance needs work in 1 % at most, alone and with the attempts before it.
  Twice the tolerance passes in 1 % at most; after three attempts at most the right reason is told
  in 99 % at least, and first in 90 %; 2 % at most of the findings name a fault that was not played.
The bound is what the best test could give: the most powerful invariant one, with the place and the
direction unknown, that calls half of the tolerance needs work in 1 %; of three attempts with their
notes together. It knows the player's noise, and of a late pickup that it is late by none to two
periods. See tests/src/lab/best.rs.
";

const COLUMNS: &str = " pass work uncl. | 3rd  told first oth.";

/// The rows as text, with what stands above them.
pub fn text(head: &str, rows: &[Row]) -> String {
    let mut text = String::from(head);
    let mut section = None;
    for row in rows {
        if section != Some((row.trouble, row.level, row.lateness)) {
            section = Some((row.trouble, row.level, row.lateness));
            let _ = write!(text, "\n{}\n  size", title(row));
            for group in Group::ALL {
                let _ = write!(text, " | {:^39}", group.head());
            }
            let _ = write!(text, "\n      ");
            for _ in Group::ALL {
                let _ = write!(text, " |{COLUMNS:>40}");
            }
            text.push('\n');
        }
        let _ = write!(text, "{:>6}", size(row));
        for cell in &row.cells {
            let _ = match cell {
                None => write!(text, " | {:^39}", "-"),
                Some(cell) => write!(text, " | {}", counts(&cell.tally)),
            };
        }
        text.push('\n');
    }
    text
}

fn counts(tally: &Tally) -> String {
    let of_players = |count| 100.0 * share(count, tally.players);
    format!(
        "{:>5.1} {:>5.1} {:>5.1} {:>5.1} {:>5.1} {:>5.1} {:>3.0}",
        of_players(tally.passed),
        of_players(tally.needs_work),
        of_players(tally.unclear),
        of_players(tally.passed_in_the_end),
        of_players(tally.told),
        of_players(tally.first),
        100.0 * share(tally.other, tally.findings),
    )
}

fn title(row: &Row) -> String {
    let name = row.trouble.map_or("clean playing", Trouble::name);
    format!("{name}, {}, {}", level_name(row.level), pickup_name(row.lateness))
}

fn size(row: &Row) -> String {
    match row.trouble {
        None => "none".to_owned(),
        Some(trouble) if trouble.has_size() => {
            format!("{}.{}", row.size / 1_000, row.size % 1_000 / 100)
        }
        Some(_) if row.size == 0 => "none".to_owned(),
        Some(_) => "there".to_owned(),
    }
}

/// The goals that were reached so far, a line each.
pub fn goals(rows: &[Row], reached: Reached) -> Vec<String> {
    let mut lines = Vec::new();
    for row in rows {
        for (group, cell) in Group::ALL.iter().zip(&row.cells) {
            let Some(cell) = cell else { continue };
            for goal in cell.goals.iter().filter(|goal| goal.reached() == reached) {
                lines.push(line(row, *group, goal));
            }
        }
    }
    lines
}

/// What a line of the list begins with.
fn key(row: &Row, group: Group, goal: &Goal) -> String {
    format!("{}, size {}, {}: {} ", title(row), size(row), group.head(), goal.of.name())
}

/// The goals that are missed for certain and that `known` does not list, a line each.
pub fn new_misses(rows: &[Row], known: &str) -> Vec<String> {
    let mut lines = Vec::new();
    for row in rows {
        for (group, cell) in Group::ALL.iter().zip(&row.cells) {
            let Some(cell) = cell else { continue };
            for goal in cell.goals.iter().filter(|goal| goal.is_missed_for_certain()) {
                let key = key(row, *group, goal);
                if !known.lines().any(|line| line.trim_start().starts_with(&key)) {
                    lines.push(line(row, *group, goal));
                }
            }
        }
    }
    lines
}

fn line(row: &Row, group: Group, goal: &Goal) -> String {
    let bound = goal.bound.map_or(String::new(), |bound| format!(", bound {:.1}", 100.0 * bound));
    format!(
        "{}{:.1}, asked {:.1}{bound}",
        key(row, group, goal),
        100.0 * goal.share(),
        100.0 * goal.asked(),
    )
}

/// The list of goals that are not met.
pub fn not_met(rows: &[Row]) -> String {
    let mut text = String::from(HEAD_OF_GOALS);
    let sections = [
        (Reached::No, "Not given, though the best test could"),
        (Reached::AsFarAsCanBe, "Given as far as the best test could, give or take chance"),
        (Reached::ByChance, "Not quite given, but within three standard deviations of it"),
    ];
    for (reached, head) in sections {
        let lines = goals(rows, reached);
        let _ = write!(text, "\n{head}: {}\n", lines.len());
        lines.iter().for_each(|line| {
            let _ = writeln!(text, "  {line}");
        });
    }
    text
}

const fn pickup_name(lateness: Lateness) -> &'static str {
    match lateness {
        Lateness::None => "never late",
        Lateness::TwoPeriods => "late by two periods",
    }
}

/// A level's name.
pub const fn level_name(level: PracticeLevel) -> &'static str {
    match level {
        PracticeLevel::First => "first",
        PracticeLevel::Steady => "steady",
        PracticeLevel::Performance => "performance",
    }
}
