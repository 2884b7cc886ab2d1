//! A player at the end of a pipe that tells its own time: half an hour of practice goes by in
//! seconds, and the same way each time.

use evenhand_core::player::Sounded;
use evenhand_core::practice::{Piece, PracticeVariant, Side, Spot, Task};
use evenhand_core::units::Tempo;
use serde_json::Value;
use std::fmt::Write as _;
use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

/// No answer takes longer than this. Our default.
const PATIENCE: Duration = Duration::from_secs(30);

/// A running command that is given `--timed -` and `--events`.
#[derive(Debug)]
pub struct Told {
    child: Child,
    to: ChildStdin,
    events: Receiver<Value>,
    /// The time that has been told, in microseconds.
    pub now: u64,
}

impl Told {
    /// Starts it.
    ///
    /// # Panics
    /// If it does not start.
    pub fn start(command: &mut Command) -> Self {
        command.args(["--timed", "-", "--events"]).stdin(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let to = child.stdin.take().expect("it is piped");
        let out = BufReader::new(child.stdout.take().expect("it is piped"));
        let (sender, events) = channel();
        thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                let event = serde_json::from_str(&line).expect("events are JSON");
                if sender.send(event).is_err() {
                    return;
                }
            }
        });
        Self { child, to, events, now: 0 }
    }

    /// Lets time pass.
    ///
    /// # Panics
    /// If the program does not listen any more.
    pub fn wait(&mut self, micros: u64) {
        self.now += micros;
        writeln!(self.to, "{}", self.now).expect("the program listens");
    }

    /// Plays, on one channel, and puts the hand down for `rest` microseconds after it.
    ///
    /// # Panics
    /// If the program does not listen any more.
    pub fn play(&mut self, notes: &[Sounded], rest: u64) {
        // A note may come a little before its written time.
        let mut lines = lines(self.now + 200_000, notes);
        self.now = lines
            .lines()
            .last()
            .and_then(|line| line.split(' ').next()?.parse().ok())
            .unwrap_or(self.now)
            + rest;
        let _ = writeln!(lines, "{}", self.now);
        self.to.write_all(lines.as_bytes()).expect("the program listens");
        self.to.flush().expect("the program listens");
    }

    /// Sends these bytes now.
    ///
    /// # Panics
    /// If the program does not listen any more.
    pub fn send(&mut self, bytes: &[u8]) {
        let words: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        writeln!(self.to, "{} {}", self.now, words.join(" ")).expect("the program listens");
    }

    /// The events up to the next of this kind; none if the stream ends before it.
    ///
    /// # Panics
    /// If it does not come.
    pub fn until(&self, kind: &str) -> Option<Vec<Value>> {
        let mut events = Vec::new();
        loop {
            match self.events.recv_timeout(PATIENCE) {
                Ok(event) => {
                    let found = event["kind"] == kind;
                    events.push(event);
                    if found {
                        return Some(events);
                    }
                }
                Err(RecvTimeoutError::Disconnected) => return None,
                Err(RecvTimeoutError::Timeout) => panic!("no {kind} came after {events:?}"),
            }
        }
    }

    /// Ends the stream: what is left of the events, and what was complained of.
    ///
    /// # Panics
    /// If it does not end well.
    pub fn end(mut self) -> (Vec<Value>, String) {
        drop(self.to);
        let mut errors = String::new();
        if let Some(mut pipe) = self.child.stderr.take() {
            pipe.read_to_string(&mut errors).expect("errors are text");
        }
        let status = self.child.wait().expect("it was started");
        assert!(status.success(), "{status}: {errors}");
        (self.events.into_iter().collect(), errors)
    }
}

/// The lines that play these notes on one channel, from `start` microseconds on.
pub fn lines(start: u64, notes: &[Sounded]) -> String {
    let mut messages: Vec<(u64, [u8; 3])> = Vec::new();
    for note in notes {
        let at = start.saturating_add_signed(note.at.as_micros().into());
        let end = at + u64::from(note.lasts.as_micros().unsigned_abs());
        let pitch = note.pitch.number();
        messages.push((at, [0x90, pitch, note.velocity.value()]));
        messages.push((end, [0x80, pitch, 64]));
    }
    messages.sort_by_key(|(at, _)| *at);
    let mut lines = String::new();
    for (at, [status, pitch, velocity]) in &messages {
        let _ = writeln!(lines, "{at} {status:02x} {pitch:02x} {velocity:02x}");
    }
    lines
}

/// The task of a step; none where practice is over.
///
/// # Panics
/// If it is none that `docs/events.md` knows.
pub fn task(step: &Value) -> Option<Task> {
    let task = &step["task"];
    if task.is_null() {
        return None;
    }
    let number = |value: &Value| value.as_u64().and_then(|n| u8::try_from(n).ok());
    let piece = &task["piece"];
    let piece = if let Some(chunk) = number(&piece["chunk"]) {
        Piece::Chunk(chunk)
    } else if let Some(seam) = number(&piece["seam"]) {
        Piece::Seam(seam)
    } else if let Some(half) = piece["half"].as_array() {
        let side = if half[1] == "first" { Side::First } else { Side::Second };
        Piece::Half(number(&half[0]).expect("a chunk"), side)
    } else if piece["spot"].is_object() {
        let spot = &piece["spot"];
        let part = |name: &str| number(&spot[name]).expect("a spot");
        let half = match spot["half"].as_str() {
            Some("first") => Some(Side::First),
            Some(_) => Some(Side::Second),
            None => None,
        };
        let (first, last, from, to) = (part("first"), part("last"), part("from"), part("to"));
        Piece::Spot(Spot { first, last, half, from, to })
    } else {
        let part = |name: &str| number(&piece["join"][name]).expect("a join");
        Piece::Join { first: part("first"), seam: part("seam"), last: part("last") }
    };
    let way = match task["way"].as_str().expect("a way") {
        "as-written" => PracticeVariant::AsWritten,
        "long-short" => PracticeVariant::LongShort,
        "short-long" => PracticeVariant::ShortLong,
        "burst" => PracticeVariant::Burst,
        "accents" => PracticeVariant::Accents,
        other => panic!("no way: {other}"),
    };
    let tempo = task["tempo"].as_u64().and_then(|micros| u32::try_from(micros).ok());
    let tempo = tempo.and_then(Tempo::from_micros_per_quarter).expect("a tempo");
    Some(Task { piece, way, tempo })
}
