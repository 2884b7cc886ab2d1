//! The table.

use std::fmt::Write as _;

use super::causes;
use super::slip::Slip;
use super::stream::Source;
use super::tally::{Cell, Tallies, Tally};

/// What was heard through the converter, as a person says it.
pub fn heard_through(cell: &Cell) -> String {
    let channels = match (cell.one_channel, cell.single) {
        (true, false) => "one channel",
        (false, false) => "six channels",
        (true, true) => "one, single takes",
        (false, true) => "six, single takes",
    };
    match (cell.source, cell.quality) {
        (Source::Ideal, _) | (_, None) => format!("ideal, {channels}"),
        (Source::Converter, Some(quality)) => format!("{}, {channels}", quality.name()),
    }
}

/// A share in whole per cent; a stroke where there is nothing to take one of.
pub fn percent(part: u32, of: u32) -> String {
    if of == 0 {
        return "-".to_owned();
    }
    format!("{:.0}", 100.0 * f64::from(part) / f64::from(of))
}

/// All cells.
pub fn text(tallies: &Tallies) -> String {
    let mut text = String::from(
        "Clean players: verdicts in % of takes, and sessions of which one passed within 1, 2, 3, 4\n\
         heard through        sessions takes | needs passed unclear none | within 1   2   3   4 | split\n",
    );
    for (cell, tally) in of(tallies, true) {
        let share = |part| percent(part, tally.takes);
        let _ = writeln!(
            text,
            "{:24} {:4} {:5} | {:>5} {:>6} {:>7} {:>4} |     {} | {:>5}",
            heard_through(cell),
            tally.sessions,
            tally.takes,
            share(tally.needs_work),
            share(tally.passed),
            share(tally.unclear),
            share(tally.no_attempt()),
            by(&tally.passed_by, tally),
            share(tally.split),
        );
    }
    text.push_str(
        "\nA slip that recurs: in % of sessions, told at its place, there as what it is, and anywhere, by take\n\
         1, 2, 3, 4; takes that passed all the same, and of which no attempt came out, in %\n\
         heard through            slip       sessions |  at its place   |  of its kind    |    anywhere     | passed none\n",
    );
    for (cell, tally) in of(tallies, false) {
        let share = |part| percent(part, tally.takes);
        let _ = writeln!(
            text,
            "{:24} {:14} {:4} | {} | {} | {} | {:>6} {:>4}",
            heard_through(cell),
            cell.slip.name(),
            tally.sessions,
            by(&tally.at_place_by, tally),
            by(&tally.of_kind_by, tally),
            by(&tally.any_by, tally),
            share(tally.passed),
            share(tally.no_attempt()),
        );
    }
    text.push_str("\nWhat failed clean takes, and what those notes were in truth\n");
    for (cell, tally) in of(tallies, true) {
        let _ = writeln!(text, "{}: {} takes", heard_through(cell), tally.needs_work);
        text.push_str(&causes::table(&tally.causes));
    }
    text
}

fn of(tallies: &Tallies, clean: bool) -> impl Iterator<Item = (&Cell, &Tally)> {
    tallies.iter().filter(move |(cell, _)| (cell.slip == Slip::Clean) == clean)
}

fn by(by: &[u32], tally: &Tally) -> String {
    let shares = by.iter().map(|part| format!("{:>3}", percent(*part, tally.sessions)));
    shares.collect::<Vec<_>>().join(" ")
}
