//! What the search found, as text.

use std::collections::BTreeMap;
use std::fmt::Write;

use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::verdict::Outcome;

use super::extent::Extent;
use super::lapse::{Group, Lapse};
use super::path::Path;
use super::scope::Tried;
use super::studies::Study;
use super::tally::Tally;
use crate::lab::table::level_name;

/// The tallies of all cells that `of` puts cases into.
pub fn tallies<K: Ord>(tried: &[Tried], of: impl Fn(&Tried) -> Option<K>) -> BTreeMap<K, Tally> {
    let mut tallies: BTreeMap<K, Tally> = BTreeMap::new();
    for tried in tried {
        if let Some(key) = of(tried) {
            tallies.entry(key).or_default().add(&tried.said);
        }
    }
    tallies
}

/// The number of a path in the table.
pub fn path_number(path: Path) -> usize {
    Path::ALL.iter().position(|other| *other == path).unwrap_or(Path::ALL.len())
}

/// The numbers of a lapse and a size in the table.
pub fn numbers(lapse: Lapse, extent: Extent) -> (usize, usize) {
    let lapse_number = Lapse::ALL.iter().position(|other| *other == lapse);
    let extent_number = lapse.extents().iter().position(|other| *other == extent);
    (lapse_number.unwrap_or(usize::MAX), extent_number.unwrap_or(usize::MAX))
}

/// The whole table.
pub fn text(tried: &[Tried]) -> String {
    let mut text = String::new();
    let clear = tried.iter().filter(|t| t.case.lapse.is_some() && t.case.extent.is_clear());
    let clean = tried.iter().filter(|t| t.case.lapse.is_none()).count();
    let _ = writeln!(
        text,
        "{} performances with one clear fault, {clean} clean ones\n\nClean                          tried  passed    work   uncl. nothing  (per cent)",
        clear.count()
    );
    let by_level = tallies(tried, |t| {
        t.case.lapse.is_none().then(|| (path_number(t.path), t.case.level as u8))
    });
    for ((path, level), tally) in &by_level {
        let name = format!("{}, {}", Path::ALL[*path].name(), level_of(*level));
        let _ = writeln!(text, "{name:<38} {}", counts(tally));
    }
    text.push_str(&summary(tried));
    for (number, path) in Path::ALL.iter().enumerate() {
        let _ = writeln!(
            text,
            "\n{:<30} {:<8} tried  passed    work   uncl. nothing  among  first  other  passed of tried at first, steady, performance",
            path.name(),
            "size"
        );
        let of_path = |t: &Tried| {
            let lapse = t.case.lapse.filter(|_| path_number(t.path) == number)?;
            Some(numbers(lapse, t.case.extent))
        };
        let by_level = tallies(tried, |t| of_path(t).map(|key| (key, t.case.level as u8)));
        for ((lapse, extent), tally) in tallies(tried, of_path) {
            let (lapse_, extent_) = (Lapse::ALL[lapse], Lapse::ALL[lapse].extents()[extent]);
            let mark = match (lapse_.group(), extent_.is_clear()) {
                (_, false) => ' ',
                (Group::Never, _) if tally.passed > 0 => '!',
                (Group::Rarely, _) if tally.share(tally.passed) > 0.005 => '?',
                _ => ' ',
            };
            let levels: Vec<String> = (0..3)
                .map(|level| {
                    let cell = by_level.get(&((lapse, extent), level));
                    cell.map_or("-".to_owned(), |cell| format!("{}/{}", cell.passed, cell.tried))
                })
                .collect();
            let per_cent = |count| 100.0 * tally.share(count);
            let _ = writeln!(
                text,
                "{mark}{:<29} {:<8} {} {:>6.1} {:>6.1} {:>6.1}  {}",
                lapse_.name(),
                extent_.name(),
                counts(&tally),
                per_cent(tally.among),
                per_cent(tally.first),
                per_cent(tally.other),
                levels.join("  ")
            );
        }
    }
    text
}

/// What passed, the paths side by side.
fn summary(tried: &[Tried]) -> String {
    let mut text = String::from("\nPassed of tried                size     ");
    Path::ALL.iter().for_each(|path| {
        let _ = write!(text, " {:>27}", path.name());
    });
    text.push('\n');
    let key = |t: &Tried| Some(numbers(t.case.lapse?, t.case.extent));
    let cells = tallies(tried, |t| key(t).map(|key| (key, path_number(t.path))));
    for ((lapse, extent), _) in tallies(tried, key) {
        let (name, size) = (Lapse::ALL[lapse], Lapse::ALL[lapse].extents()[extent]);
        let _ = write!(text, "{:<30} {:<8} ", name.name(), size.name());
        for path in 0..Path::ALL.len() {
            let cell = cells.get(&((lapse, extent), path)).copied().unwrap_or_default();
            let _ = write!(text, " {:>27}", format!("{}/{}", cell.passed, cell.tried));
        }
        text.push('\n');
    }
    text
}

fn counts(tally: &Tally) -> String {
    let per_cent = |count| 100.0 * tally.share(count);
    format!(
        "{:>5} {:>7.1} {:>7.1} {:>7.1} {:>7.1}",
        tally.tried,
        per_cent(tally.passed),
        per_cent(tally.needs_work),
        per_cent(tally.unclear),
        per_cent(tally.nothing)
    )
}

const fn level_of(level: u8) -> &'static str {
    level_name(match level {
        0 => PracticeLevel::First,
        1 => PracticeLevel::Steady,
        _ => PracticeLevel::Performance,
    })
}

/// What falsely passed: by lapse, the most frequent first, with how often in which study, and
/// examples to be tried again.
pub fn false_passes(tried: &[Tried], studies: &[Study], examples: usize) -> String {
    let mut by_lapse: BTreeMap<usize, Vec<&Tried>> = BTreeMap::new();
    for one in tried.iter().filter(|tried| tried.is_false_pass()) {
        let lapse = one.case.lapse.expect("a false pass has a lapse");
        by_lapse.entry(numbers(lapse, one.case.extent).0).or_default().push(one);
    }
    let mut lists: Vec<(usize, Vec<&Tried>)> = by_lapse.into_iter().collect();
    lists.sort_by_key(|(_, list)| std::cmp::Reverse(list.len()));
    let mut text = String::new();
    for (lapse, list) in lists {
        let lapse = Lapse::ALL[lapse];
        let all = tried.iter().filter(|t| t.case.lapse == Some(lapse) && t.case.extent.is_clear());
        let _ = writeln!(text, "\n{}: {} passed of {}", lapse.name(), list.len(), all.count());
        let pooled = list.iter().filter(|tried| tried.said.together > 1).count();
        let _ = writeln!(text, "  taken together with attempts before it: {pooled}");
        let mut places: BTreeMap<(usize, usize), u32> = BTreeMap::new();
        for one in &list {
            *places.entry((one.case.study, one.case.chunk)).or_default() += 1;
        }
        let mut places: Vec<_> = places.into_iter().collect();
        places.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        let named = places.iter().take(8).map(|((study, chunk), count)| {
            format!("{} {count}", studies[*study].chunks[*chunk].name)
        });
        let _ = writeln!(text, "  chunks: {}", named.collect::<Vec<_>>().join("; "));
        let step = (list.len() / examples.max(1)).max(1);
        for one in list.iter().step_by(step).take(examples) {
            let _ = writeln!(text, "  {}", example(one, studies));
        }
    }
    text
}

/// Clean performances that did not pass, by what was named first.
pub fn clean_refused(tried: &[Tried], studies: &[Study], examples: usize) -> String {
    let mut by_kind: BTreeMap<String, Vec<&Tried>> = BTreeMap::new();
    let clean = tried.iter().filter(|tried| tried.case.lapse.is_none());
    for one in clean.filter(|tried| tried.said.outcome != Some(Outcome::Passed)) {
        let word = one.said.outcome.map_or("nothing", Outcome::word);
        let named = one.said.named.map_or("nothing".to_owned(), |kind| format!("{kind:?}"));
        by_kind.entry(format!("{word}: {named}")).or_default().push(one);
    }
    let mut lists: Vec<(String, Vec<&Tried>)> = by_kind.into_iter().collect();
    lists.sort_by_key(|(_, list)| std::cmp::Reverse(list.len()));
    let mut text = String::new();
    for (name, list) in lists {
        let _ = writeln!(text, "\n{name}: {}", list.len());
        let step = (list.len() / examples.max(1)).max(1);
        for one in list.iter().step_by(step).take(examples) {
            let _ = writeln!(text, "  {}", example(one, studies));
        }
    }
    text
}

/// A case in a line, with what brings it back.
pub fn example(tried: &Tried, studies: &[Study]) -> String {
    let case = &tried.case;
    let lapse = case.lapse.map_or("none".to_owned(), |lapse| format!("{lapse:?}"));
    format!(
        "{}: “{}” at {}, {} {}: search replay {} {lapse} {} {}",
        tried.path.name(),
        case.prepared(studies).name,
        level_name(case.level),
        case.lapse.map_or("clean", Lapse::name),
        case.extent.name(),
        path_number(tried.path),
        case.lapse.map_or(0, |lapse| numbers(lapse, case.extent).1),
        case.seed,
    )
}
