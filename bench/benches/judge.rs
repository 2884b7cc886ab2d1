//! What judging costs, and how the cost grows with the chunk.
//!
//! `cargo bench -p evenhand-bench`. Compare ratios within one run, not times between machines.

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use evenhand_core::session::{Ends, Session, SessionConfig};
use evenhand_core::study::{Chunk, ExpectedNote};
use evenhand_core::units::{Instant, Pitch, Tempo, Ticks};
use std::hint::black_box;

/// Single notes that go up and down, or chords of four.
fn chunk_notes(count: usize, together: u32) -> Vec<ExpectedNote> {
    let eighth = Ticks::PER_QUARTER / 2;
    (0..count as u32)
        .map(|index| {
            let event = index / together;
            let pitch = 45 + (event * 5) % 17 + 4 * (index % together);
            let onset = Ticks::new(event * eighth);
            ExpectedNote::plain(
                onset,
                Ticks::new(eighth),
                Pitch::new(pitch as u8).expect("a pitch"),
            )
        })
        .collect()
}

fn bytes(notes: &[ExpectedNote], tempo: Tempo) -> Vec<(Instant, [u8; 3])> {
    notes
        .iter()
        .enumerate()
        .map(|(index, note)| {
            let jitter = (index as u64 * 7_919) % 12_000;
            let at = tempo.lasting(note.onset).as_micros().unsigned_abs();
            let velocity = 80 + (index % 9) as u8;
            (Instant::from_micros(u64::from(at) + jitter), [0x90, note.pitch.number(), velocity])
        })
        .collect()
}

fn judge(criterion: &mut Criterion) {
    let tempo = Tempo::from_micros_per_quarter(600_000).expect("a tempo");
    for (name, together) in [("single notes", 1), ("chords of four", 4)] {
        let mut feeding = criterion.benchmark_group(format!("feed, {name}"));
        for count in [8, 16, 32, 64, 128, 256] {
            let notes = chunk_notes(count, together);
            let chunk = Chunk::new(&notes, tempo).expect("a chunk");
            let stream = bytes(&notes, tempo);
            let config = SessionConfig { ends: Ends::ByCaller, ..SessionConfig::default() };
            let mut session = Box::new(Session::new(chunk, config));
            feeding.throughput(Throughput::Elements(count as u64));
            feeding.bench_function(BenchmarkId::from_parameter(count), |bencher| {
                bencher.iter(|| {
                    session.discard();
                    for (at, bytes) in &stream {
                        session.feed(black_box(bytes), *at);
                    }
                    session.events_behind()
                });
            });
        }
        feeding.finish();
        let mut ending = criterion.benchmark_group(format!("verdict, {name}"));
        for count in [16, 64, 256] {
            let notes = chunk_notes(count, together);
            let chunk = Chunk::new(&notes, tempo).expect("a chunk");
            let stream = bytes(&notes, tempo);
            let config = SessionConfig { ends: Ends::ByCaller, ..SessionConfig::default() };
            let mut session = Box::new(Session::new(chunk, config));
            for (at, bytes) in &stream {
                session.feed(bytes, *at);
            }
            ending.bench_function(BenchmarkId::from_parameter(count), |bencher| {
                // A copy, since a verdict is given once; copying is small beside it.
                bencher.iter_batched_ref(
                    || session.clone(),
                    |session| session.finish().map(|judged| judged.verdict.outcome),
                    criterion::BatchSize::LargeInput,
                );
            });
        }
        ending.finish();
    }
}

criterion_group!(benches, judge);
criterion_main!(benches);
