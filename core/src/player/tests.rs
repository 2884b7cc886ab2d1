extern crate std;
use super::*;
use crate::study::ExpectedNote;
use std::vec::Vec as StdVec;

fn scale() -> StdVec<ExpectedNote> {
    let eighth = Ticks::new(Ticks::PER_QUARTER / 2);
    (0..8)
        .map(|i| {
            let onset = Ticks::new(u32::from(i) * eighth.get());
            ExpectedNote::plain(onset, eighth, Pitch::new(60 + i).unwrap())
        })
        .collect()
}

const TEMPO: Tempo = Tempo::from_micros_per_quarter(600_000).unwrap();

fn times(faults: &[Fault]) -> StdVec<i32> {
    let notes = scale();
    let chunk = Chunk::new(&notes, TEMPO).unwrap();
    let performance = perform(&chunk, TEMPO, Skill::MACHINE, faults, 1);
    performance.notes().iter().map(|note| note.at.as_millis_rounded()).collect()
}

#[test]
fn a_machine_is_exact() {
    assert_eq!(times(&[]), [0, 300, 600, 900, 1_200, 1_500, 1_800, 2_100]);
}

#[test]
fn faults_have_the_size_they_say() {
    let lost = Offset::from_millis(150);
    let hesitation = times(&[Fault::Hesitation { note: 4, lost }]);
    assert_eq!(hesitation, [0, 300, 600, 900, 1_350, 1_650, 1_950, 2_250]);
    let late = times(&[Fault::OffBeat { note: 4, by: lost }]);
    assert_eq!(late, [0, 300, 600, 900, 1_350, 1_500, 1_800, 2_100]);
    // 20 % from the start to the end: the first interval shorter by 10 %, the last longer.
    let slowing = times(&[Fault::Drift(200)]);
    assert_eq!(slowing, [0, 274, 557, 849, 1_149, 1_457, 1_774, 2_100]);
    assert_eq!(times(&[Fault::Missing(2)]).len(), 7);
}

#[test]
fn swapped_notes_change_places() {
    let notes = scale();
    let chunk = Chunk::new(&notes, TEMPO).unwrap();
    let performance = perform(&chunk, TEMPO, Skill::MACHINE, &[Fault::Swapped(2)], 1);
    let meant: StdVec<_> = performance.notes().iter().filter_map(|note| note.meant).collect();
    assert_eq!(meant, [0, 1, 3, 2, 4, 5, 6, 7]);
}

#[test]
fn the_seed_decides() {
    let notes = scale();
    let chunk = Chunk::new(&notes, TEMPO).unwrap();
    let play = |seed| perform(&chunk, TEMPO, Skill::SKILLED, &[], seed).notes().to_vec();
    assert_eq!(play(3), play(3));
    assert_ne!(play(3), play(4));
}
