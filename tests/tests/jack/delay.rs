//! Where the time between the last note and the verdict goes: waiting by design, the way through
//! the server, the log, and what is left, which is the program's own.

use super::{listen_with, play, plug_in, server::Server};
use evenhand_tests::live::{Listening, SMALL, due_after_last_note, eight_steps};
use evenhand_tests::run::Folder;
use midir::{MidiInput, MidiOutputConnection};
use std::sync::mpsc::{Receiver, channel};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Attempts of each kind.
const ATTEMPTS: usize = 5;

/// What nobody who waits for the word notices; a machine under load has room in it. Our default.
const MOST: f64 = 100.0;

/// Listens to the pickup beside the program: when a message has come through the server.
fn witness() -> (midir::MidiInputConnection<()>, Receiver<Instant>) {
    let input = MidiInput::new("witness").unwrap();
    let ports = input.ports();
    let named = |name: &str| name.contains("six strings:pickup");
    let port = ports.iter().find(|port| input.port_name(port).is_ok_and(|name| named(&name)));
    let (to, came) = channel();
    let take = move |_: u64, message: &[u8], (): &mut ()| {
        if message[0] & 0xf0 == 0x90 {
            let _ = to.send(Instant::now());
        }
    };
    (input.connect(port.unwrap(), "ear", take, ()).unwrap(), came)
}

fn millis(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// For each attempt how long its last note was on the way, and how long after it had come and had
/// been waited for the verdict came.
fn delays(
    listening: &Listening,
    pickup: &mut MidiOutputConnection,
    came: &Receiver<Instant>,
    due: Duration,
) -> Vec<(f64, f64)> {
    let mut delays = Vec::new();
    for _ in 0..ATTEMPTS {
        let sent = play(pickup, 8);
        let (_, at, _) = listening.until("verdict");
        let arrived = came.try_iter().last().expect("the witness hears it, too");
        let late = at.saturating_duration_since(arrived).saturating_sub(due);
        delays.push((millis(arrived.duration_since(sent)), millis(late)));
        sleep(Duration::from_millis(500));
    }
    delays
}

#[test]
fn what_the_verdict_waits_for() {
    let _server = Server::start(0);
    let folder = Folder::new();
    let mut pickup = plug_in();
    let due = due_after_last_note(SMALL, 120, &eight_steps());
    let (_witness, came) = witness();
    let measured = [&[][..], &["--no-log"][..]].map(|more| {
        let listening = listen_with(&folder, more);
        let delays = delays(&listening, &mut pickup, &came, due);
        listening.end();
        let way = delays.iter().map(|(way, _)| *way);
        let late = delays.iter().map(|(_, late)| *late);
        (median(way.collect()), median(late.collect()))
    });
    let [(way, logged), (_, own)] = measured;
    println!(
        "from the last note to its verdict: {} ms are waited by design, {way:.1} ms it is on its way \
         through the server, {:.1} ms the log takes to be on the disk, {own:.1} ms are the \
         program's own (medians of {ATTEMPTS})",
        due.as_millis(),
        (logged - own).max(0.0)
    );
    assert!(own < MOST && logged < MOST, "{own} ms, {logged} ms with the log");
}
