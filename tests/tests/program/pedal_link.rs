//! The link to a pedal: what is stored is right, or nothing is stored and it is said.

use evenhand::pedal::{LinkError, Loaded, Patience, Pedal};
use evenhand::{practice, study};
use evenhand_core::limits::NAME_BYTES;
use evenhand_core::link::{
    BODY, Computer, Device, FRAME, PackId, Question, Refusal, Stopped, Troubles,
};
use evenhand_core::pack::Pack;
use evenhand_core::units::Seconds;
use evenhand_tests::pedal::{Faults, Lossy, MemoryStore, result};
use evenhand_tests::seeded::Seeded;
use std::time::Duration;

/// Nothing is ever on its way for long in memory.
const QUICK: Patience = Patience { wait: Duration::from_micros(400), tries: 60 };

/// A study that is no longer than it must be.
fn small() -> Vec<u8> {
    packed(include_str!("../../../fixtures/studies/small.study"), "Small")
}

fn quay() -> Vec<u8> {
    packed(include_str!("../../../fixtures/studies/lantern-quay.study"), "Lantern quay")
}

fn packed(text: &str, title: &str) -> Vec<u8> {
    practice::pack(&study::parse(text).unwrap(), title, 0xfeed).unwrap()
}

fn load(pipe: Lossy<'_>, session: u32, bytes: &[u8]) -> Result<Loaded, LinkError> {
    let (mut pedal, _) = Pedal::greet(pipe, session, QUICK)?;
    pedal.load(&Pack::open(bytes).unwrap(), |_| {})
}

#[test]
fn a_pack_travels_whole_and_only_once() {
    let (bytes, mut store) = (quay(), MemoryStore::default());
    let loaded = load(Lossy::new(&mut store, Faults::default(), 1), 1, &bytes).unwrap();
    assert_eq!(loaded, Loaded::From(0));
    assert!(store.packs.iter().eq([&bytes]));
    assert_eq!(store.puts, bytes.len().div_ceil(256) as u32);
    let again = load(Lossy::new(&mut store, Faults::default(), 1), 2, &bytes).unwrap();
    assert_eq!((again, store.packs.len()), (Loaded::WasThere, 1));

    let pipe = Lossy::new(&mut store, Faults::default(), 1);
    let (mut pedal, who) = Pedal::greet(pipe, 3, QUICK).unwrap();
    assert_eq!((who.board.as_str(), who.packs, who.seconds), ("test bench", 1, 100));
    let listed = pedal.list().unwrap();
    let own = listed[0].clone().unwrap();
    assert_eq!((listed.len(), own.title.as_str()), (1, "Lantern quay"));
    assert_eq!(pedal.read(own.pack).unwrap(), bytes);
    pedal.remove(own.pack).unwrap();
    let gone = pedal.remove(own.pack).unwrap_err();
    assert!(matches!(gone, LinkError::Refused(Refusal::NoSuchPack)), "{gone}");
}

#[test]
fn a_cable_cut_after_any_byte_is_gone_on_from() {
    let bytes = small();
    let mut store = MemoryStore::default();
    load(Lossy::new(&mut store, Faults::default(), 1), 1, &bytes).unwrap();
    let mut went_on = 0;
    for cut in 0.. {
        let mut store = MemoryStore::default();
        match load(Lossy::cut_after(&mut store, cut), 1, &bytes) {
            // So far the cable is not cut any more.
            Ok(loaded) => {
                assert_eq!(loaded, Loaded::From(0));
                assert!(cut > bytes.len(), "{cut}");
                break;
            }
            Err(trouble) => assert!(matches!(trouble, LinkError::Broke(_)), "{cut}: {trouble}"),
        }
        assert!(store.packs.is_empty() || store.packs == [bytes.clone()], "{cut}");
        let before = store.received_length();
        let loaded = load(Lossy::new(&mut store, Faults::default(), 1), 2, &bytes).unwrap();
        match loaded {
            Loaded::From(from) => assert_eq!(from as usize, before, "{cut}"),
            Loaded::WasThere => assert_eq!(before, 0, "{cut}"),
        }
        went_on += u32::from(before > 0);
        assert!(store.packs.iter().eq([&bytes]), "{cut}");
    }
    assert!(went_on > 300, "only {went_on} cuts in the middle");
}

/// Length of what came in.
trait Received {
    fn received_length(&self) -> usize;
}

impl Received for MemoryStore {
    fn received_length(&self) -> usize {
        self.incoming.as_ref().map_or(0, |(_, bytes)| bytes.len())
    }
}

#[test]
fn whatever_the_line_does_nothing_wrong_is_stored() {
    let bytes = small();
    let old = quay();
    let (mut ended, mut failed) = (0, 0);
    for seed in 0..300 {
        let mut seeded = Seeded::new(seed);
        let mut some = |most: f64| if seeded.chance(0.6) { seeded.unit() * most } else { 0.0 };
        let faults = Faults {
            lost: some(0.3),
            garbled: some(0.3),
            doubled: some(0.4),
            late: some(0.3),
            noise: some(0.3),
            switched_off: some(0.02),
        };
        let mut store = MemoryStore { packs: vec![old.clone()], ..MemoryStore::default() };
        for number in 1..=6 {
            let (record, played) = result(number, 1, number, 0xfeed);
            store.keep_result(&record, &played);
        }
        let results = store.results.clone();
        let mut pipe_store = store.clone();
        let session = seed as u32 + 1;
        let outcome = (|| {
            let pipe = Lossy::new(&mut pipe_store, faults, seed);
            let (mut pedal, who) = Pedal::greet(pipe, session, QUICK)?;
            pedal.load(&Pack::open(&bytes).unwrap(), |_| {})?;
            let mut next = who.oldest;
            while let Some(fetched) = pedal.result(next)? {
                assert_eq!(fetched.bytes, results[&fetched.number], "seed {seed}");
                assert_eq!(fetched.number, next, "seed {seed}");
                next = fetched.number + 1;
            }
            pedal.forget(4)?;
            Ok::<u32, LinkError>(next)
        })();
        match outcome {
            Ok(next) => {
                ended += 1;
                assert_eq!(next, 7);
                // The same study from another text's hash would stay; this one is the same.
                assert!(pipe_store.packs.contains(&bytes), "seed {seed}");
                assert_eq!(pipe_store.oldest_kept(), 5, "seed {seed}");
            }
            Err(trouble) => {
                failed += 1;
                assert!(!trouble.to_string().is_empty());
            }
        }
        for pack in &pipe_store.packs {
            assert!(*pack == old || *pack == bytes, "seed {seed}: something else is stored");
        }
    }
    assert!(ended > 200, "{ended} ended, {failed} failed");
}

trait Oldest {
    fn oldest_kept(&self) -> u32;
}

impl Oldest for MemoryStore {
    fn oldest_kept(&self) -> u32 {
        self.results.keys().next().copied().unwrap_or(self.next)
    }
}

#[test]
fn noise_alone_changes_nothing() {
    let mut store = MemoryStore::default();
    let (record, played) = result(1, 1, 1, 1);
    store.keep_result(&record, &played);
    let before = format!("{store:?}");
    let mut device = Device::new();
    let mut seeded = Seeded::new(9);
    for _ in 0..1_000_000 {
        // Many zero bytes, so that many frames end.
        let byte = if seeded.chance(0.05) { 0 } else { seeded.byte() };
        assert!(device.push(byte, &mut store, Seconds::ZERO).is_none());
    }
    assert_eq!(format!("{store:?}"), before);
    let (mut pedal, _) =
        Pedal::greet(Lossy::new(&mut store, Faults::default(), 1), 1, QUICK).unwrap();
    assert_eq!(pedal.result(1).unwrap().unwrap().number, 1);
}

/// Sends a question to a pedal that knows this computer; gives its answer in words.
fn ask(
    device: &mut Device,
    store: &mut MemoryStore,
    computer: &mut Computer,
    q: &Question<'_>,
) -> String {
    let mut said = String::new();
    for byte in computer.ask(q).unwrap().to_vec() {
        if let Some(frame) = device.push(byte, store, Seconds::ZERO).map(<[u8]>::to_vec) {
            assert!(frame.len() <= FRAME);
            for byte in frame {
                if let Some(answer) = computer.push(byte) {
                    said = format!("{answer:?}");
                }
            }
        }
    }
    said
}

#[test]
fn what_is_no_pack_or_does_not_fit_is_refused() {
    let mut store = MemoryStore { room: 10_000, ..MemoryStore::default() };
    let (mut device, mut computer) = (Device::new(), Computer::new(5));
    let mut ask = |store: &mut MemoryStore, q| ask(&mut device, store, &mut computer, &q);
    assert!(ask(&mut store, Question::List { index: 0 }).contains("NoSession"));
    assert!(ask(&mut store, Question::Hello).contains("test bench"));
    let id = PackId { study: 1, length: 10_001, checksum: 3 };
    assert!(ask(&mut store, Question::Begin(id)).contains("NoRoom"));
    let id = PackId { length: 3, ..id };
    assert!(ask(&mut store, Question::End { checksum: 3 }).contains("NotBegun"));
    assert!(ask(&mut store, Question::Begin(id)).contains("Want { checksum: 3, offset: 0 }"));
    let data = |offset, bytes| Question::Data { checksum: 3, offset, bytes };
    assert!(ask(&mut store, data(0, b"ab")).contains("offset: 0"), "not a whole piece");
    assert!(ask(&mut store, data(2, b"c")).contains("offset: 0"), "not what is wanted");
    assert!(ask(&mut store, Question::End { checksum: 3 }).contains("offset: 0"));
    assert!(ask(&mut store, data(0, b"abc")).contains("offset: 3"));
    assert!(ask(&mut store, Question::End { checksum: 3 }).contains("Damaged"));
    assert_eq!((store.packs.len(), store.incoming.clone()), (0, None));
    // A whole pack under a false name.
    let bytes = small();
    let id = PackId { study: 2, length: bytes.len() as u32, checksum: 4 };
    ask(&mut store, Question::Begin(id));
    for (index, bytes) in bytes.chunks(256).enumerate() {
        ask(&mut store, Question::Data { checksum: 4, offset: 256 * index as u32, bytes });
    }
    assert!(ask(&mut store, Question::End { checksum: 4 }).contains("Damaged"));
    assert!(store.packs.is_empty());
    store.packs.push(bytes.clone());
    store.in_use = Some(0xfeed);
    let pack = Pack::open(&bytes).unwrap();
    let own = PackId { study: 0xfeed, length: bytes.len() as u32, checksum: pack.checksum() };
    assert!(ask(&mut store, Question::Remove(own)).contains("InUse"));
    assert!(ask(&mut store, Question::Forget { up_to: u32::MAX }).contains("Forgotten"));
}

#[test]
fn the_longest_answer_fits_into_a_frame() {
    let text = include_str!("../../../fixtures/studies/small.study");
    let mut store = MemoryStore {
        packs: vec![packed(text, &"x".repeat(NAME_BYTES))],
        ..MemoryStore::default()
    };
    let pipe = Lossy::new(&mut store, Faults::default(), 1);
    let (mut pedal, _) = Pedal::greet(pipe, u32::MAX, QUICK).unwrap();
    let own = pedal.list().unwrap().remove(0).unwrap();
    assert_eq!(own.title.len(), NAME_BYTES);
    // Its tag and the pack at their longest: 1, 10, 5, 5; the length of the title 2.
    const { assert!(23 + NAME_BYTES <= BODY) };
}

#[test]
fn an_echo_and_another_version_are_told_apart() {
    struct Mirror(Vec<u8>, Option<u8>);
    impl evenhand::pedal::Pipe for Mirror {
        fn send(&mut self, bytes: &[u8]) -> std::io::Result<()> {
            self.0 = match self.1 {
                None => bytes.to_vec(),
                Some(version) => other_version(bytes, version),
            };
            Ok(())
        }
        fn receive(&mut self, buffer: &mut [u8], wait: Duration) -> std::io::Result<usize> {
            std::thread::sleep(wait.min(Duration::from_micros(100)) / 2);
            let length = self.0.len().min(buffer.len());
            buffer[..length].copy_from_slice(&self.0[..length]);
            self.0.clear();
            Ok(length)
        }
    }
    let quick = Patience { tries: 3, ..QUICK };
    let echo = Pedal::greet(Mirror(Vec::new(), None), 1, quick).err().unwrap();
    assert!(matches!(echo, LinkError::Echo), "{echo}");
    let newer = Pedal::greet(Mirror(Vec::new(), Some(2)), 1, quick).err().unwrap();
    assert!(matches!(newer, LinkError::OtherVersion(2)), "{newer}");
}

/// A pedal whose firmware is older than a question, as seen from the line.
struct Older(Device, MemoryStore, Vec<u8>);

impl evenhand::pedal::Pipe for Older {
    fn send(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        let mut raw = cobs_decoded(bytes);
        raw.truncate(raw.len() - 4);
        // A number that no question has is what a newer question is to it.
        if raw[10..] == [10] {
            raw[10] = 99;
        }
        for byte in framed(raw) {
            self.2.extend(self.0.push(byte, &mut self.1, Seconds::new(1)).unwrap_or_default());
        }
        Ok(())
    }

    fn receive(&mut self, buffer: &mut [u8], _wait: Duration) -> std::io::Result<usize> {
        let length = self.2.len().min(buffer.len());
        buffer[..length].copy_from_slice(&self.2[..length]);
        self.2.drain(..length);
        Ok(length)
    }
}

#[test]
fn older_firmware_is_not_asked_in_vain_for_its_troubles() {
    let older = Older(Device::new(), MemoryStore::default(), Vec::new());
    let (mut pedal, _) = Pedal::greet(older, 1, QUICK).unwrap();
    assert_eq!(pedal.troubles().unwrap(), None);
    // And is understood from then on.
    assert_eq!(pedal.list().unwrap(), []);
    let troubles = Troubles { lost: 3, stopped: Stopped::Hung };
    let mut store = MemoryStore { troubles, ..MemoryStore::default() };
    let (mut pedal, _) =
        Pedal::greet(Lossy::new(&mut store, Faults::default(), 1), 1, QUICK).unwrap();
    assert_eq!(pedal.troubles().unwrap(), Some(troubles));
}

#[test]
fn why_a_pedal_stopped_goes_by_numbers_and_new_ones_are_unknown() {
    for (code, stopped) in
        [Stopped::Not, Stopped::Hung, Stopped::Panicked, Stopped::Faulted].iter().enumerate()
    {
        assert_eq!((usize::from(stopped.code()), Stopped::of(code as u8)), (code, *stopped));
    }
    assert_eq!(Stopped::of(77), Stopped::Unknown);
}

/// The answer of a pedal of another version: the head alone, of kind `V`.
fn other_version(question: &[u8], version: u8) -> Vec<u8> {
    let mut raw = cobs_decoded(question);
    raw.truncate(10);
    raw[0] = version;
    raw[1] = b'V';
    framed(raw)
}

/// A frame of this, for contents without a run of 254 bytes.
fn framed(mut raw: Vec<u8>) -> Vec<u8> {
    let checksum = evenhand_core::pack::crc32(&raw).to_le_bytes();
    raw.extend(checksum);
    let mut frame = vec![0];
    for block in raw.split(|byte| *byte == 0) {
        frame.push(block.len() as u8 + 1);
        frame.extend(block);
    }
    frame.push(0);
    frame
}

/// COBS by its definition, for frames without a run of 254 bytes.
fn cobs_decoded(frame: &[u8]) -> Vec<u8> {
    let mut bytes = frame.iter().copied().skip_while(|byte| *byte == 0);
    let mut raw = Vec::new();
    while let Some(code) = bytes.next().filter(|code| *code != 0) {
        assert_ne!(code, 255);
        if !raw.is_empty() || code == 0 {
            raw.push(0);
        }
        raw.extend(bytes.by_ref().take(usize::from(code) - 1));
    }
    raw
}

#[test]
fn the_example_in_the_document_is_right() {
    let path = evenhand_tests::program::workspace().join("docs").join("pedal-link.md");
    let text = std::fs::read_to_string(path).unwrap();
    let block = text.split("## Example").nth(1).unwrap().split("```").nth(1).unwrap();
    let mut computer = Computer::new(0x0102_0304);
    let data = Question::Data { checksum: 5, offset: 256, bytes: &[1, 0, 2] };
    let lines = [Question::Hello, data].map(|question| {
        let bytes = computer.ask(&question).unwrap();
        bytes.iter().map(|byte| format!("{byte:02x}")).collect::<Vec<_>>().join(" ")
    });
    assert_eq!(block.trim().lines().collect::<Vec<_>>(), lines);
}
