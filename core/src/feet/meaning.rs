//! What is meant by it while something is practised. The tables for players are in `docs/practice.md` and
//! `docs/pedal.md`.

use super::pair::{Gesture, Steps};
use crate::practice::{Choice, Choices, Press};

/// What is meant while something is offered, whatever else the switches mean: which one of what is offered.
/// Less of it and another rhythm take one step, since no piece is without at least one of them; a held left
/// switch leaves, as it always does.
///
/// ```
/// use evenhand_core::feet::{Gesture, Steps, offered};
/// use evenhand_core::practice::{Choice, Choices};
///
/// let choices = Choices::NONE.with(Choice::Shorter, true).with(Choice::Burst, true);
/// assert_eq!(offered(Gesture::Left(Steps::Once), choices), Some(Choice::Shorter));
/// assert_eq!(offered(Gesture::Right(Steps::Twice), choices), Some(Choice::Burst));
/// assert_eq!(offered(Gesture::Right(Steps::Once), choices), None, "that is not offered");
/// ```
pub fn offered(gesture: Gesture, choices: Choices) -> Option<Choice> {
    choices.iter().find(|choice| steps(*choice) == gesture)
}

/// How a choice is made with two switches.
pub const fn steps(choice: Choice) -> Gesture {
    match choice {
        Choice::Shorter => Gesture::Left(Steps::Once),
        Choice::Rhythm => Gesture::Right(Steps::Once),
        Choice::Fingering => Gesture::Left(Steps::Twice),
        Choice::Burst => Gesture::Right(Steps::Twice),
        Choice::Accents => Gesture::Right(Steps::Held),
        Choice::Stop => Gesture::Left(Steps::Held),
    }
}

/// What is meant while nothing is offered. A held right switch is for whatever else there is: the tempo on a
/// pedal, what can be chosen on a page.
pub const fn asked(gesture: Gesture) -> Option<Press> {
    Some(match gesture {
        Gesture::Left(Steps::Once) => Press::Again,
        Gesture::Right(Steps::Once) => Press::Next,
        Gesture::Left(Steps::Twice) => Press::Back,
        Gesture::Left(Steps::Held) => Press::Choose(Choice::Stop),
        Gesture::Both => Press::Misheard,
        Gesture::BothHeld => Press::Hurts,
        Gesture::Right(Steps::Twice | Steps::Held) => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_choice_has_steps_of_its_own() {
        let all = Choice::ALL.into_iter().fold(Choices::NONE, |all, one| all.with(one, true));
        for choice in Choice::ALL {
            assert_eq!(offered(steps(choice), all), Some(choice));
        }
        // What always means the same is none of them, but for leaving.
        for gesture in [Gesture::Both, Gesture::BothHeld] {
            assert_eq!(offered(gesture, all), None, "{gesture:?}");
        }
        assert_eq!(asked(steps(Choice::Stop)), Some(Press::Choose(Choice::Stop)));
    }
}
