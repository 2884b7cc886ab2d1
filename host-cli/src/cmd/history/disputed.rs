//! Disputed attempts in a file.

use crate::disputes;
use crate::fault::{Exit, Fault};
use crate::log::{LogError, Reader, StoredSitting};
use crate::output::Output;
use crate::whole_file::{self, Overwrite};
use serde::Serialize;
use std::io::ErrorKind;
use std::path::Path;

/// The disputed attempts of these sittings, as the text of a file, and how many they are.
pub(super) fn bundle(
    kept: &[StoredSitting],
    reader: &Reader,
    names: bool,
) -> Result<(u32, String), LogError> {
    let (mut count, mut text) = (0, disputes::head());
    for sitting in kept {
        for attempt in sitting.attempts.iter().filter(|attempt| attempt.disputed) {
            let Some(evidence) = reader.evidence(sitting.id, attempt.number)? else { continue };
            let names = names.then_some((sitting.study.as_str(), attempt.chunk.as_str()));
            text += &disputes::line(attempt, &sitting.program, &evidence, names);
            count += 1;
        }
    }
    Ok((count, text))
}

/// Writes the file, where none is.
pub(super) fn put(
    file: &Path,
    disputed: u32,
    text: &str,
    output: &mut Output,
) -> Result<(), Fault> {
    if disputed == 0 {
        return output.paragraph("No attempt like this is disputed: no file was written.");
    }
    let shown = file.display();
    whole_file::put(file, text.as_bytes(), Overwrite::Nothing).map_err(|error| {
        let fault = Fault::new(Exit::Output, format!("{shown} was not written: {error}"));
        fault.advise(match error.kind() {
            ErrorKind::AlreadyExists => "Name a file that is not there yet.",
            _ => "Check who may write there, and whether there is room.",
        })
    })?;
    let attempts = match disputed {
        1 => "One disputed attempt is".to_owned(),
        more => format!("{more} disputed attempts are"),
    };
    output.paragraph(&format!(
        "{attempts} in {shown}: what was to be played, what the pickup sent, and the verdict; no \
         person, day or folder. It is text, to be read before it is sent."
    ))?;
    output.record(&WrittenRecord {
        kind: "disputed-file",
        file: &shown.to_string(),
        attempts: disputed,
    })
}

/// The file in the event stream.
#[derive(Serialize)]
struct WrittenRecord<'a> {
    kind: &'static str,
    file: &'a str,
    attempts: u32,
}
