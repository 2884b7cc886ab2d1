//! Two switches for everything.

use super::learner::{Learner, Pressed};
use super::nothing_heard;
use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::switches::{Signal, TwoSwitches};

/// A switch that says after this time, in microseconds, that it was let go was held. Our default: some pedals
/// say it at once, however long the foot stays.
const HELD: u64 = 500_000;

/// Learns both, and whether they can be held.
pub(super) fn learn(learner: &mut Learner, output: &mut Output) -> Result<TwoSwitches, Fault> {
    let (left, left_holds) = one("left", None, learner, output)?;
    let (right, right_holds) = one("right", Some(left), learner, output)?;
    let can_hold = left_holds && right_holds;
    if !can_hold {
        output.say(
            "These do not say how long they are held: where others are held, press three times, and \
             both twice when it hurts.",
        )?;
    }
    Ok(TwoSwitches::new([left, right], can_hold))
}

fn one(
    name: &str,
    other: Option<Signal>,
    learner: &mut Learner,
    output: &mut Output,
) -> Result<(Signal, bool), Fault> {
    output.say(&format!("Hold the {name} switch down for a second, then let it go."))?;
    loop {
        let signal = match learner.press()? {
            Pressed::Signal(signal) => signal,
            Pressed::Nothing | Pressed::Enough if other.is_none() => return Err(nothing_heard()),
            Pressed::Nothing | Pressed::Enough => {
                return Err(Fault::new(Exit::Live, format!("no press of the {name} switch was heard"))
                    .advise(
                        "With one switch, learn what it shall mean: `evenhand footswitch`. What was known \
                         before is as it was.",
                    ));
            }
        };
        let held = learner.held(signal)?;
        if other == Some(signal) {
            output.say("That is the left one. Press the other one.")?;
            continue;
        }
        let stays = held.is_none() && matches!(signal, Signal::Control { .. });
        let signal = if stays { signal.at_each_change() } else { signal };
        output.say(&format!("The {name} one is {signal}."))?;
        return Ok((signal, held.is_some_and(|held| held >= HELD)));
    }
}
