//! Notes that begin while the flash is busy.

use crate::emulated::{Deed, TYPICAL, WORST};
use crate::pedal::{Pedal, SECOND};
use crate::player::{STAIRS, first, send};
use std::path::PathBuf;

/// A stamp may be so far from when its byte came, in microseconds.
const LATE: f64 = 60.0;

/// A byte on a MIDI line (IEC 63035), in microseconds.
const BYTE: f64 = 320.0;

/// Waits in small steps until the flash begins to be busy, but not beyond then. Whether it is erased.
fn busy(pedal: &mut Pedal, end: f64) -> Option<bool> {
    let from = pedal.now();
    while pedal.now() < end {
        pedal.run_until(pedal.now() + 100.0);
        if let Some((_, erases, _)) = pedal.flash(from).last() {
            return Some(*erases);
        }
    }
    None
}

#[test]
fn a_note_in_every_write_is_heard() {
    let mut pedal = Pedal::new(TYPICAL);
    pedal.run(0.5);
    let study = PathBuf::from(pedal.folder.write("stairs.study", STAIRS));
    pedal.load(&study);
    let mut pedal = pedal.copy(WORST);
    // What it prepares when its power comes is done by now.
    pedal.run(5.0);
    pedal.begin(0);
    let task = first(STAIRS);
    let (mut notes, mut erased) = (0, 0);
    for seed in 0..3 {
        let from = pedal.now() + SECOND / 2.0;
        let end = send(&mut pedal, STAIRS, task, &[], seed, from) + 4.0 * SECOND;
        while let Some(erases) = busy(&mut pedal, end) {
            erased += u32::from(erases);
            let now = pedal.now();
            // What is played has been put on the line to its end; this goes beside it.
            for (number, byte) in (1_u32..).zip([0x95, 90, 60]) {
                pedal.chip.raw(now + f64::from(number) * BYTE, byte);
            }
            pedal.run_until(now + 4.0 * BYTE);
            notes += 1;
        }
    }
    let late = pedal.deeds.iter().filter_map(|(_, deed)| match deed {
        Deed::Taken { came, stamp, .. } => Some(*stamp as f64 - came),
        _ => None,
    });
    let late = late.fold(0.0, f64::max);
    let figures = pedal.figures();
    println!(
        "flash: {notes} notes in writes of 3 ms ({erased} in erases): {} overruns, latest stamp {late:.0} us, \
         interrupts off {:.0} us at most",
        figures.overruns, figures.longest_off
    );
    assert!(notes >= 3, "{notes}");
    assert_eq!((figures.overruns, erased), (0, 0));
    assert!(late < LATE, "{late}");
}
