//! The line that is listened to: opened, and what is said when something happens to it.

use super::output::{Output, warn};
use crate::events::LineEvent;
use crate::fault::Fault;
use crate::listening::Listener;
use crate::live::{Change, Source};
#[cfg(feature = "live")]
use crate::{live, settings};

/// Opens a MIDI port: by name, which is remembered, or the one that is remembered, or the only
/// one that can be a pickup.
#[cfg(feature = "live")]
pub(super) fn open(wanted: Option<&str>) -> Result<Source, Fault> {
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

/// Says which port was taken; whoever named a file or device knows it.
pub(super) fn say_what_is_heard(source: &Source, output: &mut Output) -> Result<(), Fault> {
    if source.is_port() {
        output.say(&format!("Listening to “{}”.\n", source.name))
    } else {
        Ok(())
    }
}

/// Says what happened to the line, and ends the attempt under way where it would be judged by
/// notes that could not come.
pub(super) fn changed(
    change: Change,
    listener: &mut Listener<'_>,
    output: &mut Output,
    source: &Source,
) -> Result<(), Fault> {
    let (name, at_us) = (source.name.as_str(), source.now().as_micros());
    let attempt = match change {
        Change::Back => false,
        Change::Gone | Change::Lost(_) => listener.interrupt(),
    };
    let left = if attempt { " The attempt under way is not judged." } else { "" };
    warn(&words(change, name, left));
    match change {
        Change::Gone => output.record(&LineEvent::Interrupted {
            source: name,
            at_us,
            attempt_under_way: attempt,
        }),
        Change::Back => output.record(&LineEvent::Resumed { source: name, at_us }),
        Change::Lost(messages) => output.record(&LineEvent::Lost {
            source: name,
            at_us,
            messages,
            attempt_under_way: attempt,
        }),
    }
}

/// What happened to the line called `name`, with what `left` says of the attempt under way.
pub(super) fn words(change: Change, name: &str, left: &str) -> String {
    match change {
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
