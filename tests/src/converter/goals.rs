//! What is asked, beside what is reached.

use std::fmt::Write as _;

use super::session::Quality;
use super::slip::Slip;
use super::stream::Source;
use super::table::percent;
use super::tally::{Cell, Tallies, Tally};

/// Something that is asked.
#[derive(Clone, Copy, Debug)]
pub struct Goal {
    /// Of what.
    pub of: &'static str,
    /// What.
    pub what: &'static str,
    /// In per cent.
    pub asked: Asked,
    /// In how many cases of how many it is so.
    pub reached: (u32, u32),
}

/// A bound, in per cent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// So many at most.
    AtMost(u32),
    /// So many at least.
    AtLeast(u32),
}

impl Goal {
    /// Whether it is reached; none where nothing was tried.
    pub fn is_reached(&self) -> Option<bool> {
        let (part, of) = self.reached;
        (of > 0).then(|| match self.asked {
            Asked::AtMost(most) => 100 * part <= most * of,
            Asked::AtLeast(least) => 100 * part >= least * of,
        })
    }
}

/// All of them.
pub fn goals(tallies: &Tallies) -> Vec<Goal> {
    use Asked::{AtLeast, AtMost};
    let sum = |is_of: &dyn Fn(&Cell) -> bool| {
        let cells = tallies.iter().filter(|(cell, _)| !cell.single && is_of(cell));
        cells.fold(Tally::default(), |sum, (_, tally)| sum.with(tally))
    };
    let six = |cell: &Cell, quality| cell.quality == Some(quality) && !cell.one_channel;
    let clean = |cell: &Cell| cell.slip == Slip::Clean;
    let told = |cell: &Cell| !clean(cell) && !cell.slip.is_of_repeats();
    let is_ideal = |cell: &Cell| cell.source == Source::Ideal;
    let needs_work = |tally: &Tally| (tally.needs_work, tally.takes);
    let mut goals = Vec::new();
    let mut goal = |of, what, asked, reached| goals.push(Goal { of, what, asked, reached });

    // Nothing but the player's own scatter can fail a clean player here; none does.
    let ideal = sum(&|cell| is_ideal(cell) && clean(cell));
    goal("ideal MIDI", "clean takes that need work", AtMost(0), needs_work(&ideal));
    goal("ideal MIDI", "clean takes that passed", AtLeast(95), (ideal.passed, ideal.takes));
    let ideal = sum(&|cell| is_ideal(cell) && !clean(cell));
    let at_once = (ideal.at_place_by[0], ideal.sessions);
    goal("ideal MIDI", "slips told at their place in the first take", AtLeast(100), at_once);

    let name = "good, six channels";
    let good = sum(&|cell| six(cell, Quality::Good) && clean(cell));
    goal(name, "clean takes that need work", AtMost(5), needs_work(&good));
    let within = (good.passed_by[1], good.sessions);
    goal(name, "clean sessions passed within two takes", AtLeast(60), within);
    let good = sum(&|cell| six(cell, Quality::Good) && told(cell));
    let by_third = (good.at_place_by[2], good.sessions);
    goal(name, "slips told at their place by the third take", AtLeast(95), by_third);
    let good = sum(&|cell| six(cell, Quality::Good) && cell.slip == Slip::Wrong);
    let at_once = (good.at_place_by[0], good.sessions);
    goal(name, "a neighbouring fret told at its place at once", AtLeast(90), at_once);

    let name = "mid, six channels";
    let mid = sum(&|cell| six(cell, Quality::Mid) && clean(cell));
    goal(name, "clean takes that need work", AtMost(10), needs_work(&mid));
    let within = (mid.passed_by[2], mid.sessions);
    goal(name, "clean sessions passed within three takes", AtLeast(40), within);
    let mid = sum(&|cell| six(cell, Quality::Mid) && told(cell));
    let by_fourth = (mid.at_place_by[3], mid.sessions);
    goal(name, "slips told at their place by the fourth take", AtLeast(90), by_fourth);

    let bad = |cell: &Cell| cell.quality == Some(Quality::Bad);
    let all = sum(&|cell| bad(cell) && clean(cell));
    goal("bad", "clean takes that need work", AtMost(3), needs_work(&all));
    let all = sum(&bad);
    let named = (all.pickup, all.sessions);
    goal("bad", "sessions in which the pickup is named", AtLeast(95), named);
    // Whoever is told so of a pickup that hears well enough looks for a fault where there is none. Our default.
    let all = sum(&|cell| cell.source == Source::Converter);
    let passed = all.passed_by[3];
    goal(
        "any",
        "of sessions with a take that passed, named",
        AtMost(5),
        (all.pickup_and_passed, passed),
    );
    let one = sum(&|cell| cell.quality == Some(Quality::Good) && cell.one_channel && clean(cell));
    goal("good, one channel", "clean takes that need work", AtMost(3), needs_work(&one));
    goals
}

/// The goals, a line each.
pub fn text(goals: &[Goal]) -> String {
    let mut text = String::from(
        "Goals, in % (slips: without strokes of one pitch on one string, a missing and a double one)\n\
         heard through      what                                              asked  reached\n",
    );
    for goal in goals {
        let asked = match goal.asked {
            Asked::AtMost(most) => format!("<= {most}"),
            Asked::AtLeast(least) => format!(">= {least}"),
        };
        let (part, of) = goal.reached;
        let mark = match goal.is_reached() {
            Some(true) => "yes",
            Some(false) => "no",
            None => "not tried",
        };
        let share = percent(part, of);
        let _ = writeln!(
            text,
            "{:18} {:48} {asked:>6}  {share:>7}  {mark} ({part} of {of})",
            goal.of, goal.what
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bound_is_reached_at_it_and_not_beyond() {
        let goal = |asked, reached| Goal { of: "any", what: "any", asked, reached };
        let reached = |asked, part| goal(asked, (part, 40)).is_reached();
        assert_eq!([2, 3].map(|part| reached(Asked::AtMost(5), part)), [Some(true), Some(false)]);
        assert_eq!([38, 37].map(|p| reached(Asked::AtLeast(95), p)), [Some(true), Some(false)]);
        assert_eq!(goal(Asked::AtLeast(95), (0, 0)).is_reached(), None);
        let text = text(&[goal(Asked::AtMost(5), (3, 40))]);
        assert!(text.ends_with("<= 5        8  no (3 of 40)\n"), "{text}");
    }
}
