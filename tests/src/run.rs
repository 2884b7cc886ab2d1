//! Runs of the program as a user starts it, and what is asked of every one of them.

use crate::program;
use std::ffi::OsStr;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc::channel;
use std::thread;
use std::time::Duration;

/// Exit codes, as `docs/exit-codes.md` names them.
pub mod code {
    /// Done.
    pub const DONE: i32 = 0;
    /// An attempt needs work, where the exit code tells.
    pub const NEEDS_WORK: i32 = 1;
    /// The command line was not understood.
    pub const USAGE: i32 = 2;
    /// An attempt is unclear, where the exit code tells.
    pub const UNCLEAR: i32 = 3;
    /// The study is not right.
    pub const STUDY: i32 = 4;
    /// A file is not what it should be.
    pub const INPUT: i32 = 5;
    /// Live input could not be opened.
    pub const LIVE: i32 = 6;
    /// The result could not be written.
    pub const OUTPUT: i32 = 7;
    /// The pedal could not be reached, or could not do what was asked.
    pub const PEDAL: i32 = 9;
}

/// A run that takes longer than this hangs. Our default: none takes a tenth of it.
const PATIENCE: Duration = Duration::from_secs(120);

/// A run that is over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// The exit code.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Run {
    /// Runs a command with this standard input, and asks what is asked of every run: it ends by
    /// itself, without a panic.
    ///
    /// # Panics
    /// If that is not so.
    pub fn of(command: &mut Command, input: Vec<u8>) -> Self {
        command.stdin(if input.is_empty() { Stdio::null() } else { Stdio::piped() });
        let mut child = command
            .stderr(Stdio::piped())
            .spawn()
            .unwrap_or_else(|error| panic!("{command:?} does not start: {error}"));
        if let Some(mut stdin) = child.stdin.take() {
            // A program that refuses a file does not read its input to the end.
            thread::spawn(move || stdin.write_all(&input));
        }
        let (sender, read) = channel();
        let mut pipes: Vec<Box<dyn Read + Send>> = Vec::new();
        pipes.extend(child.stderr.take().map(|pipe| Box::new(pipe) as Box<dyn Read + Send>));
        pipes.extend(child.stdout.take().map(|pipe| Box::new(pipe) as Box<dyn Read + Send>));
        let number = pipes.len();
        for (index, mut pipe) in pipes.into_iter().enumerate() {
            let sender = sender.clone();
            thread::spawn(move || {
                let mut content = Vec::new();
                let _ = pipe.read_to_end(&mut content);
                let _ = sender.send((index, content));
            });
        }
        let mut texts = [String::new(), String::new()];
        for _ in 0..number {
            let Ok((index, content)) = read.recv_timeout(PATIENCE) else {
                let _ = child.kill();
                panic!("{command:?} does not end");
            };
            texts[index] = String::from_utf8(content).expect("what is written is UTF-8");
        }
        let [err, out] = texts;
        let status = child.wait().expect("the program was started");
        let code = status.code().unwrap_or_else(|| panic!("{command:?}: {status}\n{err}"));
        assert!(!err.contains("panicked"), "{command:?}: {err}");
        Self { code, out, err }
    }

    /// Asks for an exit code and an error of at least two lines (what happened and what to do)
    /// that holds each of these words.
    ///
    /// # Panics
    /// If that is not so.
    pub fn refused(&self, code: i32, words: &[&str]) -> &Self {
        assert_eq!(self.code, code, "{self:?}");
        assert!(self.err.starts_with("evenhand: "), "{self:?}");
        assert!(self.err.trim_end().lines().count() >= 2, "it does not say what to do: {self:?}");
        for word in words {
            assert!(self.err.contains(word), "no “{word}” in {self:?}");
        }
        self
    }

    /// Asks that it is done, with nothing to complain of.
    ///
    /// # Panics
    /// If that is not so.
    pub fn done(&self) -> &Self {
        assert_eq!((self.code, self.err.as_str()), (code::DONE, ""), "{self:?}");
        self
    }

    /// The lines of an event stream.
    ///
    /// # Panics
    /// If one is not JSON.
    pub fn events(&self) -> Vec<serde_json::Value> {
        let parse = |line| {
            serde_json::from_str(line).unwrap_or_else(|error| panic!("no JSON ({error}): {line}"))
        };
        self.out.lines().map(parse).collect()
    }

    /// The verdicts of a run that has nothing to complain of.
    ///
    /// # Panics
    /// If it complains.
    pub fn done_verdicts(&self) -> Vec<Verdict> {
        self.done().verdicts()
    }

    /// The verdicts of an event stream, each with what its findings are, the heaviest first.
    pub fn verdicts(&self) -> Vec<Verdict> {
        let events = self.events();
        let verdicts = events.iter().filter(|event| event["kind"] == "verdict");
        verdicts.map(Verdict::of).collect()
    }
}

/// What an event stream says of an attempt in the end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// The chunk it is about.
    pub chunk: String,
    /// `passed`, `needs work` or `unclear`.
    pub outcome: String,
    /// What was found, the heaviest first.
    pub findings: Vec<String>,
}

impl Verdict {
    /// From its line.
    ///
    /// # Panics
    /// If the line is no verdict's.
    pub fn of(event: &serde_json::Value) -> Self {
        let text = |value: &serde_json::Value| value.as_str().expect("a text").to_owned();
        let findings = event["findings"].as_array().expect("a list");
        Self {
            chunk: text(&event["chunk"]),
            outcome: text(&event["verdict"]),
            findings: findings.iter().map(|finding| text(&finding["what"])).collect(),
        }
    }
}

/// The program with these arguments, its output read by the test.
pub fn command<S: AsRef<OsStr>>(arguments: &[S]) -> Command {
    let mut command = Command::new(program::path());
    command.args(arguments).stdout(Stdio::piped());
    apart(&mut command);
    command
}

/// The same with at most this much memory, in KiB of addresses.
pub fn bounded<S: AsRef<OsStr>>(most: u32, arguments: &[S]) -> Command {
    let mut command = Command::new("sh");
    command.args(["-c", &format!("ulimit -v {most} && exec \"$@\""), "sh"]);
    command.arg(program::path()).args(arguments).stdout(Stdio::piped());
    apart(&mut command);
    command
}

/// The same with at most so many seconds of a processor.
pub fn bounded_in_time<S: AsRef<OsStr>>(most: u32, seconds: u32, arguments: &[S]) -> Command {
    let mut command = Command::new("sh");
    command.args(["-c", &format!("ulimit -v {most} && ulimit -t {seconds} && exec \"$@\""), "sh"]);
    command.arg(program::path()).args(arguments).stdout(Stdio::piped());
    apart(&mut command);
    command
}

/// Keeps a run away from what the user's own folders hold.
fn apart(command: &mut Command) {
    let folder = data();
    command.env(CONFIG, folder.join("settings")).env(DATA, folder);
}

/// The variable that names the folder for settings.
pub const CONFIG: &str = evenhand::settings::VARIABLE;

/// The variable that names the folder of the log.
pub const DATA: &str = evenhand::log::VARIABLE;

/// A folder for what one run keeps, so that no test writes to the user's own. It is emptied
/// when the same test runs again.
fn data() -> PathBuf {
    static WHOLE: OnceLock<PathBuf> = OnceLock::new();
    static RUNS: AtomicU32 = AtomicU32::new(0);
    let whole = WHOLE.get_or_init(|| {
        // A test runs as <target folder>/<profile>/deps/<test>.
        let test = std::env::current_exe().expect("a test knows where it is");
        let profile = test.ancestors().nth(2).expect("a test stands in a target folder");
        let whole = profile.join("kept").join(test.file_name().expect("a test has a name"));
        let _ = std::fs::remove_dir_all(&whole);
        whole
    });
    whole.join(RUNS.fetch_add(1, Ordering::Relaxed).to_string())
}

/// Runs the program with these arguments and no input.
pub fn evenhand<S: AsRef<OsStr>>(arguments: &[S]) -> Run {
    Run::of(&mut command(arguments), Vec::new())
}

/// A file of the workspace, as an argument.
pub fn bundled(name: &str) -> String {
    program::workspace().join("fixtures").join(name).display().to_string()
}

/// A folder for one test, gone after it.
#[derive(Debug)]
pub struct Folder(PathBuf);

impl Folder {
    /// A new, empty folder.
    ///
    /// # Panics
    /// If it cannot be made.
    #[expect(clippy::new_without_default, reason = "making a folder is no default")]
    pub fn new() -> Self {
        static FOLDERS: AtomicU32 = AtomicU32::new(0);
        let number = FOLDERS.fetch_add(1, Ordering::Relaxed);
        let folder = std::env::temp_dir().join(format!("evenhand-{}-{number}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("a folder can be made");
        Self(folder)
    }

    /// The path of a file in it, as an argument.
    pub fn path(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }

    /// Writes a file into it, and gives its path.
    ///
    /// # Panics
    /// If it cannot be written.
    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> String {
        let path = self.path(name);
        std::fs::write(&path, content).unwrap_or_else(|error| panic!("{path}: {error}"));
        path
    }
}

#[cfg(unix)]
impl Folder {
    /// Puts a voice into the folder, a script that does this and stands in place of the system's; gives the
    /// `PATH` on which nothing but it and the usual tools are found.
    ///
    /// The script is written by another process: as long as a child that another test has just started holds a
    /// file open that is written here, the system refuses to run it.
    ///
    /// # Panics
    /// If it cannot be written.
    pub fn voice(&self, does: &str) -> String {
        let place = self.path("voices");
        let script = format!("#!/bin/sh\n{does}\n");
        let write =
            "mkdir \"$1\" && printf '%s' \"$2\" > \"$1/espeak-ng\" && chmod 755 \"$1/espeak-ng\"";
        let mut shell = Command::new("sh");
        let done = shell.args(["-c", write, "sh", &place, &script]).status().expect("a shell");
        assert!(done.success(), "{place}");
        format!("{place}:/usr/bin:/bin")
    }
}

impl AsRef<Path> for Folder {
    fn as_ref(&self) -> &Path {
        &self.0
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
