//! The paths that users take, in one process: the same calls in the same order as the commands
//! make them. `tests/search.rs` compares a sample with the commands themselves.

use evenhand::channels::ChannelChoice;
use evenhand::listening::{Finished, Listener};
use evenhand::smf::{Recording, Timed, write};
use evenhand::stop;
use evenhand::study::Prepared;
use evenhand_core::pickup::Pickup;
use evenhand_core::session::{Ends, Hearing};
use evenhand_core::units::Instant;

use super::stream::{Lateness, Message, Stream, begins};

/// A command, and the pickup before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Path {
    /// The command.
    pub command: Command,
    /// How late notes come, which the judge does not know.
    pub lateness: Lateness,
}

/// A command.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Command {
    /// `listen STUDY --timed FILE`: any chunk of the study, several attempts.
    Listen,
    /// `judge STUDY RECORDING`: one recording.
    Judge,
}

impl Path {
    /// All paths, in the order of the table.
    pub const ALL: [Self; 4] = [
        Self { command: Command::Listen, lateness: Lateness::TwoPeriods },
        Self { command: Command::Listen, lateness: Lateness::None },
        Self { command: Command::Judge, lateness: Lateness::TwoPeriods },
        Self { command: Command::Judge, lateness: Lateness::None },
    ];

    /// Its name in the table.
    pub const fn name(self) -> &'static str {
        match (self.command, self.lateness) {
            (Command::Listen, Lateness::TwoPeriods) => "listen, late by two periods",
            (Command::Listen, Lateness::None) => "listen, never late",
            (Command::Judge, Lateness::TwoPeriods) => "judge, late by two periods",
            (Command::Judge, Lateness::None) => "judge, never late",
        }
    }

    /// Gives each attempt that is heard to `with`.
    pub fn hear<'a>(
        self,
        chunks: &'a [Prepared],
        stream: &Stream,
        with: &mut dyn FnMut(&Finished<'a>),
    ) {
        match self.command {
            Command::Listen => listen(chunks, stream, with),
            Command::Judge => judge(chunks, &recording(&stream.messages), with),
        }
    }
}

/// As `listen --timed` does: time goes on as the stream says, and whoever waits looks up at least
/// five times a second.
fn listen<'a>(chunks: &'a [Prepared], stream: &Stream, with: &mut dyn FnMut(&Finished<'a>)) {
    let pickup = Pickup { channels: ChannelChoice::Auto.live(), ..Pickup::UNKNOWN };
    let hearing = Hearing { pickup, click: None, ends: Ends::ByItself };
    let mut listener = Listener::new(chunks, hearing);
    let look = u64::try_from(stop::LOOK.as_micros()).expect("a fraction of a second");
    let mut now = 0_u64;
    let ticks = stream.until.map(|until| (until, None));
    let lines = stream.messages.iter().map(|(at, bytes)| (*at, Some(bytes))).chain(ticks);
    for (at, bytes) in lines {
        loop {
            let due = listener.poll_at().map(|due| due.as_micros().saturating_sub(now));
            let next = now + due.unwrap_or(look).min(look);
            now = if at > next { next } else { now.max(at) };
            while let Some(finished) = listener.poll(Instant::from_micros(now)) {
                with(&finished);
            }
            if at <= next {
                break;
            }
        }
        if let Some(bytes) = bytes {
            listener.feed(bytes, Instant::from_micros(now), begins(bytes));
        }
    }
    while let Some(finished) = listener.finish() {
        with(&finished);
    }
}

/// As `judge` does with a recording.
fn judge<'a>(chunks: &'a [Prepared], recording: &Recording, with: &mut dyn FnMut(&Finished<'a>)) {
    let channels = ChannelChoice::Auto.settle(&recording.notes().collect::<Vec<_>>());
    let pickup = Pickup::UNKNOWN.on(channels);
    let hearing = Hearing { pickup, click: None, ends: Ends::ByItself };
    let mut listener = Listener::new(chunks, hearing);
    for message in &recording.messages {
        while let Some(finished) = listener.poll(message.at) {
            with(&finished);
        }
        listener.feed(&message.bytes, message.at, message.begins.is_some());
    }
    while let Some(finished) = listener.finish() {
        with(&finished);
    }
}

/// The Standard MIDI File of these messages.
pub fn file(messages: &[Message]) -> Vec<u8> {
    let timed: Vec<Timed> = messages
        .iter()
        .map(|(at, bytes)| Timed {
            at: Instant::from_micros(*at),
            bytes: bytes.to_vec(),
            begins: begins(bytes).then_some((bytes[0] & 0x0f, bytes[1])),
        })
        .collect();
    write::file(&timed, "searched")
}

/// The recording, as it is read from its file.
fn recording(messages: &[Message]) -> Recording {
    Recording::from_bytes(&file(messages), "searched").expect("what was written can be read")
}
