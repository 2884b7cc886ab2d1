//! Running other programs, and the one way in which a command of ours ends early.

use std::fmt;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitStatus, Stdio};

/// Why a command ends early.
#[derive(Debug)]
pub enum Stop {
    /// The command line was not understood.
    Usage(String),
    /// The machine lacks something.
    Missing {
        /// What is lacking, and what for.
        what: String,
        /// What brings it, as a line to run.
        how: String,
    },
    /// A step was run and failed; its own output has said why.
    Failed {
        /// The step.
        what: String,
        /// The exit code of the program behind it.
        code: i32,
    },
    /// A file could not be read or written.
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        error: std::io::Error,
    },
}

impl Stop {
    /// The exit code of this end.
    pub fn code(&self) -> i32 {
        match self {
            Self::Usage(_) => 2,
            Self::Missing { .. } => 3,
            Self::Failed { code, .. } => *code,
            Self::File { .. } => 1,
        }
    }

    /// A program that is not there.
    pub(crate) fn cannot_run(what: &str, command: &Command, error: &std::io::Error) -> Self {
        Self::Missing {
            what: format!("{what}: {} cannot be run: {error}", command.get_program().display()),
            how: "install that program, or put it on the PATH".to_owned(),
        }
    }

    /// For use in `map_err` on file operations.
    pub fn file(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_path_buf();
        move |error| Self::File { path, error }
    }
}

impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Usage(text) => f.write_str(text),
            Self::Missing { what, how } => write!(f, "{what}\nTo get it: {how}"),
            Self::Failed { what, code } => write!(f, "failed: {what} (exit code {code})"),
            Self::File { path, error } => write!(f, "{}: {error}", path.display()),
        }
    }
}

impl std::error::Error for Stop {}

/// Says something about the run, on a line of its own and at once.
pub fn say(line: &str) {
    let mut out = std::io::stdout().lock();
    // A closed pipe is no reason to stop working.
    let _ = writeln!(out, "{line}");
    let _ = out.flush();
}

/// Runs a program with its output shown, and stops if it fails.
pub fn run(what: &str, command: &mut Command) -> Result<(), Stop> {
    let status = command.status().map_err(|error| Stop::cannot_run(what, command, &error))?;
    ended(what, status)
}

/// Stops if a program failed.
pub(crate) fn ended(what: &str, status: ExitStatus) -> Result<(), Stop> {
    if status.success() {
        return Ok(());
    }
    // No code means that a signal ended it.
    Err(Stop::Failed { what: what.to_owned(), code: status.code().unwrap_or(1) })
}

/// What a program prints, trimmed; `None` if it cannot be run or fails.
pub fn answer(command: &mut Command) -> Option<String> {
    let output = command.stdin(Stdio::null()).stderr(Stdio::null()).output().ok()?;
    if !output.status.success() {
        return None;
    }
    Some(String::from_utf8_lossy(&output.stdout).trim().to_owned())
}

/// Whether a program can be run and ends well.
pub fn works(command: &mut Command) -> bool {
    answer(command).is_some()
}

/// The cargo that runs us.
pub fn cargo() -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(crate::places::root());
    // What makes the next build quicker takes three gigabytes, and on a clean checkout there is
    // no next build. Nor is there a debugger: a panic names its line without.
    if std::env::var_os("CI").is_some() {
        command.env("CARGO_INCREMENTAL", "0").env("CARGO_PROFILE_DEV_DEBUG", "false");
    }
    command
}

/// A program on the PATH.
pub fn on_path(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).map(|folder| folder.join(name)).find(|file| file.is_file())
}
