//! The power goes in the middle of a write or an erase, in each of a sitting.

use crate::emulated::TYPICAL;
use crate::pedal::{Pedal, SECOND};
use crate::player::{STAIRS, first, play, send};
use std::path::PathBuf;

/// A sitting has no more operations of the flash than this, or something is wrong.
const MOST: u32 = 60;

/// The first chunk, played cleanly once, and the quiet after it. Whether the power went meanwhile.
fn sitting(pedal: &mut Pedal, seed: u64) -> bool {
    pedal.begin(0);
    let from = pedal.now() + SECOND / 2.0;
    if pedal.chip.stopped().is_some() {
        return true;
    }
    play(pedal, STAIRS, first(STAIRS), &[], seed, from);
    pedal.run(3.0);
    pedal.chip.stopped().is_some()
}

#[test]
fn what_was_written_survives_a_cut_in_every_write_and_erase() {
    let mut pedal = Pedal::new(TYPICAL);
    pedal.run(0.5);
    let study = PathBuf::from(pedal.folder.write("stairs.study", STAIRS));
    pedal.load(&study);
    assert!(!sitting(&mut pedal, 1));
    let mut survived = Vec::new();
    for operation in 1..=MOST {
        let mut cut = pedal.copy(TYPICAL);
        cut.chip.cut_at(operation);
        let went = sitting(&mut cut, 2);
        cut.off_and_on();
        let kept = cut.fetch();
        // The first was written before; the second is, or its write was cut.
        assert!((1..=2).contains(&kept), "cut in operation {operation}: {kept} kept");
        survived.push(kept);
        if !went {
            assert_eq!(kept, 2, "without a cut");
            break;
        }
    }
    println!(
        "power: results kept after a cut in each operation, the last without one: {survived:?}"
    );
    assert!(survived.len() > 2 && survived.len() < MOST as usize, "{survived:?}");
}

#[test]
fn practice_goes_on_after_the_power_was_away() {
    let mut pedal = Pedal::new(TYPICAL);
    pedal.run(0.5);
    let study = PathBuf::from(pedal.folder.write("stairs.study", STAIRS));
    pedal.load(&study);
    // In the middle of an attempt.
    pedal.begin(0);
    let from = pedal.now() + SECOND / 2.0;
    let end = send(&mut pedal, STAIRS, first(STAIRS), &[], 1, from);
    pedal.run_until(from + (end - from) / 2.0);
    pedal.off_and_on();
    assert!(!sitting(&mut pedal, 2));
    assert_eq!(pedal.fetch(), 1);
}
