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

use super::disk::{Disk, OnDisk};
use crate::whole_file::Overwrite;
use std::io;
use std::path::Path;

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
pub struct Growing<D = OnDisk> {
    disk: D,
    /// What the track says of itself before its events.
    head: Vec<u8>,
    /// Everything, as one track.
    joined: Events,
    /// What is not on the disk yet, with the times.
    new: Vec<(u64, Vec<u8>)>,
    /// Messages in all.
    messages: usize,
    tracks: u16,
    /// Where the last track that the header counts ends.
    counted: u64,
}

impl Growing {
    /// Begins a recording at `path`; `text` says at its beginning what it is.
    ///
    /// # Errors
    ///
    /// What the system says; `AlreadyExists` if something is there that is not to be replaced.
    pub fn begin(path: &Path, text: &str, over: Overwrite) -> io::Result<Self> {
        Self::on(text, |content| OnDisk::make(path, content, over))
    }
}

impl<D: Disk> Growing<D> {
    /// The same on any disk; `make` makes the file with its first content.
    fn on(text: &str, make: impl FnOnce(&[u8]) -> io::Result<D>) -> io::Result<Self> {
        let mut head = vec![0x00, 0xff, 0x01];
        put_number(&mut head, text.len() as u64);
        head.extend(text.as_bytes());
        head.extend([0x00, 0xff, 0x51, 0x03]);
        head.extend(&u32::from(PER_QUARTER).to_be_bytes()[1..]);
        let joined = Events::default();
        let content = whole(&head, &joined);
        let (disk, counted) = (make(&content)?, content.len() as u64);
        Ok(Self { disk, head, joined, new: Vec::new(), messages: 0, tracks: 1, counted })
    }

    /// Takes a channel message, or a System Reset, that came at this time from the beginning.
    /// Times do not step back.
    pub fn push(&mut self, at_us: u64, message: &[u8]) {
        let latest = self.joined.latest.max(at_us);
        self.new.push((latest, message.to_vec()));
        self.joined.push(latest, message);
        self.messages += 1;
    }

    /// Whether something waits to be written.
    pub fn has_news(&self) -> bool {
        !self.new.is_empty()
    }

    /// How many messages came in all.
    pub const fn messages(&self) -> usize {
        self.messages
    }

    /// All of it as one file.
    pub fn content(&self) -> Vec<u8> {
        whole(&self.head, &self.joined)
    }

    /// Whether the file is where the recording was begun; somebody may have moved it.
    pub fn is_in_place(&self) -> bool {
        self.disk.is_in_place()
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
        // Where they cannot be joined, one more does no harm.
        if self.tracks.is_multiple_of(MOST_TRACKS) && self.join().is_ok() {
            return Ok(());
        }
        self.append(self.new.len())
    }

    /// Writes of what is new as much as there is room for. Gives how many messages are left.
    pub fn flush_what_fits(&mut self) -> usize {
        let mut most = self.new.len();
        while most > 0 && self.has_news() {
            if self.append(most.min(self.new.len())).is_err() {
                most /= 2;
            }
        }
        self.new.len()
    }

    /// Appends so many new messages as one more track.
    fn append(&mut self, number: usize) -> io::Result<()> {
        let Some(tracks) = self.tracks.checked_add(1) else {
            return Err(io::Error::other("it has more parts than a file can count"));
        };
        let mut events = Events::default();
        for (at, message) in self.new.iter().take(number) {
            events.push(*at, message);
        }
        let track = track(&[], &events);
        self.disk.write_at(self.counted, &track)?;
        self.disk.sync()?;
        let [high, low] = tracks.to_be_bytes();
        // Several tracks that belong together are format 1.
        self.disk.write_at(COUNT_AT, &[0, 1, high, low])?;
        self.disk.sync()?;
        self.tracks = tracks;
        self.counted += track.len() as u64;
        self.new.drain(..number.min(self.new.len()));
        Ok(())
    }

    /// Joins all to one track, with what is new.
    ///
    /// # Errors
    ///
    /// What the system says. The file is as whole as it was.
    pub fn join(&mut self) -> io::Result<()> {
        let content = self.content();
        self.disk.replace(&content)?;
        self.counted = content.len() as u64;
        self.tracks = 1;
        self.new.clear();
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::smf::Recording;

    /// A disk that loses its power again and again: whenever something is asked of it, all that
    /// could be on it by now is looked at.
    struct Torn {
        durable: Vec<u8>,
        /// Written since, and perhaps on the disk, perhaps not.
        open: Vec<(usize, Vec<u8>)>,
        /// Notes that were promised to be there.
        promised: usize,
        looks: usize,
    }

    fn put(to: &mut Vec<u8>, at: usize, bytes: &[u8]) {
        to.resize(to.len().max(at + bytes.len()), 0);
        to[at..at + bytes.len()].copy_from_slice(bytes);
    }

    impl Torn {
        fn is_whole(&mut self, content: &[u8]) {
            let recording = Recording::from_bytes(content, "it").expect("the file is whole");
            assert!(recording.notes().count() >= self.promised);
            self.looks += 1;
        }

        /// Every set of the open writes may be on the disk, and each in part; but what lies
        /// inside one sector is there or not.
        fn look(&mut self) {
            let open = self.open.clone();
            for set in 0..1_usize << open.len() {
                let mut content = self.durable.clone();
                for (index, (at, bytes)) in open.iter().enumerate() {
                    if set >> index & 1 == 1 {
                        put(&mut content, *at, bytes);
                    }
                }
                self.is_whole(&content);
                if let Some((at, bytes)) = open.last()
                    && bytes.len() > 4
                {
                    for cut in 0..bytes.len() {
                        let mut content = content.clone();
                        content.truncate(*at);
                        put(&mut content, *at, &bytes[..cut]);
                        self.is_whole(&content);
                    }
                }
            }
        }
    }

    impl Disk for Torn {
        fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
            self.open.push((at as usize, bytes.to_vec()));
            self.look();
            Ok(())
        }

        fn sync(&mut self) -> io::Result<()> {
            for (at, bytes) in std::mem::take(&mut self.open) {
                put(&mut self.durable, at, &bytes);
            }
            self.look();
            Ok(())
        }

        fn replace(&mut self, content: &[u8]) -> io::Result<()> {
            self.durable = content.to_vec();
            self.open.clear();
            self.look();
            Ok(())
        }

        fn is_in_place(&self) -> bool {
            true
        }
    }

    #[test]
    fn whenever_the_power_goes_the_file_is_whole_and_holds_what_was_promised() {
        let make = |content: &[u8]| {
            let durable = content.to_vec();
            Ok(Torn { durable, open: Vec::new(), promised: 0, looks: 0 })
        };
        let mut growing = Growing::on("torn", make).unwrap();
        for round in 0..40_u64 {
            for note in 0..round % 4 {
                growing.push(round * 500_000 + note * 90_000, &[0x90, 60, 80]);
            }
            growing.flush().unwrap();
            growing.disk.promised += (round % 4) as usize;
            growing.disk.look();
            if round == 23 {
                growing.join().unwrap();
            }
        }
        growing.join().unwrap();
        assert!(growing.disk.looks > 1_000, "{}", growing.disk.looks);
    }

    /// A disk that takes so many bytes, and no joined copy beside them.
    struct Full {
        content: Vec<u8>,
        most: usize,
    }

    impl Disk for Full {
        fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
            let fit = bytes.len().min(self.most.saturating_sub(at as usize));
            put(&mut self.content, at as usize, &bytes[..fit]);
            if fit < bytes.len() { Err(io::ErrorKind::StorageFull.into()) } else { Ok(()) }
        }

        fn sync(&mut self) -> io::Result<()> {
            Ok(())
        }

        fn replace(&mut self, _content: &[u8]) -> io::Result<()> {
            Err(io::ErrorKind::StorageFull.into())
        }

        fn is_in_place(&self) -> bool {
            true
        }
    }

    #[test]
    fn a_full_disk_has_the_messages_that_fit_in_order() {
        for most in [40, 80, 100, 150, 500, 997, 20_000] {
            let make = |content: &[u8]| Ok(Full { content: content.to_vec(), most });
            let mut growing = Growing::on("full", make).unwrap();
            for note in 0..1_000_u64 {
                growing.push(note * 90_000, &[0x90, (note % 100) as u8, 80]);
            }
            growing.flush().ok();
            let left = growing.flush_what_fits();
            let recording = Recording::from_bytes(&growing.disk.content, "it").unwrap();
            let kept = recording.messages;
            assert_eq!(kept.len() + left, growing.messages());
            for (note, message) in kept.iter().enumerate() {
                let expected = (note as u64 * 90_000, (note % 100) as u8);
                assert_eq!((message.at.as_micros(), message.bytes[1]), expected);
            }
            // A message takes seven bytes at most here, and a track sixteen; what is left is
            // less than a message in a track of its own.
            let spare = most.saturating_sub(growing.counted as usize);
            assert!(left == 0 || spare < 16 + 7, "{most}: {spare} bytes are free");
        }
    }

    /// Tracks that cannot be joined only become more.
    #[test]
    fn a_disk_without_room_for_a_copy_takes_more_tracks() {
        let make = |content: &[u8]| Ok(Full { content: content.to_vec(), most: 1 << 20 });
        let mut growing = Growing::on("full", make).unwrap();
        for note in 0..3 * u64::from(MOST_TRACKS) {
            growing.push(note * 90_000, &[0x90, 60, 80]);
            growing.flush().unwrap();
        }
        let recording = Recording::from_bytes(&growing.disk.content, "it").unwrap();
        assert_eq!(recording.notes().count(), growing.messages());
    }
}
