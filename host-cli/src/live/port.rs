//! A MIDI input of the operating system: found, kept an eye on, and found again.
//!
//! No MIDI system tells us that a pickup has been unplugged; notes just stop. So a thread looks
//! at the list of ports, on an entrance of its own, for the port's name and address.

use super::anchor::Anchor;
use super::choose::{self, Listed, NotChosen};
use super::choose::{LISTENS, WATCHES};
use super::{Change, Source, SourceEvent, overruns, since, system};
use crate::fault::{Exit, Fault};
use midir::{MidiInput, MidiInputConnection};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, SyncSender, TrySendError};
use std::sync::mpsc::{channel, sync_channel};
use std::thread;
use std::time::{Duration, Instant};

/// Messages that can wait to be judged: four seconds of a thousand a second. Our default.
const WAITING: usize = 4_096;

/// How often it is looked whether the port is still there. A pickup that is gone is noticed
/// within two seconds, with room for a slow machine. Our default.
const LOOK: Duration = Duration::from_millis(250);

/// How often the MIDI system is entered anew while the port is away: a server that was started
/// again does not know those who knew the one before. Our default.
const ENTER_AGAIN: Duration = Duration::from_secs(2);

/// How long to wait for the system to open a port. A server that has just died may never
/// answer. Our default.
const OPENING: Duration = Duration::from_secs(10);

/// How long to wait at the end for the system to let go. Our default.
const PARTING: Duration = Duration::from_secs(1);

/// Opens a port: the one whose name holds `wanted`, else the remembered one, else the only one
/// that can be a pickup.
pub fn port(wanted: Option<&str>, remembered: Option<&str>) -> Result<Source, Fault> {
    overruns::read_along();
    let (wanted, remembered) = (wanted.map(str::to_owned), remembered.map(str::to_owned));
    let start = Instant::now();
    let (to, heard) = sync_channel(WAITING);
    let (report, opened) = sync_channel(1);
    let (hold, held) = channel::<()>();
    let (parted, gone) = sync_channel(1);
    // One thread does all that has to do with midir: not every system lets another close what
    // one has opened.
    thread::spawn(move || {
        let lost = Arc::new(AtomicU32::new(0));
        let line = Line { start, to, lost };
        match line.open(wanted.as_deref(), remembered.as_deref()) {
            Ok(watch) => {
                let _ = report.send(Ok(watch.port.lasting_name().to_owned()));
                line.watch(watch, &held);
            }
            Err(fault) => drop(report.send(Err(fault))),
        }
        let _ = parted.send(());
    });
    let name = opened.recv_timeout(OPENING).map_err(|_| {
        Fault::new(Exit::Live, format!("{} does not answer", system::SYSTEM))
            .advise("Start it again, then try again; `evenhand doctor` tells what it can find.")
    })??;
    let mut source = Source::new(name, heard, start);
    source.held = Some(PortGuard { hold: Some(hold), gone });
    Ok(source)
}

/// Lets the port go when it is dropped.
pub(super) struct PortGuard {
    hold: Option<Sender<()>>,
    gone: Receiver<()>,
}

impl Drop for PortGuard {
    fn drop(&mut self) {
        self.hold = None;
        // A system that hangs must not hang us.
        let _ = self.gone.recv_timeout(PARTING);
    }
}

/// What belongs to the line, whatever connection it has.
struct Line {
    start: Instant,
    to: SyncSender<SourceEvent>,
    lost: Arc<AtomicU32>,
}

/// The port that is looked at, and the entrance for it.
struct Watch {
    eye: MidiInput,
    port: Listed,
    connection: Option<MidiInputConnection<()>>,
    /// Ports that were there without this one.
    others: Vec<Listed>,
    entered: Instant,
}

impl Line {
    fn open(&self, wanted: Option<&str>, remembered: Option<&str>) -> Result<Watch, Fault> {
        let eye = system::input(WATCHES)?;
        let listed: Vec<Listed> =
            system::ports(&eye).into_iter().map(|(_, listed)| listed).collect();
        let port = choose::choose(&listed, wanted, remembered)
            .map_err(|why| not_chosen(&why, &listed))?
            .clone();
        let connection = Some(self.connect(&port)?);
        Ok(Watch { eye, port, connection, others: Vec::new(), entered: Instant::now() })
    }

    fn connect(&self, wanted: &Listed) -> Result<MidiInputConnection<()>, Fault> {
        let input = system::input(LISTENS)?;
        let port = system::ports(&input).into_iter().find(|(_, listed)| listed == wanted);
        let Some((port, Listed { name, .. })) = port else {
            return Err(Fault::new(Exit::Live, format!("“{}” has just gone", wanted.name))
                .advise("Plug it in again."));
        };
        let (start, to, lost) = (self.start, self.to.clone(), Arc::clone(&self.lost));
        let mut anchor = Anchor::new(since(start));
        // This runs where the system calls us, perhaps in a thread that must not wait: it
        // places the time, copies and returns. The bytes are any piece of the stream (JACK
        // hands them on as they were sent), so nothing is read from them here.
        let take = move |stamp: u64, bytes: &[u8], (): &mut ()| {
            if bytes.is_empty() {
                return;
            }
            let at = anchor.place(stamp, since(start));
            let heard = SourceEvent::Bytes { bytes: bytes.to_vec(), at };
            if let Err(TrySendError::Full(_)) = to.try_send(heard) {
                lost.fetch_add(1, Ordering::Relaxed);
            }
        };
        input.connect(&port, "input", take, ()).map_err(|error| {
            Fault::new(Exit::Live, format!("“{name}” cannot be opened: {error}"))
                .advise("Is another program using it?")
        })
    }

    /// Looks after the port until nobody listens any more.
    fn watch(&self, mut watch: Watch, held: &Receiver<()>) {
        while held.recv_timeout(LOOK) == Err(RecvTimeoutError::Timeout) {
            let changed = [self.count(), self.look(&mut watch)];
            for change in changed.into_iter().flatten() {
                if self.to.send(SourceEvent::Changed(change)).is_err() {
                    return;
                }
            }
        }
    }

    fn count(&self) -> Option<Change> {
        let by_us = self.lost.swap(0, Ordering::Relaxed);
        match (overruns::since_last(), by_us) {
            (0, 0) => None,
            (0, lost) => Some(Change::Lost(Some(lost))),
            // How much was lost each time, the system does not say.
            _ => Some(Change::Lost(None)),
        }
    }

    fn look(&self, watch: &mut Watch) -> Option<Change> {
        let listed: Vec<Listed> =
            system::ports(&watch.eye).into_iter().map(|(_, listed)| listed).collect();
        if watch.connection.is_some() {
            if listed.contains(&watch.port) {
                return None;
            }
            watch.connection = None;
            watch.others = listed;
            return Some(Change::Gone);
        }
        watch.others.retain(|other| listed.contains(other));
        let Some(back) = choose::back(&listed, &watch.port, &watch.others) else {
            if watch.entered.elapsed() >= ENTER_AGAIN {
                watch.entered = Instant::now();
                if let Ok(eye) = system::input(WATCHES) {
                    watch.eye = eye;
                }
            }
            return None;
        };
        // A port that has only just come may not be ready; the next look tries again.
        watch.connection = Some(self.connect(back).ok()?);
        watch.port = back.clone();
        Some(Change::Back)
    }
}

/// In words for the user, with what there is.
fn not_chosen(why: &NotChosen, listed: &[Listed]) -> Fault {
    let names: Vec<String> = listed.iter().map(|port| port.name.clone()).collect();
    let advice = if names.is_empty() {
        "Plug in the pickup and switch it on; `evenhand doctor` looks for what may be wrong. Raw \
         bytes need no port: --raw PATH."
            .to_owned()
    } else {
        format!("There is {}. Choose with --port NAME.", choose::quoted(&names))
    };
    Fault::new(Exit::Live, why.to_string()).advise(advice)
}
