//! Where a file that somebody named can be made.

use crate::fault::{Exit, Fault};
use crate::whole_file::{self, Overwrite};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// A place for a file, and what may be in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct OutputPath {
    pub(crate) path: PathBuf,
    pub(crate) over: Overwrite,
}

/// Finds a place for a file: where nothing is, or where a file is that may be replaced.
pub(crate) fn find(path: &Path, replace: bool) -> Result<OutputPath, Fault> {
    let refuse = |what: &str, advice: &str| {
        Err(Fault::new(Exit::Output, format!("{} {what}", path.display())).advise(advice))
    };
    let there = match path.metadata() {
        Ok(there) => there,
        Err(_) if path.is_symlink() => {
            return refuse("is a link that leads nowhere", "Remove it, or choose another name.");
        }
        // Whatever else is wrong shows when it is written.
        Err(_) => return Ok(OutputPath { path: path.to_owned(), over: Overwrite::Nothing }),
    };
    if there.is_dir() {
        refuse("is a folder", "Name a file inside it.")
    } else if !there.is_file() {
        refuse("is no file that can be written", "Choose another name.")
    } else if !replace {
        Err(is_there(path))
    } else if there.permissions().readonly() {
        refuse("may only be read", "Choose another name, or let it be written.")
    } else {
        // A link stays one: what it leads to is replaced.
        let path = path.canonicalize().map_err(|error| {
            Fault::new(Exit::Output, format!("cannot write {}: {error}", path.display()))
                .advise("Choose another name.")
        })?;
        Ok(OutputPath { path, over: Overwrite::AFile })
    }
}

/// Refuses to write over a study: it is somebody's work of hours, and no option means to lose it.
pub(crate) fn spare(study: &Path, file: &Path, advice: &str) -> Result<(), Fault> {
    if file == study || whole_file::is_same(study, file) {
        return Err(Fault::new(Exit::Usage, format!("{} is the study itself", file.display()))
            .advise(advice));
    }
    Ok(())
}

/// Puts a file there, whole or not at all.
pub(crate) fn put(path: &Path, content: &[u8], replace: bool) -> Result<(), Fault> {
    let to = find(path, replace)?;
    whole_file::put(&to.path, content, to.over).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => is_there(path),
        kind => Fault::new(Exit::Output, format!("cannot write {}: {error}", path.display()))
            .advise(advice(kind)),
    })
}

/// Says that something is there already.
pub(crate) fn is_there(path: &Path) -> Fault {
    Fault::new(Exit::Output, format!("{} is there already", path.display()))
        .advise("Choose another name, or say --replace.")
}

/// What to do about a file that cannot be written.
pub(crate) const fn advice(kind: ErrorKind) -> &'static str {
    match kind {
        ErrorKind::NotFound => "Is there such a folder?",
        ErrorKind::PermissionDenied => "Check who may write there.",
        _ => "Check the name, and whether the disk is full.",
    }
}
