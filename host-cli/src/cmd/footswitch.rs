//! `evenhand footswitch`: learns which pedal or key means what, by its being pressed.

use crate::args::{FootswitchArgs, OutputArgs};
use crate::fault::{Exit, Fault};
use crate::live::{Source, SourceEvent};
use crate::output::Output;
use crate::screen::{self, Key, Keys};
use crate::sitting::connection;
use crate::switches::{Action, Signal, Switches};
use crate::{say, settings, stop};
use evenhand_core::units::Instant;
use evenhand_core::wire::Wire;
use std::io::{self, IsTerminal};
use std::sync::mpsc::RecvTimeoutError;
use std::time::Duration;

/// How long a press is waited for, in microseconds. Our default: time to find a pedal with the
/// foot, and short enough to leave out what there is no pedal for.
const PATIENCE: u64 = 12_000_000;

/// A switch that has not been let go by then stays where it is put. Our default: nobody learning
/// a pedal stands on it for so long.
const HELD: u64 = 1_500_000;

/// How often keys are looked for. Our default.
const LOOK: Duration = Duration::from_millis(50);

/// Runs the command.
pub fn run(args: &FootswitchArgs) -> Result<Exit, Fault> {
    let mut output =
        Output::new(&OutputArgs { events: false, plain: true, exit_by_verdict: false })?;
    if args.forget {
        settings::remember_switches(&Switches::none())?;
        output.say("No foot switch is known any more.")?;
        return Ok(Exit::Done);
    }
    if args.show {
        show(&settings::switches()?, &mut output)?;
        return Ok(Exit::Done);
    }
    stop::listen_for_it();
    let source = connection::open(&args.source)?;
    output.say(&format!("Listening to {}. Leave the strings alone.", source.name))?;
    let keys = io::stdin().is_terminal() && say::is_seen();
    let mut learner = Learner { source, wire: Wire::new(), keys, at_end: false };
    let mut learnt = Switches::none();
    for action in Action::ALL {
        output.say(&format!("Press what shall mean “{}” ({}).", action.word(), meaning(action)))?;
        learner.learn(action, &mut learnt, &mut output)?;
        if learner.at_end || stop::is_asked() {
            break;
        }
    }
    if learnt == Switches::none() {
        return Err(Fault::new(Exit::Live, "no press of a foot switch was heard").advise(
            "Is the pedal at this input? Name another one with --port; `evenhand ports` lists them. \
             What was known before is as it was.",
        ));
    }
    settings::remember_switches(&learnt)?;
    show(&learnt, &mut output)?;
    Ok(Exit::Done)
}

const fn meaning(action: Action) -> &'static str {
    match action {
        Action::Again => "the same once more; what is under way does not count",
        Action::Next => "to the next chunk",
        Action::Back => "to the chunk before",
        Action::Stop => "enough for now",
        Action::Misheard => "that was right, the pickup misheard it; it does not count",
    }
}

fn show(switches: &Switches, output: &mut Output) -> Result<(), Fault> {
    for action in Action::ALL {
        let known = switches.known().find(|(other, _)| *other == action);
        let signal = known.map_or_else(|| "no switch".to_owned(), |(_, signal)| signal.to_string());
        output.say(&format!("{}: {signal}", action.word()))?;
    }
    Ok(())
}

/// What was pressed.
enum Pressed {
    /// This.
    Signal(Signal),
    /// Nothing for a while, or the key that leaves it out.
    Nothing,
    /// The user has enough.
    Enough,
}

struct Learner {
    source: Source,
    wire: Wire,
    /// There is a keyboard, too.
    keys: bool,
    at_end: bool,
}

impl Learner {
    fn learn(
        &mut self,
        action: Action,
        learnt: &mut Switches,
        output: &mut Output,
    ) -> Result<(), Fault> {
        let until = after(self.source.now(), PATIENCE);
        loop {
            match self.pressed(until)? {
                Pressed::Signal(signal) => {
                    let signal = if self.stays(signal)? { signal.at_each_change() } else { signal };
                    if let Some((other, _)) = learnt.known().find(|(_, known)| *known == signal) {
                        let word = other.word();
                        output.say(&format!("That is “{word}” already. Press another one."))?;
                        continue;
                    }
                    learnt.learn(action, signal);
                    return output.say(&format!("“{}” is {signal}.", action.word()));
                }
                Pressed::Nothing => {
                    return output.say(&format!("Nothing: “{}” has no switch.", action.word()));
                }
                Pressed::Enough => {
                    self.at_end = true;
                    return Ok(());
                }
            }
        }
    }

    /// Waits for a press.
    fn pressed(&mut self, until: Instant) -> Result<Pressed, Fault> {
        // What a key writes must not land on the screen.
        let _keys = if self.keys { Keys::take().ok() } else { None };
        while !stop::is_asked() {
            if self.keys {
                match screen::key(Duration::ZERO).ok().flatten() {
                    Some(Key::Interrupt) => return Ok(Pressed::Enough),
                    Some(Key::Named("escape")) => return Ok(Pressed::Nothing),
                    Some(key) => {
                        if let Some(signal) = Signal::of_key(key) {
                            return Ok(Pressed::Signal(signal));
                        }
                    }
                    None => {}
                }
            }
            match self.heard()? {
                Some(messages) => {
                    if let Some(signal) = messages.iter().find_map(|message| Signal::of(message)) {
                        return Ok(Pressed::Signal(signal));
                    }
                }
                None => return Ok(Pressed::Enough),
            }
            if self.source.now() >= until {
                return Ok(Pressed::Nothing);
            }
        }
        Ok(Pressed::Enough)
    }

    /// Whether a controller stays where it was put, because nothing lets it go.
    fn stays(&mut self, signal: Signal) -> Result<bool, Fault> {
        if !matches!(signal, Signal::Control { .. }) {
            return Ok(false);
        }
        let until = after(self.source.now(), HELD);
        while self.source.now() < until && !stop::is_asked() {
            match self.heard()? {
                Some(messages) if messages.iter().any(|message| signal.is_let_go_by(message)) => {
                    return Ok(false);
                }
                Some(_) => {}
                None => return Ok(true),
            }
        }
        Ok(true)
    }

    /// What has come; none at the end of the stream.
    fn heard(&mut self) -> Result<Option<Vec<wmidi::MidiMessage<'static>>>, Fault> {
        match self.source.next(LOOK) {
            Ok(SourceEvent::Bytes { bytes, .. }) => {
                Ok(Some(bytes.iter().filter_map(|byte| self.wire.push(*byte)).collect()))
            }
            Ok(SourceEvent::Changed(_)) | Err(RecvTimeoutError::Timeout) => Ok(Some(Vec::new())),
            Ok(SourceEvent::Broke(error)) => {
                let name = &self.source.name;
                Err(Fault::new(Exit::Live, format!("{name} broke off: {error}"))
                    .advise("Check the cable, and start again."))
            }
            Err(RecvTimeoutError::Disconnected) => Ok(None),
        }
    }
}

fn after(time: Instant, micros: u64) -> Instant {
    Instant::from_micros(time.as_micros().saturating_add(micros))
}
