//! Somebody who plays what the pedal asks for. What that is, the program is asked on this computer, which has
//! heard the same bytes at the same times; where the two differ, what they keep differs, too.

use crate::pedal::Pedal;
use crate::shipped::Sitting;
use evenhand::practice::{Plan, Settings};
use evenhand::study::{Study, parse};
use evenhand_core::player::{Artefacts, Fault, Skill, perform, transmit};
use evenhand_core::practice::{Piece, PracticeVariant, Task};
use evenhand_core::units::{Instant, Tempo};
use evenhand_tests::run::{Folder, Run, command};
use serde_json::Value;
use std::fmt::Write as _;

/// Two stairs of eight notes each, and the way from one to the other: short, so that both and their join are
/// reached in a few minutes of the chip's time.
pub(crate) const STAIRS: &str = "\
evenhand study 1
title Two Stairs
metre 4/4
tempo 80

chunk \"Up\" at bar 1
  melody: 1/8 6:3(3 p) 5:0(p) 5:2(2 p) 5:3(3 p) 4:0(i) 4:2(2 m) 4:4(4 i) 3:0(m) |
  landing next

chunk \"Down\" at bar 2
  melody: 1/8 3:2(2 i) 3:0(m) 4:4(4 i) 4:2(2 m) 4:0(i) 5:3(3 p) 5:2(2 p) 5:0(p) |
";

/// A piece of a study as it is asked for.
pub(crate) struct Asked {
    pub(crate) task: Task,
    pub(crate) is_join: bool,
}

/// What the program asks for after all this; nothing when practice is over.
pub(crate) fn asked(sitting: &Sitting<'_>) -> Option<Asked> {
    let folder = Folder::new();
    let study = folder.write("stairs.study", sitting.study);
    let mut text = String::new();
    for (at, byte) in sitting.bytes {
        let _ = writeln!(text, "{} {byte:02x}", at.as_micros());
    }
    let _ = writeln!(text, "{}", sitting.end.as_micros());
    let played = folder.write("played.txt", text);
    let words = [
        "practice",
        &study,
        "--timed",
        &played,
        "--no-log",
        "--channels",
        sitting.channels,
        "--events",
    ];
    let run = Run::of(&mut command(&words), Vec::new());
    let events = run.done().events();
    let task = events.iter().rfind(|event| event["kind"] == "step").map(|step| &step["task"])?;
    let tempo = task["tempo"].as_u64().and_then(|micros| u32::try_from(micros).ok());
    let tempo = Tempo::from_micros_per_quarter(tempo?).expect("a tempo");
    let piece = piece(&task["piece"]);
    let way = PracticeVariant::AsWritten;
    Some(Asked { task: Task { piece, way, tempo }, is_join: matches!(piece, Piece::Join { .. }) })
}

/// What is asked for first.
pub(crate) fn first(study: &str) -> Task {
    let end = Instant::from_micros(1);
    let nothing = Sitting { study, next: &[], bytes: &[], end, channels: "auto" };
    asked(&nothing).expect("a study has a piece").task
}

fn piece(value: &Value) -> Piece {
    let number = |value: &Value| value.as_u64().unwrap_or_else(|| panic!("{value}")) as u8;
    if let Some(chunk) = value.get("chunk") {
        return Piece::Chunk(number(chunk));
    }
    let join = value.get("join").unwrap_or_else(|| panic!("{value}"));
    let part = |name: &str| number(&join[name]);
    Piece::Join { first: part("first"), seam: part("seam"), last: part("last") }
}

/// Plays a piece, waits until its last byte is over, and says when that was.
pub(crate) fn play(
    pedal: &mut Pedal,
    study: &str,
    task: Task,
    faults: &[Fault],
    seed: u64,
    from: f64,
) -> f64 {
    let end = send(pedal, study, task, faults, seed, from);
    pedal.run_until(end);
    end
}

/// Puts a piece on the line, to be played from then on, and says when its last byte will be over.
pub(crate) fn send(
    pedal: &mut Pedal,
    study: &str,
    task: Task,
    faults: &[Fault],
    seed: u64,
    from: f64,
) -> f64 {
    let study: Study = parse(study).expect("a right study");
    let plan = Plan::new(&study, &Settings::default()).expect("it can be practised");
    let music = plan.music(task).expect("there is such a piece");
    let music = music.at_tempo(task.tempo);
    let performance = perform(&music, task.tempo, Skill::SKILLED, faults, seed);
    let sent = transmit(&performance, &Artefacts::NONE, 1);
    let mut end = from;
    for message in sent.messages() {
        end = pedal.chip.midi(from + f64::from(message.at.as_micros()), &message.bytes);
    }
    end
}
