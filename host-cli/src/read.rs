//! Files from disk, with bounded memory and errors that say which file and why.

use crate::fault::{Exit, Fault};
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

/// The largest Standard MIDI File that is read: hours of dense playing take a few hundred
/// kilobytes. Our default.
pub const LARGEST_SMF: u64 = 8 * 1024 * 1024;

/// Reads a whole file of at most `most` bytes. `what` names it in errors ("recording").
pub fn bytes(path: &Path, most: u64, what: &str) -> Result<Vec<u8>, Fault> {
    let shown = path.display();
    let fault = |error: &io::Error| {
        let fault = Fault::new(Exit::Input, format!("cannot read the {what} {shown}: {error}"));
        match error.kind() {
            io::ErrorKind::NotFound => {
                fault.advise("Check the name, and that you are in the right folder.")
            }
            io::ErrorKind::PermissionDenied => fault.advise("Check who may read the file."),
            _ => fault,
        }
    };
    let file = File::open(path).map_err(|error| fault(&error))?;
    let metadata = file.metadata().map_err(|error| fault(&error))?;
    if metadata.is_dir() {
        return Err(Fault::new(Exit::Input, format!("{shown} is a folder, not a {what}"))
            .advise(format!("Name the {what} inside it.")));
    }
    let mut content = Vec::new();
    file.take(most + 1).read_to_end(&mut content).map_err(|error| fault(&error))?;
    if content.len() as u64 > most {
        return Err(Fault::new(
            Exit::Input,
            format!("{shown} is larger than {} MiB, too large for a {what}", most / (1024 * 1024)),
        )
        .advise("Is it the right file?"));
    }
    Ok(content)
}

/// Reads a text file of at most `most` bytes.
pub fn text(path: &Path, most: u64, what: &str) -> Result<String, Fault> {
    let content = bytes(path, most, what)?;
    String::from_utf8(content).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let before = String::from_utf8_lossy(error.as_bytes().get(..valid).unwrap_or_default());
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        Fault::new(
            Exit::Study,
            format!(
                "{} is not text: the bytes at line {line}, column {column} are not UTF-8",
                path.display()
            ),
        )
        .advise("Save it as plain text in UTF-8.")
    })
}
