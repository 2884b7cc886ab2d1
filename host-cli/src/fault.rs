//! What can go wrong for a user, with an exit code and what to do about it.

use std::fmt;
use std::process::ExitCode;

/// Exit codes. Specified in `docs/exit-codes.md`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done. Whatever the verdict, unless `--exit-by-verdict` asks otherwise.
    Done = 0,
    /// With `--exit-by-verdict`: an attempt needs work.
    NeedsWork = 1,
    /// The command line was not understood.
    Usage = 2,
    /// With `--exit-by-verdict`: no attempt needs work, but one is unclear.
    Unclear = 3,
    /// The study is not right.
    Study = 4,
    /// A file could not be read, or is not what it should be.
    Input = 5,
    /// Live input could not be opened or broke.
    Live = 6,
    /// The result could not be written.
    Output = 7,
    /// The doctor found something wrong.
    Unwell = 8,
    /// The pedal could not be reached, or could not do what was asked.
    Pedal = 9,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

/// Something that went wrong, in words for the user.
#[derive(Debug)]
pub struct Fault {
    /// The exit code that says so to a script.
    pub exit: Exit,
    /// What happened, and where.
    pub what: String,
    /// What to do about it.
    pub advice: Option<String>,
}

impl Fault {
    /// A fault without advice.
    pub fn new(exit: Exit, what: impl Into<String>) -> Self {
        Self { exit, what: what.into(), advice: None }
    }

    /// The same with advice.
    #[must_use]
    pub fn advise(mut self, advice: impl Into<String>) -> Self {
        self.advice = Some(advice.into());
        self
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)?;
        if let Some(advice) = &self.advice {
            write!(f, "\n{advice}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Fault {}
