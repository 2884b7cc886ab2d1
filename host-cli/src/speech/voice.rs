//! The program that speaks.

use super::words::aloud;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Programs that take a text as their argument and speak it: that of macOS, and two that Linux's distributions and
/// Windows have.
const PROGRAMS: &[&str] = if cfg!(target_os = "macos") {
    &["say", "espeak-ng", "espeak"]
} else {
    &["espeak-ng", "espeak", "say"]
};

/// How often it is looked whether a voice has ended, where that is waited for. Our default.
const LOOK: Duration = Duration::from_millis(10);

/// Why nothing is said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SpeechProblem {
    /// There is no program that speaks.
    NoVoice,
    /// It could not be started.
    NotStarted(PathBuf, String),
}

impl std::fmt::Display for SpeechProblem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoVoice => {
                let (last, others) = PROGRAMS.split_last().unwrap_or((&"", &[]));
                let names = others.join(", ");
                write!(
                    f,
                    "nothing is spoken: there is no voice on this computer. Install {names} or {last}; \
                     practice goes on without."
                )
            }
            Self::NotStarted(program, why) => write!(
                f,
                "nothing is spoken: {} cannot be started: {why}. Practice goes on without.",
                program.display()
            ),
        }
    }
}

/// What is being said.
#[derive(Debug)]
struct Saying {
    child: Child,
    ends: Instant,
}

/// A voice, and what it says. Dropping it ends that.
#[derive(Debug)]
pub struct Speech {
    voice: Option<PathBuf>,
    saying: Option<Saying>,
    /// What was ended and has not gone yet.
    ended: Vec<Child>,
}

impl Default for Speech {
    fn default() -> Self {
        Self::new()
    }
}

impl Speech {
    /// The voice of this computer.
    pub fn new() -> Self {
        let path = std::env::var_os("PATH").unwrap_or_default();
        Self::of(find(&std::env::split_paths(&path).collect::<Vec<_>>()))
    }

    /// With this program.
    pub(super) const fn of(voice: Option<PathBuf>) -> Self {
        Self { voice, saying: None, ended: Vec::new() }
    }

    /// Whether there is one.
    pub const fn has_voice(&self) -> bool {
        self.voice.is_some()
    }

    /// Begins to say something, instead of what is being said. It is ended if it takes `longest`.
    ///
    /// # Errors
    ///
    /// If there is no voice, or it does not start. It is not tried again then.
    pub fn say(&mut self, text: &str, longest: Duration) -> Result<(), SpeechProblem> {
        self.stop();
        let voice = self.voice.clone().ok_or(SpeechProblem::NoVoice)?;
        let mut command = Command::new(&voice);
        command.arg(aloud(text));
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        match command.spawn() {
            Ok(child) => {
                self.saying = Some(Saying { child, ends: Instant::now() + longest });
                Ok(())
            }
            Err(error) => {
                self.voice = None;
                Err(SpeechProblem::NotStarted(voice, error.to_string()))
            }
        }
    }

    /// Whether something is being said. What takes too long is ended.
    pub fn is_speaking(&mut self) -> bool {
        self.ended.retain_mut(|child| matches!(child.try_wait(), Ok(None)));
        let Some(saying) = &mut self.saying else { return false };
        if !matches!(saying.child.try_wait(), Ok(None)) {
            self.saying = None;
        } else if Instant::now() >= saying.ends {
            self.stop();
        }
        self.saying.is_some()
    }

    /// Waits until it has ended, which it does.
    pub fn finish(&mut self) {
        while self.is_speaking() {
            std::thread::sleep(LOOK);
        }
    }

    /// Ends what is being said.
    pub fn stop(&mut self) {
        if let Some(Saying { mut child, .. }) = self.saying.take() {
            // One that has just ended by itself cannot be ended.
            let _ = child.kill();
            self.ended.push(child);
        }
    }
}

impl Drop for Speech {
    fn drop(&mut self) {
        self.stop();
        // What was killed has gone soon, and the system looks after what has not.
        self.ended.iter_mut().for_each(|child| drop(child.try_wait()));
    }
}

/// The first program that there is.
pub(super) fn find(folders: &[PathBuf]) -> Option<PathBuf> {
    let named = |name: &&str| {
        let name = format!("{name}{}", std::env::consts::EXE_SUFFIX);
        folders.iter().map(|folder| folder.join(&name)).find(|path| can_be_run(path))
    };
    PROGRAMS.iter().find_map(named)
}

#[cfg(unix)]
fn can_be_run(path: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    path.metadata().is_ok_and(|file| file.is_file() && file.permissions().mode() & 0o111 != 0)
}

#[cfg(not(unix))]
fn can_be_run(path: &Path) -> bool {
    path.is_file()
}
