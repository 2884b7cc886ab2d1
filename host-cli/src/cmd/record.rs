//! `evenhand record`: keeps what comes in as a recording.

use crate::args::{OutputArgs, RecordArgs};
use crate::fault::{Exit, Fault};
use crate::live::SourceEvent;
use crate::output::{Output, warn};
use crate::say;
use crate::sitting::connection;
use crate::sitting::live_loop::begun;
use crate::sitting::recorder::Recorder;
use crate::stop;
use crate::study::pitch_name;
use evenhand_core::units::{Instant, Offset};
use evenhand_core::wire::Wire;
use std::io::Write;
use std::sync::mpsc::RecvTimeoutError;

/// Runs the command.
pub fn run(args: &RecordArgs) -> Result<Exit, Fault> {
    stop::listen_for_it();
    Recorder::check(&args.file, args.replace)?;
    let source = connection::open(&args.source)?;
    let mut recorder = Recorder::begin(&args.file, args.replace)?;
    let mut output =
        Output::new(&OutputArgs { events: false, plain: false, exit_by_verdict: false })?;
    output.say(&format!("Recording {}.", source.name))?;
    let mut broke = None;
    let mut heard = HeardLine::new();
    while !stop::is_asked() {
        // By this computer's clock, which is not that of a stream that tells the time.
        let due = source.started().and_then(|_| recorder.due_in());
        match source.next_due(due) {
            Ok(SourceEvent::Bytes { bytes, at }) => {
                heard.hear(&bytes, at);
                recorder.hear(&bytes, at)?;
            }
            Ok(SourceEvent::Changed(change)) => {
                heard.leave();
                warn(&connection::words(change, &source, false));
            }
            Ok(SourceEvent::Broke(error)) => broke = Some(error),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => break,
        }
        recorder.keep();
    }
    heard.leave();
    let ended = recorder.end();
    if let Some(error) = broke {
        let what = match ended {
            Ok(()) => "what came has been recorded.".to_owned(),
            Err(fault) => fault.to_string(),
        };
        return Err(Fault::new(Exit::Live, format!("{} broke off: {error}", source.name))
            .advise(format!("Check the cable, and start again; {what}")));
    }
    ended?;
    let messages = recorder.messages();
    output.say(&format!("{}: {messages} messages.", recorder.files()))?;
    Ok(Exit::Done)
}

/// The note that is shown is another one so often at most. Our default: nobody reads faster.
const NOTES_APART: Offset = Offset::from_millis(100);

/// On a terminal, the last note in a line of its own, which stays where it is: that something is heard. Elsewhere
/// nothing.
struct HeardLine {
    is_seen: bool,
    wire: Wire,
    shown: String,
    at: Instant,
}

impl HeardLine {
    fn new() -> Self {
        let mut line = Self {
            is_seen: say::is_seen(),
            wire: Wire::new(),
            shown: String::new(),
            at: Instant::ZERO,
        };
        line.show("hears nothing yet".to_owned());
        line
    }

    fn hear(&mut self, bytes: &[u8], at: Instant) {
        let mut note = None;
        for &byte in bytes {
            note = self.wire.push(byte).and_then(|message| begun(&message)).or(note);
        }
        if let Some(note) = note
            && (at >= self.at.plus(NOTES_APART) || self.at == Instant::ZERO)
        {
            self.at = at;
            self.show(format!("hears {}", pitch_name(note)));
        }
    }

    fn show(&mut self, now: String) {
        if !self.is_seen || now == self.shown {
            return;
        }
        let wide = self.shown.len();
        // A terminal that cannot be written to is no reason not to record.
        let mut out = say::out().lock();
        let _ = write!(out, "\r{now:<wide$}").and_then(|()| out.flush());
        self.shown = now;
    }

    /// Something else is written below it.
    fn leave(&mut self) {
        if self.is_seen && !self.shown.is_empty() {
            let _ = writeln!(say::out().lock());
            self.shown.clear();
        }
    }
}
