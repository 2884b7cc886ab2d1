//! `evenhand pedal`: talks to a pedal on a cable.

mod list;
mod load;
mod remove;
mod results;

use crate::args::{CableArgs, OutputArgs, PedalAction, PedalArgs};
use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::pedal::{self, LinkError, Patience, Pedal, Pipe, WhoItIs};
use evenhand_core::link::{Refusal, Stopped, Troubles};
use jiff::Timestamp;
use serde::Serialize;
use std::io::{self, ErrorKind};

/// Runs the command.
pub fn run(args: &PedalArgs) -> Result<Exit, Fault> {
    match &args.action {
        PedalAction::List(cable) => list::run(cable),
        PedalAction::Load { study, cable } => load::run(study, cable),
        PedalAction::Results { keep, who, cable } => results::run(*keep, who.as_deref(), cable),
        PedalAction::Remove { title, cable } => remove::run(title, cable),
    }
}

/// A pedal, in the event stream; see `docs/events.md`.
#[derive(Serialize)]
struct PedalRecord<'a> {
    kind: &'static str,
    board: &'a str,
    firmware: &'a str,
    device: String,
    memory: u32,
    free: u32,
    studies: u16,
    results: u32,
    /// Asked by `pedal list` only, and of firmware that knows.
    #[serde(flatten)]
    troubles: Option<TroublesRecord>,
}

/// What has gone wrong with a pedal since it was switched on.
#[derive(Serialize)]
struct TroublesRecord {
    lost: u32,
    stopped: Option<&'static str>,
}

impl TroublesRecord {
    const fn of(troubles: Troubles) -> Self {
        let stopped = match troubles.stopped {
            Stopped::Not => None,
            Stopped::Hung => Some("hung"),
            Stopped::Panicked => Some("panicked"),
            Stopped::Faulted => Some("faulted"),
            Stopped::Unknown => Some("unknown"),
        };
        Self { lost: troubles.lost, stopped }
    }
}

impl<'a> PedalRecord<'a> {
    fn of(who: &'a WhoItIs) -> Self {
        Self {
            kind: "pedal",
            board: &who.board,
            firmware: &who.firmware,
            device: format!("{:016x}", who.device),
            memory: who.memory,
            free: who.free,
            studies: who.packs,
            results: who.next.saturating_sub(who.oldest),
            troubles: None,
        }
    }
}

fn output(cable: &CableArgs) -> Result<Output, Fault> {
    Output::new(&OutputArgs { events: cable.events, plain: false, exit_by_verdict: false })
}

/// Greets the pedal, and tells it the time, so that it can date what is practised from here on.
fn greet(cable: &CableArgs) -> Result<(Pedal<impl Pipe + use<>>, WhoItIs), Fault> {
    let pipe = pedal::open(&cable.device).map_err(|error| not_opened(cable, &error))?;
    let now = Timestamp::now();
    // Another session each time, even within a second.
    let session = (now.as_microsecond() as u32) ^ std::process::id().rotate_left(16);
    let greeted = Pedal::greet(pipe, session, Patience::default());
    let (mut pedal, who) = greeted.map_err(|trouble| fault(cable, &trouble))?;
    if let Ok(seconds) = u32::try_from(now.as_second()) {
        pedal.set_clock(seconds).map_err(|trouble| fault(cable, &trouble))?;
    }
    Ok((pedal, who))
}

fn not_opened(cable: &CableArgs, error: &io::Error) -> Fault {
    let name = cable.device.display();
    Fault::new(Exit::Pedal, format!("cannot open {name}: {error}")).advise(match error.kind() {
        ErrorKind::NotFound => "Check the name, and that the pedal is plugged in and switched on.",
        ErrorKind::PermissionDenied => {
            "Serial devices usually ask for membership of a group such as dialout."
        }
        _ => "Is it a serial device, and does nothing else use it?",
    })
}

fn fault(cable: &CableArgs, trouble: &LinkError) -> Fault {
    let name = cable.device.display();
    let advice = match trouble {
        LinkError::NoAnswer => {
            "Check that the pedal is switched on, that this is its device and not another's, and \
             that its firmware knows the link."
        }
        LinkError::Broke(_) => {
            "Check the cable and give the same command again; nothing is lost, and a study goes \
             on where it stopped."
        }
        LinkError::Echo => "Is this the pedal's device? Something there sends back what it gets.",
        LinkError::OtherVersion(version) if *version > evenhand_core::link::LINK_VERSION => {
            "Use a newer version of this program."
        }
        LinkError::OtherVersion(_) | LinkError::Refused(Refusal::TooNew) => {
            "Put newer firmware on the pedal."
        }
        LinkError::Odd | LinkError::Stuck | LinkError::Endless => {
            "Is this the pedal's device? If it is, switch it off and on."
        }
        LinkError::Refused(refusal) => match refusal {
            Refusal::NoRoom => "Remove a study with `evenhand pedal remove`, or fetch the results.",
            Refusal::InUse => "Choose another study on the pedal first.",
            Refusal::NoSuchPack => "`evenhand pedal list` shows what it has.",
            Refusal::Damaged => {
                "Give the same command again; if that does not help, try another cable."
            }
            Refusal::Memory => {
                "Switch the pedal off and on; if that does not help, its flash is worn."
            }
            _ => "Switch the pedal off and on, and give the same command again.",
        },
    };
    Fault::new(Exit::Pedal, format!("{name}: {trouble}")).advise(advice)
}
