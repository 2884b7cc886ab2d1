//! What is said aloud and what is played to be listened to, between attempts.

use super::PracticeHandler;
use crate::events::SpokenRecord;
use crate::fault::Fault;
use crate::sitting::live_loop::Flow;
use crate::sound::Passage;
use evenhand_core::units::Offset;

/// What has sounded rings on for so long, and may come back through a MIDI output; and so long after it somebody is
/// counted in at the earliest. Our defaults.
const RINGING: Offset = Offset::from_millis(300);
const AFTER_HEARING: Offset = Offset::from_millis(1_000);

impl PracticeHandler {
    /// Plays something to be listened to; what is being played ends. Nothing is judged and nobody is counted in
    /// meanwhile.
    pub(super) fn let_hear(&mut self, passage: Option<Passage>) -> Result<Flow, Fault> {
        if self.sounding.is_some() {
            self.sound.hush();
            self.sounding = Some(self.now);
            return Ok(Flow::GoOn);
        }
        let Some(passage) = passage else {
            self.view.notice("There is no attempt to hear yet.");
            return Ok(Flow::GoOn);
        };
        let Some((_, end)) = self.sound.play(&passage, self.sound.soonest()) else {
            self.view.notice("It cannot be heard: there is no sound.");
            return Ok(Flow::GoOn);
        };
        self.sounding = Some(end.plus(RINGING));
        self.plan.hold(end.plus(AFTER_HEARING));
        self.view.listen()?;
        self.tell_now()?;
        // What was under way is left, and what comes meanwhile is passed over.
        Ok(Flow::Leave)
    }

    /// What is played to be listened to is over.
    pub(super) fn end_of_hearing(&mut self) {
        if self.sounding.is_some_and(|end| self.now >= end || self.sound.is_silent()) {
            self.sounding = None;
            self.view.listened();
        }
    }

    /// Says what waits to be said, if there is time for it. As long as something is being said nobody is counted in
    /// and no click sounds; whether one has ended for it.
    pub(super) fn speak(&mut self, under_way: bool) -> Result<bool, Fault> {
        if let Some(words) = self.spoken.words(under_way) {
            self.say(&words, false)?;
        }
        let clicked = self.click().is_some();
        if let Some(hold) = self.spoken.goes_on(self.last_note) {
            self.plan.hold(self.now.plus(hold));
            self.hush();
        }
        Ok(clicked && self.click().is_none())
    }

    fn say(&mut self, words: &str, is_long: bool) -> Result<(), Fault> {
        match self.spoken.say(words, is_long, self.last_note) {
            Ok(()) => {
                let at_us = self.now.as_micros();
                self.output.record(&SpokenRecord { words, at_us })
            }
            Err(problem) => {
                self.view.notice(&problem.to_string());
                Ok(())
            }
        }
    }

    /// Says aloud what was said of the last attempt and what comes next.
    pub(super) fn say_it(&mut self) -> Result<Flow, Fault> {
        let said = self.view.said();
        if said.is_empty() {
            return Ok(Flow::GoOn);
        }
        self.say(&said, true)?;
        Ok(if self.speak(false)? { Flow::Leave } else { Flow::GoOn })
    }
}
