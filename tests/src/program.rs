//! The program under test: built once for each test process, then run.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};

use serde_json::Value;

use crate::attempt::Attempt;
use crate::labels::Labels;
use crate::smf;

/// The folder of the workspace.
pub fn workspace() -> PathBuf {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR"));
    tests.parent().expect("the tests stand inside the workspace").to_path_buf()
}

/// The cargo that runs the tests, in the workspace.
pub fn cargo() -> Command {
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.current_dir(workspace());
    cargo
}

/// The program. It is built on first use without live input, so that no sound headers are
/// needed (for the rigs with a JACK server with what they try), in the profile and the target folder of
/// the running test; `EVENHAND_PROGRAM` names one that is built already.
///
/// # Panics
/// If it does not build.
pub fn path() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| match std::env::var_os("EVENHAND_PROGRAM") {
        Some(program) => PathBuf::from(program),
        None => build(),
    })
}

fn build() -> PathBuf {
    // A test runs as <target folder>/<profile>/deps/<test>.
    let test = std::env::current_exe().expect("a test knows where it is");
    let profile = test.ancestors().nth(2).expect("a test stands in a target folder");
    let name = profile.file_name().and_then(|name| name.to_str()).unwrap_or("debug");
    let output = cargo()
        .args(["build", "--package", "evenhand", "--bin", "evenhand", "--no-default-features"])
        .args(if cfg!(feature = "jack") { &["--features", "jack,sound"][..] } else { &[] })
        .args(["--message-format", "json-render-diagnostics"])
        .args(["--profile", if name == "debug" { "dev" } else { name }])
        .arg("--target-dir")
        .arg(profile.parent().expect("a profile stands in a target folder"))
        .output()
        .expect("cargo can be started");
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the program does not build:\n{complaint}");
    // Cargo says itself where it put the program.
    String::from_utf8_lossy(&output.stdout)
        .lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .filter_map(|message| message["executable"].as_str().map(PathBuf::from))
        .next_back()
        .unwrap_or_else(|| panic!("cargo did not say where the program is:\n{complaint}"))
}

/// Runs the program with these arguments.
///
/// # Panics
/// If it cannot be started.
pub fn run<S: AsRef<std::ffi::OsStr>>(arguments: &[S]) -> Output {
    crate::run::command(arguments)
        .output()
        .unwrap_or_else(|error| panic!("cannot start {}: {error}", path().display()))
}

/// How the judge is told which string a note is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Channels {
    /// A channel for each string.
    PerString,
    /// One channel for all.
    One,
}

/// What the program said about one attempt.
#[derive(Clone, Debug)]
pub struct Judged {
    /// A label for every note.
    pub labels: Labels,
    /// The verdict's line.
    pub verdict: Value,
}

/// Has the program judge the attempt, through two Standard MIDI Files.
///
/// Each expected and each played note must have exactly one label, all in one attempt with one
/// verdict; anything else is an error here.
pub fn judge(attempt: &Attempt, channels: Channels) -> Result<Judged, String> {
    static RUNS: AtomicU32 = AtomicU32::new(0);
    let run_number = RUNS.fetch_add(1, Ordering::Relaxed);
    let folder =
        std::env::temp_dir().join(format!("evenhand-outside-{}-{run_number}", std::process::id()));
    std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let (score, recording) = (folder.join("score.mid"), folder.join("played.mid"));
    let judged = std::fs::write(&score, smf::score(attempt))
        .and_then(|()| std::fs::write(&recording, smf::recording(attempt)))
        .map_err(|error| format!("{}: {error}", folder.display()))
        .and_then(|()| {
            let channels = match channels {
                Channels::PerString => "string",
                Channels::One => "one",
            };
            let output = run(&[
                "judge".as_ref(),
                "--expected".as_ref(),
                score.as_os_str(),
                "--played".as_ref(),
                recording.as_os_str(),
                "--events".as_ref(),
                "--channels".as_ref(),
                channels.as_ref(),
            ]);
            read(&output)
        });
    let _ = std::fs::remove_dir_all(&folder);
    let judged = judged?;
    judged.labels.check_complete(attempt.expected.len(), attempt.played.len())?;
    Ok(judged)
}

fn read(output: &Output) -> Result<Judged, String> {
    let mut labels = Labels::default();
    let mut attempts = BTreeSet::new();
    let mut verdicts = Vec::new();
    for line in String::from_utf8_lossy(&output.stdout).lines() {
        let event: Value =
            serde_json::from_str(line).map_err(|error| format!("no JSON ({error}): {line}"))?;
        let note = |side: &str| {
            let number = event[side].as_u64().ok_or_else(|| format!("no `{side}` in {line}"))?;
            Ok::<usize, String>(number as usize)
        };
        let new = match event["kind"].as_str() {
            Some("pair") => labels.pairs.insert((note("expected")?, note("played")?)),
            Some("wrong") => labels.wrong.insert((note("expected")?, note("played")?)),
            Some("missing") => labels.missing.insert(note("expected")?),
            Some("extra") => labels.extra.insert(note("played")?),
            Some("verdict") => {
                verdicts.push(event.clone());
                true
            }
            // Other kinds of lines say nothing about labels.
            _ => continue,
        };
        if !new {
            return Err(format!("said twice: {line}"));
        }
        attempts.insert(event["attempt"].as_u64().ok_or_else(|| format!("no `attempt`: {line}"))?);
    }
    let said = String::from_utf8_lossy(&output.stderr);
    let [verdict] = verdicts.as_slice() else {
        let number = verdicts.len();
        return Err(format!("{number} verdicts instead of one ({}): {said}", output.status));
    };
    if attempts.len() != 1 {
        return Err(format!("a whole recording is one attempt, but these were seen: {attempts:?}"));
    }
    Ok(Judged { labels, verdict: verdict.clone() })
}
