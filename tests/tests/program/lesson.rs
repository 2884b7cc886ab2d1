//! `evenhand listen` through a minute of practice as it is, in time that is told.

use evenhand_core::notes::NoteEvent;
use evenhand_tests::practice::{Deed, looped_chunks, practice};
use evenhand_tests::run::{Run, bundled, command};
use std::fmt::Write;

/// A player loops a chunk, slips, breaks off, begins again, noodles and rests, and touches nothing.
/// Each attempt gets its line, and nothing else does.
#[test]
fn a_minute_of_looping_gets_one_line_an_attempt() {
    let chunks = looped_chunks();
    let only = chunks.iter().position(|chunk| chunk.name == "Four bells, one").unwrap();
    let practice = practice(&chunks, Some(only), 1, 7);
    let name = &chunks[only].name;
    let mut lines = String::new();
    for (at, event) in &practice.events {
        let (status, pitch, velocity) = match event {
            NoteEvent::Begun { pitch, velocity, .. } => (0x90, pitch, velocity.value()),
            NoteEvent::Ended { pitch, .. } => (0x80, pitch, 64),
            _ => continue,
        };
        let (at, pitch) = (at.as_micros(), pitch.number());
        writeln!(lines, "{at} {status:02x} {pitch:02x} {velocity:02x}").unwrap();
    }
    let study = bundled("studies/lantern-quay.study");
    let words = ["listen", &study, "--timed", "-", "--plain", "--no-log", "--chunk", name];
    let run = Run::of(&mut command(&words), lines.into_bytes());
    let out = &run.done().out;
    let attempts = |deed: &&Deed| matches!(deed, Deed::Attempt { .. });
    let played = practice.deeds.iter().filter(attempts).count();
    let told = out.lines().filter(|line| line.starts_with(name.as_str())).count();
    assert!(played >= 5, "{played} attempts are no practice: {:?}", practice.deeds);
    assert_eq!(told, played, "{out}\n{:?}", practice.deeds);
}
