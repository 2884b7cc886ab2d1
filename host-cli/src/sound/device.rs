//! What sounds: an output that is open, and what opens one.

#[cfg(feature = "sound")]
use super::audio::Audio;
#[cfg(feature = "live")]
use super::midi_click::MidiClick;
use super::{ClickTrack, SoundChoice, SoundProblem, SoundRequest};
use evenhand_core::units::Instant;
use evenhand_core::verdict::Outcome;
use std::sync::mpsc::{Receiver, TryRecvError, sync_channel};
use std::thread;
use std::time::Duration;

/// An output that is open. Dropping it closes it.
pub(super) trait Device: Send {
    /// What to call it.
    fn name(&self) -> &str;

    /// Begins a click, instead of one that goes on; the result is when its first beat is heard,
    /// not before `at`.
    fn start(&mut self, click: ClickTrack, at: Instant) -> Instant;

    /// Ends the click.
    fn stop(&mut self);

    /// Sounds the cue for an outcome at once.
    fn cue(&mut self, outcome: Outcome);

    /// When a beat of the click is heard, where this is better known than by reckoning from the
    /// first.
    fn heard(&self, _click: ClickTrack, _beat: u32) -> Option<Instant> {
        None
    }

    /// The soonest that something can be heard, if not at once.
    fn soonest(&self) -> Option<Instant> {
        None
    }

    /// How long after it is sent something is heard, where the system says so.
    fn latency(&self) -> Option<Duration> {
        None
    }

    /// How often samples came too late for it.
    fn gaps(&self) -> u32 {
        0
    }

    /// The latest that a note was sent after it was due.
    fn worst_delay(&self) -> Option<Duration> {
        None
    }

    /// Whether it has gone.
    fn trouble(&mut self) -> Option<SoundProblem>;
}

/// What is opened, or why it is not.
pub(super) type Opened = Result<Box<dyn Device>, SoundProblem>;

/// Opens an output without waiting for it.
pub(super) trait Opener: Send {
    /// Begins to open one.
    fn begin(&mut self);

    /// What became of that; none as long as it is under way.
    fn done(&mut self) -> Option<Opened>;

    /// Closes one that has gone, without waiting either.
    fn part(&mut self, gone: Box<dyn Device>);
}

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
