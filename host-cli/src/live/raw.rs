//! Raw MIDI bytes from a serial device, a FIFO, a file or standard input.
//!
//! What has an end, ends: a file, standard input, the pipe of a process. A FIFO that has a name and a device
//! are lines, as a MIDI port is: whoever wrote to them may come back, so they are waited for.

#[cfg(unix)]
mod line;

use super::{Source, SourceEvent, since};
use crate::fault::{Exit, Fault};
use crate::{say, stop};
use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::Path;
use std::sync::mpsc::{RecvTimeoutError, SyncSender, sync_channel};
use std::thread;
use std::time::{Duration, Instant};

/// Pieces that can wait to be judged. At 31,250 baud a piece is one or a few bytes, and
/// judging a note takes microseconds; a file is read no faster than it is judged.
const WAITING: usize = 4_096;

/// What is read at once, in bytes.
const PIECE: usize = 256;

/// So long it is waited for somebody to write to a FIFO before that is said. Our default.
const PATIENCE: Duration = Duration::from_secs(1);

/// Opens a stream of raw bytes; `-` is standard input.
pub fn raw(path: &Path) -> Result<Source, Fault> {
    let (sender, heard) = sync_channel(WAITING);
    if path == Path::new("-") {
        let start = Instant::now();
        thread::spawn(move || hand_on(&mut io::stdin(), &sender, start));
        return Ok(Source::new(STANDARD.to_owned(), heard, start));
    }
    let (name, file) = opened_file(path)?;
    let start = Instant::now();
    #[cfg(unix)]
    let file = match line::Line::of(path, file) {
        Ok(line) => {
            let is_pipe = line.is_pipe();
            thread::spawn(move || line.hand_on(&sender, start));
            let source = Source::new(name, heard, start);
            return Ok(if is_pipe { source.of_a_pipe() } else { source });
        }
        Err(file) => file,
    };
    let mut file = file;
    thread::spawn(move || hand_on(&mut file, &sender, start));
    Ok(Source::new(name, heard, start))
}

/// What standard input is called.
const STANDARD: &str = "standard input";

/// Opens a path to be read as it comes, and says what to call it.
pub(super) fn opened(path: &Path) -> Result<(String, Box<dyn Read + Send>), Fault> {
    if path == Path::new("-") {
        return Ok((STANDARD.to_owned(), Box::new(io::stdin())));
    }
    let (name, file) = opened_file(path)?;
    Ok((name, Box::new(file)))
}

fn opened_file(path: &Path) -> Result<(String, File), Fault> {
    let name = path.display().to_string();
    let fault = |error: &io::Error| {
        Fault::new(Exit::Live, format!("cannot listen to {name}: {error}")).advise(
            match error.kind() {
                ErrorKind::NotFound => "Check the name, and that the device is plugged in.",
                ErrorKind::PermissionDenied => {
                    "Serial devices usually ask for membership of a group such as dialout or audio."
                }
                _ => "Check that nothing else is using it.",
            },
        )
    };
    let metadata = std::fs::metadata(path).map_err(|error| fault(&error))?;
    if metadata.is_dir() {
        return Err(Fault::new(Exit::Live, format!("{name} is a folder, nothing to listen to"))
            .advise("Name a serial device, a FIFO or a file of raw MIDI bytes."));
    }
    let file = opened_in_time(path, &name)?.map_err(|error| fault(&error))?;
    Ok((name, file))
}

/// A FIFO is open only when somebody writes to it; a while later that is said.
fn opened_in_time(path: &Path, name: &str) -> Result<io::Result<File>, Fault> {
    let (to, opened) = sync_channel(1);
    let path = path.to_owned();
    thread::spawn(move || to.send(File::open(path)));
    let start = Instant::now();
    let mut is_said = false;
    loop {
        match opened.recv_timeout(stop::LOOK) {
            Ok(opened) => return Ok(opened),
            Err(RecvTimeoutError::Disconnected) => {
                return Ok(Err(io::Error::other("it could not be opened")));
            }
            Err(RecvTimeoutError::Timeout) => {}
        }
        if stop::is_asked() {
            return Err(Fault::new(Exit::Live, format!("nothing was written to {name}")));
        }
        if start.elapsed() >= PATIENCE && !std::mem::replace(&mut is_said, true) {
            say::complain(&format!("nothing writes to {name} yet; waiting for it"));
        }
    }
}

/// Reads until the end, an error, or until nobody listens any more.
fn hand_on(from: &mut dyn Read, to: &SyncSender<SourceEvent>, start: Instant) {
    let mut buffer = [0; PIECE];
    loop {
        let heard = match from.read(&mut buffer) {
            Ok(0) => return,
            Ok(length) => SourceEvent::Bytes { bytes: buffer[..length].to_vec(), at: since(start) },
            Err(error) if error.kind() == ErrorKind::Interrupted => continue,
            Err(error) => SourceEvent::Broke(error.to_string()),
        };
        let broke = matches!(heard, SourceEvent::Broke(_));
        if to.send(heard).is_err() || broke {
            return;
        }
    }
}
