//! `evenhand pedal load`: a study onto the pedal.

use super::output;
use super::{PedalRecord, fault, greet};
use crate::args::CableArgs;
use crate::cmd::pack;
use crate::fault::{Exit, Fault};
use crate::log;
use crate::output::warn;
use crate::pedal::Loaded;
use serde::Serialize;
use std::path::Path;

/// A study that was loaded; see `docs/events.md`.
#[derive(Serialize)]
struct LoadedRecord<'a> {
    kind: &'static str,
    study: &'a str,
    hash: String,
    bytes: usize,
    was_there: bool,
    from: Option<u32>,
}

/// How much of a study has come; see `docs/events.md`.
#[derive(Serialize)]
struct LoadingRecord {
    kind: &'static str,
    bytes: u32,
    of: usize,
}

pub(super) fn run(study: &Path, cable: &CableArgs) -> Result<Exit, Fault> {
    let made = pack::read_or_make(study)?;
    let pack = made.open()?;
    let (mut pedal, who) = greet(cable)?;
    let mut output = output(cable)?;
    output.record(&PedalRecord::of(&who))?;
    let whole = pack.bytes().len();
    let mut written = Ok(());
    // A line every few kilobytes is enough to see that it goes on.
    let mut next = 0;
    let loaded = pedal.load(&pack, |bytes| {
        if bytes >= next && written.is_ok() {
            next = bytes.saturating_add(8 * 1024);
            written = output.record(&LoadingRecord { kind: "loading", bytes, of: whole });
        }
    });
    written?;
    let loaded = loaded.map_err(|trouble| fault(cable, &trouble))?;
    remember(made.text.as_deref(), cable);
    output.say(&match loaded {
        Loaded::WasThere => format!("“{}” is on the pedal already.", pack.title()),
        Loaded::From(0) => format!("“{}” is on the pedal: {whole} bytes.", pack.title()),
        Loaded::From(from) => format!(
            "“{}” is on the pedal: {whole} bytes, of which {from} had come before.",
            pack.title()
        ),
    })?;
    output.record(&LoadedRecord {
        kind: "loaded",
        study: pack.title(),
        hash: format!("{:016x}", pack.study()),
        bytes: whole,
        was_there: loaded == Loaded::WasThere,
        from: match loaded {
            Loaded::WasThere => None,
            Loaded::From(from) => Some(from),
        },
    })?;
    Ok(output.exit())
}

/// Keeps the text, so that results that come later have it. The study is on the pedal without
/// it, too.
fn remember(text: Option<&str>, cable: &CableArgs) {
    let Some(text) = text else { return };
    let folder = log::folder(cable.log.data.as_deref());
    if let Err(trouble) = folder.and_then(|folder| log::remember_study(&folder, text)) {
        warn(&format!("the log does not keep the study's text: {trouble}\n{}", trouble.advice()));
    }
}
