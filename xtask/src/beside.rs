//! Running something beside the rest: its output is kept, and shown when it is over.

use std::fs::{self, File};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

use crate::places;
use crate::process::{Stop, ended, say};

/// Something that runs.
#[derive(Debug)]
pub struct Beside {
    what: &'static str,
    child: Child,
    printed: PathBuf,
}

impl Beside {
    /// Starts it.
    pub fn start(what: &'static str, command: &mut Command) -> Result<Self, Stop> {
        let folder = places::root().join("target").join("beside");
        fs::create_dir_all(&folder).map_err(Stop::file(&folder))?;
        let printed = folder.join(format!("{}.txt", what.replace(' ', "-")));
        let out = File::create(&printed).map_err(Stop::file(&printed))?;
        let err = out.try_clone().map_err(Stop::file(&printed))?;
        command.stdin(Stdio::null()).stdout(out).stderr(err);
        let child = command.spawn().map_err(|error| Stop::cannot_run(what, command, &error))?;
        Ok(Self { what, child, printed })
    }

    /// Waits for its end, shows what it printed, and stops if it failed.
    pub fn join(mut self) -> Result<(), Stop> {
        let status = self.child.wait().map_err(Stop::file(&self.printed))?;
        let printed = fs::read(&self.printed).map_err(Stop::file(&self.printed))?;
        say(&format!("Beside the rest: {}", self.what));
        say(String::from_utf8_lossy(&printed).trim_end());
        ended(self.what, status)
    }
}

impl Drop for Beside {
    /// What failed meanwhile needs no end of this.
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_fails_beside_the_rest_fails_when_it_is_waited_for() {
        let cargo = |argument: &str| {
            let mut cargo = crate::process::cargo();
            cargo.arg(argument);
            cargo
        };
        let good = Beside::start("a version", &mut cargo("--version")).expect("it starts");
        let printed = good.printed.clone();
        good.join().expect("it is told");
        assert!(fs::read_to_string(printed).expect("it is kept").starts_with("cargo "));
        let bad = Beside::start("no command", &mut cargo("--no-such-option")).expect("it starts");
        let stop = bad.join().expect_err("there is no such option");
        assert!(stop.to_string().starts_with("failed: no command"), "{stop}");
    }
}
