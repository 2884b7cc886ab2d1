//! Handles what is heard while a study is practised: each attempt takes the plan a step further.

mod aloud;
mod now;

use super::spoken::Spoken;
use super::view::View;
use crate::events::{ChoicesRecord, EffectRecord, OtherwiseRecord, StepRecord};
use crate::fault::Fault;
use crate::listening::{Finished, otherwise};
use crate::live::{Change, Source};
use crate::output::Output;
use crate::practice::{Next, Plan, Playing};
use crate::report::StyledLine;
use crate::screen::Key;
use crate::sitting::connection;
use crate::sitting::live_loop::{Flow, HeardBy, HeardNow, Progress, SessionHandler};
use crate::sitting::{Disputed, GONE_ON, KEPT, Sitting};
use crate::sound::{Passage, Sound};
use crate::switches::{Action, Said, Switches, ways_of_feet, ways_of_keys, ways_of_strings};
use evenhand_core::measure::timing::Click;
use evenhand_core::pickup::Channels;
use evenhand_core::practice::{
    AttemptResult, Choices, CountIn, Due, EventResults, Press, Reason, Task,
};
use evenhand_core::units::{Instant, Pitch, Seconds};
use std::time::Duration;

/// Everything that practice needs beside the guitar.
pub(super) struct PracticeHandler {
    plan: Plan,
    view: View,
    sound: Sound,
    spoken: Spoken,
    sitting: Sitting,
    output: Output,
    switches: Switches,
    /// The sound has gone or is back, and the attempt under way is still listened to as before.
    other_sound: bool,
    /// The player chooses the tempo.
    free: bool,
    /// What time it is on the source's clock.
    now: Instant,
    last_note: Instant,
    /// The last attempt was taken back just now.
    takes_back: bool,
    /// What is asked for is what was asked for before it.
    restored: bool,
    /// The guitar has asked what can be chosen, and a string is waited for.
    called: bool,
    over: bool,
    heard: HeardNow,
    /// The last attempt, to be heard again.
    own: Option<Passage>,
    /// The program plays until then.
    sounding: Option<Instant>,
    /// What the events said last that now is.
    told_now: &'static str,
}

impl PracticeHandler {
    pub(super) fn new(
        plan: Plan,
        view: View,
        sound: Sound,
        sitting: Sitting,
        output: Output,
        switches: Switches,
        free: bool,
    ) -> Self {
        let now = Instant::ZERO;
        Self {
            plan,
            view,
            sound,
            spoken: Spoken::new(None, false),
            sitting,
            output,
            switches,
            other_sound: false,
            free,
            now,
            last_note: now,
            takes_back: false,
            restored: false,
            called: false,
            over: false,
            heard: HeardNow::default(),
            own: None,
            sounding: None,
            told_now: "",
        }
    }

    /// With what is spoken.
    pub(super) fn with(self, spoken: Spoken) -> Self {
        Self { spoken, ..self }
    }

    /// The first step.
    pub(super) fn begin(&mut self, now: Instant) -> Result<(), Fault> {
        self.now = now;
        self.view.begin(&mut self.output)?;
        self.tell_sound()?;
        if let Some(problem) = self.spoken.problem() {
            self.view.notice_at_the_beginning(&problem.to_string());
        }
        let next = self.plan.begin(self.counts(), now);
        self.tell(&next)
    }

    /// Nobody is counted in who can neither hear nor see it.
    fn counts(&self) -> bool {
        !self.free && (self.view.is_page() || !self.sound.is_silent())
    }

    /// What is to be played now.
    pub(super) fn playing(&self) -> Option<Playing> {
        self.plan.current().cloned()
    }

    /// The click that is heard. One that is only seen is nothing to play to.
    pub(super) fn click(&self) -> Option<Click> {
        let click = self.plan.click().filter(|_| !self.sound.is_silent())?;
        Some(Click { start: click.chunk_begins() })
    }

    /// No click sounds where none is wanted any more.
    fn hush(&mut self) {
        if self.plan.click().is_none() {
            self.sound.stop();
        }
    }

    /// Begins to count in.
    fn count_in(&mut self, beats: &CountIn) {
        let soonest = self.sound.soonest().max(self.now);
        let heard = self.sound.start(beats.click, soonest);
        self.plan.heard_from(heard);
    }

    /// Whether the player has had enough.
    pub(super) const fn is_over(&self) -> bool {
        self.over
    }

    /// Whether something else is asked for since this was last asked, because an attempt was taken back:
    /// what comes is taken together with the attempts before that one.
    pub(super) const fn is_restored(&mut self) -> bool {
        std::mem::replace(&mut self.restored, false)
    }

    /// Gives the terminal back to the shell, says what was changed and what came after it, and hands out what
    /// is left to be ended.
    pub(super) fn leave(mut self) -> (Sitting, Output) {
        self.view.close();
        // What cannot be written now is noticed with the summary.
        let _ = self.effects();
        (self.sitting, self.output)
    }

    fn effects(&mut self) -> Result<(), Fault> {
        let effects = self.plan.effects();
        if effects.is_empty() || self.free {
            return Ok(());
        }
        self.output.show(&StyledLine::strong("What was changed"))?;
        for (effect, sentence) in &effects {
            self.output.set_in(sentence, "  ", "    ")?;
            self.output.record(&EffectRecord::of(effect, sentence))?;
        }
        self.output.set_in("One sitting does not show what helped; other days do.", "  ", "    ")
    }

    /// Says what comes next.
    fn tell(&mut self, next: &Next) -> Result<(), Fault> {
        self.output.record(&StepRecord::of(&next.step, &next.sentences))?;
        self.called = false;
        self.view.ways(self.ways());
        self.view.next(self.plan.current(), self.free, next, &mut self.output)
    }

    /// What can be asked for now, and how; nothing where there are only the keys that always mean the same.
    fn ways(&self) -> String {
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

    fn act(&mut self, action: Action) -> Result<Flow, Fault> {
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
            Action::Choices => self.choices(false),
            Action::Call => self.choices(true),
        }
    }

    /// What a switch that is a key has said.
    fn said(&mut self, said: Option<Said>) -> Result<Flow, Fault> {
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
    fn key(&mut self, key: Key) -> Result<Flow, Fault> {
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

impl SessionHandler for PracticeHandler {
    fn attempt(&mut self, finished: &Finished<'_>, by: HeardBy<'_>) -> Result<Flow, Fault> {
        let source = by.source;
        self.now = self.now.max(source.now());
        let Some(playing) = self.playing() else { return Ok(Flow::Leave) };
        let first = finished.played.first().map_or(0, |note| note.at.as_micros());
        let last = finished.played.last().map_or(0, |note| note.at.as_micros());
        let seconds = u32::try_from(last.saturating_sub(first) / 1_000_000).unwrap_or(0);
        let tempo = finished.tempo_heard().filter(|_| !self.free);
        let clicked = self.plan.click().is_some();
        let other = finished.otherwise(self.plan.chunks());
        let other = other.map(|other| other.sentence(Some(&playing.chunk.name)));
        let (heard, results) = match &other {
            // It says nothing about what is asked for.
            Some(_) => (AttemptResult::Interrupted, EventResults::NONE),
            None => (
                AttemptResult::of(&finished.verdict),
                finished.material(|material| EventResults::of(material, &finished.verdict)),
            ),
        };
        let lasted = Seconds::new(seconds);
        let mut next = self.plan.attempt(heard, tempo, lasted, &results, self.now);
        if let Some(other) = other {
            next.sentences.insert(0, other);
        }
        self.sitting.keep_with_step(finished, by, &next);
        self.hush();
        self.sound.cue(finished.verdict.outcome);
        let tempo = |task: Task| {
            let beat = playing.chunk.metre.beat();
            (task.tempo.hundredths_of_beats_per_minute(beat) + 50) / 100
        };
        let other = next.step.task.map(tempo).filter(|next| *next != tempo(playing.task));
        self.own = Some(Passage::of_played(&finished.played));
        self.spoken.attempt(finished.verdict.outcome, other.filter(|_| !self.free));
        self.view.attempt(finished, self.now, &mut self.output, &source.name)?;
        self.tell(&next)?;
        self.heard = HeardNow { progress: Progress::Nothing, ..self.heard };
        self.tell_now()?;
        self.sitting.tell(&mut self.output)?;
        // A listener that knows of no click takes over where it has ended.
        let other = next.step.task != Some(playing.task) || clicked != self.plan.click().is_some();
        let leave = other || self.output.is_closed();
        Ok(if leave { Flow::Leave } else { Flow::GoOn })
    }

    fn something_else(&mut self, notes: &[(Pitch, Instant)]) -> Result<(), Fault> {
        let Some(playing) = self.plan.current() else { return Ok(()) };
        let other = otherwise(notes, Some(&playing.chunk), self.plan.chunks());
        let Some(other) = other else { return Ok(()) };
        let sentence = other.sentence(Some(&playing.chunk.name));
        let (chunk, semitones) = (other.chunk, other.semitones);
        self.output.record(&OtherwiseRecord { chunk, semitones, sentence: &sentence })?;
        self.view.aside(&sentence, &mut self.output)
    }

    fn takes_back(&mut self) -> bool {
        std::mem::take(&mut self.takes_back)
    }

    fn press(&mut self, action: Action) -> Result<Flow, Fault> {
        self.act(action)
    }

    fn offered(&self) -> Choices {
        self.plan.offered()
    }

    fn change(&mut self, change: Change, under_way: bool, source: &Source) -> Result<(), Fault> {
        self.view.notice(&connection::words(change, source, under_way));
        connection::record(change, under_way, &mut self.output, source)
    }

    fn poor_hearing(&mut self, source: &Source) -> Result<(), Fault> {
        self.view.notice(connection::POOR_HEARING);
        connection::record_poor_hearing(&mut self.output, source)
    }

    fn channels(&mut self, _found: Channels) -> Result<(), Fault> {
        Ok(())
    }

    fn is_deaf(&self) -> bool {
        self.sounding.is_some()
    }

    fn hears(&mut self, heard: HeardNow) {
        self.heard = heard;
    }

    fn look(
        &mut self,
        now: Instant,
        quiet_since: Option<Instant>,
        under_way: bool,
    ) -> Result<Flow, Fault> {
        self.now = self.now.max(now);
        self.sitting.go_on(&mut self.output)?;
        if self.output.is_closed() {
            self.over = true;
            return Ok(Flow::Leave);
        }
        if let Some(key) = self.view.key()
            && self.key(key)? == Flow::Leave
        {
            return Ok(Flow::Leave);
        }
        let said = self.switches.poll(now);
        if self.said(said)? == Flow::Leave {
            return Ok(Flow::Leave);
        }
        if let Some(change) = self.sound.change() {
            self.other_sound(&change)?;
        }
        if self.other_sound && !under_way {
            self.other_sound = false;
            self.plan.counts(self.counts(), now);
            // A listener that knows whether there is a click takes over.
            return Ok(Flow::Leave);
        }
        if self.plan.current().is_none() {
            return Ok(Flow::Leave);
        }
        if let Some(last) = quiet_since {
            self.plan.note(last);
            self.last_note = last;
        }
        self.end_of_hearing();
        if self.speak(under_way || self.sounding.is_some())? {
            return Ok(Flow::Leave);
        }
        while let Some(due) = self.plan.poll(now, under_way) {
            match due {
                // A listener that knows of the click takes over.
                Due::CountIn(beats) => {
                    self.count_in(&beats);
                    return Ok(Flow::Leave);
                }
                Due::Beat { in_bar, .. } => self.view.count(in_bar)?,
                Due::Play => {
                    // What was offered has lapsed.
                    self.called = false;
                    self.view.ways(self.ways());
                    self.view.play()?;
                }
            }
        }
        self.tell_now()?;
        Ok(Flow::GoOn)
    }

    fn due_in(&self, source: &Source) -> Option<Duration> {
        let practice = self.plan.poll_at().map(|at| source.until(at));
        let beat = self.seen_beat().map(|(_, next)| source.until(next));
        let said = self.switches.poll_at().map(|at| source.until(at));
        [self.sitting.due_in(source), practice, beat, said].into_iter().flatten().min()
    }
}
