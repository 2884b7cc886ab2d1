//! Simulated learners practise for twenty minutes, by steps of tempo alone and with the whole engine: the
//! table of what becomes of them changes only when somebody has looked at it, and what is asked of the
//! engine holds for learners of other seeds, too. `cargo run --release -p evenhand-tests --bin learners`
//! prints it.

use evenhand_tests::lab::golden;
use evenhand_tests::learners::{Figures, LEARNERS, Learner, Rule, figures, table};
use evenhand_tests::seeds;

#[test]
fn what_becomes_of_learners_is_kept() {
    let changes = golden::compare("learners.txt", &table(20, 0));
    assert!(changes.is_empty(), "the table changed; EVENHAND_BLESS=1 keeps it:\n{changes}");
}

/// Sittings of one learner, of seeds that the table does not have.
fn of(name: &str, rule: Rule) -> Vec<Figures> {
    let learner = LEARNERS.iter().find(|learner| learner.name == name).expect("one of them");
    of_learner(*learner, rule)
}

fn of_learner(learner: Learner, rule: Rule) -> Vec<Figures> {
    let sittings = if seeds::all() { 200 } else { 40 };
    figures(learner, rule, sittings, 1_000 + seeds::base())
}

fn mean(all: &[Figures], of: impl Fn(&Figures) -> f64) -> f64 {
    all.iter().map(of).sum::<f64>() / all.len() as f64
}

/// Clean repetitions of the hard events in twenty minutes.
fn hard(name: &str, rule: Rule) -> f64 {
    mean(&of(name, rule), |figures| figures.hard_clean * 1_200.0 / figures.lasted)
}

#[test]
fn the_hard_place_is_played_clean_more_often() {
    for (name, times) in [("one hard spot", 3.0), ("breaks off", 2.2), ("a ceiling", 1.5)] {
        let (whole, steps) = (hard(name, Rule::Whole), hard(name, Rule::Steps));
        println!("{name}: {whole:.0} against {steps:.0}");
        assert!(whole >= times * steps, "{name}: {whole:.0} against {steps:.0}");
    }
}

#[test]
fn a_hard_place_is_found_and_none_where_all_are_alike() {
    let found = of("one hard spot", Rule::Whole);
    let soon = found.iter().filter(|f| f.spot_after.is_some_and(|after| after <= 8.0)).count();
    assert!(soon * 10 >= found.len() * 8, "{soon} of {}", found.len());
    for name in ["evenly bad", "improves", "flawless"] {
        let wrong = of(name, Rule::Whole).iter().filter(|f| f.false_spots > 0.0).count();
        assert!(wrong * 20 <= found.len(), "{name}: {wrong} of {}", found.len());
    }
}

#[test]
fn a_misread_note_is_named_by_its_third_time() {
    let named = of("a misread fret", Rule::Whole);
    let third = named.iter().filter(|f| f.misread_named_after == Some(3.0)).count();
    assert!(third * 20 >= named.len() * 19, "{third} of {}", named.len());
}

#[test]
fn a_flawless_player_is_at_the_goal_within_five_minutes() {
    let minutes = of("flawless", Rule::Whole);
    assert!(
        minutes.iter().all(|f| f.goal_after.is_some_and(|after| after <= 300.0)),
        "{minutes:?}"
    );
}

/// Those who come to the goal by steps alone come there no later with the whole engine, and more chunks are
/// at their goal.
#[test]
fn nobody_needs_longer_to_the_goal() {
    for learner in LEARNERS {
        let (whole, steps) = (of_learner(learner, Rule::Whole), of_learner(learner, Rule::Steps));
        let at_goal = |all: &[Figures]| mean(all, |figures| figures.at_goal);
        assert!(at_goal(&whole) >= at_goal(&steps), "{}", learner.name);
        let after =
            |all: &[Figures]| mean(all, |f| f.goal_after.unwrap_or(f64::INFINITY).min(2_400.0));
        assert!(after(&whole) <= after(&steps), "{}", learner.name);
    }
}

#[test]
fn waiting_is_a_third_of_a_sitting_at_most() {
    for learner in LEARNERS {
        let all = of_learner(learner, Rule::Whole);
        let share = mean(&all, |f| f.waiting) / mean(&all, |f| f.lasted);
        assert!(share <= 1.0 / 3.0, "{}: {share:.2}", learner.name);
    }
}
