//! `evenhand pack`: makes a pack of a study, for a pedal.

use crate::args::{OutputArgs, PackArgs};
use crate::fault::{Exit, Fault};
use crate::log;
use crate::output::Output;
use crate::output::path;
use crate::practice::{self, NotPacked};
use crate::read;
use crate::report::count;
use crate::studies;
use crate::study::{self, LARGEST_TEXT};
use evenhand_core::limits::PACK_BYTES;
use evenhand_core::pack::{MAGIC, Pack, PackProblem};
use serde::Serialize;
use std::path::Path;

/// How the name of a pack ends.
const ENDING: &str = "pack";

/// A pack that was made; see `docs/events.md`.
#[derive(Serialize)]
struct PackRecord<'a> {
    kind: &'static str,
    study: &'a str,
    hash: String,
    chunks: u8,
    bytes: usize,
    file: String,
}

/// Runs the command.
pub fn run(args: &PackArgs) -> Result<Exit, Fault> {
    let file = args.out.clone().unwrap_or_else(|| args.study.with_extension(ENDING));
    path::spare(&args.study, &file, "Name another file with --out FILE.")?;
    let made = of_study(&args.study)?;
    path::put(&file, &made.bytes, args.replace)?;
    let pack = made.open()?;
    let quiet = OutputArgs { events: args.events, plain: false, exit_by_verdict: false };
    let mut output = Output::new(&quiet)?;
    output.say(&format!(
        "{}: “{}”, {}, {} bytes",
        file.display(),
        pack.title(),
        count(pack.chunks().into(), "chunk"),
        made.bytes.len()
    ))?;
    output.record(&PackRecord {
        kind: "pack",
        study: pack.title(),
        hash: format!("{:016x}", pack.study()),
        chunks: pack.chunks(),
        bytes: made.bytes.len(),
        file: file.display().to_string(),
    })?;
    Ok(output.exit())
}

/// A pack, and the text that it was made of, if it was made here.
pub(super) struct Made {
    pub(super) bytes: Vec<u8>,
    pub(super) text: Option<String>,
    name: String,
}

impl Made {
    pub(super) fn open(&self) -> Result<Pack<'_>, Fault> {
        Pack::open(&self.bytes).map_err(|problem| in_words(&self.name, problem))
    }
}

/// Makes a pack of a study.
pub(super) fn of_study(path: &Path) -> Result<Made, Fault> {
    let text = read::text(path, LARGEST_TEXT as u64, "study")?;
    of_text(text, path)
}

/// Reads a pack, or makes one of a study.
pub(super) fn read_or_make(path: &Path) -> Result<Made, Fault> {
    let bytes = read::bytes(path, PACK_BYTES as u64, "study or pack")?;
    let is_named_so = path.extension().is_some_and(|ending| ending == ENDING);
    if !bytes.starts_with(&MAGIC) && !is_named_so {
        return of_study(path);
    }
    let name = path.display().to_string();
    let made = Made { bytes, text: None, name };
    let length = made.open()?.bytes().len();
    if length < made.bytes.len() {
        let more = made.bytes.len() - length;
        return Err(damaged(&made.name, &format!("{more} bytes follow where it should end")));
    }
    Ok(made)
}

fn of_text(text: String, path: &Path) -> Result<Made, Fault> {
    let name = path.display().to_string();
    // Every problem is told as the other commands tell it.
    studies::prepare(&text, &name)?;
    let study =
        study::parse(&text).map_err(|_| Fault::new(Exit::Study, format!("{name} is not right")))?;
    let stem = || path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let title = study.title.clone().unwrap_or_else(stem);
    let bytes = practice::pack(&study, &title, hash(&text)).map_err(|problem| {
        let fault = Fault::new(Exit::Study, format!("{name} cannot be packed: {problem}"));
        fault.advise(match problem {
            NotPacked::TooLong | NotPacked::TooManyFingerings(_) => "Make two studies of it.",
            NotPacked::LongName(_) => "Shorten that name.",
            NotPacked::Study(_) | NotPacked::Unwritten(_) => "Please report this, with the study.",
        })
    })?;
    Ok(Made { bytes, text: Some(text), name })
}

/// The hash of a study's text as a number.
pub(super) fn hash(text: &str) -> u64 {
    // It always is one.
    u64::from_str_radix(&log::hash(text), 16).unwrap_or_default()
}

fn in_words(name: &str, problem: PackProblem) -> Fault {
    if let PackProblem::TooNew { .. } = problem {
        return Fault::new(Exit::Input, format!("{name} cannot be used: {problem}"))
            .advise("Use the program that made it, or make it anew with `evenhand pack`.");
    }
    damaged(name, &problem.to_string())
}

fn damaged(name: &str, what: &str) -> Fault {
    Fault::new(Exit::Input, format!("{name} cannot be used: {what}"))
        .advise("Make it anew with `evenhand pack STUDY`, or load the study itself.")
}
