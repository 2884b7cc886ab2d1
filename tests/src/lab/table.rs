//! The tables of error rates, as text.

use std::fmt::Write;

use evenhand_core::tolerance::PracticeLevel;

use super::piece::Group;
use super::rows::{Cell, Row};
use super::trouble::Trouble;

/// What stands above the first table.
pub const HEAD: &str = "\
How often the judge is wrong. In per cent of 500 attempts of the simulated player in each cell:
passed, needs work, unclear; the right reason first, and among the findings.

Size: the trouble in multiples of the tolerance of the level. A player without trouble scatters by
6 ms at the hands and 0.9 dB in loudness. 8 notes: in eighths and in sixteenths at 72 beats a
minute; 16 and 32: in sixteenths. Study: chunks of the bundled study that have a place for the
trouble. A chord of three stands on every fourth event for spread chords.

Goal: what the tests ask for, give or take three standard deviations of a share of 500 (1.3 for
99 per cent). Caught: did not pass, and the right reason is among the findings. Where so few notes
cannot tell, the bound by calculation stands in its place, marked (bound): from chi-square for
scatter and loudness, with one degree of freedom less for the single note that must be told, too;
non-central for a single note off the beat; normal and Student's t for drift.
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

Goal: give or take three standard deviations of a share of 500. Caught: did not pass, and the right
reason is among the findings. Advised: does not need work, and is told it. Where so few notes cannot
tell, the bound by calculation stands there, marked (bound): for stretches by drawing onsets that
scatter by 7 ms, for someone who knows where the stretch is, but must tell it from chance and
from one pause; half of one also scatters the onsets (non-central chi-square). For accents normal:
the weakest, against the median of eight neighbours. For one note off the click as for one off the
beat.
";

/// The rows as text, with what stands above them.
pub fn text(head: &str, rows: &[Row]) -> String {
    let mut text = String::from(head);
    let mut section = None;
    for row in rows {
        if section != Some((row.trouble, row.level, row.together)) {
            section = Some((row.trouble, row.level, row.together));
            let name = row.trouble.map_or("no trouble: a skilled player", Trouble::name);
            let together = match row.together {
                1 => String::new(),
                several => format!(", the last of {several} attempts, taken together"),
            };
            let _ = writeln!(text, "\n{name}, {}{together}", level_name(row.level));
            let _ = write!(text, "  size");
            for group in Group::ALL {
                let _ = write!(text, " | {:^29}", group.head());
            }
            let _ = write!(text, "\n      ");
            for _ in Group::ALL {
                let _ = write!(text, " |  pass  work uncl. first among");
            }
            text.push('\n');
        }
        let size = match row.trouble {
            None => "none".to_owned(),
            Some(trouble) if trouble.has_size() => {
                format!("{}.{}", row.size / 1_000, row.size % 1_000 / 100)
            }
            Some(_) if row.size == 0 => "none".to_owned(),
            Some(_) => "there".to_owned(),
        };
        let _ = write!(text, "{size:>6}");
        for cell in row.cells {
            let _ = match cell {
                None => write!(text, " | {:^29}", "-"),
                Some(Cell { tally, .. }) => {
                    let share = |count| 100.0 * tally.share(count);
                    let counts =
                        [tally.passed, tally.needs_work, tally.unclear, tally.first, tally.among];
                    let _ = write!(text, " |");
                    counts.iter().try_for_each(|&count| write!(text, " {:>5.1}", share(count)))
                }
            };
        }
        text.push('\n');
        if row.cells.iter().flatten().any(|cell| cell.goal.is_some()) {
            let _ = write!(text, "  goal");
            for cell in row.cells {
                let goal = cell.and_then(|cell| cell.goal).map(|goal| goal.text());
                let _ = write!(text, " | {:^29}", goal.unwrap_or_default());
            }
            text.push('\n');
        }
    }
    text
}

/// The goals that are not reached, a line each.
pub fn missed(rows: &[Row]) -> String {
    let mut text = String::new();
    for row in rows {
        for (group, cell) in Group::ALL.iter().zip(row.cells) {
            let Some(Cell { tally, goal: Some(goal) }) = cell else { continue };
            if !goal.is_reached(&tally) {
                let name = row.trouble.map_or("no trouble", Trouble::name);
                let level = level_name(row.level);
                let _ = writeln!(
                    text,
                    "{name}, {level}, size {}, {} together, {}: {}, give or take {:.1}, but {tally:?}",
                    row.size,
                    row.together,
                    group.head(),
                    goal.text(),
                    100.0 * tally.margin(goal.share),
                );
            }
        }
    }
    text
}

/// A level's name.
pub const fn level_name(level: PracticeLevel) -> &'static str {
    match level {
        PracticeLevel::First => "first",
        PracticeLevel::Steady => "steady",
        PracticeLevel::Performance => "performance",
    }
}
