//! Folders that the program writes to.

use super::Check;
use crate::fault::{Exit, Fault};
use crate::log::{self, Filter, LogError, Reader};
use crate::report::count;
use crate::settings;
use std::fs;
use std::io;
use std::path::Path;

/// Looks at them, the one for settings first.
pub(super) fn folders() -> Vec<Check> {
    let mut checks = vec![match settings::folder() {
        Ok(folder) => writable("settings-folder", "settings", &folder, settings::VARIABLE),
        Err(fault) => Check::wrong("settings-folder", &fault),
    }];
    if let Err(fault) = settings::remembered_port() {
        checks.push(Check::wrong("settings", &fault));
    }
    if let Err(fault) = settings::switches() {
        checks.push(Check::wrong("switches", &fault));
    }
    match log::folder(None) {
        Ok(folder) => {
            checks.push(writable("log-folder", "the log", &folder, log::VARIABLE));
            checks.extend(kept(&folder));
        }
        Err(trouble) => checks.push(Check::wrong("log-folder", &fault(&trouble, None))),
    }
    checks
}

/// Whether the log that is there can be read.
fn kept(folder: &Path) -> Option<Check> {
    let file = folder.join(log::FILE);
    let shown = file.display();
    match Reader::open(folder)
        .and_then(|reader| reader.map(|reader| reader.read(&Filter::default())).transpose())
    {
        Ok(None) => None,
        Ok(Some(sittings)) => {
            let attempts: usize = sittings.iter().map(|sitting| sitting.attempts.len()).sum();
            let found = format!("the log can be read, {}: {shown}", count(attempts, "attempt"));
            Some(Check::good("log", found))
        }
        Err(trouble) => Some(Check::wrong("log", &fault(&trouble, Some(&file)))),
    }
}

fn fault(trouble: &LogError, file: Option<&Path>) -> Fault {
    let place = file.map(|file| format!("{}: ", file.display())).unwrap_or_default();
    Fault::new(Exit::Input, format!("the log cannot be used: {place}{trouble}"))
        .advise(trouble.advice())
}

fn writable(what: &'static str, name: &str, folder: &Path, variable: &str) -> Check {
    let shown = folder.display();
    match try_to_write(folder) {
        Ok(()) => Check::good(what, format!("the folder for {name} can be written: {shown}")),
        Err(error) => Check::wrong(
            what,
            &Fault::new(
                Exit::Output,
                format!("the folder for {name} cannot be written: {shown}: {error}"),
            )
            .advise(format!(
                "Check who may write there and that the disk is not full, or name another \
                 folder in {variable}."
            )),
        ),
    }
}

/// Writes a file there and takes it away, with the folders that had to be made for it.
fn try_to_write(folder: &Path) -> io::Result<()> {
    let missing: Vec<&Path> = folder.ancestors().take_while(|above| !above.exists()).collect();
    let tried = fs::create_dir_all(folder).and_then(|()| {
        let file = folder.join(format!("try-{}", std::process::id()));
        let written = fs::write(&file, b"evenhand");
        let removed = fs::remove_file(&file);
        written.and(removed)
    });
    for made in missing {
        // It only goes if it is empty.
        let _ = fs::remove_dir(made);
    }
    tried
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_look_leaves_nothing_behind() {
        let top = std::env::temp_dir().join(format!("evenhand-doctor-{}", std::process::id()));
        assert!(try_to_write(&top.join("a").join("b")).is_ok());
        assert!(!top.exists());
        fs::create_dir(&top).unwrap();
        assert!(try_to_write(&top).is_ok());
        assert_eq!(fs::read_dir(&top).unwrap().count(), 0);
        // A file stands where the folder should be.
        let file = top.join("file");
        fs::write(&file, "").unwrap();
        assert!(try_to_write(&file.join("b")).is_err());
        fs::remove_dir_all(&top).unwrap();
    }
}
