//! Opens the output that is asked for.

#[cfg(feature = "sound")]
use super::audio::Audio;
use super::device::{Device, Opened, Opener};
#[cfg(feature = "live")]
use super::midi_click::MidiClick;
use super::{SoundChoice, SoundProblem, SoundRequest};
use std::sync::mpsc::{Receiver, TryRecvError, sync_channel};
use std::thread;

/// Opens what is wished, in a thread: a sound system that hangs must not hold up the sitting.
pub(super) struct InBackground {
    choice: SoundChoice,
    port: Option<String>,
    clock: std::time::Instant,
    under_way: Option<Receiver<Opened>>,
}

impl InBackground {
    pub(super) fn new(wishes: &SoundRequest, clock: std::time::Instant) -> Self {
        Self { choice: wishes.choice, port: wishes.port.clone(), clock, under_way: None }
    }

    /// Opens it now, and waits a while for it. None if nothing is to sound.
    pub(super) fn open(&self) -> Option<Opened> {
        match self.choice {
            SoundChoice::Audio => Some(audio(self.clock)),
            SoundChoice::Midi => Some(midi(self.port.as_deref(), self.clock)),
            SoundChoice::None => None,
        }
    }
}

impl Opener for InBackground {
    fn begin(&mut self) {
        let (choice, port, clock) = (self.choice, self.port.clone(), self.clock);
        let (to, opened) = sync_channel(1);
        thread::spawn(move || {
            // Nobody who waits for it is gone before the sitting is.
            let _ = to.send(match choice {
                SoundChoice::Midi => midi(port.as_deref(), clock),
                _ => audio_at_leisure(clock),
            });
        });
        self.under_way = Some(opened);
    }

    fn done(&mut self) -> Option<Opened> {
        let opened = match self.under_way.as_ref()?.try_recv() {
            Ok(opened) => opened,
            Err(TryRecvError::Empty) => return None,
            Err(TryRecvError::Disconnected) => Err(SoundProblem::NoAnswer),
        };
        self.under_way = None;
        Some(opened)
    }

    fn part(&mut self, gone: Box<dyn Device>) {
        if self.choice == SoundChoice::Midi {
            // It and no other: what else there is may be the pickup's own.
            self.port = Some(gone.name().to_owned());
        }
        thread::spawn(move || drop(gone));
    }
}

#[cfg(feature = "sound")]
fn audio(clock: std::time::Instant) -> Opened {
    Ok(Box::new(Audio::open(clock)?))
}

#[cfg(feature = "sound")]
fn audio_at_leisure(clock: std::time::Instant) -> Opened {
    Ok(Box::new(Audio::open_at_leisure(clock)?))
}

#[cfg(not(feature = "sound"))]
fn audio(_: std::time::Instant) -> Opened {
    Err(SoundProblem::AudioNotBuilt)
}

#[cfg(not(feature = "sound"))]
fn audio_at_leisure(clock: std::time::Instant) -> Opened {
    audio(clock)
}

#[cfg(feature = "live")]
fn midi(port: Option<&str>, clock: std::time::Instant) -> Opened {
    Ok(Box::new(MidiClick::open(port, clock)?))
}

#[cfg(not(feature = "live"))]
fn midi(_: Option<&str>, _: std::time::Instant) -> Opened {
    Err(SoundProblem::MidiNotBuilt)
}
