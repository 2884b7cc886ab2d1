//! How often the judge is wrong: a sample of the players with every change, all of them with `cargo
//! xtask seeds`, which compares three kept texts, too: `golden/error-rates.txt` for what any music has
//! a place for, `golden/error-rates-more.txt` for the rest, and `golden/goals-not-met.txt` for what is
//! asked of them and not given.
//!
//! `EVENHAND_BLESS=1` writes them anew; then look at what changed.

use evenhand_core::tolerance::PracticeLevel;
use evenhand_tests::lab::goal::{Goal, Of, Reached};
use evenhand_tests::lab::golden;
use evenhand_tests::lab::rows::{Players, more_rows, rows};
use evenhand_tests::lab::table::{HEAD, HEAD_OF_MORE, new_misses, not_met, text};
use evenhand_tests::lab::tally::Tally;
use evenhand_tests::lab::trouble::Trouble;
use evenhand_tests::paths::Lateness;
use evenhand_tests::seeds;

/// What is asked and not given, with its bound.
const NOT_MET: &str = "goals-not-met.txt";

#[test]
fn what_is_asked_is_given_where_it_was() {
    let players = Players::wanted();
    let known = golden::kept(NOT_MET);
    let (mut all, more) = (rows(players), more_rows(players));
    let mut changes = String::new();
    if seeds::all() && players.base == 0 {
        changes += &golden::compare("error-rates.txt", &text(HEAD, &all));
        changes += &golden::compare("error-rates-more.txt", &text(HEAD_OF_MORE, &more));
    }
    all.extend(more);
    if seeds::all() && players.base == 0 {
        changes += &golden::compare(NOT_MET, &not_met(&all));
    }
    let new = new_misses(&all, &known);
    assert!(new.is_empty(), "goals that are not given any more:\n{}", new.join("\n"));
    assert!(changes.is_empty(), "the error rates changed:\n{changes}");
}

/// A row as the tables have it, and the goals of a judge that said this of its players.
fn goals(trouble: Option<Trouble>, size: u32, tally: &Tally, bound: f64) -> Vec<Goal> {
    let row =
        evenhand_tests::lab::rows::empty(trouble, PracticeLevel::Steady, Lateness::None, size);
    Goal::all(&row, tally, |_| bound)
}

fn missed(goals: &[Goal]) -> Vec<Of> {
    goals.iter().filter(|goal| goal.is_missed_for_certain()).map(|goal| goal.of).collect()
}

/// What a judge is told apart by: 24 players are enough for one that says the same of everything.
#[test]
fn a_judge_that_says_the_same_of_everything_misses_goals() {
    let passes = Tally { players: 24, passed: 24, passed_in_the_end: 24, ..Tally::default() };
    let drift = Some(Trouble::SlowingDown);
    assert_eq!(missed(&goals(drift, 2_000, &passes, 0.0)), [Of::Passed, Of::Told, Of::First]);
    assert_eq!(missed(&goals(None, 0, &passes, 0.0)), []);
    let fails = Tally {
        players: 24,
        needs_work: 24,
        needs_work_in_the_end: 24,
        findings: 72,
        other: 72,
        ..Tally::default()
    };
    let half = [Of::NeedsWork, Of::NeedsWorkInTheEnd];
    assert_eq!(missed(&goals(drift, 500, &fails, 0.0)), half);
    assert_eq!(missed(&goals(drift, 2_000, &fails, 0.0)), [Of::Told, Of::First, Of::Other]);
    assert_eq!(missed(&goals(None, 0, &fails, 0.0)), [Of::CleanPassed]);
    let unclear = Tally { players: 24, unclear: 24, ..Tally::default() };
    assert_eq!(missed(&goals(None, 0, &unclear, 0.0)), [Of::CleanPassed, Of::CleanUnclear]);
}

#[test]
fn what_the_best_test_could_not_give_either_is_not_missed() {
    let tally =
        Tally { players: 4_000, passed: 1_200, told: 2_800, first: 2_800, ..Tally::default() };
    let drift = Some(Trouble::SlowingDown);
    let reached = |bound| -> Vec<Reached> {
        goals(drift, 2_000, &tally, bound).iter().map(Goal::reached).collect()
    };
    let best = Reached::AsFarAsCanBe;
    assert_eq!(reached(0.3), [best, best, best, Reached::Yes]);
    let no = Reached::No;
    assert_eq!(reached(0.2), [no, no, no, Reached::Yes]);
}
