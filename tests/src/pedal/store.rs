//! A pedal's memory.

use evenhand_core::attempt::PlayedNote;
use evenhand_core::limits::RESULT_BYTES;
use evenhand_core::link::{DATA, PackId, PedalInfo, Store, StoreProblem, Troubles};
use evenhand_core::pack::{FoundRecord, Pack, ResultRecord};
use evenhand_core::practice::{Piece, PracticeVariant};
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::units::{Offset, Pitch, Seconds, Span, Tempo, Ticks, Velocity};
use evenhand_core::verdict::{Finding, Kind, Outcome, SettledBy, Severity, Size};
use std::collections::BTreeMap;

/// Packs and results in memory. Stricter than a board: it panics where the link breaks what it
/// promises.
#[derive(Clone, Debug)]
pub struct MemoryStore {
    /// The stored packs.
    pub packs: Vec<Vec<u8>>,
    /// Results by their numbers.
    pub results: BTreeMap<u32, Vec<u8>>,
    /// The number that the next result will have.
    pub next: u32,
    /// The pack that comes in.
    pub incoming: Option<(PackId, Vec<u8>)>,
    /// How many pieces were put, in all.
    pub puts: u32,
    /// Room for packs, in bytes.
    pub room: u32,
    /// The study of this hash is being practised.
    pub in_use: Option<u64>,
    /// What it was told.
    pub clock: Option<(u32, Seconds)>,
    /// The sitting.
    pub sitting: u32,
    /// What has gone wrong.
    pub troubles: Troubles,
}

impl Default for MemoryStore {
    fn default() -> Self {
        Self {
            packs: Vec::new(),
            results: BTreeMap::new(),
            next: 1,
            incoming: None,
            puts: 0,
            room: 256 * 1024,
            in_use: None,
            clock: None,
            sitting: 3,
            troubles: Troubles::default(),
        }
    }
}

impl MemoryStore {
    /// Keeps a result.
    pub fn keep_result(&mut self, record: &ResultRecord, played: &[PlayedNote]) {
        let mut bytes = vec![0; RESULT_BYTES];
        let length = record.encode(played, &mut bytes).expect("a result fits");
        bytes.truncate(length);
        self.results.insert(record.number, bytes);
        self.next = record.number + 1;
    }

    /// The power is cut and comes back; what comes in is kept, or not, as boards do.
    pub fn switch_off(&mut self, keeps_incoming: bool) {
        if !keeps_incoming {
            self.incoming = None;
        }
        self.clock = None;
    }
}

impl Store for MemoryStore {
    fn about(&self) -> PedalInfo<'_> {
        PedalInfo {
            firmware: "0.1.0",
            board: "test bench",
            device: 0x00c0_ffee,
            memory: 7,
            sitting: self.sitting,
        }
    }

    fn troubles(&self) -> Troubles {
        self.troubles
    }

    fn free(&self) -> u32 {
        self.room - self.packs.iter().map(|pack| pack.len() as u32).sum::<u32>().min(self.room)
    }

    fn packs(&self) -> u16 {
        self.packs.len() as u16
    }

    fn pack(&self, index: u16) -> Option<&[u8]> {
        self.packs.get(usize::from(index)).map(Vec::as_slice)
    }

    fn begin(&mut self, pack: PackId) -> Result<(), StoreProblem> {
        if pack.length > self.free() {
            return Err(StoreProblem::NoRoom);
        }
        self.incoming = Some((pack, Vec::new()));
        Ok(())
    }

    fn incoming(&self) -> Option<PackId> {
        self.incoming.as_ref().map(|(id, _)| *id)
    }

    fn received(&self) -> &[u8] {
        self.incoming.as_ref().map_or(&[], |(_, bytes)| bytes.as_slice())
    }

    fn put(&mut self, bytes: &[u8]) -> Result<(), StoreProblem> {
        let (id, received) = self.incoming.as_mut().expect("a pack is coming in");
        let left = id.length as usize - received.len();
        assert!(bytes.len() == DATA || bytes.len() == left, "{} of {left} bytes", bytes.len());
        assert!(bytes.len() <= left && !bytes.is_empty());
        received.extend(bytes);
        self.puts += 1;
        Ok(())
    }

    fn keep(&mut self) -> Result<(), StoreProblem> {
        let (id, bytes) = self.incoming.take().expect("a pack has come in");
        let pack = Pack::open(&bytes).expect("only whole packs are kept");
        assert_eq!((pack.checksum(), bytes.len() as u32), (id.checksum, id.length));
        self.packs.push(bytes);
        Ok(())
    }

    fn drop_incoming(&mut self) {
        self.incoming = None;
    }

    fn remove(&mut self, index: u16) -> Result<(), StoreProblem> {
        let pack = Pack::open(&self.packs[usize::from(index)]).expect("it was whole");
        if self.in_use == Some(pack.study()) {
            return Err(StoreProblem::InUse);
        }
        self.packs.remove(usize::from(index));
        Ok(())
    }

    fn oldest(&self) -> u32 {
        self.results.keys().next().copied().unwrap_or(self.next)
    }

    fn next(&self) -> u32 {
        self.next
    }

    fn result(&self, number: u32) -> Option<&[u8]> {
        self.results.get(&number).map(Vec::as_slice)
    }

    fn forget(&mut self, up_to: u32) -> Result<(), StoreProblem> {
        assert!(up_to < self.next, "{up_to} was never there");
        self.results.retain(|number, _| *number > up_to);
        Ok(())
    }

    fn set_clock(&mut self, clock: u32, now: Seconds) {
        self.clock = Some((clock, now));
    }
}

/// A result with this number, and what was played; all of them differ.
pub fn result(
    number: u32,
    sitting: u32,
    attempt: u32,
    study: u64,
) -> (ResultRecord, Vec<PlayedNote>) {
    let finding = Finding {
        kind: Kind::Hesitation,
        severity: Severity::Fails,
        note: Some(3),
        count: 1,
        size: Size::Time(Offset::from_millis(140)),
        limit: Size::Time(Offset::from_millis(70)),
        weight: 2_000,
        settled_by: SettledBy::Nothing,
    };
    let place = evenhand_core::study::Place { bar: 2, beat: 3, into_beat: Ticks::new(5_040) };
    let needs_work = number.is_multiple_of(3);
    let found = needs_work.then_some(FoundRecord { finding, place: Some(place) });
    let record = ResultRecord {
        number,
        sitting,
        attempt,
        began: Seconds::new(60 + 20 * attempt),
        clock: None,
        study,
        piece: if attempt == 1 {
            Piece::Chunk(0)
        } else {
            Piece::Join { first: 0, seam: 0, last: 1 }
        },
        way: PracticeVariant::AsWritten,
        fingering: 0,
        beat: Ticks::new(Ticks::PER_QUARTER),
        asked: Tempo::from_micros_per_quarter(1_000_000 - number).expect("a tempo"),
        heard: Tempo::from_micros_per_quarter(1_000_000),
        level: PracticeLevel::Steady,
        outcome: if needs_work { Outcome::NeedsWork } else { Outcome::Passed },
        together: 1,
        findings: found.into_iter().collect(),
        false_starts: 0,
        interrupted: false,
    };
    let velocity = Velocity::new(80).expect("a velocity");
    let note = |at: i32| PlayedNote {
        lasted: Some(Span::from_millis(200)),
        ..PlayedNote::struck(Offset::from_millis(at * 250), Pitch::LOWEST, velocity)
    };
    // Long ones take several pieces to travel.
    (record, (0..20 + 30 * (number as i32 % 3)).map(note).collect())
}
