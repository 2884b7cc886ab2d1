//! What the player hears: the count-in and the click, and a short cue after a verdict.
//!
//! [`ClickTrack`] says when, [`Voice`] what, [`Mixer`] puts both into samples to the frame; none of
//! these touches a device. [`Sound`] is the handle for a sitting: it plays through the audio
//! output (`audio`), sends notes to a MIDI output (`midi_click`), or is silent, and always says
//! when the listener hears a beat, on the clock on which notes are judged.

#[cfg(feature = "sound")]
mod audio;
mod beats;
mod choice;
mod device;
#[cfg_attr(not(feature = "sound"), cfg(test))]
mod frames;
#[cfg(feature = "live")]
mod midi_click;
mod mixer;
mod opener;
mod passage;
#[cfg_attr(not(feature = "live"), cfg(test))]
mod percussion;
mod problem;
#[cfg_attr(not(feature = "sound"), cfg(test))]
mod stall;
mod upkeep;
mod voice;
pub mod wav;

pub use beats::frame;
pub use choice::{SoundChoice, SoundRequest};
pub use evenhand_core::practice::{Beat, ClickTrack};
pub use mixer::Mixer;
pub use passage::{Passage, Pluck};
pub use problem::SoundProblem;
pub use voice::Voice;

#[cfg(test)]
mod tests;

use device::{Opened, Opener};
use evenhand_core::units::{Instant, Offset};
use evenhand_core::verdict::Outcome;
use opener::InBackground;
use std::time::Duration;
use upkeep::Upkeep;

/// The sound of a sitting.
///
/// Times are those of a [`std::time::Instant`] that is given when it is opened: microseconds
/// since then. It never waits once it is open.
pub struct Sound {
    clock: std::time::Instant,
    cues: bool,
    /// How much later than the system says the listener hears it, as set by ear.
    delay: Offset,
    output: Upkeep,
    going: Option<Going>,
}

/// What has become of the output while it was used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SoundChange {
    /// It has gone, and nothing sounds until it is back.
    Lost(SoundProblem),
    /// It is back, under this name.
    Back(String),
}

/// The click that goes on.
#[derive(Clone, Copy)]
struct Going {
    click: ClickTrack,
    /// Where its first beat was put.
    at: Instant,
    /// The output plays from this beat on: not from the first, if it came back on the way.
    from: u32,
}

impl Sound {
    /// Opens what is wished. `clock` is the clock of the sitting.
    pub fn open(wishes: &SoundRequest, clock: std::time::Instant) -> Result<Self, SoundProblem> {
        let opener = InBackground::new(wishes, clock);
        Ok(match opener.open() {
            Some(opened) => Self::of(wishes, clock, opener, Ok(opened?)),
            None => Self::silent(clock),
        })
    }

    /// The same where it can be opened; else it is silent and tries again, and the reason is
    /// [`missing`](Self::missing).
    pub fn open_or_wait(wishes: &SoundRequest, clock: std::time::Instant) -> Self {
        let opener = InBackground::new(wishes, clock);
        match opener.open() {
            Some(opened) => Self::of(wishes, clock, opener, opened),
            None => Self::silent(clock),
        }
    }

    fn of(
        wishes: &SoundRequest,
        clock: std::time::Instant,
        opener: impl Opener + 'static,
        first: Opened,
    ) -> Self {
        let output = Upkeep::of(Box::new(opener), first, since(clock));
        Self { clock, cues: wishes.cues, delay: wishes.delay, output, going: None }
    }

    /// No sound; beats still have their times, for whoever shows them.
    pub const fn silent(clock: std::time::Instant) -> Self {
        let output = Upkeep::of_nothing();
        Self { clock, cues: false, delay: Offset::ZERO, output, going: None }
    }

    /// Begins a click, instead of one that goes on, so that its first beat is heard at `at`. If
    /// that is too soon for the output, the whole click comes later; the result is when its first
    /// beat is heard.
    pub fn start(&mut self, click: ClickTrack, at: Instant) -> Instant {
        let wanted = at.plus(earlier(self.delay));
        let at = self.output.device_mut().map_or(wanted, |device| device.start(click, wanted));
        self.going = Some(Going { click, at, from: 0 });
        self.heard_at(0).unwrap_or(at)
    }

    /// Ends the click: no further beat begins, but for those on their way out.
    pub fn stop(&mut self) {
        self.going = None;
        if let Some(device) = self.output.device_mut() {
            device.stop();
        }
    }

    /// Sounds the cue for an outcome at once, unless cues are off.
    pub fn cue(&mut self, outcome: Outcome) {
        if let Some(device) = self.output.device_mut().filter(|_| self.cues) {
            device.cue(outcome);
        }
    }

    /// Plays a passage instead of a click and of one that is being played, so that it is heard from `at` on or as
    /// soon as the output can. The result is when it is heard, from its beginning to its end; none where nothing is.
    pub fn play(&mut self, passage: &Passage, at: Instant) -> Option<(Instant, Instant)> {
        self.stop();
        let delay = self.delay;
        let device = self.output.device_mut()?;
        let begins = device.play(passage, at.plus(earlier(delay))).plus(delay);
        Some((begins, after(begins, passage.lasts())))
    }

    /// Ends the passage that is being played.
    pub fn hush(&mut self) {
        if let Some(device) = self.output.device_mut() {
            device.hush();
        }
    }

    /// The click that goes on.
    pub fn click(&self) -> Option<ClickTrack> {
        self.going.map(|going| going.click)
    }

    /// When the listener hears a beat of the click, counted from 0 with the count-in; none while
    /// no click goes on. It is the better known the nearer it is: a sound card has a clock of its
    /// own, which is followed.
    pub fn heard_at(&self, beat: u32) -> Option<Instant> {
        let Going { click, at, from } = self.going?;
        let played = beat.checked_sub(from).zip(self.output.device());
        let followed = played.and_then(|(beat, device)| device.heard(click.from_beat(from), beat));
        Some(followed.unwrap_or_else(|| after(at, click.micros(beat))).plus(self.delay))
    }

    /// When the listener hears the first beat of the music, after the count-in.
    pub fn music_at(&self) -> Option<Instant> {
        self.heard_at(self.going?.click.count_in())
    }

    /// The soonest that a click which is started now can be heard.
    pub fn soonest(&self) -> Instant {
        let soonest = self.output.device().and_then(|device| device.soonest());
        soonest.unwrap_or_else(|| self.now()).plus(self.delay)
    }

    /// What time it is on the sitting's clock.
    pub fn now(&self) -> Instant {
        since(self.clock)
    }

    /// Whether nothing can be heard, now.
    pub fn is_silent(&self) -> bool {
        self.output.device().is_none()
    }

    /// Why nothing is heard, if something should be.
    pub const fn missing(&self) -> Option<&SoundProblem> {
        self.output.missing()
    }

    /// What it sounds through, in words; none if it is silent.
    pub fn output_name(&self) -> Option<&str> {
        Some(self.output.device()?.name())
    }

    /// How long after it is sent out a sample is heard, as the audio system says; none if nobody
    /// says it. What was set by ear comes on top.
    pub fn latency(&self) -> Option<Duration> {
        self.output.device()?.latency()
    }

    /// How often the output was given samples too late, as a machine that is too busy does; what
    /// follows is heard later than it should be.
    pub fn gaps(&self) -> u32 {
        self.output.device().map_or(0, |device| device.gaps())
    }

    /// The latest that a MIDI note was sent after it was due; none if no note is sent.
    pub fn worst_delay(&self) -> Option<Duration> {
        self.output.device()?.worst_delay()
    }

    /// What has become of the output; each change is said once. To be called a few times a
    /// second. What has gone is silent, and its beats go on where they are, for whoever shows
    /// them; what is back takes up the click on the first of a bar.
    pub fn change(&mut self) -> Option<SoundChange> {
        // Where its beats were is known as long as it is there.
        let first = self.heard_at(0).map(|first| first.plus(earlier(self.delay)));
        let change = self.output.look(self.now())?;
        if let Some(going) = &mut self.going {
            match change {
                SoundChange::Lost(_) => {
                    going.at = first.unwrap_or(going.at);
                }
                SoundChange::Back(_) => self.resume(),
            }
        }
        Some(change)
    }

    /// Has the output that is back take up the click that goes on.
    fn resume(&mut self) {
        let Some(mut going) = self.going else { return };
        let soonest = self.output.device().and_then(|device| device.soonest());
        let ready = soonest.unwrap_or_else(|| self.now()).as_micros();
        let passed = ready.saturating_sub(going.at.as_micros());
        going.from = going.click.bar_after(passed);
        let at = after(going.at, going.click.micros(going.from));
        if let Some(device) = self.output.device_mut() {
            device.start(going.click.from_beat(going.from), at);
        }
        self.going = Some(going);
    }
}

fn after(time: Instant, micros: u64) -> Instant {
    Instant::from_micros(time.as_micros().saturating_add(micros))
}

/// The name of the audio output that would be used. Nothing is played to find it out.
#[cfg(feature = "sound")]
pub fn audio_output() -> Result<String, SoundProblem> {
    audio::name()
}

/// The name of the audio output that would be used: this build knows none.
#[cfg(not(feature = "sound"))]
pub const fn audio_output() -> Result<String, SoundProblem> {
    Err(SoundProblem::AudioNotBuilt)
}

/// The delay the other way round.
const fn earlier(delay: Offset) -> Offset {
    Offset::from_micros(delay.as_micros().saturating_neg())
}

/// The time on a clock that started at `start`.
fn since(start: std::time::Instant) -> Instant {
    Instant::from_micros(u64::try_from(start.elapsed().as_micros()).unwrap_or(u64::MAX))
}
