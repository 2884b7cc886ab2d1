//! A whole practice: a study over USB, two chunks and their join, and results back over USB.

use crate::emulated::TYPICAL;
use crate::pedal::{Pedal, SECOND};
use crate::player::{STAIRS, asked, play};
use crate::shipped::{self, Kept, Sitting, practised};
use evenhand::log::Attempt;
use evenhand_core::units::Instant;
use std::path::PathBuf;

/// More attempts than it takes.
const MOST: u64 = 40;

/// Times from when practice began.
fn since(began: f64, bytes: &[(Instant, u8)]) -> Vec<(Instant, u8)> {
    let since = |at: Instant| Instant::from_micros(at.as_micros() - began as u64);
    bytes.iter().map(|(at, byte)| (since(*at), *byte)).collect()
}

/// What both keep is the same, but for when, which the pedal knows to the second; its sitting in the log begins
/// when its power came, the program's with the first byte.
fn same(there: &[Kept], here: &[Kept]) {
    let first = |kept: &[Kept]| kept.first().map_or(0, |(_, at)| *at);
    let (first_there, first_here) = (first(there), first(here));
    for (index, ((there, at), (here, after))) in there.iter().zip(here).enumerate() {
        let (at, after) = (at - first_there, after - first_here);
        assert!(at.abs_diff(after) <= 1, "attempt {index}: {at}, {after}");
        let there = Attempt { began: here.began, ..there.clone() };
        assert_eq!(&there, here, "attempt {index}: the pedal's, the program's");
    }
    assert_eq!(there.len(), here.len());
}

#[test]
fn two_chunks_and_their_join_are_kept_as_the_program_keeps_them() {
    let mut pedal = Pedal::new(TYPICAL);
    pedal.run(0.5);
    assert_eq!(pedal.figures().baud, 31_250.0);
    let study = PathBuf::from(pedal.folder.write("stairs.study", STAIRS));
    pedal.load(&study);
    let began = pedal.now();
    pedal.begin(0);
    let mut joined = 0;
    for seed in 0..MOST {
        let bytes = since(began, &pedal.stamped(began));
        let end = Instant::from_micros((pedal.now() - began) as u64);
        let sitting = Sitting { study: STAIRS, next: &[], bytes: &bytes, end, channels: "auto" };
        let Some(asked) = asked(&sitting) else { break };
        joined += u32::from(asked.is_join);
        let from = pedal.now() + SECOND / 2.0;
        play(&mut pedal, STAIRS, asked.task, &[], seed, from);
        pedal.run(4.0);
        if joined == 2 {
            break;
        }
    }
    assert_eq!(joined, 2, "their join was not reached");
    let bytes = since(began, &pedal.stamped(began));
    let end = Instant::from_micros((pedal.now() - began) as u64);
    let written = pedal.flash(began).iter().filter(|(_, erases, _)| !erases).count();
    let (said, code) = pedal.ask(&["results"]);
    assert_eq!(code, 0, "{said}");
    let there = shipped::kept(&PathBuf::from(pedal.folder.path("data")));
    let here =
        practised(&Sitting { study: STAIRS, next: &[], bytes: &bytes, end, channels: "auto" });
    same(&there, &here);
    let figures = pedal.figures();
    assert_eq!(figures.overruns, 0);
    println!(
        "practice: {} attempts kept alike, {written} pages written, latest byte {:.1} us, interrupts off \
         {:.0} us at most",
        there.len(),
        figures.latest,
        figures.longest_off
    );
}
