//! The rows of the tables, and how they are filled.

use evenhand_core::tolerance::{PracticeLevel, Tolerances};

use super::bound::{Conditions, passed_at_least};
use super::goal::{Goal, asked};
use super::line::With;
use super::live::heard;
use super::piece::{Group, Piece};
use super::plan::Plan;
use super::tally::Tally;
use super::trouble::Trouble;
use crate::paths::Lateness;
use crate::seeded::Seeded;
use crate::seeds;
use rayon::prelude::*;

/// How many players try each cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Players {
    /// From which all seeds follow.
    pub base: u64,
    /// In the cells that something is asked of.
    pub asked: u32,
    /// In the others.
    pub others: u32,
}

impl Players {
    /// For every change.
    pub const SAMPLE: Self = Self { base: 0, asked: 24, others: 0 };

    /// For the tables.
    pub const WHOLE: Self = Self { base: 0, asked: 4_000, others: 500 };

    /// What the environment asks for.
    pub fn wanted() -> Self {
        Self { base: seeds::base(), ..if seeds::all() { Self::WHOLE } else { Self::SAMPLE } }
    }
}

/// The levels, in the order of the table.
pub const LEVELS: [PracticeLevel; 3] =
    [PracticeLevel::First, PracticeLevel::Steady, PracticeLevel::Performance];

/// The pickups, in the order of the table.
pub const PICKUPS: [Lateness; 2] = [Lateness::None, Lateness::TwoPeriods];

/// Sizes of a trouble, in per mille of the tolerance.
pub const SIZES: [u32; 6] = [0, 500, 1_000, 1_500, 2_000, 3_000];

/// A row: what was played, and how it was judged in each group of pieces.
#[derive(Clone, Debug)]
pub struct Row {
    /// The trouble; `None` for a skilled player without any.
    pub trouble: Option<Trouble>,
    /// The level.
    pub level: PracticeLevel,
    /// The pickup.
    pub lateness: Lateness,
    /// The size in per mille of the tolerance.
    pub size: u32,
    /// How many attempts one after the other are taken together.
    pub together: u32,
    /// What came of it, by [`Group::ALL`]; nothing where no piece has a place for the trouble.
    pub cells: [Option<Cell>; 4],
}

/// A cell of the table.
#[derive(Clone, Debug)]
pub struct Cell {
    /// The verdicts.
    pub tally: Tally,
    /// What is asked of them.
    pub goals: Vec<Goal>,
}

/// Attempts of each player.
const TOGETHER: u32 = 3;

/// All rows of the first table, filled.
pub fn rows(players: Players) -> Vec<Row> {
    let mut rows = Vec::new();
    for trouble in [None].into_iter().chain(Trouble::ALL.map(Some)) {
        for (level, lateness) in conditions() {
            let sizes = match trouble {
                None => &[0][..],
                Some(trouble) if trouble.has_size() => &SIZES[1..],
                Some(_) => &[1_000],
            };
            rows.extend(sizes.iter().map(|&size| empty(trouble, level, lateness, size)));
        }
    }
    filled(rows, players, 0)
}

/// All rows of the second table, filled.
pub fn more_rows(players: Players) -> Vec<Row> {
    let mut rows = Vec::new();
    for trouble in Trouble::MORE {
        for (level, lateness) in conditions() {
            if !trouble.is_asked(&Tolerances::of(level)) {
                continue;
            }
            let sizes = if trouble.has_size() { &SIZES[..] } else { &[0, 1_000] };
            rows.extend(sizes.iter().map(|&size| empty(Some(trouble), level, lateness, size)));
        }
    }
    filled(rows, players, SEEDS_OF_MORE)
}

fn conditions() -> impl Iterator<Item = (PracticeLevel, Lateness)> {
    LEVELS.into_iter().flat_map(|level| PICKUPS.map(|lateness| (level, lateness)))
}

/// Where the seeds of the second table begin, so that its attempts are others.
const SEEDS_OF_MORE: u64 = 1 << 12;

/// A row that is not filled.
pub const fn empty(
    trouble: Option<Trouble>,
    level: PracticeLevel,
    lateness: Lateness,
    size: u32,
) -> Row {
    Row { trouble, level, lateness, size, together: TOGETHER, cells: [const { None }; 4] }
}

/// The rows with their cells.
fn filled(mut rows: Vec<Row>, players: Players, seeds: u64) -> Vec<Row> {
    let jobs: Vec<(usize, usize)> = (0..rows.len())
        .flat_map(|row| (0..Group::ALL.len()).map(move |group| (row, group)))
        .collect();
    let done = jobs
        .par_iter()
        .map(|&(row, group)| cell(&rows[row], Group::ALL[group], players, seeds + row as u64));
    let done: Vec<_> = done.collect();
    for ((row, group), cell) in jobs.into_iter().zip(done) {
        rows[row].cells[group] = cell;
    }
    rows
}

/// One player of a cell: the piece, the seed, and how it is played. None if no piece has a place.
pub fn player(row: &Row, pieces: &[Piece], seed: u64, number: u32) -> Option<(usize, Plan)> {
    let at = number as usize % pieces.len().max(1);
    let Some(trouble) = row.trouble else { return Some((at, Plan::clean())) };
    let tolerances = Tolerances::of(row.level);
    let mut seeded = Seeded::new(!seed);
    let plan = Plan::with(trouble, row.size, pieces.get(at)?, &tolerances, &mut seeded)?;
    Some((at, plan))
}

/// The pieces of a cell.
pub fn pieces(row: &Row, group: Group) -> Vec<Piece> {
    fitting(row, group.pieces(row.trouble.map_or(With::Nothing, Trouble::needs)))
}

fn cell(row: &Row, group: Group, players: Players, number: u64) -> Option<Cell> {
    let many = if asked(row).is_empty() { players.others } else { players.asked };
    let pieces = pieces(row, group);
    if pieces.is_empty() || many == 0 {
        return None;
    }
    let tolerances = Tolerances::of(row.level);
    let prepared: Vec<_> = pieces.iter().map(|piece| [piece.prepared(row.level)]).collect();
    let base = players.base.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let mut tally = Tally::default();
    for player in 0..many {
        let seed = base ^ ((number << 28) | (group as u64) << 24 | u64::from(player));
        let (at, plan) = self::player(row, &pieces, seed, player).expect("the piece fits");
        let heard = heard(&prepared[at], &plan, row.together, row.lateness, seed);
        tally.add(&heard, counts(row, &pieces[at]), row.trouble);
    }
    let bound = |together: u32| bound(row, &pieces, &tolerances, together);
    let goals = Goal::all(row, &tally, bound);
    Some(Cell { tally, goals })
}

/// The attempt that counts: the first, unless clean playing is asked for in so few events that one
/// attempt cannot carry it.
fn counts(row: &Row, piece: &Piece) -> usize {
    let least = if row.level == PracticeLevel::Performance { 16 } else { 8 };
    let too_few = row.trouble.is_none() && piece.timed() < least;
    if too_few { row.together as usize - 1 } else { 0 }
}

/// The mean over the pieces of the least share that passes, whoever judges.
fn bound(row: &Row, pieces: &[Piece], tolerances: &Tolerances, together: u32) -> f64 {
    let Some(trouble) = row.trouble else { return 0.0 };
    let of = |piece: &Piece| {
        let conditions = Conditions { piece, tolerances, lateness: row.lateness, together };
        passed_at_least(trouble, row.size, conditions)
    };
    pieces.iter().map(of).sum::<f64>() / pieces.len() as f64
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
