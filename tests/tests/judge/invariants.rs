//! What must not change a verdict: when an attempt was played, how its bytes were cut into pieces,
//! in which key both the study and the playing are; and what twice the tempo may change.

use evenhand_core::pickup::{Channels, Latency, Pickup};
use evenhand_core::player::perform;
use evenhand_core::session::{Ends, LoadError, Session, SessionConfig};
use evenhand_core::study::{Chunk, ExpectedNote, Marks};
use evenhand_core::tolerance::{PracticeLevel, TimeLimit, Tolerances};
use evenhand_core::units::{GuitarString, Instant, Level, Offset, Pitch, Tempo, Ticks};
use evenhand_core::verdict::{Size, Verdict};
use evenhand_tests::lab::piece::{Group, Piece};
use evenhand_tests::lab::plan::Plan;
use evenhand_tests::lab::rows::LEVELS;
use evenhand_tests::lab::trouble::Trouble;
use evenhand_tests::performances::messages;
use evenhand_tests::seeded::Seeded;

/// A piece with an attempt at it, as bytes with their times.
struct Case {
    name: String,
    piece: Piece,
    level: PracticeLevel,
    bytes: Vec<(Instant, Vec<u8>)>,
}

/// Some five hundred: every piece, with every kind of trouble at a random size.
fn cases() -> Vec<Case> {
    let mut cases = Vec::new();
    for (group, trouble) in Group::ALL.iter().flat_map(|g| Trouble::ALL.map(|t| (*g, t))) {
        let pieces = group.pieces(trouble.needs());
        // Three times each, with other places and sizes.
        for (number, piece) in pieces.iter().cycle().take(3 * pieces.len()).cloned().enumerate() {
            let mut seeded = Seeded::new(cases.len() as u64);
            let level = LEVELS[number % LEVELS.len()];
            let size = seeded.between(0, 3_000) as u32;
            let tolerances = Tolerances::of(level);
            let Some(plan) = Plan::with(trouble, size, &piece, &tolerances, &mut seeded) else {
                continue;
            };
            let chunk = piece.chunk(level);
            let seed = cases.len() as u64;
            let played = perform(&chunk, piece.tempo, plan.skill, &plan.faults, seed);
            let bytes = messages(&played).into_iter().map(|m| (m.at, m.bytes)).collect();
            let name = format!("{}, {} of {size}, seed {seed}", piece.name, trouble.name());
            cases.push(Case { name, piece, level, bytes });
        }
    }
    assert!(cases.len() > 400, "only {} cases", cases.len());
    cases
}

/// A latency that is known and the same for all pitches. Where it is not known, it is taken to be a
/// period, which a key and a tempo do change.
const KNOWN: Latency = Latency { base: Offset::from_millis(1), periods_percent: 0 };

fn verdict(chunk: Chunk<'_>, ends: Ends, bytes: &[(Instant, Vec<u8>)]) -> Option<Verdict> {
    heard(chunk, ends, Latency::NONE, bytes)
}

fn heard(
    chunk: Chunk<'_>,
    ends: Ends,
    latency: Latency,
    bytes: &[(Instant, Vec<u8>)],
) -> Option<Verdict> {
    let mut session: Box<Session> = Box::new(Session::idle());
    session.load(chunk, config(ends, latency)).expect("there is room for every chunk");
    heard_by(&mut session, bytes)
}

fn config(ends: Ends, latency: Latency) -> SessionConfig {
    let pickup = Pickup { latency, ..Pickup::UNKNOWN.on(Channels::PerString { first: 0 }) };
    SessionConfig { pickup, click: None, ends }
}

fn heard_by<const EXPECTED: usize, const PLAYED: usize>(
    session: &mut Session<EXPECTED, PLAYED>,
    bytes: &[(Instant, Vec<u8>)],
) -> Option<Verdict> {
    for (at, bytes) in bytes {
        if let Some(judged) = session.poll(*at) {
            return Some(judged.verdict.clone());
        }
        session.feed(bytes, *at);
    }
    session.finish().map(|judged| judged.verdict.clone())
}

/// How many cases a session of these capacities has room for; it says of each what one of full
/// capacity says.
fn in_room_for<const EXPECTED: usize, const PLAYED: usize>(cases: &[Case]) -> usize {
    let mut compared = 0;
    let mut session: Box<Session<EXPECTED, PLAYED>> = Box::new(Session::idle());
    for case in cases {
        let begins = case.bytes.iter().filter(|(_, bytes)| bytes[0] & 0xf0 == 0x90).count();
        for ends in [Ends::ByItself, Ends::ByCaller] {
            let chunk = case.piece.chunk(case.level);
            let notes = chunk.notes().len();
            let before = session.chunk().notes().to_vec();
            match session.load(chunk, config(ends, Latency::NONE)) {
                Ok(()) if begins <= PLAYED => {
                    let whole = verdict(case.piece.chunk(case.level), ends, &case.bytes);
                    session.reset();
                    let chunk = case.piece.chunk(case.level);
                    session.load(chunk, config(ends, Latency::NONE)).expect("there was room");
                    assert_eq!(heard_by(&mut session, &case.bytes), whole, "{}", case.name);
                    compared += 1;
                }
                Ok(()) => {}
                Err(error) => {
                    assert_eq!(error, LoadError::TooManyNotes { notes, room: EXPECTED });
                    assert!(notes > EXPECTED);
                    assert_eq!(session.chunk().notes(), before, "all stays as it was");
                }
            }
        }
    }
    compared
}

#[test]
fn how_much_room_there_is_changes_nothing() {
    let cases = cases();
    let compared = [
        in_room_for::<16, 64>(&cases),
        in_room_for::<32, 64>(&cases),
        in_room_for::<64, 128>(&cases),
    ];
    println!("of {} cases, twice each, {compared:?} were compared", cases.len());
    assert!(compared[0] > 100 && compared[0] < compared[1], "{compared:?}");
}

#[test]
fn when_it_was_played_changes_nothing() {
    for case in cases() {
        let chunk = || case.piece.chunk(case.level);
        for ends in [Ends::ByItself, Ends::ByCaller] {
            let now = verdict(chunk(), ends, &case.bytes);
            // A moment, an hour, and a year later.
            for later in [1, 3_600_000_000, 31_557_600_000_000] {
                let shifted: Vec<_> = case
                    .bytes
                    .iter()
                    .map(|(at, b)| (Instant::from_micros(at.as_micros() + later), b.clone()))
                    .collect();
                assert_eq!(
                    verdict(chunk(), ends, &shifted),
                    now,
                    "{}, {later} us later",
                    case.name
                );
            }
        }
    }
}

#[test]
fn how_the_bytes_were_cut_changes_nothing() {
    for (number, case) in cases().into_iter().enumerate() {
        let mut seeded = Seeded::new(number as u64);
        let whole = verdict(case.piece.chunk(case.level), Ends::ByItself, &case.bytes);
        // Pieces of one to three bytes, with real-time bytes between them, which mean nothing.
        let mut cut = Vec::new();
        for (at, bytes) in &case.bytes {
            let mut rest = bytes.as_slice();
            while !rest.is_empty() {
                let (piece, after) =
                    rest.split_at(seeded.between(1, 3).min(rest.len() as i64) as usize);
                cut.push((*at, piece.to_vec()));
                if seeded.chance(0.2) {
                    cut.push((*at, vec![[0xf8, 0xfe][seeded.index(2)]]));
                }
                rest = after;
            }
        }
        let pieces = verdict(case.piece.chunk(case.level), Ends::ByItself, &cut);
        assert_eq!(pieces, whole, "{}", case.name);
    }
}

#[test]
fn the_key_changes_nothing() {
    for case in cases() {
        let here = heard(case.piece.chunk(case.level), Ends::ByItself, KNOWN, &case.bytes);
        for semitones in [-5_i8, 1, 12] {
            let moved = |pitch: Pitch| pitch.transposed(semitones).expect("a pitch of a guitar");
            let notes: Vec<ExpectedNote> = case
                .piece
                .notes
                .iter()
                .map(|note| ExpectedNote {
                    pitch: moved(note.pitch),
                    trill: note.trill.map(moved),
                    ..*note
                })
                .collect();
            let piece = Piece { notes, ..case.piece.clone() };
            let bytes: Vec<_> = case
                .bytes
                .iter()
                .map(|(at, bytes)| {
                    let mut bytes = bytes.clone();
                    bytes[1] = (i16::from(bytes[1]) + i16::from(semitones)) as u8;
                    (*at, bytes)
                })
                .collect();
            let there = heard(piece.chunk(case.level), Ends::ByItself, KNOWN, &bytes);
            assert_eq!(there, here, "{}, {semitones} semitones higher", case.name);
        }
    }
}

/// Bytes and when they came.
type Stream = Vec<(Instant, Vec<u8>)>;

/// The line of `Group::Sixteen`, played with gaps that double exactly.
fn line(tempo: u32, times: u32) -> (Vec<ExpectedNote>, Tempo, Stream) {
    let mut seeded = Seeded::new(9);
    let sixteenth = Ticks::new(Ticks::PER_QUARTER / 4);
    let notes: Vec<ExpectedNote> = (0..16_u8)
        .map(|i| ExpectedNote {
            string: GuitarString::new(3),
            marks: if i == 8 { Marks::SHIFT } else { Marks::NONE },
            ..ExpectedNote::plain(
                Ticks::new(u32::from(i) * sixteenth.get()),
                sixteenth,
                Pitch::new(50 + i).expect("a pitch"),
            )
        })
        .collect();
    // Loudness and scatter of up to a tenth of the interval, and a pause of a half at the shift.
    let interval = 60_000_000 / tempo / 4;
    let bytes = (0..16_u32)
        .map(|i| {
            let off = i64::from(interval) * seeded.between(-100, 100) / 2_000;
            let pause = if i >= 8 { interval / 2 } else { 0 };
            let at = i64::from(interval * i + pause + 1_000_000) + off;
            let velocity = seeded.between(60, 90) as u8;
            let at = at as u64 * u64::from(times);
            (Instant::from_micros(at), vec![0x92, 50 + i as u8, velocity])
        })
        .collect();
    let tempo = Tempo::from_micros_per_quarter(60_000_000 / tempo * times).expect("a tempo");
    (notes, tempo, bytes)
}

/// With limits that are shares of the interval alone, twice as slow doubles every time and leaves
/// the rest; loudness, counts, places and severities stay.
#[test]
fn twice_as_slow_doubles_times_and_nothing_else() {
    let share = |per_mille| TimeLimit { at_least: Offset::ZERO, per_mille };
    let tolerances = Tolerances {
        unsteadiness: share(10),
        single_note: share(160),
        hesitation: share(250),
        unevenness: Level::from_hundredths(50),
        ..Tolerances::of(PracticeLevel::Steady)
    };
    let judged = |times: u32| {
        let (notes, tempo, bytes) = line(60, times);
        let chunk = Chunk::new(&notes, tempo).expect("a chunk").judged_by(tolerances);
        heard(chunk, Ends::ByCaller, KNOWN, &bytes).expect("an attempt")
    };
    let (once, twice) = (judged(1), judged(2));
    assert_eq!(once.outcome, twice.outcome);
    assert!(once.findings.len() >= 3, "{once:?}");
    for (a, b) in once.findings.iter().zip(&twice.findings) {
        assert_eq!((a.kind, a.severity, a.note, a.count), (b.kind, b.severity, b.note, b.count));
        for (a, b) in [(a.size, b.size), (a.limit, b.limit)] {
            match (a, b) {
                // Each side is rounded to microseconds, in more than one step.
                (Size::Time(a), Size::Time(b)) => {
                    assert!((2 * a.as_micros() - b.as_micros()).abs() <= 60, "{a:?}, {b:?}");
                }
                (Size::PerMille(a), Size::PerMille(b)) => assert!((a - b).abs() <= 1, "{a}, {b}"),
                _ => assert_eq!(a, b),
            }
        }
    }
    assert_eq!(once.findings.len(), twice.findings.len());
}
