//! The program listening, with the time of each line that it writes and what it costs.

use evenhand::channels::ChannelChoice;
use evenhand::listening::Listener;
use evenhand::smf::Timed;
use evenhand::study::parse;
use evenhand_core::pickup::Pickup;
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::units::{Instant as Point, Tempo};
use serde_json::Value;
use std::io::{BufRead, BufReader, Read};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};

/// No line takes longer than this to come. Our default.
const PATIENCE: Duration = Duration::from_secs(30);

/// A running `evenhand listen --events`.
#[derive(Debug)]
pub struct Listening {
    child: Child,
    lines: Receiver<(Instant, Value)>,
}

impl Listening {
    /// Starts this command, which is to be a `listen`, and waits until it listens.
    ///
    /// # Panics
    /// If it does not.
    pub fn start(command: &mut Command) -> Self {
        command.arg("--events").stdin(Stdio::null()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let out = BufReader::new(child.stdout.take().expect("it is piped"));
        let (sender, lines) = channel();
        thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                let event = serde_json::from_str(&line).expect("events are JSON");
                if sender.send((Instant::now(), event)).is_err() {
                    return;
                }
            }
        });
        let listening = Self { child, lines };
        let (_, first) = listening.next("stream");
        assert_eq!(first["kind"], "stream");
        listening
    }

    /// The next line of this kind, and when it came. Others are passed over.
    ///
    /// # Panics
    /// If none comes.
    pub fn next(&self, kind: &str) -> (Instant, Value) {
        let (_, at, event) = self.until(kind);
        (at, event)
    }

    /// The same with the lines that were passed over.
    ///
    /// # Panics
    /// If none comes.
    pub fn until(&self, kind: &str) -> (Vec<Value>, Instant, Value) {
        let mut passed = Vec::new();
        loop {
            match self.lines.recv_timeout(PATIENCE) {
                Ok((at, event)) if event["kind"] == kind => return (passed, at, event),
                Ok((_, event)) => passed.push(event),
                Err(error) => panic!("no `{kind}` ({error}) after {passed:#?}"),
            }
        }
    }

    /// Ends it, and gives what it wrote to standard error.
    ///
    /// # Panics
    /// If it cannot be ended.
    pub fn end(mut self) -> String {
        let mut said = String::new();
        let mut err = self.child.stderr.take().expect("it is piped");
        self.child.kill().expect("it can be ended");
        self.child.wait().expect("it was started");
        err.read_to_string(&mut said).expect("what is written is UTF-8");
        said
    }

    /// User and system time so far, to a hundredth of a second.
    ///
    /// # Panics
    /// If the system does not tell.
    pub fn used(&self) -> Duration {
        // Linux counts in hundredths of a second there, on every machine of today (USER_HZ).
        Duration::from_millis(self.ticks() * 10)
    }

    /// What it used of a core in this time, in per mille of one, and how often it woke up in a
    /// second.
    ///
    /// # Panics
    /// If the system does not tell.
    pub fn load_over(&self, time: Duration) -> (f64, f64) {
        let begin = (self.used(), self.wakings());
        let begun = Instant::now();
        thread::sleep(time);
        let seconds = begun.elapsed().as_secs_f64();
        let (used, wakings) = (self.used() - begin.0, self.wakings() - begin.1);
        (used.as_secs_f64() / seconds * 1_000.0, wakings as f64 / seconds)
    }

    /// Fields 14 and 15 of proc_pid_stat(5).
    fn ticks(&self) -> u64 {
        let stat =
            std::fs::read_to_string(format!("/proc/{}/stat", self.child.id())).expect("it runs");
        let (_, after_name) = stat.rsplit_once(')').expect("a name in brackets");
        let fields: Vec<&str> = after_name.split_whitespace().collect();
        let field = |number: usize| fields[number - 3].parse::<u64>().expect("a number");
        field(14) + field(15)
    }

    /// Voluntary switches of all threads: each is one waking.
    fn wakings(&self) -> u64 {
        let threads =
            std::fs::read_dir(format!("/proc/{}/task", self.child.id())).expect("it runs");
        let of = |folder: std::path::PathBuf| {
            let status = std::fs::read_to_string(folder.join("status")).unwrap_or_default();
            let line =
                status.lines().find_map(|line| line.strip_prefix("voluntary_ctxt_switches:"));
            line.map_or(0, |number| number.trim().parse::<u64>().expect("a number"))
        };
        threads.flatten().map(|thread| of(thread.path())).sum()
    }
}

impl Drop for Listening {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// How long after the last note-on the verdict is due: what the judge waits for by design, with
/// nothing on the way.
///
/// # Panics
/// If these messages are no attempt.
pub fn due_after_last_note(study: &str, beats: u32, messages: &[Timed]) -> Duration {
    let mut chunks = parse(study).and_then(|study| study.prepare()).expect("a study");
    for chunk in &mut chunks {
        let tempo = Tempo::from_beats_per_minute(beats, chunk.metre.beat());
        chunk.tempo = tempo.expect("a tempo");
    }
    let mut pickup = Pickup::UNKNOWN;
    pickup.channels = ChannelChoice::String.live();
    let mut listener =
        Listener::new(&chunks, SessionConfig { pickup, click: None, ends: Ends::ByItself });
    let last = messages.iter().rfind(|message| message.begins.is_some()).expect("a note").at;
    let mut messages = messages.iter().peekable();
    let over = loop {
        let due = listener.poll_at();
        // The verdict may be due before the last note is let go.
        match messages.next_if(|message| due.is_none_or(|due| message.at <= due)) {
            Some(message) => {
                assert!(listener.poll(message.at).is_none(), "that is more than one attempt");
                listener.feed(&message.bytes, message.at, message.begins.is_some());
            }
            None => {
                let due = due.expect("an attempt is under way");
                if listener.poll(due).is_some() {
                    break due;
                }
            }
        }
    };
    Duration::from_micros(over.as_micros() - last.as_micros())
}

/// Sleeps until this long after `start`, to well under a millisecond.
pub fn wait_until(start: Instant, due: Duration) {
    thread::sleep(due.saturating_sub(start.elapsed()));
}

/// The messages of an attempt at `fixtures/studies/small.study` (the octave of G in eighths) at
/// 120 beats a minute, a channel per string, steady, with a little life in its loudness.
pub fn eight_steps() -> Vec<Timed> {
    // String (from 1) and pitch, as the study has them.
    const NOTES: [(u8, u8); 8] =
        [(6, 43), (5, 45), (5, 47), (5, 48), (4, 50), (4, 52), (4, 54), (3, 55)];
    let mut messages = Vec::new();
    for (index, (string, pitch)) in (0_u64..).zip(NOTES) {
        let (on, off) = (index * 250_000, index * 250_000 + 240_000);
        let velocity = 80 + (index % 3) as u8;
        messages.push(Timed {
            at: Point::from_micros(on),
            bytes: vec![0x8f + string, pitch, velocity],
            begins: Some((string - 1, pitch)),
        });
        let bytes = vec![0x7f + string, pitch, 64];
        messages.push(Timed { at: Point::from_micros(off), bytes, begins: None });
    }
    messages
}

/// The study that [`eight_steps`] plays.
pub const SMALL: &str = include_str!("../../fixtures/studies/small.study");
