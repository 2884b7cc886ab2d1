//! Every bundled recording and 200 simulated sittings (60 with every change), heard by the emulated pedal
//! and by the program as it is shipped: what both bring into the log has to be equal, to the last note
//! and finding.

use crate::emulated_pedal::shipped::{Kept, Sitting, practised};
use crate::emulated_pedal::table::{Table, answers, loading, read};
use crate::emulated_pedal::{image, run};
use evenhand::log::Attempt;
use evenhand::pedal::{Fetched, Names, WhoItIs, batches};
use evenhand::practice::{Plan, Settings};
use evenhand::smf::Recording;
use evenhand::study::{Prepared, Study, parse};
use evenhand_core::limits::RESULT_NOTES;
use evenhand_core::link::{Answer, Computer, Question};
use evenhand_core::pack::{Pack, ResultRecord};
use evenhand_core::player::{Artefacts, Chance, Fault, Skill, perform, transmit};
use evenhand_core::practice::{Piece, PracticeVariant, Spot, Task};
use evenhand_core::units::{Instant, Level, Offset};
use evenhand_core::verdict::Outcome;
use evenhand_tests::performances::{STUDY, chunks, takes};
use evenhand_tests::seeds;
use jiff::Timestamp;
use rayon::prelude::*;
use std::time::Duration;

/// Sittings of simulated players.
const SITTINGS: u64 = 200;
/// As many as are played with every change.
const SAMPLE: u64 = 60;
/// Longer than anybody waits for the end of an attempt.
const QUIET: u64 = 12_000_000;
/// A byte on a MIDI line (IEC 63035).
const BYTE: u64 = 320;

/// Bytes in the order and at the times that a line carries them.
fn line(messages: impl IntoIterator<Item = (u64, Vec<u8>)>) -> Vec<(Instant, u8)> {
    let mut busy = 0_u64;
    let mut bytes = Vec::new();
    for (at, message) in messages {
        for byte in message {
            busy = busy.max(at) + BYTE;
            bytes.push((Instant::from_micros(busy), byte));
        }
    }
    bytes
}

/// A recording of the bundled study, from five seconds on.
fn recording(file: &str) -> Vec<(Instant, u8)> {
    let path = xtask::places::root().join(format!("fixtures/performances/{file}.mid"));
    let recording = Recording::read(&path).unwrap_or_else(|error| panic!("{error:?}"));
    let messages = recording.messages.iter();
    line(messages.map(|message| (5_000_000 + message.at.as_micros(), message.bytes.clone())))
}

/// A simulated player who plays the chunk a few times, through a pickup that is not perfect.
fn simulated(seed: u64, prepared: &Prepared) -> Vec<(Instant, u8)> {
    let mut chance = Chance::new(seed);
    let artefacts = match seed % 4 {
        0 => Artefacts { ghosts: 30, double_triggers: 20, ..Artefacts::NONE },
        1 => Artefacts { slurs_as_bends: true, trailing: 40, ..Artefacts::NONE },
        _ => Artefacts::NONE,
    };
    let mut messages = Vec::new();
    let mut at = 5_000_000_u64;
    for attempt in 0..1 + chance.below(3) {
        let notes = prepared.notes.len() as u32;
        let note = chance.below(notes) as u16;
        let fault = match chance.below(8) {
            0 => Some(Fault::Wrong { note, semitones: 1 }),
            1 => Some(Fault::Missing(note)),
            2 => Some(Fault::Hesitation { note, lost: Offset::from_millis(300) }),
            3 => Some(Fault::Drift(-150)),
            4 => Some(Fault::Loud { note, by: Level::from_hundredths(-1_200) }),
            _ => None,
        };
        // Near the tempo that practice begins at, and also well away from it.
        let tempo = prepared.tempo.at_per_mille(550 + chance.below(400));
        let chunk = prepared.at_tempo(tempo);
        let own = seed * 8 + u64::from(attempt);
        let performance = perform(&chunk, tempo, Skill::SKILLED, fault.as_slice(), own);
        let sent = transmit(&performance, &artefacts, own ^ 0x5eed);
        let mut last = at;
        for message in sent.messages() {
            last = at.saturating_add_signed(message.at.as_micros().into());
            messages.push((last, message.bytes.to_vec()));
        }
        // Some go on at once, some take their time.
        at = last + 700_000 + u64::from(chance.below(8_000_000));
    }
    line(messages)
}

/// A player who fails at one place of a chunk, each time otherwise, and then plays the notes around it.
fn at_a_hard_place(study: &Study, chunk: u8, prepared: &Prepared) -> Option<Vec<(Instant, u8)>> {
    const HARD: u8 = 5;
    let plan = Plan::new(study, &Settings::default()).expect("the bundled study is right");
    let mut onsets: Vec<_> = prepared.notes.iter().map(|note| note.onset).collect();
    onsets.dedup();
    let onset = *onsets.get(usize::from(HARD)).filter(|_| onsets.len() > 7)?;
    let note = prepared.notes.iter().position(|note| note.onset == onset)? as u16;
    let spot = Spot { first: chunk, last: chunk, half: None, from: HARD - 2, to: HARD + 2 };
    let (mut at, mut messages) = (5_000_000_u64, Vec::new());
    for attempt in 0..9_u8 {
        let whole = attempt < 4;
        let piece = if whole { Piece::Chunk(chunk) } else { Piece::Spot(spot) };
        let way = PracticeVariant::AsWritten;
        let tempo = prepared.tempo.at_per_mille(560);
        let music = plan.music(Task { piece, way, tempo })?;
        let semitones = [1, 2, -1, 3][usize::from(attempt % 4)];
        let fault = whole.then_some(Fault::Wrong { note, semitones });
        let music = music.at_tempo(tempo);
        let performance = perform(&music, tempo, Skill::SKILLED, fault.as_slice(), attempt.into());
        let sent = transmit(&performance, &Artefacts::NONE, 1);
        let mut last = at;
        for message in sent.messages() {
            last = at.saturating_add_signed(message.at.as_micros().into());
            messages.push((last, message.bytes.to_vec()));
        }
        at = last + 9_000_000;
    }
    Some(line(messages))
}

/// What a sitting is called, the chunk that is chosen, and the bytes with their times.
type Played = (String, u8, Vec<(Instant, u8)>);

/// What is played in each sitting, and which chunk is chosen for it.
fn sittings(study: &Study, chunks: &[Prepared]) -> Vec<Played> {
    let mut sittings: Vec<_> = takes()
        .iter()
        .map(|take| {
            let chunk = chunks.iter().position(|chunk| chunk.name == take.chunk).expect("a chunk");
            (take.file.to_owned(), chunk as u8, recording(take.file))
        })
        .collect();
    let number = if seeds::all() { SITTINGS } else { SAMPLE };
    sittings.extend((0..number).map(|seed| {
        let seed = seeds::base() + seed;
        let chunk = seed as usize % chunks.len();
        (format!("seed {seed}"), chunk as u8, simulated(seed, &chunks[chunk]))
    }));
    sittings.extend((0_u8..).zip(chunks).filter_map(|(index, chunk)| {
        let bytes = at_a_hard_place(study, index, chunk)?;
        Some((format!("hard place of {}", chunk.name), index, bytes))
    }));
    sittings
}

/// When somebody went on to the next chunk, and when practice was over.
type Times = (Vec<Instant>, Instant);

/// Begins, goes on to the chunk, and plays.
fn play(table: &mut Table, chunk: u8, bytes: &[(Instant, u8)]) -> Times {
    table.step(1, 100, 900);
    let mut next = Vec::new();
    for _ in 0..chunk {
        // It is short when it ends.
        table.step(1, 50, 60);
        next.push(table.now());
    }
    for (at, byte) in bytes {
        table.midi(*byte, *at);
    }
    table.wait(QUIET / 1_000);
    let end = table.now();
    table.harvest();
    (next, end)
}

/// The bundled study.
struct Quay<'p>(&'p [u8]);

impl Names for Quay<'_> {
    fn pack(&mut self, _study: u64) -> Option<Pack<'_>> {
        Pack::open(self.0).ok()
    }
}

/// What the program brings into the log of what the pedal kept in a sitting.
fn fetched(kept: &[Vec<u8>], pack: &[u8]) -> Vec<Kept> {
    let record = |bytes: &Vec<u8>| ResultRecord::decode(bytes).expect("a right record").0;
    let results: Vec<Fetched> = kept
        .iter()
        .map(|bytes| Fetched { number: record(bytes).number, bytes: bytes.clone() })
        .collect();
    let who = WhoItIs {
        firmware: String::new(),
        board: String::new(),
        device: 386,
        memory: 1,
        free: 0,
        packs: 1,
        oldest: 1,
        next: 1,
        sitting: kept.last().map_or(1, |last| record(last).sitting),
        seconds: 600,
    };
    let (batches, wrong) = batches(&results, &who, Timestamp::UNIX_EPOCH, &mut Quay(pack));
    assert!(wrong.is_empty(), "{wrong:?}");
    let attempts = batches.into_iter().flat_map(|batch| batch.attempts);
    attempts.zip(kept.iter().map(|bytes| record(bytes).began.get())).collect()
}

pub(crate) fn the_pedal_and_the_program_keep_the_same() {
    let study: Study = parse(STUDY).expect("the bundled study is right");
    let pack = evenhand::practice::pack(&study, "Lantern Quay", 77).expect("it can be packed");
    assert_eq!(Pack::open(&pack).expect("it opens").study(), 77);
    let chunks = chunks();
    let mut table = Table::default();

    let questions = loading(&pack);
    let mut computer = Computer::new(1);
    for question in &questions {
        table.link(computer.ask(question).expect("short enough"));
    }
    table.wait(2_000);
    table.restart();
    let sittings = sittings(&study, &chunks);
    let times: Vec<Times> =
        sittings.iter().map(|(_, chunk, bytes)| play(&mut table, *chunk, bytes)).collect();

    let ran = run(&image(), &table.bytes(), Duration::from_secs(240));
    let printed = read(&ran.transcript);
    assert!(ran.success, "{}\n{:?}", ran.complaint, printed.lines);
    answers(1, &questions, &printed.frames, |question, answer| match question {
        Question::End { .. } => assert!(matches!(answer, Answer::Stored { .. }), "{answer:?}"),
        _ => assert!(!matches!(answer, Answer::Refused(_)), "{question:?}: {answer:?}"),
    });
    assert_eq!(printed.harvests.len(), sittings.len());

    let here: Vec<Vec<Kept>> = on_all_processors(&sittings, &times);
    let (mut number, mut outcomes, mut spots) = (0, [0_u32; 3], 0_u32);
    for (((name, ..), here), kept) in sittings.iter().zip(here).zip(&printed.harvests) {
        let there = fetched(kept, &pack);
        for (index, ((there, after), (here, began))) in there.iter().zip(&here).enumerate() {
            // The pedal knows whole seconds, the log milliseconds, and both are cut off.
            assert!(after.abs_diff(*began) <= 1, "{name}, attempt {index}: {after}, {began}");
            let there = Attempt { began: here.began, ..there.clone() };
            // Of more notes than it has room for the pedal keeps none.
            let few = here.notes.len() <= RESULT_NOTES;
            let notes = if few { here.notes.clone() } else { Vec::new() };
            let here = Attempt { notes, ..here.clone() };
            assert_eq!(there, here, "{name}, attempt {index}: the pedal's, the program's");
            spots += u32::from(here.chunk.contains(", notes "));
            outcomes[[Outcome::Passed, Outcome::NeedsWork, Outcome::Unclear]
                .iter()
                .position(|one| *one == here.verdict)
                .expect("one of three")] += 1;
        }
        assert_eq!(there.len(), here.len(), "{name}");
        number += kept.len() as u32;
    }
    println!(
        "{number} attempts; passed, needs work, unclear: {outcomes:?}; of a spot: {spots}\n{}",
        ran.figures
    );
    assert!(spots > 4, "{spots} attempts at the notes around a hard place");
    // All kinds of verdicts were compared, and most sittings had one at least.
    assert!(outcomes.iter().all(|count| *count > 10), "{outcomes:?}");
    assert!(number as usize > sittings.len(), "{number}");
}

/// What the program keeps of each sitting, as many at a time as there are processors.
fn on_all_processors(sittings: &[Played], times: &[Times]) -> Vec<Vec<Kept>> {
    let all = sittings.par_iter().zip(times);
    let kept = all.map(|((_, _, bytes), (next, end))| {
        practised(&Sitting { study: STUDY, next, bytes, end: *end, channels: "string" })
    });
    kept.collect()
}
