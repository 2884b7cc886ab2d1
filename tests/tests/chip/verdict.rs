//! From the last note to the verdict on the lamps.

use crate::emulated::TYPICAL;
use crate::pedal::{Pedal, SECOND};
use crate::player::{first, play};
use std::fmt::Write as _;
use std::path::PathBuf;

/// One chunk of so many chords of four notes.
fn chords(chords: u32) -> String {
    let mut text =
        "evenhand study 1\ntitle Chords\nmetre 4/4\ntempo 100\n\nchunk \"All\" at bar 1\n"
            .to_owned();
    let bars = (0..chords).map(|chord| {
        let fret = 1 + chord % 3;
        format!("4:{fret}(p)+3:{fret}(i)+2:{fret}(m)+1:{fret}(a)")
    });
    for bar in bars.collect::<Vec<_>>().chunks(8) {
        let _ = writeln!(text, "  melody: 1/8 {} |", bar.join(" "));
    }
    text
}

/// Seconds from the last byte of a clean performance to the verdict's lamp.
fn waits(study: &str) -> f64 {
    let mut pedal = Pedal::new(TYPICAL);
    pedal.run(0.5);
    let file = PathBuf::from(pedal.folder.write("some.study", study));
    pedal.load(&file);
    pedal.begin(0);
    let task = first(study);
    let from = pedal.now() + SECOND / 2.0;
    let end = play(&mut pedal, study, task, &[], 1, from);
    pedal.run(8.0);
    let lamps = pedal.lamps(end - SECOND / 2.0);
    // Passed is the right one alone, needs work the left one, unclear both; the middle one is the beat.
    let verdict = lamps.iter().find(|(_, [left, middle, right])| !middle && (*left || *right));
    (verdict.unwrap_or_else(|| panic!("{lamps:?}")).0 - end) / SECOND
}

/// What is asked, in seconds.
const ASKED: (f64, f64) = (0.3, 1.0);

#[test]
fn a_verdict_is_there_soon_after_the_last_note() {
    let (few, many) = (waits(&chords(16)), waits(&chords(64)));
    println!(
        "verdict: {few:.3} s after 64 notes (asked {} s), {many:.3} s after 256 (asked {} s)",
        ASKED.0, ASKED.1
    );
    assert!(few <= ASKED.0 && many <= ASKED.1, "{few}, {many}");
}
