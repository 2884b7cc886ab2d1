//! The line that is listened to: opened, and what is said when something happens to it.

use crate::args::{LiveArgs, SourceArgs};
use crate::events::LineEvent;
#[cfg(not(feature = "live"))]
use crate::fault::Exit;
use crate::fault::Fault;
use crate::live::{self, Change, Source};
use crate::output::Output;
#[cfg(feature = "live")]
use crate::output::warn;
#[cfg(feature = "live")]
use crate::settings;

/// Opens what is to be listened to.
pub(crate) fn open(args: &SourceArgs) -> Result<Source, Fault> {
    if let Some(path) = &args.timed {
        return live::told(path);
    }
    if let Some(path) = &args.raw {
        return live::raw(path);
    }
    port(args)
}

#[cfg(not(feature = "live"))]
fn port(_args: &SourceArgs) -> Result<Source, Fault> {
    Err(Fault::new(Exit::Usage, "nothing to listen to").advise("Use --raw PATH."))
}

/// Opens a MIDI port: by name, which is remembered, or the one that is remembered, or the only
/// one that can be a pickup.
#[cfg(feature = "live")]
fn port(args: &SourceArgs) -> Result<Source, Fault> {
    let wanted = args.port.as_deref();
    if wanted.is_some() {
        let source = live::port(wanted, None)?;
        // A port that cannot be remembered can still be listened to.
        if let Err(fault) = settings::remember_port(&source.name) {
            warn(&format!("the port is not remembered: {fault}"));
        }
        return Ok(source);
    }
    live::port(None, settings::remembered_port()?.as_deref())
}

/// Opens the input of a foot switch that is plugged in by itself: by name, which is remembered.
/// One that is only remembered and is not there does not matter much.
#[cfg(feature = "live")]
pub(crate) fn open_switch(args: &LiveArgs, guitar: &Source) -> Result<Option<Source>, Fault> {
    if let Some(wanted) = &args.switch_port {
        let source = live::port(Some(wanted), None)?;
        if let Err(fault) = settings::remember_switch_port(&source.name) {
            warn(&format!("the foot switch's port is not remembered: {fault}"));
        }
        return Ok(Some(source));
    }
    let Some(known) = settings::switch_port()?.filter(|known| *known != guitar.name) else {
        return Ok(None);
    };
    // Whoever pipes bytes in has no ports.
    if !guitar.is_port() {
        return Ok(None);
    }
    match live::port(Some(&known), None) {
        Ok(source) => Ok(Some(source)),
        Err(fault) => {
            warn(&format!("the foot switch at “{known}” is not heard: {}", fault.what));
            Ok(None)
        }
    }
}

/// There are no ports in this build.
#[cfg(not(feature = "live"))]
pub(crate) fn open_switch(_args: &LiveArgs, _guitar: &Source) -> Result<Option<Source>, Fault> {
    Ok(None)
}

/// Says which port was taken; whoever named a file or device knows it.
pub(crate) fn say_what_is_heard(source: &Source, output: &mut Output) -> Result<(), Fault> {
    if source.is_port() {
        output.say(&format!("Listening to “{}”.\n", source.name))
    } else {
        Ok(())
    }
}

/// Writes what happened to the line as an event.
pub(crate) fn record(
    change: Change,
    under_way: bool,
    output: &mut Output,
    source: &Source,
) -> Result<(), Fault> {
    let (name, at_us) = (source.name.as_str(), source.now().as_micros());
    match change {
        Change::Gone => output.record(&LineEvent::Interrupted {
            source: name,
            at_us,
            attempt_under_way: under_way,
        }),
        Change::Back => output.record(&LineEvent::Resumed { source: name, at_us }),
        Change::Lost(messages) => output.record(&LineEvent::Lost {
            source: name,
            at_us,
            messages,
            attempt_under_way: under_way,
        }),
    }
}

/// Writes that the pickup is heard so badly that nothing can be judged by it.
pub(crate) fn record_poor_hearing(output: &mut Output, source: &Source) -> Result<(), Fault> {
    let (name, at_us) = (source.name.as_str(), source.now().as_micros());
    output.record(&LineEvent::PoorHearing { source: name, at_us })
}

/// The same in words: what is wrong, and what helps.
pub(crate) const POOR_HEARING: &str = "More than a quarter of what the pickup sends is noise: nothing can be \
     judged by it. Turn its sensitivity or gain down, seat it close to the strings, damp those that \
     are not played.";

/// What happened to the line, in words.
pub(crate) fn words(change: Change, source: &Source, under_way: bool) -> String {
    let left = if under_way { " The attempt under way is not judged." } else { "" };
    let name = &source.name;
    match change {
        Change::Gone if source.is_pipe() => {
            format!("Nothing writes to “{name}” any more.{left} Waiting for it.")
        }
        Change::Back if source.is_pipe() => format!("“{name}” is written to again. Go on playing."),
        Change::Gone => {
            format!("“{name}” is away, unplugged or switched off.{left} Waiting for it.")
        }
        Change::Back => format!("“{name}” is back. Go on playing."),
        Change::Lost(messages) => {
            let number = match messages {
                Some(1) => "one message was".to_owned(),
                Some(number) => format!("{number} messages were"),
                None => "messages were".to_owned(),
            };
            format!("{number} lost: more came than this computer could take.{left}")
        }
    }
}
