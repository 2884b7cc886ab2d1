//! What the player hears: the count-in and the click, and a short cue after a verdict.
//!
//! [`Click`] says when, [`Voice`] what, [`Mixer`] puts both into samples to the frame; none of
//! these touches a device. [`Sound`] is the handle for a sitting: it plays through the audio
//! output (`audio`), sends notes to a MIDI output (`midi_click`), or is silent, and always says
//! when the listener hears a beat, on the clock on which notes are judged.

#[cfg(feature = "sound")]
mod audio;
mod beats;
mod choice;
#[cfg_attr(not(feature = "sound"), cfg(test))]
mod frames;
#[cfg(feature = "live")]
mod midi_click;
mod mixer;
#[cfg_attr(not(feature = "live"), cfg(test))]
mod percussion;
mod problem;
mod voice;
pub mod wav;

pub use beats::{Beat, Click};
pub use choice::{SoundChoice, Wishes};
pub use mixer::Mixer;
pub use problem::SoundProblem;
pub use voice::Voice;

#[cfg(test)]
mod tests;

use evenhand_core::units::{Instant, Offset};
use evenhand_core::verdict::Outcome;
use std::time::Duration;

/// The sound of a sitting.
///
/// Times are those of a [`std::time::Instant`] that is given when it is opened: microseconds
/// since then. It never waits once it is open.
pub struct Sound {
    clock: std::time::Instant,
    cues: bool,
    /// How much later than the system says the listener hears it, as set by ear.
    delay: Offset,
    output: Output,
    going: Option<Going>,
}

/// The click that goes on.
#[derive(Clone, Copy)]
struct Going {
    click: Click,
    /// Where its first beat was put.
    at: Instant,
}

enum Output {
    #[cfg(feature = "sound")]
    Audio(audio::Audio),
    #[cfg(feature = "live")]
    Midi(midi_click::MidiClick),
    Silent,
}

impl Sound {
    /// Opens what is wished. `clock` is the clock of the sitting.
    pub fn open(wishes: &Wishes, clock: std::time::Instant) -> Result<Self, SoundProblem> {
        let output = match wishes.choice {
            SoundChoice::Audio => Self::audio(clock)?,
            SoundChoice::Midi => Self::midi(wishes.port.as_deref(), clock)?,
            SoundChoice::None => Output::Silent,
        };
        Ok(Self { output, cues: wishes.cues, delay: wishes.delay, ..Self::silent(clock) })
    }

    /// The same where it can be opened, else silence with the reason.
    pub fn open_or_silent(
        wishes: &Wishes,
        clock: std::time::Instant,
    ) -> (Self, Option<SoundProblem>) {
        match Self::open(wishes, clock) {
            Ok(sound) => (sound, None),
            Err(problem) => (Self::silent(clock), Some(problem)),
        }
    }

    /// No sound; beats still have their times, for whoever shows them.
    pub const fn silent(clock: std::time::Instant) -> Self {
        Self { clock, cues: false, delay: Offset::ZERO, output: Output::Silent, going: None }
    }

    #[cfg(feature = "sound")]
    fn audio(clock: std::time::Instant) -> Result<Output, SoundProblem> {
        Ok(Output::Audio(audio::Audio::open(clock)?))
    }

    #[cfg(not(feature = "sound"))]
    const fn audio(_: std::time::Instant) -> Result<Output, SoundProblem> {
        Err(SoundProblem::AudioNotBuilt)
    }

    #[cfg(feature = "live")]
    fn midi(port: Option<&str>, clock: std::time::Instant) -> Result<Output, SoundProblem> {
        Ok(Output::Midi(midi_click::MidiClick::open(port, clock)?))
    }

    #[cfg(not(feature = "live"))]
    const fn midi(_: Option<&str>, _: std::time::Instant) -> Result<Output, SoundProblem> {
        Err(SoundProblem::MidiNotBuilt)
    }

    /// Begins a click, instead of one that goes on, so that its first beat is heard at `at`. If
    /// that is too soon for the output, the whole click comes later; the result is when its first
    /// beat is heard.
    pub fn start(&mut self, click: Click, at: Instant) -> Instant {
        let at = at.plus(earlier(self.delay));
        let at = match &mut self.output {
            #[cfg(feature = "sound")]
            Output::Audio(audio) => audio.start(click, at),
            #[cfg(feature = "live")]
            Output::Midi(midi) => midi.start(click, at),
            Output::Silent => at,
        };
        self.going = Some(Going { click, at });
        self.heard_at(0).unwrap_or(at)
    }

    /// Ends the click: no further beat begins, but for those on their way out.
    pub fn stop(&mut self) {
        self.going = None;
        match &mut self.output {
            #[cfg(feature = "sound")]
            Output::Audio(audio) => audio.stop(),
            #[cfg(feature = "live")]
            Output::Midi(midi) => midi.stop(),
            Output::Silent => {}
        }
    }

    /// Sounds the cue for an outcome at once, unless cues are off.
    pub fn cue(&mut self, outcome: Outcome) {
        if !self.cues {
            return;
        }
        match &mut self.output {
            #[cfg(feature = "sound")]
            Output::Audio(audio) => audio.cue(outcome),
            #[cfg(feature = "live")]
            Output::Midi(midi) => midi.cue(outcome),
            Output::Silent => {
                // In a build without outputs nobody else takes it.
                let _ = outcome;
            }
        }
    }

    /// The click that goes on.
    pub fn click(&self) -> Option<Click> {
        self.going.map(|going| going.click)
    }

    /// When the listener hears a beat of the click, counted from 0 with the count-in; none while
    /// no click goes on. It is the better known the nearer it is: a sound card has a clock of its
    /// own, which is followed.
    pub fn heard_at(&self, beat: u32) -> Option<Instant> {
        let going = self.going?;
        let at = match &self.output {
            #[cfg(feature = "sound")]
            Output::Audio(audio) => audio.heard(going.click, beat)?,
            _ => going.at.as_micros().saturating_add(going.click.micros(beat)),
        };
        Some(Instant::from_micros(at).plus(self.delay))
    }

    /// When the listener hears the first beat of the music, after the count-in.
    pub fn music_at(&self) -> Option<Instant> {
        self.heard_at(self.going?.click.count_in())
    }

    /// The soonest that a click which is started now can be heard.
    pub fn soonest(&self) -> Instant {
        let soonest = match &self.output {
            #[cfg(feature = "sound")]
            Output::Audio(audio) => audio.soonest(),
            _ => self.now(),
        };
        soonest.plus(self.delay)
    }

    /// What time it is on the sitting's clock.
    pub fn now(&self) -> Instant {
        since(self.clock)
    }

    /// Whether anything can be heard.
    pub const fn is_silent(&self) -> bool {
        matches!(self.output, Output::Silent)
    }

    /// What it sounds through, in words; none if it is silent.
    pub fn output_name(&self) -> Option<&str> {
        match &self.output {
            #[cfg(feature = "sound")]
            Output::Audio(audio) => Some(audio.name()),
            #[cfg(feature = "live")]
            Output::Midi(midi) => Some(midi.name()),
            Output::Silent => None,
        }
    }

    /// How long after it is sent out a sample is heard, as the audio system says; none if nobody
    /// says it. What was set by ear comes on top.
    pub fn latency(&self) -> Option<Duration> {
        match &self.output {
            #[cfg(feature = "sound")]
            Output::Audio(audio) => audio.latency(),
            _ => None,
        }
    }

    /// The latest that a MIDI note was sent after it was due; none if no note is sent.
    pub fn worst_delay(&self) -> Option<Duration> {
        match &self.output {
            #[cfg(feature = "live")]
            Output::Midi(midi) => Some(midi.worst_delay()),
            _ => None,
        }
    }

    /// What has gone wrong while it was used; said once. From then on it is silent.
    pub fn trouble(&mut self) -> Option<SoundProblem> {
        let problem = match &self.output {
            #[cfg(feature = "sound")]
            Output::Audio(audio) => audio.trouble(),
            #[cfg(feature = "live")]
            Output::Midi(midi) => midi.trouble(),
            Output::Silent => None,
        }?;
        // The beats go on where they are, for whoever shows them.
        if let Some(first) = self.heard_at(0) {
            let at = first.plus(earlier(self.delay));
            self.going = self.going.map(|going| Going { at, ..going });
        }
        self.output = Output::Silent;
        Some(problem)
    }
}

/// The delay the other way round.
const fn earlier(delay: Offset) -> Offset {
    Offset::from_micros(delay.as_micros().saturating_neg())
}

/// The time on a clock that started at `start`.
fn since(start: std::time::Instant) -> Instant {
    Instant::from_micros(u64::try_from(start.elapsed().as_micros()).unwrap_or(u64::MAX))
}
