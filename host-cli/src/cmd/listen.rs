//! `evenhand listen`: judges a live stream, attempt by attempt.

use super::output::Output;
use super::{line, studies};
use crate::args::ListenArgs;
use crate::channels::ChannelChoice;
use crate::fault::{Exit, Fault};
use crate::listening::Listener;
use crate::live::{self, Heard, Source};
use evenhand_core::pickup::Channels;
use evenhand_core::session::{Ends, Hearing};
use evenhand_core::wire::Wire;
use std::sync::mpsc::RecvTimeoutError;
use std::time::Duration;
use wmidi::MidiMessage;

/// How long to wait for bytes when no attempt is under way.
const IDLE: Duration = Duration::from_secs(3_600);

/// Runs the command.
pub fn run(args: &ListenArgs) -> Result<Exit, Fault> {
    let mut chunks = studies::choose(studies::read(&args.study)?, args.chunk.as_deref())?;
    studies::adjust(&mut chunks, &args.hearing)?;
    let mut pickup = studies::pickup(&args.hearing)?;
    if args.hearing.channels != ChannelChoice::Auto {
        pickup.channels = args.hearing.channels.live();
    }
    let hearing = Hearing { pickup, click: None, ends: Ends::ByItself };
    let mut known = pickup.channels;
    let source = open(args)?;
    let mut output = Output::new(&args.output)?;
    line::say_what_is_heard(&source, &mut output)?;
    let mut listener = Listener::new(&chunks, hearing);
    let mut wire = Wire::new();
    let mut attempts = 0;
    loop {
        let wait = listener.poll_at().map_or(IDLE, |at| source.until(at));
        let heard = source.next(wait);
        // What was due before these bytes came is over before them.
        let now = match &heard {
            Ok(Heard::Bytes { at, .. }) => *at,
            _ => source.now(),
        };
        while let Some(finished) = listener.poll(now) {
            attempts += 1;
            output.attempt(&finished, &source.name)?;
        }
        match heard {
            Ok(Heard::Bytes { bytes, at }) => {
                for byte in bytes {
                    let begins = wire.push(byte).is_some_and(|message| {
                        matches!(message, MidiMessage::NoteOn(_, _, velocity) if u8::from(velocity) > 0)
                    });
                    while let Some(finished) = listener.poll(at) {
                        attempts += 1;
                        output.attempt(&finished, &source.name)?;
                    }
                    listener.feed(&[byte], at, begins);
                }
                let found = listener.channels();
                if found != known {
                    known = found;
                    output.say(&format!("{}\n", heard_on(found)))?;
                }
            }
            Ok(Heard::Changed(change)) => {
                wire.interrupt();
                line::changed(change, &mut listener, &mut output, &source)?;
                // What was over, and only waited for what cannot come any more.
                while let Some(finished) = listener.poll(now) {
                    attempts += 1;
                    output.attempt(&finished, &source.name)?;
                }
            }
            Ok(Heard::Broke(error)) => {
                report_rest(&mut listener, &mut output, &source.name)?;
                return Err(Fault::new(Exit::Live, format!("{} broke off: {error}", source.name))
                    .advise("Check the cable, and start again; what was heard has been judged."));
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => break,
        }
        if output.is_closed() {
            return Ok(output.exit());
        }
    }
    attempts += report_rest(&mut listener, &mut output, &source.name)?;
    if attempts == 0 {
        output.nothing(&source.name, listener.note_ons())?;
    }
    Ok(output.exit())
}

fn report_rest(
    listener: &mut Listener<'_>,
    output: &mut Output,
    source: &str,
) -> Result<u32, Fault> {
    let mut attempts = 0;
    while let Some(finished) = listener.finish() {
        attempts += 1;
        output.attempt(&finished, source)?;
    }
    Ok(attempts)
}

/// What was found out about the channels, for people.
fn heard_on(channels: Channels) -> String {
    match channels {
        Channels::Auto => "It is open again which string is on which channel.".to_owned(),
        Channels::One => {
            "All strings are heard as one: the channels do not tell them apart.".to_owned()
        }
        Channels::Zone => "An MPE zone: the channels do not tell the strings apart.".to_owned(),
        Channels::PerString { first } => format!(
            "A channel per string is heard: string 1 on channel {}, and so on.",
            u32::from(first) + 1
        ),
    }
}

#[cfg(not(feature = "live"))]
fn open(args: &ListenArgs) -> Result<Source, Fault> {
    match &args.raw {
        Some(path) => live::raw(path),
        None => Err(Fault::new(Exit::Usage, "nothing to listen to: use --raw PATH")),
    }
}

#[cfg(feature = "live")]
fn open(args: &ListenArgs) -> Result<Source, Fault> {
    match &args.raw {
        Some(path) => live::raw(path),
        None => line::open(args.port.as_deref()),
    }
}
