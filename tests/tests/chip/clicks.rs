//! When the clicks of a count-in sound.

use crate::emulated::TYPICAL;
use crate::pedal::Pedal;
use crate::player::first;
use std::fmt::Write as _;
use std::path::PathBuf;

/// A click may be so far from its place, in microseconds: the goal that was set.
const MOST: f64 = 1_000.0;

/// A study of so many chunks, each a bar of sixteenths.
fn long(chunks: u32) -> String {
    let mut text = "evenhand study 1\ntitle Long\nmetre 4/4\ntempo 80\n".to_owned();
    for bar in 1..=chunks {
        // Each another one, so that none is the same piece as another.
        let frets = (0..16).map(|place| format!("{}:{}", 1 + (place + bar) % 6, (place * bar) % 5));
        let notes = frets.collect::<Vec<_>>().join(" ");
        let _ = write!(text, "\nchunk \"Bar {bar}\" at bar {bar}\n  melody: 1/16 {notes} |\n");
    }
    text
}

/// How far the clicks of the count-in are from their places, at worst.
fn worst(study: &str, chunk: u8) -> f64 {
    let mut pedal = Pedal::new(TYPICAL);
    pedal.run(0.5);
    let file = PathBuf::from(pedal.folder.write("some.study", study));
    pedal.load(&file);
    let task = first(study);
    let beat = f64::from(task.tempo.micros_per_quarter());
    let began = pedal.now();
    pedal.begin(chunk);
    pedal.run(7.0 * beat / 1e6);
    let clicks = pedal.clicks(began);
    assert!(clicks.len() >= 4, "{clicks:?}");
    let places = (0_u32..).zip(&clicks).take(4);
    // One that is late counts against all others, so each place is measured from the middle of all.
    let off: Vec<f64> = places.map(|(beats, at)| at - f64::from(beats) * beat).collect();
    let middle = off.iter().sum::<f64>() / off.len() as f64;
    off.iter().map(|off| (off - middle).abs()).fold(0.0, f64::max)
}

#[test]
fn clicks_are_in_their_places_from_the_first() {
    let few = worst(crate::player::STAIRS, 0);
    let many = worst(&long(30), 0);
    println!("clicks: {few:.0} us off at most with two chunks, {many:.0} us with thirty");
    assert!(few <= MOST && many <= MOST, "{few}, {many}");
}
