//! Profiles as text, to be read by people and by [`parse`](super::parse).

use super::{FIRST_LINE, errors};
use evenhand_core::pickup::{Bends, Channels, Lateness, Pickup};
use evenhand_core::units::{GuitarString, Level};
use std::fmt::Write;

/// A setting, and what people may want to know about where it comes from.
pub type Remark = (&'static str, String);

/// The text of a profile: what is not as in [`Pickup::UNKNOWN`], and what there is a remark on.
/// `head` stands above it.
pub fn text(pickup: &Pickup, head: &[String], remarks: &[Remark]) -> String {
    let mut text = format!("{FIRST_LINE}\n");
    head.iter().for_each(|line| comment(&mut text, line));
    for ((name, value), (_, usual)) in values(pickup).into_iter().zip(values(&Pickup::UNKNOWN)) {
        let remark = remarks.iter().find(|(about, _)| *about == name);
        if value == usual && remark.is_none() {
            continue;
        }
        if let Some((_, remark)) = remark {
            text.push('\n');
            comment(&mut text, remark);
        }
        let _ = writeln!(text, "{name} = {value}");
    }
    text
}

/// The longest line of a comment. Our default.
const WIDTH: usize = 80;

fn comment(text: &mut String, remark: &str) {
    let mut line = "#".to_owned();
    for word in remark.split_whitespace() {
        if line.chars().count() + 1 + word.chars().count() > WIDTH {
            let _ = writeln!(text, "{line}");
            line = "#".to_owned();
        }
        line.push(' ');
        line.push_str(word);
    }
    let _ = writeln!(text, "{line}");
}

fn values(pickup: &Pickup) -> Vec<(&'static str, String)> {
    let channels = match pickup.channels {
        Channels::One => "one".to_owned(),
        Channels::PerString { first } => format!("strings from {}", u32::from(first) + 1),
        // A zone says so itself.
        Channels::Auto | Channels::Zone => "auto".to_owned(),
    };
    let bends = match pickup.bends {
        Bends::MaySlur => "slurs",
        Bends::OnlyColour => "colour",
    };
    let micros = pickup.latency.base.as_micros().max(0);
    let levels: Vec<String> = pickup.string_levels.iter().take(6).map(|level| db(*level)).collect();
    let velocity = if pickup.fixed_velocity { "fixed" } else { "heard" };
    let percent = pickup.latency.periods_percent;
    [
        ("channels", channels),
        ("bend-range", pickup.bend_range.to_string()),
        ("bends", bends.to_owned()),
        ("latency-ms", decimal(&format!("{}.{:03}", micros / 1_000, micros % 1_000))),
        ("latency-periods", decimal(&format!("{}.{:02}", percent / 100, percent % 100))),
        ("late-ms", by_string(pickup, |late| late.by)),
        ("late-scatter-ms", by_string(pickup, |late| late.scatter.min(i16::MAX as u16) as i16)),
        ("string-levels-db", levels.join(", ")),
        ("level-scatter-db", scatter(pickup)),
        ("noise-percent", pickup.noise_percent.to_string()),
        ("velocity", velocity.to_owned()),
    ]
    .into_iter()
    .chain(errors::lines(&pickup.habits))
    .collect()
}

/// A number for each of six strings, where it is known; nothing if none is.
fn by_string(pickup: &Pickup, number: impl Fn(&Lateness) -> i16) -> String {
    let known = |string| pickup.habits.late(GuitarString::new(string));
    let one = |string| known(string).map_or("?".to_owned(), |late| hundredths(number(&late)));
    if (1..=6).all(|string| known(string).is_none()) {
        return String::new();
    }
    (1..=6).map(one).collect::<Vec<_>>().join(", ")
}

/// How far the levels of each of six strings scatter, where it is known; nothing if none is.
fn scatter(pickup: &Pickup) -> String {
    let own: Vec<Level> = pickup.level_scatter.iter().take(6).copied().collect();
    if own.iter().all(|level| *level == Level::ZERO) {
        return String::new();
    }
    let one = |level: &Level| if *level == Level::ZERO { "?".to_owned() } else { db(*level) };
    own.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn db(level: Level) -> String {
    hundredths(level.hundredths())
}

fn hundredths(hundredths: i16) -> String {
    let sign = if hundredths < 0 { "-" } else { "" };
    let size = hundredths.unsigned_abs();
    decimal(&format!("{sign}{}.{:02}", size / 100, size % 100))
}

/// Without zeros that say nothing.
fn decimal(text: &str) -> String {
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text.is_empty() || text == "-" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::super::parse;
    use super::*;
    use evenhand_core::pickup::Latency;
    use evenhand_core::units::Offset;

    #[test]
    fn what_is_written_is_read() {
        let mut pickup = Pickup {
            channels: Channels::PerString { first: 10 },
            bend_range: 12,
            bends: Bends::OnlyColour,
            latency: Latency { base: Offset::from_micros(4_050), periods_percent: 105 },
            noise_percent: 40,
            fixed_velocity: true,
            ..Pickup::UNKNOWN
        };
        pickup.string_levels[0] = Level::from_hundredths(-5);
        pickup.string_levels[4] = Level::from_hundredths(-1_250);
        pickup.level_scatter[0] = Level::from_hundredths(35);
        pickup.level_scatter[5] = Level::from_hundredths(210);
        for (string, by, scatter) in [(1, -3_000, 0), (2, -2_950, 410), (6, 3_025, 1_200)] {
            let known = Lateness { by, scatter, notes: super::super::value::TOLD };
            pickup.habits.string_mut(GuitarString::new(string)).late.known = known;
        }
        let written = text(&pickup, &["Made by hand.".to_owned()], &[]);
        assert_eq!(parse(&written), Ok(pickup), "{written}");
        assert!(written.contains("latency-ms = 4.05\n"), "{written}");
        assert!(written.contains("late-ms = -30, -29.5, ?, ?, ?, 30.25\n"), "{written}");
        assert!(written.contains("late-scatter-ms = 0, 4.1, ?, ?, ?, 12\n"), "{written}");
        assert!(written.contains("level-scatter-db = 0.35, ?, ?, ?, ?, 2.1\n"), "{written}");
        assert!(written.contains("string-levels-db = -0.05, 0, 0, 0, -12.5, 0\n"), "{written}");
    }

    #[test]
    fn what_is_usual_is_left_out_unless_there_is_something_to_say() {
        assert_eq!(text(&Pickup::UNKNOWN, &[], &[]), "evenhand pickup 1\n");
        let remark = [("bends", "four slurs came as bends".to_owned())];
        assert_eq!(
            text(&Pickup::UNKNOWN, &[], &remark),
            "evenhand pickup 1\n\n# four slurs came as bends\nbends = slurs\n"
        );
    }
}
