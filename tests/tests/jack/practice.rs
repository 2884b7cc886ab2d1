//! A sitting of practice through a MIDI port, in real time, from the first note to the joined
//! chunks: nobody touches a key.

use super::{plug_in, program, server::Server};
use evenhand::practice::{Plan, Settings};
use evenhand_core::player::{Performance, Skill, perform};
use evenhand_core::practice::Piece;
use evenhand_tests::live::{Listening, wait_until};
use evenhand_tests::run::{Folder, evenhand};
use evenhand_tests::told::task;
use midir::MidiOutputConnection;
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Two chunks of a bar, quick enough for a test.
const STUDY: &str = "evenhand study 1\ntitle Two bars\nmetre 4/4\ntempo 150\nlevel first\n\
     chunk \"Up\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 |\n\
     chunk \"On\" at bar 2\n  m: 1/8 3:2 3:4 2:1 2:3 1:0 1:2 1:3 1:5 |\n";

/// Between attempts the hand is put down for so long.
const REST: Duration = Duration::from_millis(1_500);

/// More attempts than it can take: two chunks and their join, twice in a row each, and some to
/// spare.
const MOST: usize = 16;

fn play(pickup: &mut MidiOutputConnection, played: &Performance) {
    let mut messages: Vec<(i32, [u8; 3])> = Vec::new();
    for note in played.notes() {
        let channel = note.string.map_or(0, |string| string.number() - 1);
        let (at, pitch) = (note.at.as_micros(), note.pitch.number());
        messages.push((at, [0x90 + channel, pitch, note.velocity.value()]));
        messages.push((at + note.lasts.as_micros(), [0x80 + channel, pitch, 64]));
    }
    messages.sort_by_key(|(at, _)| *at);
    let first = messages.first().map_or(0, |(at, _)| *at);
    let begun = Instant::now();
    for (at, message) in messages {
        let due = u64::try_from(at - first).expect("in order");
        wait_until(begun, Duration::from_micros(due));
        pickup.send(&message).expect("the port is there");
    }
}

#[test]
fn a_sitting_goes_by_without_a_hand_on_the_keyboard() {
    let _server = Server::start(0);
    let folder = Folder::new();
    let mut pickup = plug_in();
    let study = folder.write("two.study", STUDY);
    let data = folder.path("data");
    let plan = {
        let study = evenhand::study::parse(STUDY).expect("a study");
        Plan::new(&study, &Settings::default()).expect("a plan")
    };
    let words = [
        "practice",
        &study,
        "--port",
        "STRINGS",
        "--channels",
        "string",
        "--free",
        "--sound",
        "none",
        "--data",
        &data,
    ];
    let practice = Listening::start(&mut program(&folder, &words));
    let mut pieces = Vec::new();
    loop {
        let (_, step) = practice.next("step");
        let Some(task) = task(&step) else {
            assert_eq!(step["reason"], "all-at-goal", "{step}");
            break;
        };
        assert!(pieces.len() < MOST, "{pieces:?}");
        pieces.push(task.piece);
        sleep(REST);
        let music = plan.music(task).expect("music for the task");
        let seed = pieces.len() as u64;
        play(&mut pickup, &perform(&music.chunk(), task.tempo, Skill::SKILLED, &[], seed));
    }
    practice.end();
    println!("{} attempts through a JACK port: {pieces:?}", pieces.len());
    for piece in [Piece::Chunk(0), Piece::Chunk(1), Piece::Join { first: 0, seam: 0, last: 1 }] {
        assert!(pieces.contains(&piece), "no {piece:?} in {pieces:?}");
    }
    let kept = evenhand(&["history", "--data", &data, "--events"]);
    let kept = kept.done().events();
    let attempts = kept.iter().filter(|event| event["kind"] == "kept-attempt").count();
    assert_eq!(attempts, pieces.len());
}
