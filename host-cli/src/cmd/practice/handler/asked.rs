//! What the player asks for, with a switch, a key or the guitar, and what can be asked for.

use super::PracticeHandler;
use crate::events::{ChoicesRecord, StepRecord};
use crate::fault::Fault;
use crate::screen::Key;
use crate::sitting::live_loop::Flow;
use crate::sitting::{Disputed, GONE_ON, KEPT};
use crate::sound::Passage;
use crate::switches::{Action, Said, ways_of_feet, ways_of_keys, ways_of_strings};
use evenhand_core::practice::{Press, Reason};

impl PracticeHandler {
    /// What can be asked for now, and how; nothing where there are only the keys that always mean the same.
    pub(super) fn ways(&self) -> String {
        let offered = self.plan.offered();
        match self.switches.two() {
            _ if self.called => ways_of_strings(offered),
            Some(two) => ways_of_feet(offered, two.can_hold()),
            None => ways_of_keys(offered, self.plan.choices()),
        }
    }

    /// The player asks what can be chosen, with the guitar or not.
    fn choices(&mut self, called: bool) -> Result<Flow, Fault> {
        if called {
            // There is time to read it.
            self.plan.wait(self.now);
        } else {
            self.plan.offer(self.now);
        }
        self.called = called;
        self.hush();
        let ways = self.ways();
        self.output.record(&ChoicesRecord::of(self.plan.offered(), &ways))?;
        self.view.ask(&ways, &mut self.output)?;
        Ok(Flow::Leave)
    }

    pub(super) fn act(&mut self, action: Action) -> Result<Flow, Fault> {
        match action {
            Action::Again => {
                self.sound.hush();
                self.sounding = self.sounding.map(|_| self.now);
                self.plan.press(Press::Again, self.now);
                self.hush();
                Ok(Flow::Leave)
            }
            Action::Misheard => self.misheard(),
            Action::Next => self.ask(Press::Next),
            Action::Back => self.ask(Press::Back),
            Action::Stop => {
                self.over = true;
                Ok(Flow::Leave)
            }
            Action::Hurts => self.hurts(),
            Action::Choose(choice) => self.ask(Press::Choose(choice)),
            Action::Say => self.say_it(),
            Action::Choices => self.choices(false),
            Action::Call => self.choices(true),
        }
    }

    /// What a switch that is a key has said.
    pub(super) fn said(&mut self, said: Option<Said>) -> Result<Flow, Fault> {
        match said.and_then(|said| said.action(self.plan.offered())) {
            Some(action) => self.act(action),
            None => Ok(Flow::GoOn),
        }
    }

    /// Goes where the player wants to go.
    fn ask(&mut self, press: Press) -> Result<Flow, Fault> {
        // What is not possible here changes nothing.
        let Some(next) = self.plan.press(press, self.now) else { return Ok(Flow::GoOn) };
        self.view.turn_page();
        self.hush();
        self.sitting.step(&next);
        // Enough is enough, of other studies, too.
        self.over |= next.step.reason == Reason::Stopped;
        if self.has_had_its_time() && !self.over {
            return Ok(Flow::Leave);
        }
        self.tell(&next)?;
        Ok(Flow::Leave)
    }

    /// The last attempt was right, says the player: it is as if it had not been played.
    fn misheard(&mut self) -> Result<Flow, Fault> {
        let (before, clicked) =
            (self.playing().map(|playing| playing.task), self.click().is_some());
        let next = self.plan.press(Press::Misheard, self.now);
        let Some(mut next) = next else {
            // Why that is so, the sitting knows, but for what the player has asked for since.
            self.view.notice(self.sitting.nothing_to_take_back().unwrap_or(GONE_ON));
            return Ok(Flow::GoOn);
        };
        self.takes_back = true;
        self.restored = next.step.task != before;
        let disputed = self.sitting.dispute(Some(&next));
        if let Disputed::TakenBack { kept: true, .. } = disputed {
            next.sentences.push(KEPT.to_owned());
        }
        self.output.take_back();
        self.view.turn_page();
        self.hush();
        if let Some(record) = disputed.record() {
            self.output.record(&record)?;
        }
        self.tell(&next)?;
        self.sitting.tell(&mut self.output)?;
        let other = self.restored || clicked != self.click().is_some();
        Ok(if other { Flow::Leave } else { Flow::GoOn })
    }

    /// It hurts: practice ends at once, with what has to be said.
    fn hurts(&mut self) -> Result<Flow, Fault> {
        let Some(next) = self.plan.press(Press::Hurts, self.now) else { return Ok(Flow::GoOn) };
        self.hush();
        self.sitting.step(&next);
        self.output.record(&StepRecord::of(&next.step, &next.sentences))?;
        debug_assert_eq!(next.step.reason, Reason::Hurts);
        // What has to be said must stay to be read when the page is gone.
        self.view.close();
        for sentence in &next.sentences {
            self.output.paragraph(sentence)?;
        }
        self.over = true;
        Ok(Flow::Leave)
    }

    /// Does what a key asks for.
    pub(super) fn key(&mut self, key: Key) -> Result<Flow, Fault> {
        if self.switches.has_key(key) {
            let said = self.switches.key(key, self.now);
            return self.said(said);
        }
        match key {
            Key::Char('h') => self.hurts(),
            Key::Char('m') => self.misheard(),
            Key::Char('s') => self.say_it(),
            Key::Char('p') => {
                let passage = self.playing().map(|playing| Passage::of_chunk(&playing.chunk));
                self.let_hear(passage)
            }
            Key::Char('o') => self.let_hear(self.own.clone()),
            Key::Char('q') | Key::Interrupt => self.act(Action::Stop),
            Key::Named("space") => self.act(Action::Again),
            Key::Named("right" | "page down") => self.act(Action::Next),
            Key::Named("left" | "page up") => self.act(Action::Back),
            Key::Char(digit @ '1'..='6') => {
                let index = digit as usize - '1' as usize;
                match self.plan.choices().iter().nth(index) {
                    Some(choice) => self.ask(Press::Choose(choice)),
                    None => Ok(Flow::GoOn),
                }
            }
            _ => Ok(Flow::GoOn),
        }
    }
}
