//! What is asked of the judge, and what of it a search found wanting.

use std::collections::BTreeMap;
use std::fmt::Write;

use evenhand_core::verdict::Outcome;

use super::bound::bound;
use super::extent::Extent;
use super::lapse::{Group, Lapse};
use super::path::Path;
use super::scope::Tried;
use super::studies::Study;
use super::table::{numbers, path_number, tallies};
use super::tally::Tally;

/// At most this share of clear faults of other kinds passes, unless the bound is higher.
pub const RARELY: f64 = 0.005;

/// At most this share of clean performances needs work ...
pub const CLEAN_NEEDS_WORK: f64 = 0.005;

/// ... and at least this share passes.
pub const CLEAN_PASSES: f64 = 0.95;

/// Standard deviations that chance is allowed.
const SIGMA: f64 = 3.0;

/// From so many performances on a share is taken as it is.
const MANY: u32 = 1_000;

/// Something that is asked and was not given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Miss {
    /// About which lapse; none if about clean performances.
    pub lapse: Option<Lapse>,
    /// What.
    pub what: String,
}

/// Everything that was not given.
pub fn misses(tried: &[Tried], studies: &[Study]) -> Vec<Miss> {
    let mut misses = Vec::new();
    for lapse in Lapse::ALL {
        misses.extend(passed_too_often(lapse, tried, studies));
        misses.extend(rises(lapse, tried));
    }
    misses.extend(clean(tried));
    misses
}

/// The misses in words, a line each.
pub fn text(misses: &[Miss]) -> String {
    let mut text = String::new();
    for Miss { lapse, what } in misses {
        let _ = writeln!(text, "{}: {what}", lapse.map_or("clean", Lapse::name));
    }
    text
}

/// In all, on one path, and of one size: what one has too many of does not vanish among the others.
fn passed_too_often(lapse: Lapse, tried: &[Tried], studies: &[Study]) -> Vec<Miss> {
    let clear: Vec<&Tried> = tried
        .iter()
        .filter(|tried| tried.case.lapse == Some(lapse) && tried.case.extent.is_clear())
        .collect();
    let on = |path: Path| clear.iter().copied().filter(move |tried| tried.path == path);
    let of = |extent: Extent| clear.iter().copied().filter(move |t| t.case.extent == extent);
    let paths = Path::ALL.into_iter().map(|path| (path.name().to_owned(), on(path).collect()));
    let sizes = lapse.extents().iter().map(|&extent| (extent.name(), of(extent).collect()));
    let parts = paths.chain(sizes).map(|(name, part): (String, Vec<&Tried>)| {
        let chance = SIGMA * deviation(RARELY, part.len() as u32);
        too_often(lapse, &name, &part, RARELY + chance, studies)
    });
    // Of all together, the share is taken as it is, if they are many.
    let few = (clear.len() as u32) < MANY;
    let chance = if few { SIGMA * deviation(RARELY, clear.len() as u32) } else { 0.0 };
    let all = too_often(lapse, "in all", &clear, RARELY + chance, studies);
    parts.flatten().chain(all).collect()
}

/// `rarely` is the share that may pass where the best test could tell all of them. Where it could
/// not, as many may as that would let pass, give or take chance.
fn too_often(
    lapse: Lapse,
    name: &str,
    part: &[&Tried],
    rarely: f64,
    studies: &[Study],
) -> Option<Miss> {
    let tally = tally(part.iter().copied());
    let passed = tally.share(tally.passed);
    let may = match lapse.group() {
        Group::Never if tally.passed == 0 => return None,
        Group::Never => "none may".to_owned(),
        Group::Rarely if passed <= rarely => return None,
        Group::Rarely => {
            let bound = mean_bound(part.iter().copied(), studies);
            let at_best = bound + SIGMA * deviation(bound, tally.tried);
            if passed <= at_best {
                return None;
            }
            format!("{:.2} % may (bound {:.2} %)", 100.0 * rarely.max(at_best), 100.0 * bound)
        }
    };
    let what = format!("{name}: {} of {} passed, {may}", tally.passed, tally.tried);
    Some(Miss { lapse: Some(lapse), what })
}

/// The mean of the bounds of these cases.
pub fn mean_bound<'t>(tried: impl Iterator<Item = &'t Tried>, studies: &[Study]) -> f64 {
    let mut known: BTreeMap<(usize, usize, u8, usize, usize), f64> = BTreeMap::new();
    let (mut sum, mut count) = (0.0, 0_u32);
    for one in tried {
        let case = &one.case;
        let Some(lapse) = case.lapse else { continue };
        let (_, extent) = numbers(lapse, case.extent);
        // The tempo changes little; that of the first case stands for all.
        let key = (case.study, case.chunk, case.level as u8, path_number(one.path), extent);
        sum += *known.entry(key).or_insert_with(|| bound(case, studies, one.path.lateness));
        count += 1;
    }
    sum / f64::from(count.max(1))
}

/// Whether the share of passed rises from one size to the next, by more than chance: of the seeds
/// on which two sizes differ, as many may go either way (McNemar 1947).
fn rises(lapse: Lapse, tried: &[Tried]) -> Option<Miss> {
    if !lapse.grows() {
        return None;
    }
    let mut by_seed: BTreeMap<(usize, u64), Vec<bool>> = BTreeMap::new();
    for one in tried.iter().filter(|tried| tried.case.lapse == Some(lapse)) {
        let passed = one.said.outcome == Some(Outcome::Passed);
        by_seed.entry((path_number(one.path), one.case.seed)).or_default().push(passed);
    }
    for larger in 1..lapse.extents().len() {
        for smaller in 0..larger {
            let pairs =
                by_seed.values().filter_map(|all| Some((all.get(smaller)?, all.get(larger)?)));
            let (mut up, mut down) = (0_u32, 0_u32);
            for (smaller, larger) in pairs {
                up += u32::from(!smaller && *larger);
                down += u32::from(*smaller && !larger);
            }
            if f64::from(up) - f64::from(down) > SIGMA * f64::from(up + down).sqrt() {
                let [smaller, larger] = [smaller, larger].map(|at| lapse.extents()[at].name());
                let what = format!(
                    "{larger} passes where {smaller} does not {up} times, the other way {down} times"
                );
                return Some(Miss { lapse: Some(lapse), what });
            }
        }
    }
    None
}

fn clean(tried: &[Tried]) -> Vec<Miss> {
    let tally = tally(tried.iter().filter(|tried| tried.case.lapse.is_none()));
    let mut misses = Vec::new();
    let mut miss = |what| misses.push(Miss { lapse: None, what });
    if !is_within(&tally, tally.needs_work, CLEAN_NEEDS_WORK) {
        miss(format!("{} of {} need work", tally.needs_work, tally.tried));
    }
    let refused = tally.tried - tally.passed;
    if !is_within(&tally, refused, 1.0 - CLEAN_PASSES) {
        miss(format!("{refused} of {} did not pass", tally.tried));
    }
    misses
}

fn tally<'t>(tried: impl Iterator<Item = &'t Tried>) -> Tally {
    let mut tally = Tally::default();
    tried.for_each(|tried| tally.add(&tried.said));
    tally
}

/// Whether a count is within a share: as it is of many, and give or take chance of few.
fn is_within(tally: &Tally, count: u32, share: f64) -> bool {
    let chance = if tally.tried >= MANY { 0.0 } else { SIGMA * deviation(share, tally.tried) };
    tally.share(count) <= share + chance
}

fn deviation(share: f64, tried: u32) -> f64 {
    (share * (1.0 - share) / f64::from(tried.max(1))).sqrt()
}

/// Cells whose share of passed is over what is asked, with the bound: a line each.
pub fn cells(tried: &[Tried], studies: &[Study]) -> String {
    let mut text = String::new();
    let key = |t: &Tried| {
        t.case.extent.is_clear().then_some(())?;
        Some((numbers(t.case.lapse?, t.case.extent), path_number(t.path)))
    };
    for (cell, tally) in tallies(tried, key) {
        let lapse = Lapse::ALL[cell.0.0];
        let over = match lapse.group() {
            Group::Never => tally.passed > 0,
            Group::Rarely => tally.share(tally.passed) > RARELY,
        };
        if over {
            let bound = mean_bound(tried.iter().filter(|t| key(t) == Some(cell)), studies);
            let _ = writeln!(
                text,
                "{}, {}, {}: {} of {} passed ({:.2} %), bound {:.2} %",
                lapse.name(),
                lapse.extents()[cell.0.1].name(),
                Path::ALL[cell.1].name(),
                tally.passed,
                tally.tried,
                100.0 * tally.share(tally.passed),
                100.0 * bound
            );
        }
    }
    text
}
