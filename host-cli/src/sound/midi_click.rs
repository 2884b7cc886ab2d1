//! As notes to a MIDI output, from a thread that sends each when it is due.

use super::device::Device;
use super::percussion::Percussion;
use super::{Passage, SoundProblem, since};
use crate::live::choose::{self, Listed, NotChosen};
use crate::live::output;
use evenhand_core::practice::ClickTrack;
use evenhand_core::units::Instant;
use evenhand_core::verdict::Outcome;
use midir::{MidiOutput, MidiOutputConnection};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel, sync_channel};
use std::thread;
use std::time::Duration;

/// How long to wait for the system to open the output, and at the end to let it go. Our defaults.
const OPENING: Duration = Duration::from_secs(5);
const PARTING: Duration = Duration::from_secs(1);

/// How often it is looked whether the port is still there: nobody tells us that an instrument has
/// been unplugged, and what is sent to it then is lost without a word. Our default.
const LOOK: Duration = Duration::from_millis(500);

/// It is not looked shortly before a note is due. Our default: a look takes a fraction of it.
const CLEAR: Duration = Duration::from_millis(20);

enum Order {
    Start { click: ClickTrack, at: u64 },
    Stop,
    Cue(Outcome),
    Play { passage: Passage, at: u64 },
    Hush,
}

/// What the thread tells.
#[derive(Default)]
struct Told {
    /// The latest that a note was sent after it was due, in microseconds.
    worst: AtomicU64,
    lost: AtomicBool,
}

/// The open output.
pub(super) struct MidiClick {
    /// Dropping it ends the thread.
    orders: Option<Sender<Order>>,
    gone: Receiver<()>,
    told: Arc<Told>,
    clock: std::time::Instant,
    name: String,
}

impl MidiClick {
    /// Opens the output whose name holds `wanted`, else the only one that can be an instrument.
    pub(super) fn open(
        wanted: Option<&str>,
        clock: std::time::Instant,
    ) -> Result<Self, SoundProblem> {
        let wanted = wanted.map(str::to_owned);
        let (orders, taken) = channel();
        let (report, opened) = sync_channel(1);
        let (parted, gone) = sync_channel(1);
        let told = Arc::new(Told::default());
        let tell = Arc::clone(&told);
        // One thread does all that has to do with midir: not every system lets another close
        // what one has opened.
        thread::spawn(move || {
            match connect(wanted.as_deref()) {
                Ok(Connected { line, eye, port }) => {
                    let _ = report.send(Ok(port.lasting_name().to_owned()));
                    let percussion = Percussion::default();
                    Striker { line, eye, port, clock, told: tell, percussion }.run(&taken);
                }
                Err(problem) => drop(report.send(Err(problem))),
            }
            let _ = parted.send(());
        });
        let name = opened.recv_timeout(OPENING).map_err(|_| SoundProblem::NoAnswer)??;
        Ok(Self { orders: Some(orders), gone, told, clock, name })
    }

    fn order(&self, order: Order) {
        // A thread that is gone has said why.
        let _ = self.orders.as_ref().map(|orders| orders.send(order));
    }
}

impl Device for MidiClick {
    fn name(&self) -> &str {
        &self.name
    }

    fn start(&mut self, click: ClickTrack, at: Instant) -> Instant {
        let at = at.max(since(self.clock));
        self.order(Order::Start { click, at: at.as_micros() });
        at
    }

    fn stop(&mut self) {
        self.order(Order::Stop);
    }

    fn cue(&mut self, outcome: Outcome) {
        self.order(Order::Cue(outcome));
    }

    fn play(&mut self, passage: &Passage, at: Instant) -> Instant {
        let at = at.max(since(self.clock));
        self.order(Order::Play { passage: passage.clone(), at: at.as_micros() });
        at
    }

    fn hush(&mut self) {
        self.order(Order::Hush);
    }

    fn worst_delay(&self) -> Option<Duration> {
        Some(Duration::from_micros(self.told.worst.load(Ordering::Relaxed)))
    }

    fn trouble(&mut self) -> Option<SoundProblem> {
        self.told.lost.load(Ordering::Relaxed).then_some(SoundProblem::Lost)
    }
}

impl Drop for MidiClick {
    fn drop(&mut self) {
        self.orders = None;
        let _ = self.gone.recv_timeout(PARTING);
    }
}

/// A connection, and an entrance to the MIDI system that looks after its port.
struct Connected {
    line: MidiOutputConnection,
    eye: MidiOutput,
    port: Listed,
}

fn connect(wanted: Option<&str>) -> Result<Connected, SoundProblem> {
    let entrance = |name: &str| {
        output::output(name).map_err(|fault| {
            let advice =
                "Use --sound audio, or see what `evenhand doctor` says of the MIDI system.";
            SoundProblem::NoMidi(fault.what, advice.to_owned())
        })
    };
    let output = entrance(output::CLICKS)?;
    let ports = output::ports(&output);
    let listed: Vec<Listed> = ports.iter().map(|(_, listed)| listed.clone()).collect();
    let chosen = choose::choose(&listed, wanted, None).map_err(|why| problem(why, &listed))?;
    let port = ports.iter().find(|(_, listed)| listed == chosen).map(|(port, _)| port);
    let port = port.ok_or(SoundProblem::NoPort)?;
    let line = output.connect(port, "click").map_err(|error| {
        let what = format!("“{}” cannot be opened: {error}", chosen.lasting_name());
        SoundProblem::NoMidi(what, "Is another program using it?".to_owned())
    })?;
    Ok(Connected { line, eye: entrance(output::WATCHES_CLICK)?, port: chosen.clone() })
}

fn problem(why: NotChosen, listed: &[Listed]) -> SoundProblem {
    let names: Vec<String> = listed.iter().map(|port| port.name.clone()).collect();
    match why {
        NotChosen::Nothing | NotChosen::OnlyPassingOn => SoundProblem::NoPort,
        NotChosen::Unknown(wanted) => SoundProblem::UnknownPort(wanted, choose::quoted(&names)),
        NotChosen::Ambiguous(_, names) => SoundProblem::SeveralPorts(choose::quoted(&names)),
        NotChosen::Several => SoundProblem::SeveralPorts(choose::quoted(&names)),
    }
}

/// The half that lives in the thread.
struct Striker {
    line: MidiOutputConnection,
    eye: MidiOutput,
    port: Listed,
    clock: std::time::Instant,
    told: Arc<Told>,
    percussion: Percussion,
}

impl Striker {
    /// Sends what is due until nobody gives orders any more.
    fn run(mut self, orders: &Receiver<Order>) {
        let mut looked = std::time::Instant::now();
        loop {
            let due = self.percussion.next_at();
            let due = due.map(|at| Duration::from_micros(at.saturating_sub(self.now())));
            let look = LOOK.saturating_sub(looked.elapsed());
            if look.is_zero() && due.is_none_or(|due| due > CLEAR) {
                looked = std::time::Instant::now();
                if !self.is_there() {
                    self.told.lost.store(true, Ordering::Relaxed);
                    return;
                }
                continue;
            }
            let wait = match due {
                Some(due) if look.is_zero() => due,
                Some(due) => due.min(look),
                None => look,
            };
            match orders.recv_timeout(wait) {
                Ok(Order::Start { click, at }) => self.percussion.start(click, at),
                Ok(Order::Stop) => self.percussion.stop(),
                Ok(Order::Cue(outcome)) => self.percussion.cue(outcome, self.now()),
                Ok(Order::Play { passage, at }) => self.percussion.play(&passage, at),
                Ok(Order::Hush) => self.percussion.hush(self.now()),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break,
            }
            while let Some(due) = self.percussion.take(self.now()) {
                if self.line.send(&due.message).is_err() {
                    self.told.lost.store(true, Ordering::Relaxed);
                    return;
                }
                let late = self.now().saturating_sub(due.at);
                self.told.worst.fetch_max(late, Ordering::Relaxed);
            }
        }
        for message in self.percussion.endings() {
            let _ = self.line.send(&message);
        }
        self.line.close();
    }

    fn is_there(&self) -> bool {
        output::ports(&self.eye).iter().any(|(_, listed)| *listed == self.port)
    }

    fn now(&self) -> u64 {
        since(self.clock).as_micros()
    }
}
