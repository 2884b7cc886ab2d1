//! From the beginning to the first study, and from one study to the next.

use super::PracticeHandler;
use crate::cmd::practice::portion::Portion;
use crate::fault::Fault;
use crate::practice::Plan;
use crate::sitting::Sitting;
use evenhand_core::units::{Instant, Offset};

impl PracticeHandler {
    /// The first step.
    pub(in crate::cmd::practice) fn begin(
        &mut self,
        portion: &Portion,
        now: Instant,
    ) -> Result<(), Fault> {
        self.view.begin(&mut self.output)?;
        self.tell_sound()?;
        if let Some(problem) = self.spoken.problem() {
            self.view.notice_at_the_beginning(&problem.to_string());
        }
        self.begin_portion(portion, now)
    }

    /// The first step at a study.
    fn begin_portion(&mut self, portion: &Portion, now: Instant) -> Result<(), Fault> {
        self.now = now;
        let minutes = portion.minutes().and_then(|minutes| i32::try_from(minutes).ok());
        let time = |minutes: i32| now.plus(Offset::from_millis(minutes.saturating_mul(60_000)));
        (self.until, self.warms_up) = (minutes.map(time), portion.warms_up());
        self.at_goal = portion.at_goal();
        portion.record(&mut self.output)?;
        let mut next = self.plan.begin(self.counts(), now);
        let words = portion.words(self.before.is_empty());
        next.sentences.splice(0..0, words);
        self.tell(&next)
    }

    /// From one study to the next: a sitting of its own, by the same page, and what was said last is read.
    pub(in crate::cmd::practice) fn turn_to(
        &mut self,
        portion: &Portion,
        mut plan: Plan,
        sitting: Sitting,
        now: Instant,
    ) -> Result<(), Fault> {
        plan.goes_on_from(&self.plan);
        self.changed.extend(self.plan.effects());
        self.plan = plan;
        let mut left = std::mem::replace(&mut self.sitting, sitting);
        left.close();
        self.before.push(left);
        self.sound.stop();
        (self.restored, self.takes_back, self.called) = (false, false, false);
        self.view.turn_to(&portion.study().name);
        self.begin_portion(portion, now)?;
        self.plan.wait(now);
        Ok(())
    }

    /// Whether this study has had the time that it was given.
    pub(in crate::cmd::practice) fn has_had_its_time(&self) -> bool {
        self.until.is_some_and(|until| until <= self.now)
            || (self.warms_up && !self.plan.is_warming_up())
    }
}
