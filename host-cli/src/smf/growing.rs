//! A recording that grows on the disk and is a whole Standard MIDI File at every moment.
//!
//! What came since the last time is appended as one more track, and made durable. Only then
//! the header, which says how many tracks there are, is changed to count it: four bytes inside
//! one sector, so that they are written together or not at all. Whoever reads the file before
//! that sees the tracks counted so far, and something after them which the header does not
//! count (Standard MIDI Files 1.0: a program passes over what it does not know). Now and then,
//! and in the end, the tracks are joined to one: the whole file is written beside it, made
//! durable, and put in its place by renaming, which is one step, too.
//!
//! A tick is exactly 1 µs, the resolution of the judge, so the recording says what was heard.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Ticks of a quarter, and its length in microseconds: a tick is 1 µs. As a tempo it means
/// nothing; nobody played to it.
const PER_QUARTER: u16 = 25_000;

/// Tracks before they are joined. Our default: about two minutes of playing without a pause.
const MOST_TRACKS: u16 = 256;

/// The longest time between two events (28 bits; Standard MIDI Files 1.0).
const LONGEST: u64 = 0x0fff_ffff;

/// An event that says nothing: an empty text. It bridges longer times.
const FILLER: [u8; 3] = [0xff, 0x01, 0x00];

/// The end of a track.
const END: [u8; 4] = [0x00, 0xff, 0x2f, 0x00];

/// Where the format and the number of tracks stand.
const COUNT_AT: u64 = 8;

/// Channel messages with their times, as the content of a track.
#[derive(Clone, Debug, Default)]
struct Events {
    bytes: Vec<u8>,
    latest: u64,
}

impl Events {
    fn push(&mut self, at_us: u64, message: &[u8]) {
        let mut delta = at_us.saturating_sub(self.latest);
        while delta > LONGEST {
            put_number(&mut self.bytes, LONGEST);
            self.bytes.extend(FILLER);
            delta -= LONGEST;
        }
        put_number(&mut self.bytes, delta);
        if message.first().is_some_and(|status| *status >= 0xf0) {
            // What a track cannot hold as it is, it holds escaped.
            self.bytes.push(0xf7);
            put_number(&mut self.bytes, message.len() as u64);
        }
        self.bytes.extend(message);
        self.latest = self.latest.max(at_us);
    }
}

/// The recording.
#[derive(Debug)]
pub struct Growing {
    path: PathBuf,
    file: File,
    /// What the track says of itself before its events.
    head: Vec<u8>,
    /// Everything, as one track.
    joined: Events,
    /// What is not on the disk yet, as a track of its own.
    new: Events,
    tracks: u16,
    /// Where the last track that the header counts ends.
    counted: u64,
}

impl Growing {
    /// Begins a recording at `path`, in the place of whatever file is there; `text` says at its
    /// beginning what it is.
    ///
    /// # Errors
    ///
    /// What the system says.
    pub fn begin(path: &Path, text: &str) -> io::Result<Self> {
        let mut head = vec![0x00, 0xff, 0x01];
        put_number(&mut head, text.len() as u64);
        head.extend(text.as_bytes());
        head.extend([0x00, 0xff, 0x51, 0x03]);
        head.extend(&u32::from(PER_QUARTER).to_be_bytes()[1..]);
        let (joined, new) = (Events::default(), Events::default());
        let content = whole(&head, &joined);
        let file = put_in_place(path, &content)?;
        let (path, counted) = (path.to_owned(), content.len() as u64);
        Ok(Self { path, file, head, joined, new, tracks: 1, counted })
    }

    /// Takes a channel message, or a System Reset, that came at this time from the beginning.
    /// Times do not step back.
    pub fn push(&mut self, at_us: u64, message: &[u8]) {
        let latest = self.joined.latest.max(at_us);
        self.new.push(latest, message);
        self.joined.push(latest, message);
    }

    /// Whether something waits to be written.
    pub fn has_news(&self) -> bool {
        !self.new.bytes.is_empty()
    }

    /// How long the recording is, in bytes, once it is joined.
    pub fn length(&self) -> u64 {
        (self.head.len() + self.joined.bytes.len()) as u64
    }

    /// Writes what is new, durably.
    ///
    /// # Errors
    ///
    /// What the system says. The file is as whole as it was, and what could not be written is
    /// tried again the next time.
    pub fn flush(&mut self) -> io::Result<()> {
        if !self.has_news() {
            return Ok(());
        }
        if self.tracks >= MOST_TRACKS {
            return self.join();
        }
        let track = track(&[], &self.new);
        self.file.seek(SeekFrom::Start(self.counted))?;
        self.file.write_all(&track)?;
        self.file.sync_data()?;
        let tracks = self.tracks + 1;
        self.file.seek(SeekFrom::Start(COUNT_AT))?;
        let [high, low] = tracks.to_be_bytes();
        // Several tracks that belong together are format 1.
        self.file.write_all(&[0, 1, high, low])?;
        self.file.sync_data()?;
        self.tracks = tracks;
        self.counted += track.len() as u64;
        self.new = Events::default();
        Ok(())
    }

    /// Joins all to one track, with what is new.
    ///
    /// # Errors
    ///
    /// What the system says. The file is as whole as it was.
    pub fn join(&mut self) -> io::Result<()> {
        let content = whole(&self.head, &self.joined);
        self.file = put_in_place(&self.path, &content)?;
        self.counted = content.len() as u64;
        self.tracks = 1;
        self.new = Events::default();
        Ok(())
    }
}

fn whole(head: &[u8], events: &Events) -> Vec<u8> {
    let mut bytes = b"MThd\0\0\0\x06\0\0\0\x01".to_vec();
    bytes.extend(PER_QUARTER.to_be_bytes());
    bytes.extend(track(head, events));
    bytes
}

fn track(head: &[u8], events: &Events) -> Vec<u8> {
    let length = head.len() + events.bytes.len() + END.len();
    let mut bytes = b"MTrk".to_vec();
    // Recordings end long before 4 GiB.
    bytes.extend(u32::try_from(length).unwrap_or(u32::MAX).to_be_bytes());
    bytes.extend(head);
    bytes.extend(&events.bytes);
    bytes.extend(END);
    bytes
}

/// Appends a number of at most 28 bits in groups of seven (Standard MIDI Files 1.0).
fn put_number(to: &mut Vec<u8>, number: u64) {
    for shift in [21, 14, 7] {
        if number >> shift > 0 {
            to.push((number >> shift & 0x7f) as u8 | 0x80);
        }
    }
    to.push((number & 0x7f) as u8);
}

/// Writes a file beside its place, makes it durable, and renames it.
fn put_in_place(path: &Path, content: &[u8]) -> io::Result<File> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(".part");
    let beside = PathBuf::from(beside);
    let written = (|| {
        let mut file =
            OpenOptions::new().read(true).write(true).create(true).truncate(true).open(&beside)?;
        file.write_all(content)?;
        file.sync_all()?;
        fs::rename(&beside, path)?;
        Ok(file)
    })();
    if written.is_err() {
        let _ = fs::remove_file(&beside);
    }
    // That it has its name is durable when its folder is. Not every system lets a folder be
    // opened; where it does not, renaming is durable by itself.
    let folder = path.parent().filter(|parent| !parent.as_os_str().is_empty());
    if let Ok(folder) = File::open(folder.unwrap_or(Path::new("."))) {
        let _ = folder.sync_all();
    }
    written
}
