//! `evenhand pedal list`: the pedal and the studies on it.

use super::output;
use super::{PedalRecord, fault, greet};
use crate::args::CableArgs;
use crate::fault::{Exit, Fault};
use serde::Serialize;

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
    let listed = pedal.list().map_err(|trouble| fault(cable, &trouble))?;
    let mut output = output(cable)?;
    output.record(&PedalRecord::of(&who))?;
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
