//! Raw MIDI bytes from a serial device, a FIFO, a file or standard input.

use super::{Source, SourceEvent, since};
use crate::fault::{Exit, Fault};
use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::Path;
use std::sync::mpsc::{SyncSender, sync_channel};
use std::thread;

/// Pieces that can wait to be judged. At 31,250 baud a piece is one or a few bytes, and
/// judging a note takes microseconds; a file is read no faster than it is judged.
const WAITING: usize = 4_096;

/// Opens a stream of raw bytes; `-` is standard input.
pub fn raw(path: &Path) -> Result<Source, Fault> {
    let start = std::time::Instant::now();
    let (name, mut from) = opened(path)?;
    let (sender, heard) = sync_channel(WAITING);
    thread::spawn(move || hand_on(&mut from, &sender, start));
    Ok(Source::new(name, heard, start))
}

/// Opens a path to be read as it comes, and says what to call it.
pub(super) fn opened(path: &Path) -> Result<(String, Box<dyn Read + Send>), Fault> {
    if path == Path::new("-") {
        return Ok(("standard input".to_owned(), Box::new(io::stdin())));
    }
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
    let file = File::open(path).map_err(|error| fault(&error))?;
    Ok((name, Box::new(file)))
}

/// Reads until the end, an error, or until nobody listens any more.
fn hand_on(from: &mut dyn Read, to: &SyncSender<SourceEvent>, start: std::time::Instant) {
    let mut buffer = [0; 256];
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
