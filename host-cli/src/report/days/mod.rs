//! How a piece goes from day to day, in words.

mod picture;
mod table;

pub use picture::{PictureHead, picture};
pub(super) use table::date;
pub use table::{MARKS, piece_table, piece_words};

use crate::days::PieceDays;
use crate::practice::trend::{Rise, Trend};

/// So many days are listed, the latest. Our default: they fit a line.
const LISTED: usize = 8;

/// `“Quick”: 60, 64 and 66 beats a minute on three days; 140 is the goal. It rises …`; `None` for a piece
/// that was clean on fewer than two days.
pub fn piece_days(days: &PieceDays) -> Option<String> {
    let bests: Vec<u32> = days.days.values().filter_map(|day| day.best).collect();
    if bests.len() < 2 {
        return None;
    }
    let latest = bests.get(bests.len().saturating_sub(LISTED)..).unwrap_or(&[]);
    let (last, others) = latest.split_last()?;
    let others: Vec<String> = others.iter().map(u32::to_string).collect();
    let count = match bests.len() {
        all if all > latest.len() => format!("the last {} of {all} days", latest.len()),
        all => format!("{all} days"),
    };
    let (name, goal) = (&days.name, days.goal);
    let trend = trend(days.rise());
    let others = others.join(", ");
    Some(format!(
        "“{name}”: {others} and {last} beats a minute at its best on {count}; {goal} is the goal. {trend}"
    ))
}

fn trend(rise: Option<Rise>) -> String {
    let Some(Rise { trend, a_day, least, most, days }) = rise else {
        return "Too early to say how it goes: that takes six days within four weeks.".to_owned();
    };
    let range =
        format!("{} a day, between {} and {}", percent(a_day), percent(least), percent(most));
    match trend {
        Trend::Progress => format!("Progress: {range}."),
        Trend::Plateau => {
            format!(
                "A plateau over {days} days: {range}. Change the rhythm, the fingering, or take less of it."
            )
        }
        Trend::TooEarly => format!("Too early to say how it goes: {range}."),
    }
}

/// `+1.8 %`, `−0.4 %`.
fn percent(share: f64) -> String {
    let tenths = (share * 1_000.0).round() as i64;
    let sign = if tenths < 0 { "−" } else { "+" };
    format!("{sign}{}.{} %", tenths.abs() / 10, tenths.abs() % 10)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::days::{Breaks, DayPlayed};
    use evenhand_core::practice::Piece;
    use jiff::ToSpan;
    use jiff::civil::{Date, date};

    fn of(bests: &[u32]) -> PieceDays {
        let first: Date = date(2026, 3, 1);
        let days = (0_i64..).zip(bests).map(|(day, best)| {
            (first + day.days(), DayPlayed { best: Some(*best), ..DayPlayed::default() })
        });
        PieceDays {
            piece: Piece::Chunk(0),
            name: "Quick".to_owned(),
            goal: 140,
            fastest: bests.last().copied(),
            passed: None,
            reached: None,
            days: days.collect(),
            breaks: Breaks::Never,
        }
    }

    #[test]
    fn days_are_told_with_their_figures() {
        assert_eq!(piece_days(&of(&[60])), None);
        assert_eq!(
            piece_days(&of(&[60, 64, 66])).unwrap(),
            "“Quick”: 60, 64 and 66 beats a minute at its best on 3 days; 140 is the goal. Too early to \
             say how it goes: that takes six days within four weeks."
        );
        let rising = piece_days(&of(&[60, 62, 64, 66, 68, 70, 72, 75, 77])).unwrap();
        assert!(rising.starts_with("“Quick”: 62, 64, 66, 68, 70, 72, 75 and 77 "), "{rising}");
        assert!(
            rising.contains("on the last 8 of 9 days") && rising.contains("Progress: +3.2 %"),
            "{rising}"
        );
        let stuck = piece_days(&of(&[80; 8])).unwrap();
        assert!(stuck.contains("A plateau over 8 days: +0.0 % a day"), "{stuck}");
        let falling = piece_days(&of(&[80, 79, 78, 77, 76, 75, 74])).unwrap();
        assert!(falling.contains("−1.3 %"), "{falling}");
    }
}
