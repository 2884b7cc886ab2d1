//! A piece day by day in lines: cold and warm tempi against its goal, where it breaks, what is to go.

use super::trend;
use crate::days::{Breaks, BreaksAt, DayPlayed, PieceDays};
use crate::report::StyledLine;
use crate::report::kept::phrase;
use jiff::civil::Date;

/// So many days are listed, the latest. Our default: two weeks stay on a screen.
const LISTED: usize = 14;

/// Columns of the line of tempi.
const COLUMNS: usize = 34;

/// Slower than this share of its goal no piece is practised: the line begins there (the rules of practice).
const BEGINS_PER_MILLE: u32 = evenhand_core::practice::rules::FLOOR_PER_MILLE;

/// What the marks mean.
pub const MARKS: &str = "Beats a minute, a line a day. Cold is its first try: o clean, x not clean. Warm, \
                         #, is its fastest clean one. The line ends at the goal.";

/// The days of a piece, since a day if one is given.
pub fn piece_table(days: &PieceDays, since: Option<Date>) -> Vec<StyledLine> {
    let mut lines = vec![StyledLine::strong(format!("“{}”, goal {}", days.name, days.goal))];
    let shown: Vec<(&Date, &DayPlayed)> =
        days.days.iter().filter(|(day, _)| since.is_none_or(|since| **day >= since)).collect();
    let beyond = shown.len().saturating_sub(LISTED);
    match beyond {
        0 => {}
        1 => lines.push("  (one earlier day)".into()),
        more => lines.push(format!("  ({more} earlier days)").into()),
    }
    lines.extend(
        shown.iter().skip(beyond).map(|(day, played)| of_day(**day, played, days.goal).into()),
    );
    lines
}

/// `  31 Mar 2026  cold  84 x  warm 101  |      x     #        |`
fn of_day(day: Date, played: &DayPlayed, goal: u32) -> String {
    let mut line = vec![' '; COLUMNS];
    let mut mark = |tempo: u32, mark: char| {
        if let Some(place) = line.get_mut(column(tempo, goal)) {
            *place = mark;
        }
    };
    let cold = played.cold.map_or_else(
        || "  -  ".to_owned(),
        |cold| {
            let with = if cold.passed { 'o' } else { 'x' };
            mark(cold.tempo, with);
            format!("{:>3} {with}", cold.tempo)
        },
    );
    let warm = played.best.map_or_else(
        || "  -".to_owned(),
        |best| {
            mark(best, '#');
            format!("{best:>3}")
        },
    );
    let line: String = line.into_iter().collect();
    format!("  {:>11}  cold {cold}  warm {warm}  |{line}|", day.strftime("%-d %b %Y").to_string())
}

/// Where a tempo stands on the line; what is beyond its ends, at them.
fn column(tempo: u32, goal: u32) -> usize {
    let begins = goal * BEGINS_PER_MILLE / 1_000;
    let (over, width) = (tempo.saturating_sub(begins), goal.saturating_sub(begins).max(1));
    let last = COLUMNS - 1;
    (over as usize * last / width as usize).min(last)
}

/// What is to go, what was known cold, where it breaks, and how it goes from day to day.
pub fn piece_words(days: &PieceDays) -> Vec<String> {
    let goal = days.goal;
    let distance = match (days.fastest, days.to_go()) {
        (Some(_), Some(0)) => match days.reached {
            Some(day) => format!("At its goal since {}.", date(day)),
            None => "At its goal.".to_owned(),
        },
        (Some(fastest), Some(left)) => {
            format!("Clean at {fastest} of {goal}: {left} beats a minute to go.")
        }
        _ => "Not clean often enough in a row yet, at any tempo.".to_owned(),
    };
    let cold = match days.known_cold() {
        Some((day, tempo)) => {
            format!(" Clean cold, and so known: {tempo}, on {}.", date(day))
        }
        None => " Never clean cold yet.".to_owned(),
    };
    let mut words = vec![distance + &cold];
    words.extend(breaks(&days.breaks));
    if days.days.values().filter(|day| day.best.is_some()).count() > 1 {
        words.push(trend(days.rise()));
    }
    words
}

/// Where it breaks; nothing where it does not.
pub(super) fn breaks(breaks: &Breaks) -> Option<String> {
    match breaks {
        Breaks::Never => None,
        Breaks::NotKnown => {
            Some("Where it breaks is not known: nothing that was found has a place.".to_owned())
        }
        Breaks::Nowhere => Some("It breaks nowhere in particular.".to_owned()),
        Breaks::At(at) => Some(format!(
            "It breaks most at {}: in {} of {} attempts that were not clean, mostly {}.",
            place(at),
            at.failed,
            at.of,
            phrase(&at.what, at.less)
        )),
    }
}

fn place(at: &BreaksAt) -> String {
    match at.beat.as_deref().map(|beat| (beat, beat.strip_suffix(" 1/2"))) {
        // As in what is said of an attempt.
        Some((_, Some(beat))) => format!("bar {}, the “and” of {beat}", at.bar),
        Some((beat, None)) => format!("bar {}, beat {beat}", at.bar),
        None => format!("bar {}", at.bar),
    }
}

/// `31 March 2026`
pub(in crate::report) fn date(day: Date) -> String {
    day.strftime("%-d %B %Y").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::days::ColdTry;
    use jiff::civil::date;

    #[test]
    fn a_day_stands_on_a_line_that_ends_at_the_goal() {
        let cold = Some(ColdTry { tempo: 65, passed: false });
        let played = DayPlayed { cold, best: Some(100), attempts: 4 };
        let line = of_day(date(2026, 3, 31), &played, 100);
        assert_eq!(
            line,
            "  31 Mar 2026  cold  65 x  warm 100  |                x                #|"
        );
        assert!(line.chars().count() <= 80);
        let slow =
            DayPlayed { cold: Some(ColdTry { tempo: 10, passed: true }), ..DayPlayed::default() };
        assert!(
            of_day(date(2026, 4, 1), &slow, 100)
                .ends_with("cold  10 o  warm   -  |o                                 |")
        );
        assert_eq!((column(u32::MAX, 100), column(0, 0)), (COLUMNS - 1, 0));
    }
}
