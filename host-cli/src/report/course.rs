//! How a study stands in its course, in words.

use super::days::date;
use crate::days::course::{Planned, Standing, UnderWay};
use jiff::civil::Date;

/// `Falls was to be at its goal by 3 May 2026: 14 beats a minute to go in “Up”, three weeks late at this rate.`
pub fn standing(name: &str, planned: &Planned, standing: &Standing, today: Date) -> String {
    match standing {
        Standing::Later => format!("{name} begins on {}.", date(planned.from)),
        Standing::AtGoal => format!("{name} is at its goal; it was to be by {}.", date(planned.to)),
        Standing::Under(under) => under_way(name, under, today),
    }
}

fn under_way(name: &str, under: &UnderWay, today: Date) -> String {
    let is = if under.by < today { "was" } else { "is" };
    let goal = match under.percent {
        100 => "its goal".to_owned(),
        percent => format!("{percent} % of its goal"),
    };
    let mut left: Vec<String> = Vec::new();
    if let Some((chunk, beats)) = &under.furthest {
        let beats = match beats {
            1 => "one beat a minute".to_owned(),
            beats => format!("{beats} beats a minute"),
        };
        left.push(format!("{beats} to go in “{chunk}”"));
    }
    match under.not_clean {
        0 => {}
        1 => left.push("one chunk not clean yet".to_owned()),
        more => left.push(format!("{more} chunks not clean yet")),
    }
    match under.unbegun {
        (0, _) => {}
        (unbegun, all) if unbegun == all => left.push("nothing of it begun".to_owned()),
        (unbegun, all) => left.push(format!("{unbegun} of {all} chunks not begun")),
    }
    let rate = match (under.late(), under.there) {
        (Some(late @ 1..), _) => format!(", {} late at this rate", span(late)),
        (Some(_), Some(there)) => format!("; at this rate it is there by {}", date(there)),
        _ if under.unbegun.0 == 0 && under.not_clean == 0 => {
            "; at what rate is not known yet".to_owned()
        }
        _ => String::new(),
    };
    format!("{name} {is} to be at {goal} by {}: {}{rate}.", date(under.by), left.join(", "))
}

/// `three weeks`, `ten days`.
fn span(days: i32) -> String {
    const WORDS: [&str; 13] = [
        "none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    let word = |number: i32| {
        let word = usize::try_from(number).ok().and_then(|number| WORDS.get(number));
        word.map_or_else(|| number.to_string(), |word| (*word).to_owned())
    };
    match days {
        1 => "a day".to_owned(),
        2..=13 => format!("{} days", word(days)),
        more => format!("{} weeks", word((more + 3) / 7)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_late_is_told_with_what_is_to_go() {
        let day = |text: &str| text.parse::<Date>().unwrap();
        let planned = Planned {
            study: "falls".to_owned(),
            line: 2,
            from: day("2026-03-02"),
            to: day("2026-05-03"),
            steps: Vec::new(),
        };
        let furthest = Some(("Up".to_owned(), 14));
        let under = UnderWay {
            percent: 100,
            by: day("2026-05-03"),
            furthest,
            not_clean: 0,
            unbegun: (0, 2),
            there: Some(day("2026-05-24")),
        };
        let told = |under: &UnderWay, today: &str| {
            standing("Falls", &planned, &Standing::Under(under.clone()), day(today))
        };
        assert_eq!(
            told(&under, "2026-05-04"),
            "Falls was to be at its goal by 3 May 2026: 14 beats a minute to go in “Up”, three weeks late at \
             this rate."
        );
        let in_time = UnderWay { there: Some(day("2026-04-20")), ..under.clone() };
        assert_eq!(
            told(&in_time, "2026-04-04"),
            "Falls is to be at its goal by 3 May 2026: 14 beats a minute to go in “Up”; at this rate it is \
             there by 20 April 2026."
        );
        let unknown = UnderWay { there: None, percent: 80, ..under.clone() };
        assert_eq!(
            told(&unknown, "2026-04-04"),
            "Falls is to be at 80 % of its goal by 3 May 2026: 14 beats a minute to go in “Up”; at what rate \
             is not known yet."
        );
        let begun = UnderWay { unbegun: (1, 2), there: None, ..under };
        assert!(
            told(&begun, "2026-04-04")
                .ends_with("14 beats a minute to go in “Up”, 1 of 2 chunks not begun.")
        );
        let none = UnderWay { furthest: None, unbegun: (2, 2), ..begun };
        assert!(told(&none, "2026-04-04").ends_with("by 3 May 2026: nothing of it begun."));
        assert_eq!(
            (span(1), span(13), span(14)),
            ("a day".into(), "13 days".into(), "two weeks".into())
        );
    }
}
