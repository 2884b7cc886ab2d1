//! What now is, for the page and for the events, and whether there is sound.

use super::PracticeHandler;
use crate::cmd::practice::view::Asks;
use crate::events::{NowRecord, SoundRecord};
use crate::fault::Fault;
use crate::screen::SeenBeat;
use crate::sitting::sounding;
use crate::sound::SoundChange;
use evenhand_core::units::{Instant, Offset};

/// So long after the last note beats are still shown where nothing sounds. Our default: the longest
/// chunk at the slowest tempo is over, and somebody has thought about it.
const LEFT: Offset = Offset::from_millis(60_000);

impl PracticeHandler {
    /// The beat of a click that goes on and that nothing sounds, for the page. Where nobody plays for long it is
    /// not shown: a page that nobody plays from stands still.
    pub(super) fn seen_beat(&self) -> Option<(SeenBeat, Instant)> {
        let shown = self.view.is_page() && self.sound.is_silent();
        let click = self.plan.click().filter(|_| shown)?;
        let beat = click.beat_at(self.now)?;
        let quiet_since = self.last_note.max(click.begins);
        let next = click.beat(beat + 1);
        let is_left = self.now > quiet_since.plus(LEFT);
        let number = |beat: u32| u8::try_from(beat).unwrap_or(u8::MAX);
        let in_bar = number(click.click.beat(beat).in_bar);
        (!is_left).then_some((SeenBeat { in_bar, of: number(click.click.beats_in_bar()) }, next))
    }

    /// Shows what now is, and writes it as an event where it has changed.
    pub(super) fn tell_now(&mut self) -> Result<(), Fault> {
        let asks = match (self.plan.poll_at(), self.plan.click()) {
            (None, _) => Asks::Begin,
            (Some(_), Some(_)) => Asks::Count,
            (Some(_), None) => Asks::Read,
        };
        let beat = self.seen_beat().map(|(beat, _)| beat);
        self.view.now(self.heard, asks, beat, self.now)?;
        let state = self.view.state();
        if state != self.told_now {
            self.told_now = state;
            let at_us = self.now.as_micros();
            self.output.record(&NowRecord { state, at_us })?;
        }
        Ok(())
    }

    /// Says whether there is sound, where there should be.
    pub(super) fn tell_sound(&mut self) -> Result<(), Fault> {
        let why = self.sound.missing().map(ToString::to_string);
        let through = self.sound.output_name().map(str::to_owned);
        self.view.sound(why.as_deref(), !self.free);
        if why.is_none() && through.is_none() {
            // None was wished for.
            return Ok(());
        }
        self.output.record(&SoundRecord { heard: why.is_none(), through, why })
    }

    /// The sound has gone or is back.
    pub(super) fn other_sound(&mut self, change: &SoundChange) -> Result<(), Fault> {
        // An attempt that began without a click ends without one.
        self.sound.stop();
        self.other_sound = true;
        self.tell_sound()?;
        self.view.notice(&sounding::words(change));
        Ok(())
    }
}
