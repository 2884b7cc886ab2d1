//! A line that others write to: a FIFO that has a name, or a device.
//!
//! Whoever wrote to it may come back: a program that is started again, a cable that is put in again. It is looked
//! for as long as anybody listens, and each change is told once.

use super::{PIECE, SourceEvent, since};
use crate::live::Change;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{OFlags, fcntl_getfl, fcntl_setfl};
use rustix::termios::{OptionalActions, Termios, isatty, tcgetattr, tcsetattr};
use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Read};
use std::os::unix::fs::{FileTypeExt, MetadataExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::sync::mpsc::SyncSender;
use std::thread;
use std::time::{Duration, Instant};

/// How often it is looked whether the line is back. Our default: nobody begins to play sooner.
const LOOK: Duration = Duration::from_millis(100);

/// The line.
pub(super) struct Line {
    path: PathBuf,
    kind: Kind,
    /// None while it is away.
    file: Option<File>,
}

enum Kind {
    Pipe,
    /// How a serial line is set: one that is plugged in again has forgotten it.
    Device(Option<Box<Termios>>),
}

/// What a look at the line has brought.
enum Came {
    Bytes(usize),
    /// It is there, and nothing came.
    Nothing,
    /// Nobody is at its other end.
    Away,
    /// Nothing comes any more.
    End,
}

impl Line {
    /// The line that was opened at this path; given back if it is none: what has no name cannot be opened
    /// by anybody else, and a file has an end.
    pub(super) fn of(path: &Path, file: File) -> Result<Self, File> {
        let Ok(opened) = file.metadata() else { return Err(file) };
        let kind = if opened.file_type().is_fifo() && has_a_name(path, &file) {
            Kind::Pipe
        } else if opened.file_type().is_char_device() {
            let settings = if isatty(&file) { tcgetattr(&file).ok().map(Box::new) } else { None };
            Kind::Device(settings)
        } else {
            return Err(file);
        };
        let is_set = fcntl_getfl(&file).and_then(|set| fcntl_setfl(&file, set | OFlags::NONBLOCK));
        if is_set.is_err() {
            return Err(file);
        }
        Ok(Self { path: path.to_owned(), kind, file: Some(file) })
    }

    /// Whether it is a FIFO.
    pub(super) const fn is_pipe(&self) -> bool {
        matches!(self.kind, Kind::Pipe)
    }

    /// Hands on what comes until nobody listens any more.
    pub(super) fn hand_on(mut self, to: &SyncSender<SourceEvent>, start: Instant) {
        let mut buffer = [0; PIECE];
        let mut is_there = true;
        loop {
            let came = self.look(&mut buffer);
            let changed = match (&came, is_there) {
                (Came::Bytes(_) | Came::Nothing, false) => Some(Change::Back),
                (Came::Away, true) => Some(Change::Gone),
                _ => None,
            };
            if let Some(change) = changed {
                is_there = !is_there;
                if to.send(SourceEvent::Changed(change)).is_err() {
                    return;
                }
            }
            match came {
                Came::Bytes(length) => {
                    let bytes = buffer.get(..length).unwrap_or_default().to_vec();
                    if to.send(SourceEvent::Bytes { bytes, at: since(start) }).is_err() {
                        return;
                    }
                }
                Came::Nothing => self.wait(),
                Came::Away => {
                    thread::sleep(LOOK);
                    self.find();
                }
                Came::End => return,
            }
        }
    }

    fn look(&mut self, buffer: &mut [u8]) -> Came {
        let Some(file) = &mut self.file else { return Came::Away };
        match (file.read(buffer), &self.kind) {
            (Ok(0), Kind::Pipe) => Came::Away,
            // A serial line may be set to say nothing where it has nothing to say.
            (Ok(0), Kind::Device(Some(_))) if !is_cut(file) => Came::Nothing,
            (Ok(0), Kind::Device(None)) => Came::End,
            (Ok(0), Kind::Device(Some(_))) => self.lose(),
            (Ok(length), _) => Came::Bytes(length),
            (Err(error), _) => match error.kind() {
                ErrorKind::WouldBlock | ErrorKind::Interrupted => Came::Nothing,
                _ => self.lose(),
            },
        }
    }

    fn lose(&mut self) -> Came {
        self.file = None;
        Came::Away
    }

    fn wait(&self) {
        let Some(file) = &self.file else { return };
        let mut looked = [PollFd::new(file, PollFlags::IN)];
        let _ = poll(&mut looked, None);
        if !looked[0].revents().contains(PollFlags::IN) && !looked[0].revents().is_empty() {
            // It was cut, and the next look says so; a line that is always ready must not turn round.
            thread::sleep(LOOK);
        }
    }

    /// Looks for what is at the path now. A FIFO stays open, so that nothing is lost that is written before it is
    /// looked at again, but for one that was made anew.
    fn find(&mut self) {
        if let (Kind::Pipe, Some(file)) = (&self.kind, &self.file)
            && is_same(&self.path, file)
        {
            return;
        }
        let flags = (OFlags::NONBLOCK | OFlags::NOCTTY).bits();
        let Ok(flags) = i32::try_from(flags) else { return };
        let opened = OpenOptions::new().read(true).custom_flags(flags).open(&self.path);
        let Ok(file) = opened else { return };
        let Ok(now) = file.metadata().map(|now| now.file_type()) else { return };
        match &self.kind {
            Kind::Pipe if !now.is_fifo() => return,
            Kind::Device(_) if !now.is_char_device() || is_cut(&file) => return,
            Kind::Device(Some(settings)) => {
                let _ = tcsetattr(&file, OptionalActions::Now, settings);
            }
            _ => {}
        }
        self.file = Some(file);
    }
}

/// Whether others can find a pipe: what a shell or another process hands over has no path of its own.
fn has_a_name(path: &Path, file: &File) -> bool {
    path.canonicalize().is_ok_and(|own| is_same(&own, file))
}

fn is_same(path: &Path, file: &File) -> bool {
    let id = |data: std::fs::Metadata| (data.dev(), data.ino());
    let there = path.metadata().map(id);
    matches!((there, file.metadata().map(id)), (Ok(there), Ok(own)) if there == own)
}

fn is_cut(file: &File) -> bool {
    let at_once = Timespec { tv_sec: 0, tv_nsec: 0 };
    let mut looked = [PollFd::new(file, PollFlags::IN)];
    poll(&mut looked, Some(&at_once)).is_err()
        || looked[0].revents().intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL)
}
