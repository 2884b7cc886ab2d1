//! The table of error rates: which rows there are, how they are filled, and how they are
//! written.

use std::fmt::Write;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::verdict::{Kind, Pool};

use super::attempt::judged;
use super::goal::Goal;
use super::piece::{Group, Piece};
use super::plan::Plan;
use super::tally::Tally;
use super::trouble::Trouble;
use crate::seeded::Seeded;

/// Attempts in each cell of the table.
pub const ATTEMPTS: u32 = 500;

/// The levels, in the order of the table.
pub const LEVELS: [PracticeLevel; 3] =
    [PracticeLevel::First, PracticeLevel::Steady, PracticeLevel::Performance];

/// Sizes of a trouble, in per mille of the tolerance.
pub const SIZES: [u32; 6] = [0, 500, 1_000, 1_500, 2_000, 3_000];

/// A row: what was played, and how it was judged in each group of pieces.
#[derive(Clone, Debug)]
pub struct Row {
    /// The trouble; `None` for a skilled player without any.
    pub trouble: Option<Trouble>,
    /// The level.
    pub level: PracticeLevel,
    /// The size in per mille of the tolerance.
    pub size: u32,
    /// How many attempts one after the other are taken together.
    pub together: u32,
    /// What came of it, by [`Group::ALL`]; nothing where no piece has a place for the trouble.
    pub cells: [Option<Cell>; 4],
}

/// A cell of the table.
#[derive(Clone, Copy, Debug)]
pub struct Cell {
    /// The verdicts.
    pub tally: Tally,
    /// What is asked of them.
    pub goal: Option<Goal>,
}

/// Attempts that are taken together in the rows for that.
const TOGETHER: u32 = 3;

/// All rows, filled. Two threads share the work.
///
/// # Panics
/// If a thread does.
pub fn rows() -> Vec<Row> {
    let mut rows = Vec::new();
    let row = |trouble, level, size| Row { trouble, level, size, together: 1, cells: [None; 4] };
    rows.extend(LEVELS.map(|level| row(None, level, 0)));
    for trouble in Trouble::ALL {
        for level in LEVELS {
            let sizes = if trouble.has_size() { &SIZES[..] } else { &[1_000] };
            rows.extend(sizes.iter().map(|&size| row(Some(trouble), level, size)));
        }
    }
    for trouble in [None].into_iter().chain(Trouble::POOLED.map(Some)) {
        for level in LEVELS {
            let sizes = if trouble.is_some() { &SIZES[1..5] } else { &[0] };
            let rest =
                sizes.iter().map(|&size| Row { together: TOGETHER, ..row(trouble, level, size) });
            rows.extend(rest);
        }
    }
    let jobs: Vec<(usize, usize)> = (0..rows.len())
        .flat_map(|row| (0..Group::ALL.len()).map(move |group| (row, group)))
        .collect();
    let done = in_two_threads(jobs.len(), |job| {
        let (row, group) = jobs[job];
        cell(&rows[row], Group::ALL[group], jobs[job].0 as u64)
    });
    for ((row, group), cell) in jobs.into_iter().zip(done) {
        rows[row].cells[group] = cell;
    }
    rows
}

/// `work` for every number below `count`, in order.
///
/// # Panics
/// If a thread does.
pub fn in_two_threads<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let results: Mutex<Vec<Option<T>>> = Mutex::new((0..count).map(|_| None).collect());
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= count {
                        return;
                    }
                    let result = work(number);
                    results.lock().expect("no thread panics with it")[number] = Some(result);
                }
            });
        }
    });
    let results = results.into_inner().expect("no thread panics with it");
    results.into_iter().map(|result| result.expect("each was worked on")).collect()
}

fn cell(row: &Row, group: Group, number: u64) -> Option<Cell> {
    let chords = row.trouble == Some(Trouble::SpreadChord);
    let pieces = fitting(row, group.pieces(chords));
    if pieces.is_empty() {
        return None;
    }
    let mut tally = Tally::default();
    let tolerances = Tolerances::of(row.level);
    for attempt in 0..ATTEMPTS {
        let seed = (number << 32) | (group as u64) << 24 | u64::from(attempt);
        let piece = &pieces[attempt as usize % pieces.len()];
        let (plan, reason) = match row.trouble {
            None => (Plan::clean(), Kind::Unsteady),
            Some(trouble) => {
                let mut seeded = Seeded::new(!seed);
                let plan = Plan::with(trouble, row.size, piece, &tolerances, &mut seeded);
                (plan.expect("the piece fits"), trouble.reason())
            }
        };
        let chunk = piece.chunk(row.level);
        if row.together == 1 {
            judged(chunk, &plan, seed, |judged| tally.add(judged.verdict, reason));
            continue;
        }
        let mut pool = Pool::new();
        let mut last = None;
        for attempt in 0..row.together {
            let seed = seed | (u64::from(attempt) << 20);
            last = Some(judged(chunk, &plan, seed, |j| pool.add(j.material(), j.verdict)));
        }
        tally.add(&last.expect("one at least").verdict, reason);
    }
    let goal = Goal::of(row.trouble, row.level, row.size, &pieces);
    Some(Cell { tally, goal })
}

/// The pieces that have a place for the trouble of a row.
fn fitting(row: &Row, pieces: Vec<Piece>) -> Vec<Piece> {
    let Some(trouble) = row.trouble else { return pieces };
    let tolerances = Tolerances::of(row.level);
    let fits = |piece: &Piece| {
        let mut seeded = Seeded::new(1);
        Plan::with(trouble, row.size, piece, &tolerances, &mut seeded).is_some()
    };
    pieces.into_iter().filter(fits).collect()
}

/// What stands above the table.
const HEAD: &str = "\
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

/// The rows as text.
pub fn text(rows: &[Row]) -> String {
    let mut text = String::from(HEAD);
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
