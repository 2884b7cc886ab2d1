//! Judges what a pickup sends: bytes with their times in, verdicts out.
//!
//! `cargo run -p evenhand-core --example judge_a_stream`

// The judge itself never panics; an example may, where its own figures are wrong.
#![allow(clippy::expect_used, clippy::indexing_slicing)]

use evenhand_core::{
    Chunk, ExpectedNote, Instant, Outcome, Pitch, Session, SessionConfig, Tempo, Ticks,
};

/// A scale of eight eighths up from C, at 80 quarters a minute.
const SCALE: [u8; 8] = [60, 62, 64, 65, 67, 69, 71, 72];
const EIGHTH: Ticks = Ticks::new(Ticks::PER_QUARTER / 2);

fn expected() -> [ExpectedNote; 8] {
    std::array::from_fn(|index| {
        let onset = Ticks::new(index as u32 * EIGHTH.get());
        ExpectedNote::plain(onset, EIGHTH, Pitch::new(SCALE[index]).expect("a MIDI number"))
    })
}

fn main() {
    let tempo = Tempo::from_beats_per_minute(80, Ticks::new(Ticks::PER_QUARTER));
    let notes = expected();
    let chunk = Chunk::new(&notes, tempo.expect("a tempo to play at")).expect("a chunk to play");
    // For chunks of 16 notes. `Session::idle()` alone has room for the largest chunk there is.
    let mut session: Session<16, 64> = Session::idle();
    session.load(chunk, SessionConfig::default()).expect("it has room for eight notes");

    // What would come from a UART or a MIDI port: played steadily, and then with a late F sharp.
    let mut bytes: Vec<([u8; 3], u64)> = Vec::new();
    for (attempt, off) in [(0, None), (1, Some((3, 66, 110)))] {
        for (index, key) in SCALE.into_iter().enumerate() {
            let at = 5_000 * attempt + 375 * index as u64;
            let (key, at) = match off {
                Some((wrong, key, late)) if wrong == index => (key, at + late),
                _ => (key, at),
            };
            bytes.push(([0x90, key, 80 + index as u8 % 3], at));
        }
    }

    let mut outcomes = Vec::new();
    let mut tell = |session: &mut Session<16, 64>, now: Instant| {
        while let Some(judged) = session.poll(now) {
            println!("{}", judged.verdict.outcome);
            for finding in &judged.verdict.findings {
                let at = finding.note.map_or(1, |note| note + 1);
                println!("  {}: {finding}, at note {at}", finding.severity);
            }
            outcomes.push(judged.verdict.outcome);
        }
    };
    for (message, millis) in bytes {
        let now = Instant::from_micros(millis * 1_000);
        // What is due before these bytes comes first; a board's timer would wake it then.
        while let Some(due) = session.poll_at().filter(|due| *due < now) {
            tell(&mut session, due);
        }
        session.feed(&message, now);
        tell(&mut session, now);
    }
    while let Some(due) = session.poll_at() {
        tell(&mut session, due);
    }
    assert_eq!(outcomes, [Outcome::Passed, Outcome::NeedsWork]);
}

#[test]
fn it_runs() {
    main();
}
