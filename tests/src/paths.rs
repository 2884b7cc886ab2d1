//! The paths that users take, in one process: the same calls in the same order as the commands
//! make them. `tests/search.rs` compares a sample with the commands themselves.

use evenhand::channels::ChannelChoice;
use evenhand::listening::{Finished, Listener};
use evenhand::smf::{Recording, Timed, write};
use evenhand::stop;
use evenhand::study::Prepared;
use evenhand_core::measure::timing::Click;
use evenhand_core::pickup::{Latency, Pickup};
use evenhand_core::player::{Artefacts, Performance, transmit};
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::units::{Instant, Offset};

/// A message and when it comes, in microseconds.
pub type Message = (u64, [u8; 3]);

/// How late notes come, which the judge does not know.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Lateness {
    /// At once.
    None,
    /// Two periods of each note, and 4 ms: a converter that nobody has calibrated.
    TwoPeriods,
}

impl Lateness {
    const fn artefacts(self) -> Artefacts {
        let latency = match self {
            Self::None => Latency::NONE,
            Self::TwoPeriods => Latency { base: Offset::from_millis(4), periods_percent: 200 },
        };
        let pickup = Pickup { latency, ..Artefacts::NONE.pickup };
        Artefacts { pickup, ..Artefacts::NONE }
    }
}

/// Adds what a pickup sends of a performance that begins at `start`; gives when its last message
/// comes.
pub fn send(
    performance: &Performance,
    lateness: Lateness,
    start: u64,
    seed: u64,
    messages: &mut Vec<Message>,
) -> u64 {
    for message in transmit(performance, &lateness.artefacts(), seed).messages() {
        let at = start.saturating_add_signed(message.at.as_micros().into());
        messages.push((at, message.bytes));
    }
    // What ends comes before what begins at the same time.
    messages.sort_by_key(|(at, bytes)| (*at, begins(bytes)));
    messages.last().map_or(start, |message| message.0)
}

/// Whether a message begins a note.
pub fn begins(bytes: &[u8; 3]) -> bool {
    bytes[0] & 0xf0 == 0x90 && bytes[2] > 0
}

/// How many messages begin a note.
pub fn note_ons(messages: &[Message]) -> u32 {
    messages.iter().filter(|(_, bytes)| begins(bytes)).count() as u32
}

/// What `listen` knows before it hears anything.
pub fn live(click: Option<Click>) -> SessionConfig {
    let pickup = Pickup { channels: ChannelChoice::Auto.live(), ..Pickup::UNKNOWN };
    SessionConfig { pickup, click, ends: Ends::ByItself }
}

/// As `listen --timed` does: time goes on as the stream says, and whoever waits looks up at least
/// five times a second. The stream stays open `until` then, if that is said. Whether it was told on the way
/// that the pickup is heard too badly to judge by.
///
/// # Panics
/// If the program looks up less often than once in an age.
pub fn listen<'a>(
    chunks: &'a [Prepared],
    config: SessionConfig,
    (messages, until): (&[Message], Option<u64>),
    mut with: impl FnMut(&Finished<'a>),
) -> bool {
    let mut listener = Listener::new(chunks, config);
    let mut poor = false;
    let look = u64::try_from(stop::LOOK.as_micros()).expect("a fraction of a second");
    let mut now = 0_u64;
    let lines = messages.iter().map(|(at, bytes)| (*at, Some(bytes)));
    for (at, bytes) in lines.chain(until.map(|until| (until, None))) {
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
            poor |= listener.hears_poorly();
        }
    }
    while let Some(finished) = listener.finish() {
        with(&finished);
    }
    poor
}

/// As `judge` does with a recording of these messages.
///
/// # Panics
/// If what was written cannot be read.
pub fn judge<'a>(
    chunks: &'a [Prepared],
    known: Pickup,
    messages: &[Message],
    mut with: impl FnMut(&Finished<'a>),
) {
    let recording = Recording::from_bytes(&file(messages), "played").expect("a recording");
    let channels = ChannelChoice::Auto.settle(&recording.notes().collect::<Vec<_>>());
    let pickup = known.on(channels);
    let config = SessionConfig { pickup, click: None, ends: Ends::ByItself };
    let mut listener = Listener::new(chunks, config);
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
    write::file(&timed, "played")
}
