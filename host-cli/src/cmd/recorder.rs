//! Keeps what comes in as a recording, on the disk within a second.

use super::output::warn;
use crate::fault::{Exit, Fault};
use crate::read::LARGEST_SMF;
use crate::smf::growing::Growing;
use evenhand_core::units::Instant;
use evenhand_core::wire::Wire;
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;
use wmidi::MidiMessage;

/// How long something that came may be in memory only. With the time that a disk takes it stays
/// under a second. Our default.
const KEEP_WITHIN: Duration = Duration::from_millis(500);

/// A recording goes on in a next file before it is too large to be read again.
const LONGEST: u64 = LARGEST_SMF / 8 * 7;

/// What a recording says it is.
const TEXT: &str = concat!("recorded by evenhand ", env!("CARGO_PKG_VERSION"));

/// Keeps a recording.
pub(super) struct Recorder {
    first: PathBuf,
    path: PathBuf,
    number: u32,
    replace: bool,
    growing: Growing,
    wire: Wire,
    messages: u64,
    /// When what came first of what is not on the disk came.
    waits_since: Option<std::time::Instant>,
    warned: bool,
}

impl Recorder {
    /// Refuses what cannot be recorded to, before anything is opened or made.
    pub(super) fn check(path: &Path, replace: bool) -> Result<(), Fault> {
        place(path, replace).map(|_| ())
    }

    /// Begins a recording; an older one of the same name stays, unless it is to be replaced.
    pub(super) fn begin(path: &Path, replace: bool) -> Result<Self, Fault> {
        let path = place(path, replace)?;
        let growing = Growing::begin(&path, TEXT).map_err(|error| fault(&path, &error))?;
        Ok(Self {
            first: path.clone(),
            path,
            number: 1,
            replace,
            growing,
            wire: Wire::new(),
            messages: 0,
            waits_since: None,
            warned: false,
        })
    }

    /// Takes bytes that came at this time.
    pub(super) fn hear(&mut self, bytes: &[u8], at: Instant) -> Result<(), Fault> {
        for &byte in bytes {
            if let Some(message) = self.wire.push(byte)
                && is_kept(&message)
            {
                let mut bytes = [0; 3];
                let length = message.copy_to_slice(&mut bytes).unwrap_or(0);
                self.growing.push(at.as_micros(), bytes.get(..length).unwrap_or_default());
                self.messages += 1;
                self.waits_since.get_or_insert_with(std::time::Instant::now);
            }
            if self.growing.length() > LONGEST {
                self.go_on_in_the_next_file()?;
            }
        }
        Ok(())
    }

    /// How long until [`keep`](Recorder::keep) has something to do.
    pub(super) fn due_in(&self) -> Option<Duration> {
        Some(KEEP_WITHIN.saturating_sub(self.waits_since?.elapsed()))
    }

    /// Writes what waits, if it is time for it. Where that cannot be done it is said once, and
    /// tried again later.
    pub(super) fn keep(&mut self) {
        if self.due_in() != Some(Duration::ZERO) {
            return;
        }
        match self.growing.flush() {
            Ok(()) => self.waits_since = None,
            Err(error) => {
                self.waits_since = Some(std::time::Instant::now());
                if !std::mem::replace(&mut self.warned, true) {
                    let fault = fault(&self.path, &error);
                    warn(&format!("{fault}\nWhat comes is kept in memory, and tried again."));
                }
            }
        }
    }

    /// Ends the recording: all of it in one track.
    pub(super) fn end(&mut self) -> Result<(), Fault> {
        self.growing.join().map_err(|error| fault(&self.path, &error))
    }

    /// Messages that were kept.
    pub(super) const fn messages(&self) -> u64 {
        self.messages
    }

    /// The files that were made.
    pub(super) fn files(&self) -> String {
        match self.number {
            1 => self.first.display().to_string(),
            _ => format!("{} to {}", self.first.display(), self.path.display()),
        }
    }

    fn go_on_in_the_next_file(&mut self) -> Result<(), Fault> {
        self.end()?;
        self.number += 1;
        let stem = self.first.file_stem().unwrap_or_default().to_string_lossy();
        let name = match self.first.extension() {
            Some(ending) => format!("{stem}-{}.{}", self.number, ending.display()),
            None => format!("{stem}-{}", self.number),
        };
        let path = place(&self.first.with_file_name(name), self.replace)?;
        self.growing = Growing::begin(&path, TEXT).map_err(|error| fault(&path, &error))?;
        self.path = path;
        self.waits_since = None;
        Ok(())
    }
}

/// What says something about notes: the messages of channels, and what resets all.
const fn is_kept(message: &MidiMessage<'_>) -> bool {
    matches!(
        message,
        MidiMessage::NoteOff(..)
            | MidiMessage::NoteOn(..)
            | MidiMessage::PolyphonicKeyPressure(..)
            | MidiMessage::ControlChange(..)
            | MidiMessage::ProgramChange(..)
            | MidiMessage::ChannelPressure(..)
            | MidiMessage::PitchBendChange(..)
            | MidiMessage::Reset
    )
}

/// Where a recording can be made: where nothing is, or a file that may be replaced.
fn place(path: &Path, replace: bool) -> Result<PathBuf, Fault> {
    let refuse = |what: &str, advice: &str| {
        Err(Fault::new(Exit::Output, format!("{} {what}", path.display())).advise(advice))
    };
    match path.metadata() {
        // A link stays one: what it leads to is replaced.
        Ok(there) if there.is_file() && replace => {
            path.canonicalize().map_err(|error| fault(path, &error))
        }
        Ok(there) if there.is_file() => {
            refuse("is there already", "Choose another name, or say --replace.")
        }
        Ok(there) if there.is_dir() => refuse("is a folder", "Name a file inside it."),
        Ok(_) => refuse("is no file that can be recorded to", "Choose another name."),
        Err(_) => Ok(path.to_owned()),
    }
}

fn fault(path: &Path, error: &io::Error) -> Fault {
    let shown = path.display();
    Fault::new(Exit::Output, format!("the recording {shown} could not be written: {error}")).advise(
        match error.kind() {
            io::ErrorKind::NotFound => "Is there such a folder?",
            io::ErrorKind::PermissionDenied => "Check who may write there.",
            _ => "Is the disk full?",
        },
    )
}
