//! The room in which a study is practised: each attempt takes the plan a step further.

use super::pace::{Due, Grid, Pace};
use super::view::View;
use crate::cmd::ear::{Flow, Room};
use crate::cmd::line;
use crate::cmd::output::Output;
use crate::cmd::sitting::Sitting;
use crate::cmd::sounding;
use crate::events::{SoundRecord, StepRecord};
use crate::fault::Fault;
use crate::listening::Finished;
use crate::live::{Change, Source};
use crate::practice::{Next, Plan, Playing};
use crate::report;
use crate::screen::Key;
use crate::sound::{Sound, SoundChange};
use crate::switches::{Action, Switches};
use evenhand_core::measure::timing::Click;
use evenhand_core::pickup::Channels;
use evenhand_core::practice::{Attempt, Choice, Heard, Piece, Reason};
use evenhand_core::units::{Instant, Seconds};
use std::time::Duration;

/// Everything in the room but the guitar.
pub(super) struct PracticeRoom {
    plan: Plan,
    view: View,
    sound: Sound,
    sitting: Sitting,
    output: Output,
    switches: Switches,
    pace: Pace,
    /// The sound has gone or is back, and the attempt under way is still listened to as before.
    other_sound: bool,
    /// The player chooses the tempo.
    free: bool,
    /// What time it is on the source's clock.
    now: Instant,
    over: bool,
}

impl PracticeRoom {
    pub(super) fn new(
        plan: Plan,
        view: View,
        sound: Sound,
        sitting: Sitting,
        output: Output,
        switches: Switches,
        free: bool,
    ) -> Self {
        // Nobody is counted in who can neither hear nor see it.
        let pace = Pace::new(!free && (view.is_page() || !sound.is_silent()));
        let now = Instant::ZERO;
        Self {
            plan,
            view,
            sound,
            sitting,
            output,
            switches,
            pace,
            other_sound: false,
            free,
            now,
            over: false,
        }
    }

    /// The first step.
    pub(super) fn begin(&mut self, now: Instant) -> Result<(), Fault> {
        self.now = now;
        self.view.begin(&mut self.output)?;
        self.tell_sound()?;
        let next = self.plan.begin(self.seconds());
        self.turn(false, false);
        self.tell(&next)
    }

    /// What is to be played now.
    pub(super) fn playing(&self) -> Option<Playing> {
        self.plan.current().cloned()
    }

    /// The click that is heard. One that is only seen is nothing to play to.
    pub(super) fn click(&self) -> Option<Click> {
        let grid = self.pace.grid().filter(|_| !self.sound.is_silent())?;
        Some(Click { start: grid.chunk_begins() })
    }

    /// Something else comes, or the same anew: what was said is read first.
    fn turn(&mut self, read: bool, rest: bool) {
        self.sound.stop();
        self.pace.turn(self.now, read, rest);
    }

    /// Begins to count in.
    fn count_in(&mut self, grid: &Grid) {
        let soonest = self.sound.soonest().max(self.now);
        let heard = self.sound.start(grid.click, soonest);
        self.pace.heard_from(heard);
    }

    /// Says whether there is sound, where there should be.
    fn tell_sound(&mut self) -> Result<(), Fault> {
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
    fn other_sound(&mut self, change: &SoundChange) -> Result<(), Fault> {
        // An attempt that began without a click ends without one.
        self.sound.stop();
        self.other_sound = true;
        self.tell_sound()?;
        self.view.notice(&sounding::words(change));
        Ok(())
    }

    /// Whether the player has had enough.
    pub(super) const fn is_over(&self) -> bool {
        self.over
    }

    /// Gives the terminal back to the shell, and hands out what is left to be ended.
    pub(super) fn leave(mut self) -> (Sitting, Output) {
        self.view.close();
        (self.sitting, self.output)
    }

    fn seconds(&self) -> Seconds {
        Seconds::new(u32::try_from(self.now.as_micros() / 1_000_000).unwrap_or(u32::MAX))
    }

    /// Says what comes next.
    fn tell(&mut self, next: &Next) -> Result<(), Fault> {
        self.output.record(&StepRecord::of(&next.step, &next.sentences))?;
        self.view.next(self.plan.current(), self.free, next, &mut self.output)
    }

    /// Goes where the player wants to go.
    fn went(&mut self, next: &Next) -> Result<Flow, Fault> {
        self.view.turn_page();
        self.turn(false, false);
        self.sitting.step(next);
        self.tell(next)?;
        Ok(Flow::Leave)
    }

    fn act(&mut self, action: Action) -> Result<Flow, Fault> {
        match action {
            Action::Again => {
                self.turn(false, false);
                Ok(Flow::Leave)
            }
            Action::Next => self.go(true),
            Action::Back => self.go(false),
            Action::Stop => {
                self.over = true;
                Ok(Flow::Leave)
            }
        }
    }

    /// To the chunk after this piece, or to the one before it.
    fn go(&mut self, after: bool) -> Result<Flow, Fault> {
        let Some(piece) = self.plan.current().and_then(|playing| self.beside(playing, after))
        else {
            return Ok(Flow::GoOn);
        };
        let now = self.seconds();
        match self.plan.go_to(piece, now) {
            Ok(next) => self.went(&next),
            Err(_) => Ok(Flow::GoOn),
        }
    }

    /// The chunk after this piece, or the one before it.
    fn beside(&self, playing: &Playing, after: bool) -> Option<Piece> {
        let here = match playing.task.piece {
            Piece::Chunk(chunk) | Piece::Half(chunk, _) | Piece::Seam(chunk) => chunk,
            Piece::Join { first, .. } => first,
        };
        let wanted = Piece::Chunk(if after { here.checked_add(1)? } else { here.checked_sub(1)? });
        self.plan.pieces().any(|(piece, ..)| piece == wanted).then_some(wanted)
    }

    fn choose(&mut self, choice: Choice) -> Result<Flow, Fault> {
        let now = self.seconds();
        match self.plan.choose(choice, now) {
            Ok(next) => self.went(&next),
            // Not possible here.
            Err(_) => Ok(Flow::GoOn),
        }
    }

    /// It hurts: practice ends at once, with what has to be said.
    fn hurts(&mut self) -> Result<Flow, Fault> {
        self.sound.stop();
        let next = self.plan.hurts();
        self.sitting.step(&next);
        self.output.record(&StepRecord::of(&next.step, &next.sentences))?;
        debug_assert_eq!(next.step.reason, Reason::Hurts);
        // What has to be said must stay to be read when the page is gone.
        self.view.close();
        for line in next.sentences.iter().flat_map(|sentence| report::wrapped(sentence)) {
            self.output.say(&line)?;
        }
        self.over = true;
        Ok(Flow::Leave)
    }

    /// Does what a key asks for.
    fn key(&mut self, key: Key) -> Result<Flow, Fault> {
        if let Some(action) = self.switches.key(key) {
            return self.act(action);
        }
        match key {
            Key::Char('h') => self.hurts(),
            Key::Char('q') | Key::Interrupt => self.act(Action::Stop),
            Key::Named("space") => self.act(Action::Again),
            Key::Named("right" | "page down") => self.act(Action::Next),
            Key::Named("left" | "page up") => self.act(Action::Back),
            Key::Char(digit @ '1'..='5') => {
                let index = digit as usize - '1' as usize;
                match self.plan.choices().iter().nth(index) {
                    Some(choice) => self.choose(choice),
                    None => Ok(Flow::GoOn),
                }
            }
            _ => Ok(Flow::GoOn),
        }
    }
}

impl Room for PracticeRoom {
    fn attempt(&mut self, finished: &Finished<'_>, source: &Source) -> Result<Flow, Fault> {
        self.now = self.now.max(source.now());
        let Some(playing) = self.playing() else { return Ok(Flow::Leave) };
        let first = finished.played.first().map_or(0, |note| note.at.as_micros());
        let last = finished.played.last().map_or(0, |note| note.at.as_micros());
        let seconds = u32::try_from(last.saturating_sub(first) / 1_000_000).unwrap_or(0);
        let tempo = report::tempo_heard(finished).filter(|_| !self.free);
        let next = self.plan.attempt(Attempt {
            heard: Heard::of(&finished.verdict),
            tempo,
            lasted: Seconds::new(seconds),
            ended: self.seconds(),
        });
        self.sitting.keep_with_step(finished, source, &next);
        let other = next.step.task != Some(playing.task);
        if other || next.step.rest.is_some() {
            self.turn(true, next.step.rest.is_some());
        } else {
            self.pace.judged(self.now);
        }
        self.sound.cue(finished.verdict.outcome);
        self.view.attempt(finished, &mut self.output, &source.name)?;
        self.tell(&next)?;
        self.sitting.tell(&mut self.output)?;
        let leave = other || self.output.is_closed();
        Ok(if leave { Flow::Leave } else { Flow::GoOn })
    }

    fn press(&mut self, action: Action) -> Result<Flow, Fault> {
        self.act(action)
    }

    fn change(&mut self, change: Change, under_way: bool, source: &Source) -> Result<(), Fault> {
        self.view.notice(&line::words(change, &source.name, under_way));
        line::record(change, under_way, &mut self.output, source)
    }

    fn channels(&mut self, _found: Channels) -> Result<(), Fault> {
        Ok(())
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
        if let Some(change) = self.sound.change() {
            self.other_sound(&change)?;
        }
        if self.other_sound && !under_way {
            self.other_sound = false;
            let counts = !self.free && (self.view.is_page() || !self.sound.is_silent());
            self.pace.sound_changed(now, counts);
            // A listener that knows whether there is a click takes over.
            return Ok(Flow::Leave);
        }
        let Some(playing) = self.plan.current() else { return Ok(Flow::Leave) };
        match self.pace.step(now, &playing.chunk, quiet_since, under_way) {
            Due::Nothing => Ok(Flow::GoOn),
            // A listener that knows of the click takes over.
            Due::CountIn(grid) => {
                self.count_in(&grid);
                Ok(Flow::Leave)
            }
            Due::Beat(beat) => self.view.count(beat).map(|()| Flow::GoOn),
            Due::Play => self.view.play().map(|()| Flow::GoOn),
        }
    }

    fn due_in(&self, source: &Source) -> Option<Duration> {
        let pace = self.pace.due().map(|at| source.until(at));
        [self.sitting.due_in(source), pace].into_iter().flatten().min()
    }
}
