//! Which rows the tables of error rates have, and how they are filled.

use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::verdict::{Kind, Pool};

use super::attempt::judged;
use super::goal::Goal;
use super::line::With;
use super::piece::{Group, Piece};
use super::plan::Plan;
use super::tally::Tally;
use super::threads::in_two_threads;
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

/// All rows of the first table, filled.
pub fn rows() -> Vec<Row> {
    let mut rows: Vec<Row> = LEVELS.map(|level| empty(None, level, 0)).into();
    for trouble in Trouble::ALL {
        for level in LEVELS {
            let sizes = if trouble.has_size() { &SIZES[..] } else { &[1_000] };
            rows.extend(sizes.iter().map(|&size| empty(Some(trouble), level, size)));
        }
    }
    for trouble in [None].into_iter().chain(Trouble::POOLED.map(Some)) {
        for level in LEVELS {
            let sizes = if trouble.is_some() { &SIZES[1..5] } else { &[0] };
            let rest =
                sizes.iter().map(|&size| Row { together: TOGETHER, ..empty(trouble, level, size) });
            rows.extend(rest);
        }
    }
    filled(rows, 0)
}

/// All rows of the second table, filled.
pub fn more_rows() -> Vec<Row> {
    let mut rows = Vec::new();
    for trouble in Trouble::MORE {
        for level in LEVELS {
            if !trouble.is_asked(&Tolerances::of(level)) {
                continue;
            }
            let sizes = if trouble.has_size() { &SIZES[..] } else { &[0, 1_000] };
            rows.extend(sizes.iter().map(|&size| empty(Some(trouble), level, size)));
        }
    }
    filled(rows, SEEDS_OF_MORE)
}

/// Where the seeds of the second table begin, so that its attempts are others.
const SEEDS_OF_MORE: u64 = 1 << 16;

const fn empty(trouble: Option<Trouble>, level: PracticeLevel, size: u32) -> Row {
    Row { trouble, level, size, together: 1, cells: [None; 4] }
}

/// The rows with their cells. Two threads share the work.
fn filled(mut rows: Vec<Row>, seeds: u64) -> Vec<Row> {
    let jobs: Vec<(usize, usize)> = (0..rows.len())
        .flat_map(|row| (0..Group::ALL.len()).map(move |group| (row, group)))
        .collect();
    let done = in_two_threads(jobs.len(), |job| {
        let (row, group) = jobs[job];
        cell(&rows[row], Group::ALL[group], seeds + row as u64)
    });
    for ((row, group), cell) in jobs.into_iter().zip(done) {
        rows[row].cells[group] = cell;
    }
    rows
}

fn cell(row: &Row, group: Group, number: u64) -> Option<Cell> {
    let with = row.trouble.map_or(With::Nothing, Trouble::needs);
    let pieces = fitting(row, group.pieces(with));
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
    let Some(trouble) = row.trouble else {
        // A clean attempt alone is judged from so many timed events on; below that, several
        // together.
        let fewest = match row.level {
            _ if row.together > 1 => 0,
            PracticeLevel::Performance => 16,
            _ => 8,
        };
        let enough = |piece: &Piece| piece.timed() >= fewest;
        let long = pieces.iter().filter(|piece| enough(piece)).cloned().collect::<Vec<_>>();
        return if long.is_empty() { pieces } else { long };
    };
    let tolerances = Tolerances::of(row.level);
    let fits = |piece: &Piece| {
        let mut seeded = Seeded::new(1);
        Plan::with(trouble, row.size, piece, &tolerances, &mut seeded).is_some()
    };
    pieces.into_iter().filter(fits).collect()
}
