//! `evenhand pedal list`: the pedal and the studies on it.

use super::output;
use super::{PedalRecord, TroublesRecord, fault, greet};
use crate::args::CableArgs;
use crate::fault::{Exit, Fault};
use evenhand_core::link::{Stopped, Troubles};
use serde::Serialize;

/// What is said of what has gone wrong.
fn told(troubles: &Troubles) -> impl Iterator<Item = String> + use<> {
    let lost = match troubles.lost {
        0 => None,
        1 => Some("One result could not be kept since it was switched on.".to_owned()),
        many => Some(format!("{many} results could not be kept since it was switched on.")),
    };
    let why = match troubles.stopped {
        Stopped::Not => None,
        Stopped::Hung => Some("the firmware did not go on"),
        Stopped::Panicked => Some("the firmware met what it was not made for"),
        Stopped::Faulted => Some("the processor met what it cannot do"),
        _ => Some("for a reason that this program is too old to know"),
    };
    let stopped = why.map(|why| {
        format!("The pedal has begun anew by itself: {why}. Results that were kept are there.")
    });
    lost.into_iter().chain(stopped)
}

/// A study on a pedal; see `docs/events.md`.
#[derive(Serialize)]
struct StudyRecord<'a> {
    kind: &'static str,
    study: Option<&'a str>,
    hash: Option<String>,
    bytes: Option<u32>,
}

pub(super) fn run(cable: &CableArgs) -> Result<Exit, Fault> {
    let (mut pedal, who) = greet(cable)?;
    let troubles = pedal.troubles().map_err(|trouble| fault(cable, &trouble))?;
    let listed = pedal.list().map_err(|trouble| fault(cable, &trouble))?;
    let mut output = output(cable)?;
    output.record(&PedalRecord {
        troubles: troubles.map(TroublesRecord::of),
        ..PedalRecord::of(&who)
    })?;
    // People with several pedals tell them apart by it; it is the serial number of the plug, too.
    output.say(&format!("{}, firmware {}, number {:016x}", who.board, who.firmware, who.device))?;
    output.say(&format!(
        "{} bytes free; {}",
        who.free,
        match who.next.saturating_sub(who.oldest) {
            0 => "no results".to_owned(),
            1 => "one result to fetch".to_owned(),
            many => format!("{many} results to fetch"),
        }
    ))?;
    for said in troubles.iter().flat_map(told) {
        output.say(&said)?;
    }
    if listed.is_empty() {
        output.say("No studies. `evenhand pedal load STUDY --device PATH` brings one.")?;
    }
    for study in &listed {
        match study {
            Some(own) => output.say(&format!(
                "  {:016x}  {:>7} bytes  {}",
                own.pack.study, own.pack.length, own.title
            ))?,
            None => output.say("  a study that is damaged in the pedal's memory; load it again")?,
        }
        output.record(&StudyRecord {
            kind: "pedal-study",
            study: study.as_ref().map(|own| own.title.as_str()),
            hash: study.as_ref().map(|own| format!("{:016x}", own.pack.study)),
            bytes: study.as_ref().map(|own| own.pack.length),
        })?;
    }
    Ok(output.exit())
}
