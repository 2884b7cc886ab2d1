extern crate std;

use super::*;
use crate::attempt::{Onset, PlayedNote};
use crate::limits::{EXPECTED_NOTES, RESULT_BYTES, RESULT_FINDINGS, RESULT_NOTES};
use crate::practice::{PracticeVariant, Rules, Side};
use crate::study::{Attack, Marks, Metre, Place};
use crate::tolerance::{PracticeLevel, Tolerances};
use crate::units::{GuitarString, Level, Offset, Pitch, Seconds, Span, Velocity};
use crate::verdict::{Finding, Kind, Outcome, SettledBy, Severity, Size};

const QUARTER: u32 = Ticks::PER_QUARTER;
const TEMPO: Tempo = Tempo::from_micros_per_quarter(500_000).unwrap();

fn note(eighth: u32, pitch: u8, string: u8) -> ExpectedNote {
    ExpectedNote {
        string: GuitarString::new(string),
        ..ExpectedNote::plain(
            Ticks::new(eighth * QUARTER / 2),
            Ticks::new(QUARTER / 2),
            Pitch::new(pitch).unwrap(),
        )
    }
}

/// A bar of eight, with everything that a note can have.
fn whole() -> [ExpectedNote; 8] {
    let mut notes: [ExpectedNote; 8] = core::array::from_fn(|i| note(i as u32, 50 + i as u8, 4));
    notes[1].attack = Attack::Slurred;
    notes[2].trill = Pitch::new(54);
    notes[3].marks = Marks::ACCENT.with(Marks::SHIFT);
    notes[4].string = None;
    notes[5].voice = 1;
    notes[6].duration = Ticks::new(3 * QUARTER);
    notes[7].marks = Marks::LANDING;
    notes
}

fn part(notes: &[ExpectedNote]) -> Part<'_> {
    Part { first_bar: 3, into_first_bar: Ticks::ZERO, length: Ticks::new(4 * QUARTER), notes }
}

fn parts(name: &str) -> ChunkParts<'_> {
    ChunkParts {
        name,
        goal: TEMPO,
        metre: Metre::FOUR_FOUR,
        rules: Rules::of(PracticeLevel::First),
        tolerances: Tolerances::of(PracticeLevel::First),
        splits: true,
        varies: false,
        joins_next: false,
        voices: &[0, 1],
        fingerings: 1,
    }
}

/// Two chunks; the first splits, joins, and has another fingering.
fn written(bytes: &mut [u8]) -> Pack<'_> {
    let notes = whole();
    let mut other = notes;
    other[0].string = GuitarString::new(5);
    let mut writer = PackWriter::new(bytes, 0xfeed, "Two bars", 2).unwrap();
    writer.chunk(&ChunkParts { joins_next: true, ..parts("One") }).unwrap();
    for (name, own) in [("", &notes), ("lower", &other)] {
        writer.fingering(name, |_| false).unwrap();
        writer.part(&part(own)).unwrap();
        writer.part(&part(&own[..4])).unwrap();
        writer.part(&part(&own[4..])).unwrap();
    }
    let steady = Tolerances::of(PracticeLevel::Steady);
    let plain = ChunkParts { splits: false, varies: true, fingerings: 0, ..parts("Two") };
    writer.chunk(&ChunkParts { tolerances: steady, voices: &[1], ..plain }).unwrap();
    writer.fingering("", |_| true).unwrap();
    for shift in 0..3 {
        let bent: [ExpectedNote; 4] = core::array::from_fn(|i| note(i as u32 * 2 + shift, 60, 1));
        writer.part(&part(&bent)).unwrap();
    }
    writer.finish().unwrap()
}

type Buffer = Vec<ExpectedNote, EXPECTED_NOTES>;

fn task(piece: Piece, way: PracticeVariant) -> Task {
    Task { piece, way, tempo: TEMPO }
}

#[test]
fn what_is_written_is_read() {
    let mut bytes = [0; 2_048];
    let pack = written(&mut bytes);
    assert_eq!((pack.title(), pack.study(), pack.chunks()), ("Two bars", 0xfeed, 2));
    assert_eq!((pack.name(0), pack.name(1), pack.name(2)), (Some("One"), Some("Two"), None));
    let facts = pack.facts(0).unwrap();
    assert!(facts.splits && facts.joins_next && !facts.varies);
    assert_eq!((facts.notes, facts.fingerings, facts.goal), (8, 1, TEMPO));
    assert_eq!(facts.length, Ticks::new(6 * QUARTER), "the long note rings beyond the bar");
    assert_eq!(facts.rules, Rules::of(PracticeLevel::First));
    assert_eq!(pack.fingering(0, 1), Some("lower"));
    assert_eq!((pack.fingering(0, 0), pack.fingering(0, 2)), (None, None));

    let mut buffer = Buffer::new();
    let as_written = task(Piece::Chunk(0), PracticeVariant::AsWritten);
    let chunk = pack.music(as_written, |_| 0, &mut buffer).unwrap();
    assert_eq!(chunk.notes(), whole());
    assert_eq!(*chunk.tolerances(), Tolerances::of(PracticeLevel::First));
    assert_eq!(chunk.place(Ticks::ZERO).bar, 3);
    let chunk = pack.music(as_written, |_| 1, &mut buffer).unwrap();
    assert_eq!(chunk.notes()[0].string, GuitarString::new(5));
    let chunk = pack.music(as_written, |_| 9, &mut buffer).unwrap();
    assert_eq!(chunk.notes(), whole(), "no such fingering: as it is written");
    let half = task(Piece::Half(0, Side::Second), PracticeVariant::Burst);
    assert_eq!(pack.music(half, |_| 0, &mut buffer).unwrap().notes(), &whole()[4..]);
    for (way, shift) in [
        (PracticeVariant::AsWritten, 0),
        (PracticeVariant::LongShort, 1),
        (PracticeVariant::ShortLong, 2),
    ] {
        let chunk = pack.music(task(Piece::Chunk(1), way), |_| 0, &mut buffer).unwrap();
        assert_eq!(chunk.notes()[0], note(shift, 60, 1), "{way:?}");
    }
}

#[test]
fn chunks_in_one_keep_their_voices_and_the_more_lenient_tolerances() {
    let mut bytes = [0; 2_048];
    let pack = written(&mut bytes);
    let join = Piece::Join { first: 0, seam: 0, last: 1 };
    let mut buffer = Buffer::new();
    let chunk = pack.music(task(join, PracticeVariant::AsWritten), |_| 0, &mut buffer).unwrap();
    assert_eq!(chunk.notes().len(), 7 + 4, "the landing of the first is the second");
    let rings = chunk.notes()[6];
    assert_eq!(rings.onset.plus(rings.duration), Ticks::new(4 * QUARTER), "cut at the seam");
    let second = chunk.notes()[7];
    assert_eq!((second.onset, second.voice), (Ticks::new(4 * QUARTER), 1));
    assert_eq!(chunk.tolerances().level, PracticeLevel::First);
    assert_eq!(std::format!("{}", pack.piece_name(join)), "One and Two");
    for none in [
        Piece::Join { first: 1, seam: 1, last: 2 },
        Piece::Join { first: 1, seam: 1, last: 1 },
        Piece::Half(1, Side::First),
        Piece::Chunk(2),
        Piece::Seam(0),
        Piece::Seam(255),
    ] {
        let missing = pack.music(task(none, PracticeVariant::AsWritten), |_| 0, &mut buffer);
        assert_eq!(missing.unwrap_err(), Missing::NoSuchPiece, "{none:?}");
    }
}

#[test]
fn cut_garbled_and_newer_packs_are_told_apart() {
    let mut bytes = [0; 2_048];
    let length = written(&mut bytes).bytes().len();
    let whole = bytes;
    assert_eq!(total(&bytes), Some(length as u32));
    for end in 0..length {
        let problem = Pack::open(&bytes[..end]).unwrap_err();
        assert!(matches!(problem, PackProblem::Cut { there, .. } if there == end) || end == 0);
    }
    for at in 0..length {
        for bit in 0..8 {
            bytes[at] ^= 1 << bit;
            let problem = Pack::open(&bytes[..length]).unwrap_err();
            assert!(!matches!(problem, PackProblem::TooNew { .. }), "{at} {problem:?}");
            bytes[at] = whole[at];
        }
    }
    bytes[8] = 2;
    seal(&mut bytes[..length]);
    assert_eq!(Pack::open(&bytes).unwrap_err(), PackProblem::TooNew { found: 2 });
    assert_eq!(Pack::open(b"MThd").unwrap_err(), PackProblem::NotAPack);
}

/// Puts the checksum right again, as somebody would who writes wrong packs.
fn seal(bytes: &mut [u8]) {
    let checksum = crc32(&bytes[8..]).to_le_bytes();
    bytes[4..8].copy_from_slice(&checksum);
}

#[test]
fn what_is_wrong_behind_a_right_checksum_is_refused_or_harmless() {
    let mut bytes = [0; 2_048];
    let length = written(&mut bytes).bytes().len();
    let whole = bytes;
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut random = |below: u64| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (state >> 33) % below
    };
    let (mut refused, mut opened) = (0, 0);
    let mut buffer = Buffer::new();
    for _ in 0..20_000 {
        bytes = whole;
        for _ in 0..=random(3) {
            bytes[8 + random(length as u64 - 8) as usize] = random(256) as u8;
        }
        seal(&mut bytes[..length]);
        let Ok(pack) = Pack::open(&bytes[..length]) else {
            refused += 1;
            continue;
        };
        opened += 1;
        for chunk in 0..=pack.chunks() {
            let _ = pack.facts(chunk);
            for piece in [
                Piece::Chunk(chunk),
                Piece::Half(chunk, Side::First),
                Piece::Half(chunk, Side::Second),
                Piece::Seam(chunk),
                Piece::Join { first: 0, seam: 0, last: chunk },
            ] {
                for way in [
                    PracticeVariant::AsWritten,
                    PracticeVariant::LongShort,
                    PracticeVariant::ShortLong,
                    PracticeVariant::Burst,
                ] {
                    let _ = pack.music(task(piece, way), |_| 1, &mut buffer);
                }
            }
        }
    }
    assert!(refused > 5_000 && opened > 1_000, "{refused} refused, {opened} opened");
}

pub(crate) fn record() -> ResultRecord {
    let finding = Finding {
        kind: Kind::WeakSlurs,
        severity: Severity::Fails,
        note: Some(5),
        count: 2,
        size: Size::Loudness(Level::from_hundredths(-1_250)),
        limit: Size::Loudness(Level::from_hundredths(900)),
        weight: 1_388,
        settled_by: SettledBy::Nothing,
    };
    let place = Place { bar: 3, beat: 2, into_beat: Ticks::new(5_040) };
    let mut findings = Vec::new();
    findings.push(FoundRecord { finding, place: Some(place) }).unwrap();
    ResultRecord {
        number: 17,
        sitting: 2,
        attempt: 4,
        began: Seconds::new(95),
        clock: None,
        study: 0x0123_4567_89ab_cdef,
        piece: Piece::Join { first: 0, seam: 0, last: 1 },
        way: PracticeVariant::LongShort,
        fingering: 0,
        beat: Ticks::new(QUARTER),
        asked: TEMPO,
        heard: Tempo::from_micros_per_quarter(512_000),
        level: PracticeLevel::Steady,
        outcome: Outcome::NeedsWork,
        together: 1,
        findings,
        false_starts: 1,
        interrupted: false,
    }
}

fn played() -> [PlayedNote; 3] {
    let first = PlayedNote::struck(Offset::ZERO, Pitch::LOWEST, Velocity::new(127).unwrap());
    let bent = PlayedNote {
        at: Offset::from_millis(250),
        lasted: Some(Span::of(Offset::from_micros(i32::MAX))),
        velocity: None,
        string: GuitarString::new(8),
        onset: Onset::Again,
        ..first
    };
    [first, bent, PlayedNote { at: Offset::from_micros(-7), ..bent }]
}

#[test]
fn a_result_comes_back_as_it_was() {
    let mut bytes = [0; RESULT_BYTES];
    let length = record().encode(&played(), &mut bytes).unwrap();
    assert_eq!(ResultRecord::total(&bytes), Some(length));
    let (read, notes) = ResultRecord::decode(&bytes).unwrap();
    assert_eq!(read, record());
    assert!(notes.iter().eq(played()));
    let whole = bytes;
    for end in 0..length {
        assert_eq!(ResultRecord::decode(&bytes[..end]).unwrap_err(), RecordProblem::Cut);
    }
    for at in 0..length {
        for bit in 0..8 {
            bytes[at] ^= 1 << bit;
            assert!(ResultRecord::decode(&bytes[..length]).is_err(), "byte {at}, bit {bit}");
            bytes[at] = whole[at];
        }
    }
    let none = record().encode(&played(), &mut bytes[..length - 1]);
    assert_eq!(none.unwrap_err(), WriteProblem::NoRoom);
}

#[test]
fn the_longest_result_fits() {
    let longest = Finding {
        kind: Kind::PickupErrors,
        severity: Severity::Fails,
        note: Some(u16::MAX),
        count: u16::MAX,
        size: Size::Time(Offset::from_micros(i32::MIN)),
        limit: Size::Time(Offset::from_micros(i32::MIN)),
        weight: u16::MAX,
        settled_by: SettledBy::MoreAttempts(u8::MAX),
    };
    let place = Place { bar: u16::MAX, beat: u8::MAX, into_beat: Ticks::new(u32::MAX) };
    let found = FoundRecord { finding: longest, place: Some(place) };
    let record = ResultRecord {
        number: u32::MAX,
        sitting: u32::MAX,
        attempt: u32::MAX,
        began: Seconds::new(u32::MAX),
        clock: Some(u32::MAX),
        study: u64::MAX,
        piece: Piece::Join { first: 253, seam: 254, last: 255 },
        fingering: u8::MAX,
        beat: Ticks::new(u32::MAX),
        asked: Tempo::SLOWEST,
        heard: Some(Tempo::SLOWEST),
        false_starts: u16::MAX,
        findings: core::iter::repeat_n(found, RESULT_FINDINGS).collect(),
        ..record()
    };
    let far = |i: usize| Offset::from_micros(if i.is_multiple_of(2) { i32::MIN } else { -1 });
    let notes: [PlayedNote; RESULT_NOTES] = core::array::from_fn(|i| PlayedNote {
        at: far(i),
        lasted: Some(Span::of(Offset::from_micros(i32::MAX))),
        ..played()[1]
    });
    let mut bytes = [0; RESULT_BYTES];
    let length = record.encode(&notes, &mut bytes).unwrap();
    assert!(length > 1_900, "{length}: is the longest still tested?");
    assert_eq!(ResultRecord::decode(&bytes).unwrap().0, record);
    let one_more = [notes[0]; RESULT_NOTES + 1];
    record.encode(&one_more, &mut bytes).unwrap();
    assert!(ResultRecord::decode(&bytes).unwrap().1.is_empty());
}
