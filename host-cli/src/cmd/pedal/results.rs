//! `evenhand pedal results`: what was practised on the pedal, into the log.

use super::output;
use super::{PedalRecord, fault, greet};
use crate::args::CableArgs;
use crate::cmd::pack;
use crate::fault::{Exit, Fault};
use crate::log::{self, ImportCount, LogError, PedalSitting};
use crate::output::{Output, warn};
use crate::pedal::{Batch, Fetched, Names, Pedal, Pipe, TimeSource, WhoItIs, batches};
use crate::{practice, study};
use evenhand_core::pack::{Pack, RecordProblem};
use jiff::Timestamp;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::Path;

/// What was fetched; see `docs/events.md`.
#[derive(Serialize)]
struct FetchedRecord {
    kind: &'static str,
    results: usize,
    new: u32,
    known: u32,
    unreadable: usize,
    sittings: usize,
    undated_sittings: usize,
    forgotten: bool,
}

pub(super) fn run(keep: bool, who: Option<&str>, cable: &CableArgs) -> Result<Exit, Fault> {
    let folder = log::folder(cable.log.data.as_deref()).map_err(|trouble| not_kept(&trouble))?;
    let (mut pedal, pedal_is) = greet(cable)?;
    let now = Timestamp::now();
    let mut output = output(cable)?;
    output.record(&PedalRecord::of(&pedal_is))?;
    let mut results: Vec<Fetched> = Vec::new();
    let mut next = pedal_is.oldest;
    while let Some(fetched) = pedal.result(next).map_err(|trouble| fault(cable, &trouble))? {
        next = fetched.number.saturating_add(1);
        results.push(fetched);
    }
    let mut names = Known { folder: &folder, pedal: &mut pedal, packs: BTreeMap::new() };
    let (batches, wrong) = batches(&results, &pedal_is, now, &mut names);
    let undated = batches.iter().filter(|batch| batch.told == TimeSource::AtTheLatest).count();
    let sittings: Vec<_> =
        batches.into_iter().map(|batch| sitting(batch, &pedal_is, who, &mut names)).collect();
    let brought = if sittings.is_empty() {
        ImportCount::default()
    } else {
        log::bring(&folder, &sittings).map_err(|trouble| not_kept(&trouble))?
    };
    for (number, problem) in &wrong {
        warn(&format!("result {number} of the pedal cannot be read, and stays there: {problem}"));
    }
    if brought.other > 0 {
        warn(&format!(
            "{} results are not those that the log has of this pedal under the same numbers; \
             they stay on the pedal",
            brought.other
        ));
    }
    // Only now are they safe. What could not be read or kept, and all after it, stays.
    let last = wrong.first().map_or(next, |(number, _)| *number).saturating_sub(1);
    let forget = !keep && brought.other == 0 && last >= pedal_is.oldest && last > 0;
    if forget {
        pedal.forget(last).map_err(|trouble| fault(cable, &trouble))?;
    }
    say(&mut output, results.len(), brought, undated, forget)?;
    output.record(&FetchedRecord {
        kind: "fetched",
        results: results.len(),
        new: brought.new,
        known: brought.known,
        unreadable: wrong.len(),
        sittings: sittings.len(),
        undated_sittings: undated,
        forgotten: forget,
    })?;
    match wrong.first() {
        None if brought.other == 0 => Ok(output.exit()),
        Some((_, RecordProblem::TooNew { .. })) => {
            Err(Fault::new(Exit::Pedal, "the pedal's firmware is newer than this program")
                .advise("Use a newer version of this program to fetch the rest."))
        }
        _ => Err(Fault::new(Exit::Pedal, "not all results could be fetched")
            .advise("What could be is in the log; the rest is still on the pedal.")),
    }
}

fn say(
    output: &mut Output,
    results: usize,
    brought: ImportCount,
    undated: usize,
    forgotten: bool,
) -> Result<(), Fault> {
    if results == 0 {
        return output.say("There is nothing to fetch.");
    }
    let attempts = |count: u32| match count {
        1 => "one attempt".to_owned(),
        many => format!("{many} attempts"),
    };
    let mut line = format!("{} new in the log", attempts(brought.new));
    if brought.known > 0 {
        line.push_str(&format!(", {} had been fetched before", attempts(brought.known)));
    }
    line.push_str(if forgotten {
        "; the pedal is free of them."
    } else {
        "; they stay on the pedal."
    });
    output.say(&line)?;
    if undated > 0 {
        output.say(
            "Nobody had told the pedal the time, so some are dated by their order only. It knows \
             the time now, until it is switched off.",
        )?;
    }
    output.say("`evenhand history` shows them.")
}

fn not_kept(trouble: &LogError) -> Fault {
    Fault::new(
        Exit::Output,
        format!("the log cannot be kept: {trouble}; nothing was taken from the pedal"),
    )
    .advise(trouble.advice())
}

fn sitting<P: Pipe>(
    batch: Batch,
    pedal: &WhoItIs,
    who: Option<&str>,
    names: &mut Known<'_, P>,
) -> (PedalSitting, Vec<log::Attempt>) {
    let untold = if batch.told == TimeSource::AtTheLatest { ", time not known" } else { "" };
    let title = match names.pack(batch.study) {
        Some(pack) => pack.title().to_owned(),
        None => format!("study {:016x}", batch.study),
    };
    let kept = PedalSitting {
        device: pedal.device,
        memory: pedal.memory,
        sitting: batch.sitting,
        study: batch.study,
        title,
        began: batch.began,
        ended: batch.ended,
        who: who.map(str::to_owned),
        program: format!("{} firmware {}", pedal.board, pedal.firmware),
        source: format!("pedal {:016x}, sitting {}{untold}", pedal.device, batch.sitting),
    };
    (kept, batch.attempts)
}

/// The names of a study's pieces: from the text in the log, else from the pedal itself.
struct Known<'a, P> {
    folder: &'a Path,
    pedal: &'a mut Pedal<P>,
    packs: BTreeMap<u64, Option<Vec<u8>>>,
}

impl<P: Pipe> Names for Known<'_, P> {
    fn pack(&mut self, study: u64) -> Option<Pack<'_>> {
        if !self.packs.contains_key(&study) {
            let found = self.in_log(study).or_else(|| self.on_pedal(study));
            self.packs.insert(study, found);
        }
        Pack::open(self.packs.get(&study)?.as_deref()?).ok()
    }
}

impl<P: Pipe> Known<'_, P> {
    fn in_log(&self, wanted: u64) -> Option<Vec<u8>> {
        let text = log::study_text(self.folder, wanted).ok()??;
        let study = study::parse(&text).ok()?;
        let title = study.title.clone().unwrap_or_default();
        let packed = practice::pack(&study, &title, pack::hash(&text)).ok()?;
        // Without a title the pedal knows it better, by the name of its file.
        (!title.is_empty()).then_some(packed)
    }

    fn on_pedal(&mut self, wanted: u64) -> Option<Vec<u8>> {
        // Without names the attempts are kept all the same.
        let listed = self.pedal.list().ok()?;
        let own = listed.into_iter().flatten().find(|own| own.pack.study == wanted)?;
        self.pedal.read(own.pack).ok()
    }
}
