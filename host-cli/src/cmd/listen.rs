//! `evenhand listen`: judges a live stream, attempt by attempt.

use super::output::Output;
use super::recorder::Recorder;
use super::sitting::{About, Sitting};
use super::{line, studies};
use crate::args::ListenArgs;
use crate::channels::ChannelChoice;
use crate::fault::{Exit, Fault};
use crate::listening::Listener;
use crate::live::{self, Heard, Source};
use crate::stop;
use evenhand_core::pickup::Channels;
use evenhand_core::session::{Ends, Hearing};
use evenhand_core::wire::Wire;
use std::path::Path;
use std::sync::mpsc::RecvTimeoutError;
use wmidi::MidiMessage;

/// Runs the command.
pub fn run(args: &ListenArgs) -> Result<Exit, Fault> {
    stop::listen_for_it();
    let (chunks, study) = studies::read_whole(&args.study)?;
    let mut chunks = studies::choose(chunks, args.chunk.as_deref())?;
    studies::adjust(&mut chunks, &args.hearing)?;
    let mut pickup = studies::pickup(&args.hearing)?;
    if args.hearing.channels != ChannelChoice::Auto {
        pickup.channels = args.hearing.channels.live();
    }
    let hearing = Hearing { pickup, click: None, ends: Ends::ByItself };
    if let Some(path) = &args.record {
        Recorder::check(path, false)?;
    }
    #[cfg(feature = "live")]
    let source = open(args.raw.as_deref(), args.port.as_deref())?;
    #[cfg(not(feature = "live"))]
    let source = open(args.raw.as_deref(), None)?;
    let recorder = args.record.as_deref().map(|path| Recorder::begin(path, false));
    let mut recorder = recorder.transpose()?;
    let mut output = Output::new(&args.output)?;
    line::say_what_is_heard(&source, &mut output)?;
    let about = About {
        who: args.who.as_deref(),
        hearing: &args.hearing,
        log: &args.log,
        no_log: args.no_log,
    };
    let mut sitting = Sitting::begin(&about, study, &source.name, &mut output)?;
    let listener = Listener::new(&chunks, hearing);
    let heard = listen(listener, &source, &mut sitting, recorder.as_mut(), &mut output);
    let ended = sitting.end(&mut output);
    let recorded = recorder.as_mut().map_or(Ok(()), Recorder::end);
    heard.and(ended).and(recorded)?;
    Ok(output.exit())
}

/// Listens until the stream ends, or the user has enough.
fn listen(
    mut listener: Listener<'_>,
    source: &Source,
    sitting: &mut Sitting,
    mut recorder: Option<&mut Recorder>,
    output: &mut Output,
) -> Result<(), Fault> {
    let mut wire = Wire::new();
    let mut known = listener.channels();
    while !stop::is_asked() {
        let until = listener.poll_at().map(|at| source.until(at));
        let recording = recorder.as_ref().and_then(|recorder| recorder.due_in());
        let due = [until, recording, sitting.due_in()].into_iter().flatten().min();
        let heard = source.next(due.unwrap_or(stop::LOOK).min(stop::LOOK));
        // What was due before these bytes came is over before them.
        let now = match &heard {
            Ok(Heard::Bytes { at, .. }) => *at,
            _ => source.now(),
        };
        while let Some(finished) = listener.poll(now) {
            sitting.attempt(&finished, source, output)?;
        }
        match heard {
            Ok(Heard::Bytes { bytes, at }) => {
                if let Some(recorder) = &mut recorder {
                    recorder.hear(&bytes, at)?;
                }
                for byte in bytes {
                    let begins = wire.push(byte).is_some_and(|message| {
                        matches!(message, MidiMessage::NoteOn(_, _, velocity) if u8::from(velocity) > 0)
                    });
                    while let Some(finished) = listener.poll(at) {
                        sitting.attempt(&finished, source, output)?;
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
                line::changed(change, &mut listener, output, source)?;
                // What was over, and only waited for what cannot come any more.
                while let Some(finished) = listener.poll(now) {
                    sitting.attempt(&finished, source, output)?;
                }
            }
            Ok(Heard::Broke(error)) => {
                report_rest(&mut listener, sitting, source, output)?;
                return Err(Fault::new(Exit::Live, format!("{} broke off: {error}", source.name))
                    .advise("Check the cable, and start again; what was heard has been judged."));
            }
            Err(RecvTimeoutError::Timeout) => sitting.go_on(output)?,
            Err(RecvTimeoutError::Disconnected) => break,
        }
        if let Some(recorder) = &mut recorder {
            recorder.keep();
        }
        if output.is_closed() {
            return Ok(());
        }
    }
    report_rest(&mut listener, sitting, source, output)?;
    if sitting.attempts() == 0 {
        output.nothing(&source.name, listener.note_ons())?;
    }
    Ok(())
}

fn report_rest(
    listener: &mut Listener<'_>,
    sitting: &mut Sitting,
    source: &Source,
    output: &mut Output,
) -> Result<(), Fault> {
    while let Some(finished) = listener.finish() {
        sitting.attempt(&finished, source, output)?;
    }
    Ok(())
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

/// Opens what is to be listened to.
#[cfg(not(feature = "live"))]
pub(super) fn open(raw: Option<&Path>, _port: Option<&str>) -> Result<Source, Fault> {
    match raw {
        Some(path) => live::raw(path),
        None => Err(Fault::new(Exit::Usage, "nothing to listen to: use --raw PATH")),
    }
}

/// Opens what is to be listened to.
#[cfg(feature = "live")]
pub(super) fn open(raw: Option<&Path>, port: Option<&str>) -> Result<Source, Fault> {
    match raw {
        Some(path) => live::raw(path),
        None => line::open(port),
    }
}
