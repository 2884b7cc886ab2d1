//! Keeps what comes in as a recording, on the disk within a second.

use crate::fault::{Exit, Fault};
use crate::log;
use crate::output::path::{self, OutputPath};
use crate::output::warn;
use crate::read::LARGEST_SMF;
use crate::smf::growing::Growing;
use crate::whole_file::{self, Overwrite};
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

/// How many names are tried for a recording that its own place does not take. Our default.
const MOST_NAMES: u32 = 99;

/// What a recording says it is.
const TEXT: &str = concat!("recorded by evenhand ", env!("CARGO_PKG_VERSION"));

/// Keeps a recording.
pub(crate) struct Recorder {
    /// The files that were made, the last of which grows.
    files: Vec<PathBuf>,
    number: u32,
    growing: Growing,
    wire: Wire,
    messages: u64,
    /// When what came first of what is not on the disk came.
    waits_since: Option<std::time::Instant>,
    warned: bool,
    ended: bool,
}

impl Recorder {
    /// Refuses what cannot be recorded to, before anything is opened or made.
    pub(crate) fn check(path: &Path, replace: bool) -> Result<(), Fault> {
        path::find(path, replace).map(|_| ())
    }

    /// Begins a recording; an older one of the same name stays, unless it is to be replaced.
    pub(crate) fn begin(path: &Path, replace: bool) -> Result<Self, Fault> {
        let place = path::find(path, replace)?;
        tell_of_left_over(&place.path);
        let growing = begin(&place)?;
        Ok(Self {
            files: vec![place.path],
            number: 1,
            growing,
            wire: Wire::new(),
            messages: 0,
            waits_since: None,
            warned: false,
            ended: false,
        })
    }

    /// Takes bytes that came at this time.
    pub(crate) fn hear(&mut self, bytes: &[u8], at: Instant) -> Result<(), Fault> {
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
    pub(crate) fn due_in(&self) -> Option<Duration> {
        Some(KEEP_WITHIN.saturating_sub(self.waits_since?.elapsed()))
    }

    /// Writes what waits, if it is time for it. Where that cannot be done it is said once, and
    /// tried again later.
    pub(crate) fn keep(&mut self) {
        if self.due_in() != Some(Duration::ZERO) {
            return;
        }
        match self.growing.flush() {
            Ok(()) => self.waits_since = None,
            Err(error) => {
                self.waits_since = Some(std::time::Instant::now());
                if !std::mem::replace(&mut self.warned, true) {
                    let fault = not_written(self.path(), &error).advise(advice(error.kind()));
                    warn(&format!("{fault}\nWhat comes is kept in memory, and tried again."));
                }
            }
        }
    }

    /// Ends the recording: all of it in one track. Where that cannot be done, all of it is kept
    /// where it can, and that is said.
    pub(crate) fn end(&mut self) -> Result<(), Fault> {
        if std::mem::replace(&mut self.ended, true) {
            return Ok(());
        }
        self.growing.join().or_else(|error| self.end_as_can_be(&error))
    }

    fn end_as_can_be(&mut self, error: &io::Error) -> Result<(), Fault> {
        let left = self.growing.flush_what_fits();
        let (path, in_place) = (self.path(), self.growing.is_in_place());
        let shown = path.display();
        if left == 0 && in_place {
            warn(&format!("the recording {shown} is whole, but stays in several tracks: {error}"));
            return Ok(());
        }
        let fault = not_written(path, error);
        if let Some(kept) = keep_elsewhere(path, &self.growing.content()) {
            let kept = kept.display();
            return Err(fault.advise(format!("All of it is in {kept}. Move it where it belongs.")));
        }
        let advice = advice(error.kind());
        let all = self.growing.messages();
        Err(fault.advise(match in_place {
            true => format!("The first {} of {all} messages are in {shown}. {advice}", all - left),
            false => format!("Its {all} messages could not be kept anywhere else. {advice}"),
        }))
    }

    /// Messages that were kept.
    pub(crate) const fn messages(&self) -> u64 {
        self.messages
    }

    /// The files that were made.
    pub(crate) fn files(&self) -> String {
        let files: Vec<_> = self.files.iter().map(|file| file.display().to_string()).collect();
        files.join(", ")
    }

    /// The file that grows.
    fn path(&self) -> &Path {
        self.files.last().map_or(Path::new(""), PathBuf::as_path)
    }

    fn go_on_in_the_next_file(&mut self) -> Result<(), Fault> {
        self.end()?;
        let first = self.files.first().cloned().unwrap_or_default();
        // To replace the first was asked for, to replace others was not.
        let path = loop {
            self.number += 1;
            let path = numbered(&first, self.number);
            if path.symlink_metadata().is_err() {
                break path;
            }
        };
        self.growing = begin(&OutputPath { path: path.clone(), over: Overwrite::Nothing })?;
        self.files.push(path);
        self.waits_since = None;
        self.ended = false;
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

/// The name of the file that a recording goes on in.
fn numbered(first: &Path, number: u32) -> PathBuf {
    let stem = first.file_stem().unwrap_or_default().to_string_lossy();
    first.with_file_name(match first.extension() {
        Some(ending) => format!("{stem}-{number}.{}", ending.display()),
        None => format!("{stem}-{number}"),
    })
}

/// Puts a recording that its own place does not take into the folder for what the program keeps,
/// or into that for what is there for a while. Gives where it is.
fn keep_elsewhere(path: &Path, content: &[u8]) -> Option<PathBuf> {
    let name = Path::new(path.file_name()?);
    let folders = log::folder(None).into_iter().chain([std::env::temp_dir()]);
    folders.into_iter().find_map(|folder| {
        // Where that fails, writing does.
        let _ = crate::private::folder(&folder);
        let first = folder.join(name);
        let others = (2..=MOST_NAMES).map(|number| numbered(&first, number));
        for place in std::iter::once(first.clone()).chain(others) {
            match whole_file::put(&place, content, Overwrite::Nothing) {
                Ok(()) => return Some(place),
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(_) => return None,
            }
        }
        None
    })
}

/// Tells of what recordings of this name left that could not end: it may hold notes.
fn tell_of_left_over(path: &Path) {
    for left in whole_file::left_over(path) {
        let left = left.display();
        warn(&format!(
            "{left} was left when something was being written; it stays as it is.\n\
             It may be a recording: judge it, or remove it."
        ));
    }
}

fn begin(place: &OutputPath) -> Result<Growing, Fault> {
    Growing::begin(&place.path, TEXT, place.over).map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => path::is_there(&place.path),
        kind => not_written(&place.path, &error).advise(advice(kind)),
    })
}

fn not_written(path: &Path, error: &io::Error) -> Fault {
    let shown = path.display();
    Fault::new(Exit::Output, format!("the recording {shown} could not be written: {error}"))
}

const fn advice(kind: io::ErrorKind) -> &'static str {
    match kind {
        io::ErrorKind::NotFound => "Is there such a folder?",
        io::ErrorKind::PermissionDenied => "Check who may write there.",
        io::ErrorKind::AlreadyExists => "Choose a name that nothing else uses.",
        _ => "Is the disk full?",
    }
}
