//! The foot switches that have been learnt, and the figure of the guitar, as the settings keep them.

use super::text::{text_of, value_in};
use super::{FILE, folder, remember};
use crate::fault::{Exit, Fault};
use crate::switches::{Action, Figure, Signal, Switches, TwoSwitches};

/// The settings with two switches for everything, left and right.
const TWO: [&str; 2] = ["switch-left", "switch-right"];

/// The setting that says whether those can be held.
const HELD: &str = "switch-held";

/// The setting with the guitar's figure.
const CALL: &str = "guitar-call";

/// The foot switches that have been learnt.
pub fn switches() -> Result<Switches, Fault> {
    let mut switches = Switches::none();
    let file = folder()?.join(FILE);
    let Some(text) = text_of(&file)? else { return Ok(switches) };
    let wrong = |what: String| {
        Fault::new(Exit::Input, format!("{}: {what}", file.display()))
            .advise("Learn it anew with `evenhand footswitch`, or take the line out.")
    };
    let signal = |name: &str| -> Result<Option<Signal>, Fault> {
        let Some(written) = value_in(&text, name) else { return Ok(None) };
        let no_signal = |_| wrong(format!("“{name}” is no foot switch: “{written}”"));
        written.parse().map(Some).map_err(no_signal)
    };
    for action in Action::LEARNT {
        if let Some(signal) = signal(&one(action))? {
            switches.learn(action, signal);
        }
    }
    let [left, right] = TWO;
    match (signal(left)?, signal(right)?) {
        (Some(left), Some(right)) => {
            let can_hold = value_in(&text, HELD) != Some("no");
            switches.learn_two(TwoSwitches::new([left, right], can_hold));
        }
        (None, None) => {}
        _ => return Err(wrong(format!("there is one of “{left}” and “{right}”, and no other"))),
    }
    if let Some(written) = value_in(&text, CALL) {
        let no_figure = |_| wrong(format!("“{CALL}” is no figure of the guitar: “{written}”"));
        let figure: Figure = written.parse().map_err(no_figure)?;
        switches.learn_call(Some(figure));
    }
    Ok(switches)
}

/// Remembers what has been learnt, in place of what was known.
pub fn remember_switches(switches: &Switches) -> Result<(), Fault> {
    let names = Action::LEARNT.map(one);
    let mut values: Vec<(&str, Option<String>)> = Vec::new();
    for (action, name) in Action::LEARNT.into_iter().zip(&names) {
        let known = switches.known().find(|(other, _)| *other == action);
        values.push((name, known.map(|(_, signal)| signal.to_string())));
    }
    let two = switches.two();
    let signals = two.map(|two| two.signals().map(|signal| signal.to_string()));
    for (index, name) in TWO.into_iter().enumerate() {
        values.push((name, signals.as_ref().and_then(|both| both.get(index).cloned())));
    }
    let held = two.map(|two| if two.can_hold() { "yes" } else { "no" });
    values.push((HELD, held.map(str::to_owned)));
    values.push((CALL, switches.figure().map(ToString::to_string)));
    let values: Vec<_> = values.iter().map(|(name, value)| (*name, value.as_deref())).collect();
    remember(&values)
}

/// The name of a switch that means one thing.
fn one(action: Action) -> String {
    format!("switch-{}", action.word())
}
