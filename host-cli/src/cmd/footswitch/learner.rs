//! Waits for what is to be learnt: a press, how long it lasts, a figure on the guitar.

use crate::fault::{Exit, Fault};
use crate::live::{Source, SourceEvent};
use crate::screen::{self, Key, Keys};
use crate::switches::Signal;
use crate::{say, stop};
use evenhand_core::units::{Instant, Offset, Pitch};
use evenhand_core::wire::Wire;
use std::io::{self, IsTerminal};
use std::sync::mpsc::RecvTimeoutError;
use std::time::Duration;
use wmidi::MidiMessage;

/// How long a press is waited for, in microseconds. Our default: time to find a pedal with the
/// foot, and short enough to leave out what there is no pedal for.
const PATIENCE: u64 = 12_000_000;

/// A switch that has not been let go by then stays where it is put. Our default: nobody learning
/// a pedal stands on it for so long.
const HELD: u64 = 1_500_000;

/// So long nothing more is played, in microseconds, and a figure is over. Our default.
const QUIET: u64 = 1_500_000;

/// How often keys are looked for. Our default.
const LOOK: Duration = Duration::from_millis(50);

/// What was pressed.
pub(super) enum Pressed {
    /// This.
    Signal(Signal),
    /// Nothing for a while, or the key that leaves it out.
    Nothing,
    /// The user has enough.
    Enough,
}

pub(super) struct Learner {
    source: Source,
    wire: Wire,
    /// There is a keyboard, too.
    keys: bool,
    at_end: bool,
}

impl Learner {
    /// Listens to this.
    pub(super) fn of(source: Source) -> Self {
        let keys = io::stdin().is_terminal() && say::is_seen();
        Self { source, wire: Wire::new(), keys, at_end: false }
    }

    /// Whether nothing more can come, or the user has enough.
    pub(super) fn is_over(&self) -> bool {
        self.at_end || stop::is_asked()
    }

    /// Waits for a press, as long as it takes to find a pedal.
    pub(super) fn press(&mut self) -> Result<Pressed, Fault> {
        let pressed = self.pressed(after(self.source.now(), PATIENCE))?;
        self.at_end |= matches!(pressed, Pressed::Enough);
        Ok(pressed)
    }

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
    pub(super) fn stays(&mut self, signal: Signal) -> Result<bool, Fault> {
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

    /// How long it is held, in microseconds; none if it does not say when it is let go.
    pub(super) fn held(&mut self, signal: Signal) -> Result<Option<u64>, Fault> {
        if matches!(signal, Signal::Program { .. } | Signal::Letter(_) | Signal::Named(_)) {
            return Ok(None);
        }
        let from = self.source.now();
        let until = after(from, PATIENCE);
        while self.source.now() < until && !stop::is_asked() {
            match self.heard()? {
                Some(messages) if messages.iter().any(|message| signal.is_let_go_by(message)) => {
                    let held = self.source.now().as_micros().saturating_sub(from.as_micros());
                    return Ok(Some(held));
                }
                Some(_) => {}
                None => return Ok(None),
            }
        }
        Ok(None)
    }

    /// Notes that are played one after the other, until it is quiet; none if nothing is played.
    pub(super) fn figure(&mut self) -> Result<Option<Vec<Pitch>>, Fault> {
        let until = after(self.source.now(), PATIENCE);
        let mut notes: Vec<(Pitch, Instant)> = Vec::new();
        loop {
            let now = self.source.now();
            let is_over = match notes.last() {
                Some((_, last)) => now >= after(*last, QUIET),
                None => now >= until,
            };
            if is_over || self.is_over() {
                let pitches = notes.into_iter().map(|(pitch, _)| pitch).collect::<Vec<_>>();
                return Ok(Some(pitches).filter(|pitches| !pitches.is_empty()));
            }
            let Some(messages) = self.heard()? else {
                self.at_end = true;
                continue;
            };
            let now = self.source.now();
            for message in messages {
                let MidiMessage::NoteOn(_, note, velocity) = message else { continue };
                let Some(pitch) = Pitch::new(u8::from(note)).filter(|_| u8::from(velocity) > 0)
                else {
                    continue;
                };
                // A pickup may hear one twice.
                let twice = notes.last().is_some_and(|(other, last)| {
                    *other == pitch && now.since(*last) <= Offset::from_millis(60)
                });
                if !twice {
                    notes.push((pitch, now));
                }
            }
        }
    }

    /// What has come; none at the end of the stream.
    fn heard(&mut self) -> Result<Option<Vec<MidiMessage<'static>>>, Fault> {
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
