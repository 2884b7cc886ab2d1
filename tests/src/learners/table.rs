//! What becomes of learners, by steps alone and with the whole engine.

use super::model::{EVERY_DAY, LEARNERS, Learner};
use super::sitting::{Figures, Rule, days, sitting};
use std::fmt::Write;

/// What became of all sittings of one learner, under one rule.
pub fn figures(learner: Learner, rule: Rule, sittings: u64, base: u64) -> Vec<Figures> {
    (0..sittings).map(|seed| sitting(learner, rule, base + seed)).collect()
}

fn mean(all: &[Figures], of: impl Fn(&Figures) -> f64) -> f64 {
    all.iter().map(of).sum::<f64>() / all.len().max(1) as f64
}

/// The median of what some of them have, and how many do.
fn median(all: &[Figures], of: impl Fn(&Figures) -> Option<f64>) -> String {
    let mut have: Vec<f64> = all.iter().filter_map(of).collect();
    have.sort_by(f64::total_cmp);
    match have.get(have.len() / 2) {
        Some(middle) => format!("{middle:.1} ({})", have.len()),
        None => "- (0)".to_owned(),
    }
}

/// One learner under one rule.
pub fn row(learner: Learner, rule: Rule, sittings: u64, base: u64) -> String {
    let all = figures(learner, rule, sittings, base);
    let minutes = median(&all, |figures| figures.goal_after.map(|after| after / 60.0));
    let share =
        mean(&all, |figures| figures.waiting) / mean(&all, |figures| figures.lasted).max(1.0);
    let hard = mean(&all, |figures| figures.hard_clean * 1_200.0 / figures.lasted.max(1.0));
    let changed = mean(&all, |figures| f64::from(figures.changes > 0.0));
    format!(
        "{:<16} {:<6} {:>8.1} {:>9} {:>7.1} {:>8.1} {:>8.0}% {:>7.0}% {:>10.1} {:>10} {:>6.2} {:>8}",
        learner.name,
        if rule == Rule::Steps { "steps" } else { "whole" },
        hard,
        minutes,
        mean(&all, |figures| figures.at_goal),
        mean(&all, |figures| figures.attempts),
        100.0 * share,
        100.0 * changed,
        mean(&all, |figures| figures.plateaus_unanswered),
        median(&all, |figures| figures.spot_after),
        mean(&all, |figures| figures.false_spots),
        median(&all, |figures| figures.misread_named_after),
    )
}

/// Days of practice.
const DAYS: usize = 16;

/// From this day on it can be known whether a piece improves.
const KNOWN_FROM: usize = 8;

/// Sixteen days of a learner who gets better every day, and of one who does not any more: each with a goal out
/// of reach. The share of days on which something was changed, and what the days brought, from the second
/// on.
fn days_text(sittings: u64, base: u64) -> String {
    let mut text =
        format!("{:<16} {:>8} {:>8} {:>12}\n", "learner", "changed", "later", "gain a day");
    for learner in EVERY_DAY {
        let all: Vec<Vec<Figures>> =
            (0..sittings).map(|seed| days(learner, Rule::Whole, DAYS, base + seed)).collect();
        let later: Vec<Figures> =
            all.iter().flat_map(|days| days.iter().skip(1)).copied().collect();
        let gains = all.iter().flat_map(|days| days.windows(2)).map(|pair| {
            let [before, after] = pair else { return 0.0 };
            after.mean_best / before.mean_best.max(1.0) - 1.0
        });
        let gain = gains.sum::<f64>() / later.len().max(1) as f64;
        let changed =
            |all: &[Figures]| 100.0 * mean(all, |figures| f64::from(figures.changes > 0.0));
        let known: Vec<Figures> =
            all.iter().flat_map(|days| days.iter().skip(KNOWN_FROM)).copied().collect();
        let _ = writeln!(
            text,
            "{:<16} {:>7.0}% {:>7.0}% {:>11.1}%",
            learner.name,
            changed(&later),
            changed(&known),
            100.0 * gain
        );
    }
    text
}

/// The whole table.
pub fn table(sittings: u64, base: u64) -> String {
    let mut text = format!(
        "{:<16} {:<6} {:>8} {:>9} {:>7} {:>8} {:>9} {:>8} {:>10} {:>10} {:>6} {:>8}\n",
        "learner",
        "rules",
        "hard",
        "minutes",
        "chunks",
        "attempts",
        "waiting",
        "changes",
        "unanswered",
        "spot",
        "false",
        "misread",
    );
    for learner in LEARNERS {
        for rule in [Rule::Steps, Rule::Whole] {
            let _ = writeln!(text, "{}", row(learner, rule, sittings, base));
        }
    }
    text.push('\n');
    text.push_str(&days_text(sittings, base));
    text
}
