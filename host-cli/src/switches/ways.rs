//! What can be asked for now and how, for whoever has two switches or the guitar alone.

use evenhand_core::feet::{Gesture, Steps, steps};
use evenhand_core::practice::{Choice, Choices, Press};

/// What a way leads to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// One of what is offered.
    Choice(Choice),
    /// Something that can always be asked for.
    Press(Press),
}

/// What an open string means after a call. The two lowest mean the same whatever is offered, so that they
/// are known by heart.
pub(super) fn of_string(string: u8, choices: Choices) -> Option<What> {
    let press = |press| Some(What::Press(press));
    match (string, choices.is_empty()) {
        (6, _) => press(Press::Hurts),
        (5, _) => press(Press::Choose(Choice::Stop)),
        (4, true) => press(Press::Misheard),
        (3, true) => press(Press::Back),
        (2, true) => press(Press::Next),
        (1, true) => press(Press::Again),
        (string, _) => {
            let choice = match string {
                1 => Choice::Shorter,
                2 => Choice::Rhythm,
                3 if choices.has(Choice::Fingering) => Choice::Fingering,
                3 => Choice::Accents,
                4 => Choice::Burst,
                _ => return None,
            };
            choices.has(choice).then_some(What::Choice(choice))
        }
    }
}

/// What can be asked for with two switches, in a line. Those that cannot be held are pressed three times
/// instead, and both twice.
pub fn ways_of_feet(choices: Choices, can_hold: bool) -> String {
    let mut ways: Vec<(Gesture, &str)> = Vec::new();
    if choices.is_empty() {
        ways.extend([
            (Gesture::Left(Steps::Once), word_of(What::Press(Press::Again))),
            (Gesture::Right(Steps::Once), word_of(What::Press(Press::Next))),
            (Gesture::Left(Steps::Twice), word_of(What::Press(Press::Back))),
            (Gesture::Right(Steps::Twice), "say it"),
            (Gesture::Right(Steps::Held), "what else"),
            (Gesture::Both, word_of(What::Press(Press::Misheard))),
        ]);
    } else {
        let offered = choices.iter().filter(|choice| *choice != Choice::Stop);
        ways.extend(offered.map(|choice| (steps(choice), word_of(What::Choice(choice)))));
    }
    ways.push((steps(Choice::Stop), word_of(What::Choice(Choice::Stop))));
    ways.push((Gesture::BothHeld, word_of(What::Press(Press::Hurts))));
    let ways = ways.iter().map(|(gesture, what)| format!("{}: {what}", named(*gesture, can_hold)));
    ways.collect::<Vec<_>>().join(", ")
}

/// What is offered with the keys that choose it, in a line; a key means the same whether it is offered or not,
/// so it counts what can be chosen at all.
pub fn ways_of_keys(offered: Choices, possible: Choices) -> String {
    let keys = (1..).zip(possible.iter()).filter(|(_, choice)| offered.has(*choice));
    let ways: Vec<_> =
        keys.map(|(key, choice)| format!("{key}: {}", word_of(What::Choice(choice)))).collect();
    ways.join(", ")
}

/// What can be asked for by plucking an open string after a call, in a line.
pub fn ways_of_strings(choices: Choices) -> String {
    let ways = (1..=6).filter_map(|string| Some((string, of_string(string, choices)?)));
    let ways: Vec<_> = ways.map(|(string, what)| format!("{string}: {}", word_of(what))).collect();
    format!("pluck an open string, {}", ways.join(", "))
}

fn named(gesture: Gesture, can_hold: bool) -> String {
    let how = |steps| match steps {
        Steps::Once => "",
        Steps::Twice => " twice",
        Steps::Held if can_hold => " held",
        Steps::Held => " three times",
    };
    match gesture {
        Gesture::Left(steps) => format!("left{}", how(steps)),
        Gesture::Right(steps) => format!("right{}", how(steps)),
        Gesture::Both => "both".to_owned(),
        Gesture::BothHeld if can_hold => "both held".to_owned(),
        Gesture::BothHeld => "both twice".to_owned(),
    }
}

const fn word_of(what: What) -> &'static str {
    match what {
        What::Choice(Choice::Shorter) => "less of it",
        What::Choice(Choice::Rhythm) => "another rhythm",
        What::Choice(Choice::Fingering) => "another fingering",
        What::Choice(Choice::Burst) => "a few times faster",
        What::Choice(Choice::Accents) => "half as fast with accents",
        What::Choice(Choice::Stop) | What::Press(Press::Choose(_)) => "leave",
        What::Press(Press::Again) => "again",
        What::Press(Press::Next) => "next",
        What::Press(Press::Back) => "back",
        What::Press(Press::Misheard) => "that was right",
        What::Press(Press::Hurts) => "it hurts",
        What::Press(Press::Slower) => "slower",
        What::Press(Press::Faster) => "faster",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_on_the_page_is_what_is_done() {
        let some = Choices::NONE.with(Choice::Shorter, true).with(Choice::Burst, true);
        assert_eq!(
            ways_of_feet(some, true),
            "left: less of it, right twice: a few times faster, left held: leave, both held: it hurts"
        );
        assert_eq!(
            ways_of_feet(Choices::NONE, false),
            "left: again, right: next, left twice: back, right twice: say it, right three times: what else, \
             both: that was right, left three times: leave, both twice: it hurts"
        );
        assert_eq!(
            ways_of_strings(Choices::NONE),
            "pluck an open string, 1: again, 2: next, 3: back, 4: that was right, 5: leave, 6: it hurts"
        );
        assert_eq!(
            ways_of_strings(some),
            "pluck an open string, 1: less of it, 4: a few times faster, 5: leave, 6: it hurts"
        );
        let possible = some.with(Choice::Rhythm, true).with(Choice::Stop, true);
        assert_eq!(ways_of_keys(some, possible), "1: less of it, 3: a few times faster");
    }
}
