//! `evenhand doctor`: looks for whatever may keep the program from hearing, and says what to do.
//!
//! One file a subject. A check finds something out and says it; nothing is changed for good.

mod files;
mod listening;
#[cfg(feature = "live")]
mod midi;
mod sound;

use crate::args::{DoctorArgs, OutputArgs};
use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::report::count;
use crate::settings;
use crate::settings::learnt;
use crate::studies;
use serde::Serialize;

/// How something was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
enum State {
    /// As it should be.
    Good,
    /// It works, but may not be what is wanted.
    Mind,
    /// It has to be put right.
    Wrong,
    /// Not part of this build or this system.
    Absent,
}

/// What one look found.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "kind", rename = "check")]
struct Check {
    /// What was looked at, for programs.
    what: &'static str,
    state: State,
    /// What was found, for people.
    found: String,
    /// What to do about it.
    advice: Option<String>,
}

impl Check {
    fn new(what: &'static str, state: State, found: impl Into<String>) -> Self {
        Self { what, state, found: found.into(), advice: None }
    }

    fn good(what: &'static str, found: impl Into<String>) -> Self {
        Self::new(what, State::Good, found)
    }

    fn wrong(what: &'static str, fault: &Fault) -> Self {
        Self { what, state: State::Wrong, found: fault.what.clone(), advice: fault.advice.clone() }
    }

    fn advise(mut self, advice: impl Into<String>) -> Self {
        self.advice = Some(advice.into());
        self
    }
}

/// Runs the command.
pub fn run(args: &DoctorArgs) -> Result<Exit, Fault> {
    let mut output =
        Output::new(&OutputArgs { events: args.events, plain: false, exit_by_verdict: false })?;
    let mut wrong = 0;
    let checks = if args.listen {
        listening::checks(args, &mut output)?
    } else if names_a_source(args) {
        let what = "nothing is listened to without --listen";
        return Err(Fault::new(Exit::Usage, what)
            .advise("Write `evenhand doctor --listen`, or leave the input away."));
    } else {
        checks(args)
    };
    for check in checks {
        wrong += u32::from(check.state == State::Wrong);
        output.record(&check)?;
        say(&check, args.listen, &mut output)?;
    }
    output.say("")?;
    output.say(&match wrong {
        0 => "Nothing is wrong here.".to_owned(),
        1 => "One thing is wrong.".to_owned(),
        many => format!("{many} things are wrong."),
    })?;
    Ok(if wrong == 0 { Exit::Done } else { Exit::Unwell })
}

/// Whether an input is named.
fn names_a_source(args: &DoctorArgs) -> bool {
    #[cfg(feature = "live")]
    if args.source.port.is_some() {
        return true;
    }
    args.source.raw.is_some() || args.source.timed.is_some()
}

fn checks(args: &DoctorArgs) -> Vec<Check> {
    let mut checks = Vec::new();
    #[cfg(feature = "live")]
    checks.extend(midi::checks());
    #[cfg(not(feature = "live"))]
    checks.push(
        Check::new("midi-system", State::Absent, "this build has no MIDI ports")
            .advise("Raw bytes work: --raw PATH. For ports, build with the feature `live`."),
    );
    checks.push(sound::check());
    checks.extend(files::folders());
    checks.extend(profile(args));
    checks.extend(learnt());
    if let Some(path) = &args.study {
        checks.push(match studies::read(path) {
            Ok(chunks) => {
                let chunks = count(chunks.len(), "chunk");
                Check::good("study", format!("{} is right: {chunks}", path.display()))
            }
            Err(fault) => Check::wrong("study", &fault),
        });
    }
    checks
}

/// The profile of the pickup: the one that is named, or the user's own.
fn profile(args: &DoctorArgs) -> Option<Check> {
    let path = match &args.pickup {
        Some(path) => path.clone(),
        None => match settings::own_profile().ok()? {
            Some(path) => path,
            None => {
                let found = "nothing is known of the pickup";
                let advice = "`evenhand calibrate` finds out about it in two minutes.";
                return Some(Check::new("profile", State::Absent, found).advise(advice));
            }
        },
    };
    Some(match crate::pickup::read(&path) {
        Ok(_) => Check::good("profile", format!("{} is right", path.display())),
        Err(fault) => Check::wrong("profile", &fault),
    })
}

/// What was learnt of the user's own pickup while listening.
fn learnt() -> Option<Check> {
    let place = learnt::place().ok().filter(|place| place.exists())?;
    let habits = match crate::pickup::read(&place) {
        Ok(pickup) => pickup.habits,
        Err(fault) => return Some(Check::wrong("pickup-learnt", &fault)),
    };
    let sentences = crate::pickup::errors::sentences(&habits);
    Some(if sentences.is_empty() {
        Check::good("pickup-learnt", "the pickup has erred rarely so far")
    } else {
        let found = format!("what the pickup does now and then:\n{}", sentences.join("\n"));
        Check::new("pickup-learnt", State::Mind, found).advise(
            "None of it is charged to you. Turn the sensitivity of that string down, or the pickup \
             closer to it; `evenhand calibrate` finds its levels.",
        )
    })
}

/// Says it; what names no file is set in lines that fit.
fn say(check: &Check, wraps: bool, output: &mut Output) -> Result<(), Fault> {
    let word = match check.state {
        State::Good => "good",
        State::Mind => "mind",
        State::Wrong => "WRONG",
        State::Absent => "-",
    };
    let mut line = |lead: &str, more: &str, text: &str| {
        if wraps { output.set_in(text, lead, more) } else { output.say(&format!("{lead}{text}")) }
    };
    for (index, text) in check.found.lines().enumerate() {
        let word = if index == 0 { word } else { "" };
        line(&format!("{word:<6} "), "         ", text)?;
    }
    for text in check.advice.iter().flat_map(|advice| advice.lines()) {
        line("       → ", "         ", text)?;
    }
    Ok(())
}
