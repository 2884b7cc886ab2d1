//! `evenhand pedal remove`: a study off the pedal.

use super::output;
use super::{PedalRecord, fault, greet};
use crate::args::CableArgs;
use crate::fault::{Exit, Fault};
use serde::Serialize;

/// A study that was removed; see `docs/events.md`.
#[derive(Serialize)]
struct RemovedRecord<'a> {
    kind: &'static str,
    study: &'a str,
    hash: String,
}

pub(super) fn run(title: &str, cable: &CableArgs) -> Result<Exit, Fault> {
    let (mut pedal, who) = greet(cable)?;
    let listed = pedal.list().map_err(|trouble| fault(cable, &trouble))?;
    let mut output = output(cable)?;
    output.record(&PedalRecord::of(&who))?;
    let wanted = title.to_lowercase();
    let found: Vec<_> = listed
        .iter()
        .flatten()
        .filter(|own| {
            own.title.to_lowercase() == wanted || format!("{:016x}", own.pack.study) == wanted
        })
        .collect();
    let own = match found.as_slice() {
        [own] => own,
        [] => {
            return Err(Fault::new(Exit::Usage, format!("the pedal has no study “{title}”"))
                .advise("`evenhand pedal list` shows what it has."));
        }
        many => {
            let what = format!("the pedal has {} studies “{title}”", many.len());
            return Err(Fault::new(Exit::Usage, what)
                .advise("Name one by its hash, as `evenhand pedal list` shows it."));
        }
    };
    pedal.remove(own.pack).map_err(|trouble| fault(cable, &trouble))?;
    output.say(&format!("“{}” is off the pedal; its results are still there.", own.title))?;
    let hash = format!("{:016x}", own.pack.study);
    output.record(&RemovedRecord { kind: "removed", study: &own.title, hash })?;
    Ok(output.exit())
}
