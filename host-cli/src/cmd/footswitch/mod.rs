//! `evenhand footswitch`: learns which pedal or key means what, by its being pressed; or a figure on the
//! guitar.

mod guitar;
mod learner;
mod two;

use crate::args::{FootswitchArgs, OutputArgs};
use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::sitting::connection;
use crate::switches::{Action, Switches, ways_of_feet, ways_of_strings};
use crate::{settings, stop};
use evenhand_core::practice::Choices;
use learner::{Learner, Pressed};

/// Runs the command.
pub fn run(args: &FootswitchArgs) -> Result<Exit, Fault> {
    let mut output =
        Output::new(&OutputArgs { events: false, plain: true, exit_by_verdict: false })?;
    if args.forget {
        settings::remember_switches(&Switches::none())?;
        output.say("No foot switch is known any more, and no figure of the guitar.")?;
        return Ok(Exit::Done);
    }
    if args.show {
        show(&settings::switches()?, &mut output)?;
        return Ok(Exit::Done);
    }
    let known = match settings::switches() {
        // Settings with a mistake in a switch are put right by learning it anew.
        Err(_) if !args.guitar => Switches::none(),
        known => known?,
    };
    stop::listen_for_it();
    let source = connection::open(&args.source)?;
    let name = source.name.clone();
    let mut learner = Learner::of(source);
    let learnt = if args.guitar {
        output.say(&format!("Listening to {name}."))?;
        let mut learnt = known;
        learnt.learn_call(Some(guitar::learn(&mut learner, &mut output)?));
        learnt
    } else {
        output.say(&format!("Listening to {name}. Leave the strings alone."))?;
        let mut learnt = Switches::none();
        learnt.learn_call(known.figure().cloned());
        if args.two {
            learnt.learn_two(two::learn(&mut learner, &mut output)?);
        } else {
            each(&mut learner, &mut learnt, &mut output)?;
        }
        learnt
    };
    settings::remember_switches(&learnt)?;
    show(&learnt, &mut output)?;
    Ok(Exit::Done)
}

/// A switch for each of what can be asked for, as far as there are any.
fn each(learner: &mut Learner, learnt: &mut Switches, output: &mut Output) -> Result<(), Fault> {
    for action in Action::LEARNT {
        output.say(&format!("Press what shall mean “{}” ({}).", action.word(), meaning(action)))?;
        one(learner, action, learnt, output)?;
        if learner.is_over() {
            break;
        }
    }
    if learnt.known().next().is_none() {
        return Err(nothing_heard());
    }
    Ok(())
}

fn one(
    learner: &mut Learner,
    action: Action,
    learnt: &mut Switches,
    output: &mut Output,
) -> Result<(), Fault> {
    loop {
        match learner.press()? {
            Pressed::Signal(signal) => {
                let signal = if learner.stays(signal)? { signal.at_each_change() } else { signal };
                if let Some((other, _)) = learnt.known().find(|(_, known)| *known == signal) {
                    let word = other.word();
                    output.say(&format!("That is “{word}” already. Press another one."))?;
                    continue;
                }
                learnt.learn(action, signal);
                return output.say(&format!("“{}” is {signal}.", action.word()));
            }
            Pressed::Nothing => {
                return output.say(&format!("Nothing: “{}” has no switch.", action.word()));
            }
            Pressed::Enough => return Ok(()),
        }
    }
}

fn nothing_heard() -> Fault {
    Fault::new(Exit::Live, "no press of a foot switch was heard").advise(
        "Is the pedal at this input? Name another one with --port; `evenhand ports` lists them. \
         What was known before is as it was.",
    )
}

const fn meaning(action: Action) -> &'static str {
    match action {
        Action::Again => "the same once more; what is under way does not count",
        Action::Next => "to the next chunk",
        Action::Back => "to the chunk before",
        Action::Stop => "enough for now",
        Action::Misheard => "that was right, the pickup misheard it; it does not count",
        Action::Hurts => "it hurts: the end, at once",
        Action::Say => "the reason and what comes next, aloud",
        Action::Choose(_) | Action::Choices | Action::Call => "what can be chosen",
    }
}

/// What is known, and what it means.
fn show(switches: &Switches, output: &mut Output) -> Result<(), Fault> {
    match switches.two() {
        Some(two) => {
            let [left, right] = two.signals();
            output.say(&format!("left: {left}\nright: {right}"))?;
            output
                .say(&format!("In practice: {}.", ways_of_feet(Choices::NONE, two.can_hold())))?;
            let all = |choices: Choices, choice| choices.with(choice, true);
            let offered = evenhand_core::practice::Choice::ALL.into_iter();
            let offered = ways_of_feet(offered.fold(Choices::NONE, all), two.can_hold());
            output.say(&format!("While something is offered: {offered}."))?;
        }
        None => {
            for action in Action::LEARNT {
                let known = switches.known().find(|(other, _)| *other == action);
                let signal =
                    known.map_or_else(|| "no switch".to_owned(), |(_, signal)| signal.to_string());
                output.say(&format!("{}: {signal}", action.word()))?;
            }
        }
    }
    if let Some(figure) = switches.figure() {
        let ways = ways_of_strings(Choices::NONE);
        output.say(&format!("figure of the guitar: {figure}, alone; then {ways}"))?;
    }
    Ok(())
}
