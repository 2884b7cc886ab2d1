//! What the MIDI line brings: bytes that come while others are taken, bytes that are broken, a clock.

use crate::emulated::{Deed, TYPICAL};
use crate::pedal::{Pedal, SECOND};
use crate::player::{STAIRS, first, play};
use std::path::PathBuf;

/// A byte waits for no more than this, in microseconds: handlers of USB and of the switches run in between.
const LATEST: f64 = 60.0;

#[test]
fn a_byte_that_comes_while_another_is_taken_is_taken_too() {
    let mut pedal = Pedal::new(TYPICAL);
    pedal.run(0.5);
    // Steps of three cycles, over more than the whole of what the interrupt does.
    for step in 0..400 {
        let at = pedal.now() + 100.0;
        pedal.chip.raw(at, 0xf4);
        pedal.chip.raw(at + f64::from(step) * 0.024, 0xf5);
        pedal.run_exactly(at + 300.0);
    }
    let late: Vec<f64> = pedal
        .deeds
        .iter()
        .filter_map(|(at, deed)| match deed {
            Deed::Taken { byte: 0xf5, came, .. } => Some(at - came),
            _ => None,
        })
        .collect();
    let worst = late.iter().copied().fold(0.0, f64::max);
    let lost = pedal.figures().overruns;
    println!(
        "line: of 400 pairs {lost} met a full receiver; the latest was taken after {worst:.1} us"
    );
    // What comes at the very time has no place: the receiver holds one byte.
    assert_eq!(
        pedal.deeds.iter().filter(|(_, deed)| matches!(deed, Deed::Taken { .. })).count() as u64
            + lost,
        800
    );
    assert!((1..300).contains(&lost), "{lost}");
    assert!(worst < LATEST, "{worst}");
}

/// Practises the first chunk with what else comes on the line, and fetches what was kept.
fn practised(pedal: &mut Pedal, more: impl FnOnce(&mut Pedal, f64)) -> usize {
    pedal.run(0.5);
    let study = PathBuf::from(pedal.folder.write("stairs.study", STAIRS));
    pedal.load(&study);
    pedal.begin(0);
    let task = first(STAIRS);
    let from = pedal.now() + SECOND / 2.0;
    more(pedal, from);
    play(pedal, STAIRS, task, &[], 1, from);
    pedal.run(4.0);
    pedal.fetch()
}

#[test]
fn results_are_written_beside_a_clock() {
    let mut pedal = Pedal::new(TYPICAL);
    let kept = practised(&mut pedal, |pedal, from| {
        // Twenty-four to a beat, at 125 a minute.
        for tick in 0..900 {
            pedal.chip.raw(from - 200_000.0 + f64::from(tick) * 20_000.0, 0xf8);
        }
    });
    let pages = pedal.flash(0.0).iter().filter(|(_, erases, _)| !erases).count();
    println!("line: beside a clock {kept} attempt is kept, {pages} pages written in all");
    assert_eq!(kept, 1);
}

#[test]
fn a_broken_byte_interrupts_the_attempt() {
    let mut pedal = Pedal::new(TYPICAL);
    let kept = practised(&mut pedal, |pedal, from| {
        pedal.chip.broken(from + 2.0 * SECOND, 0x90);
    });
    println!("line: with a byte whose stop bit is missing {kept} attempts are kept");
    assert_eq!(kept, 0);
}
