//! `evenhand record`: keeps what comes in as a recording.

use crate::args::{OutputArgs, RecordArgs};
use crate::fault::{Exit, Fault};
use crate::live::SourceEvent;
use crate::output::{Output, warn};
use crate::sitting::connection;
use crate::sitting::recorder::Recorder;
use crate::stop;
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
    while !stop::is_asked() {
        // By this computer's clock, which is not that of a stream that tells the time.
        let due = source.started().and_then(|_| recorder.due_in());
        match source.next_due(due) {
            Ok(SourceEvent::Bytes { bytes, at }) => recorder.hear(&bytes, at)?,
            Ok(SourceEvent::Changed(change)) => {
                warn(&connection::words(change, &source.name, false));
            }
            Ok(SourceEvent::Broke(error)) => broke = Some(error),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => break,
        }
        recorder.keep();
    }
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
