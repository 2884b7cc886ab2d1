//! MIDI bytes that come with their times, as lines of text.
//!
//! A line is a time in microseconds, not before that of the line above, and the bytes that came
//! then, in hexadecimal: `1250000 90 40 5a`. A line without bytes lets time pass. What is judged
//! then depends on nothing but the lines: so a practice of half an hour is gone through in
//! seconds, and the same way each time.

use super::raw::opened;
use super::{Clock, Source, SourceEvent};
use crate::fault::Fault;
use evenhand_core::units::Instant;
use std::cell::Cell;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::sync::mpsc::{SyncSender, sync_channel};
use std::thread;

/// Lines that can wait to be judged. Our default.
const WAITING: usize = 4_096;

/// The longest line that is read: a time, and a few hundred bytes. Our default.
const LONGEST: u64 = 4_096;

/// Opens a stream of lines; `-` is standard input.
pub fn told(path: &Path) -> Result<Source, Fault> {
    let (name, from) = opened(path)?;
    let (sender, heard) = sync_channel(WAITING);
    thread::spawn(move || hand_on(from, &sender));
    Ok(Source::timed(name, heard, Clock::Told(Cell::new(Instant::ZERO))))
}

/// Reads until the end, an error, or until nobody listens any more.
fn hand_on(from: Box<dyn Read + Send>, to: &SyncSender<SourceEvent>) {
    let mut from = BufReader::new(from);
    let mut latest = 0;
    for number in 1_u64.. {
        let mut line = String::new();
        let heard = match (&mut from).take(LONGEST).read_line(&mut line) {
            Ok(0) => return,
            Ok(_) => match heard(&line, latest) {
                Ok(None) => continue,
                Ok(Some((at, bytes))) => {
                    latest = at;
                    SourceEvent::Bytes { bytes, at: Instant::from_micros(at) }
                }
                Err(what) => SourceEvent::Broke(format!("line {number} {what}")),
            },
            Err(error) => SourceEvent::Broke(error.to_string()),
        };
        let broke = matches!(heard, SourceEvent::Broke(_));
        if to.send(heard).is_err() || broke {
            return;
        }
    }
}

/// Reads a line; nothing stands on an empty one.
fn heard(line: &str, latest: u64) -> Result<Option<(u64, Vec<u8>)>, &'static str> {
    let mut words = line.split_whitespace();
    let Some(time) = words.next() else { return Ok(None) };
    let time: u64 = time.parse().map_err(|_| "does not begin with a time in microseconds")?;
    if time < latest {
        return Err("goes back in time");
    }
    let byte = |word| u8::from_str_radix(word, 16).map_err(|_| "has what is no byte: 00 to ff");
    Ok(Some((time, words.map(byte).collect::<Result<_, _>>()?)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_a_time_and_bytes() {
        assert_eq!(heard("1250000 90 40 5a\n", 0), Ok(Some((1_250_000, vec![0x90, 0x40, 0x5a]))));
        assert_eq!(heard("7", 7), Ok(Some((7, vec![]))));
        assert_eq!(heard("  \n", 7), Ok(None));
        assert!(heard("6", 7).is_err());
        assert!(heard("now 90", 0).is_err());
        assert!(heard("8 190", 0).is_err());
    }

    #[test]
    fn a_silence_is_passed_over_in_one_step_however_long_it_is() {
        let folder = std::env::temp_dir();
        let file = folder.join(format!("evenhand-silence-{}", std::process::id()));
        for year in [1_u64, 1_000, 100_000] {
            let end = year * 365 * 24 * 3_600 * 1_000_000;
            std::fs::write(&file, format!("100 f8\n{end} f8\n")).unwrap();
            let source = told(&file).unwrap();
            // Nothing is due, then something is.
            assert!(source.next_due(None).is_ok());
            let due = std::time::Duration::from_secs(1);
            assert!(source.next_due(Some(due)).is_err());
            assert_eq!(source.now(), Instant::from_micros(1_000_100));
            assert!(source.next_due(None).is_ok());
            assert_eq!(source.now(), Instant::from_micros(end));
        }
        let _ = std::fs::remove_file(&file);
    }

    #[test]
    fn time_goes_on_only_as_the_lines_say() {
        let folder = std::env::temp_dir();
        let file = folder.join(format!("evenhand-told-{}", std::process::id()));
        std::fs::write(&file, "100 f8\n1000000\n").unwrap();
        let source = told(&file).unwrap();
        let wait = std::time::Duration::from_millis(400);
        let mut came = Vec::new();
        loop {
            match source.next(wait) {
                Ok(_) => came.push(("came", source.now().as_micros())),
                Err(std::sync::mpsc::RecvTimeoutError::Timeout) => {
                    came.push(("waited", source.now().as_micros()));
                }
                Err(_) => break,
            }
        }
        let _ = std::fs::remove_file(&file);
        let expected = [("came", 100), ("waited", 400_100), ("waited", 800_100)];
        assert_eq!(came[..3], expected);
        assert_eq!(came[3..], [("came", 1_000_000)]);
    }
}
