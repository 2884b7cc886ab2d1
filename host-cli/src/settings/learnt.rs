//! What was learnt of the user's own pickup while listening: a profile beside the one that the user and
//! `calibrate` write, with how often it errs and how late its strings come.
//!
//! It is made anew by listening, so one that cannot be read is passed over with a warning.

use super::folder;
use crate::fault::{Exit, Fault};
use crate::pickup::{parse, read, text};
use crate::private;
use evenhand_core::pickup::{Habits, ONE, Pickup};
use std::path::{Path, PathBuf};

/// The name of the file in the folder of settings.
pub const FILE: &str = "pickup-learnt.txt";

/// Of fewer notes nothing is kept. Our default.
const FEWEST: u32 = 24;

/// Where it is, or would be.
pub fn place() -> Result<PathBuf, Fault> {
    Ok(folder()?.join(FILE))
}

/// Adds what was learnt to what a profile says; a warning, where it cannot be read.
pub fn add(pickup: &mut Pickup) -> Option<String> {
    let place = place().ok().filter(|place| place.exists())?;
    match read(&place) {
        Ok(learnt) => {
            pickup.habits = learnt.habits.after(&pickup.habits);
            None
        }
        Err(fault) => {
            let what = fault.what.lines().last().unwrap_or_default();
            Some(format!("what was learnt of the pickup is passed over, and learnt anew: {what}"))
        }
    }
}

/// Keeps what was learnt, whole or not at all.
pub fn keep(habits: &Habits) -> Result<(), Fault> {
    let notes: u32 = habits.all().map(|string| u32::from(string.notes / ONE)).sum();
    if notes < FEWEST {
        return Ok(());
    }
    let place = place()?;
    let pickup = Pickup { habits: *habits, ..Pickup::UNKNOWN };
    let head = [
        "What was learnt of the pickup while listening; it goes on changing by itself.".to_owned(),
        "Numbers by string, string 1 first; after string 6 notes of no string that is known."
            .to_owned(),
        "Delete this file when the pickup or its settings change, to begin anew.".to_owned(),
    ];
    let content = text(&pickup, &head, &[]);
    debug_assert!(parse(&content).is_ok(), "what is written can be read");
    write(&place, &content)
}

/// A sitting with so few notes says nothing. Our default.
const ENOUGH: f64 = 100.0;

/// Rates that differ by so many standard errors of their difference, and by a factor of two, are two
/// pickups'. Our default.
const APART: f64 = 4.0;

/// What is said where the pickup erred quite otherwise in this sitting than it did before: it is another
/// one, or its settings were changed.
pub fn changed(before: &Habits, after: &Habits) -> Option<String> {
    let (notes, errors) = totals(before);
    let (all_notes, all_errors) = totals(after);
    // Where counts were halved on the way, what is new is not known.
    let (new_notes, new_errors) = (all_notes - notes, (all_errors - errors).max(0.0));
    if notes < ENOUGH || new_notes < ENOUGH {
        return None;
    }
    let (old, new) = (errors / notes, new_errors / new_notes);
    let together = (errors + new_errors) / (notes + new_notes);
    let error = (together * (1.0 - together).max(0.0) * (1.0 / notes + 1.0 / new_notes)).sqrt();
    let is_other = (new - old).abs() > APART * error && (new > 2.0 * old || old > 2.0 * new);
    is_other.then(|| {
        format!(
            "The pickup errs otherwise than before: {:.0} times in a hundred notes, {:.0} before. If it is \
             another one, or its settings were changed, run `evenhand calibrate`, and delete {FILE} in \
             the folder of settings.",
            new * 100.0,
            old * 100.0
        )
    })
}

fn totals(habits: &Habits) -> (f64, f64) {
    let one = f64::from(ONE);
    let notes: f64 = habits.all().map(|string| f64::from(string.notes) / one).sum();
    let errors = habits.all().flat_map(|string| string.errors);
    (notes, errors.map(|count| f64::from(count) / one).sum())
}

fn write(place: &Path, content: &str) -> Result<(), Fault> {
    let made = place.parent().map_or(Ok(()), private::folder);
    made.and_then(|()| private::replace(place, content.as_bytes())).map_err(|error| {
        Fault::new(Exit::Output, format!("{} cannot be written: {error}", place.display()))
            .advise("What was learnt of the pickup is lost; it will be learnt again.")
    })
}
