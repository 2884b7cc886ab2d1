//! Handles what is heard while a study is practised: each attempt takes the plan a step further.

mod aloud;
mod asked;
mod changed;
mod now;
mod turns;

use super::spoken::Spoken;
use super::view::View;
use crate::events::{OtherwiseRecord, StepRecord};
use crate::fault::Fault;
use crate::listening::{Finished, otherwise};
use crate::live::{Change, Source};
use crate::output::Output;
use crate::practice::{Effect, Next, Plan, Playing};
use crate::sitting::Sitting;
use crate::sitting::connection;
use crate::sitting::live_loop::{Flow, HeardBy, HeardNow, Progress, SessionHandler};
use crate::sound::{Passage, Sound};
use crate::switches::{Action, Switches};
use evenhand_core::measure::timing::Click;
use evenhand_core::pickup::Channels;
use evenhand_core::practice::{AttemptResult, Choices, CountIn, Due, EventResults, Reason, Task};
use evenhand_core::units::{Instant, Pitch, Seconds};
use std::time::Duration;

/// Everything that practice needs beside the guitar.
pub(super) struct PracticeHandler {
    plan: Plan,
    view: View,
    sound: Sound,
    spoken: Spoken,
    sitting: Sitting,
    /// Those at other studies, before this one.
    before: Vec<Sitting>,
    /// When the time is over that this study is given.
    until: Option<Instant>,
    /// What is practised is there to warm up, and for nothing else.
    warms_up: bool,
    /// What is said when all of this study is at its goal, where another one follows.
    at_goal: Option<String>,
    /// What was changed in studies before this one, and what came after it.
    changed: Vec<(Effect, String)>,
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
            before: Vec::new(),
            until: None,
            warms_up: false,
            at_goal: None,
            changed: Vec::new(),
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

    /// Where results go.
    pub(super) const fn output(&mut self) -> &mut Output {
        &mut self.output
    }

    /// Something about the machine.
    pub(super) fn notice(&mut self, what: &str) {
        self.view.notice(what);
    }

    /// With what is spoken.
    pub(super) fn with(self, spoken: Spoken) -> Self {
        Self { spoken, ..self }
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
    pub(super) fn leave(mut self) -> (Vec<Sitting>, Output) {
        self.view.close();
        // What cannot be written now is noticed with the summary.
        let _ = self.effects();
        self.before.push(self.sitting);
        (self.before, self.output)
    }

    /// Says what comes next.
    fn tell(&mut self, next: &Next) -> Result<(), Fault> {
        self.output.record(&StepRecord::of(&next.step, &next.sentences))?;
        self.called = false;
        self.view.ways(self.ways());
        self.view.next(self.plan.current(), self.free, next, &mut self.output)
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
        if next.step.reason == Reason::AllAtGoal
            && let (Some(words), Some(last)) = (&self.at_goal, next.sentences.last_mut())
        {
            last.clone_from(words);
        }
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
        self.heard = HeardNow { progress: Progress::Nothing, ..self.heard };
        self.sitting.tell(&mut self.output)?;
        if self.has_had_its_time() {
            // What comes next is another study.
            return Ok(Flow::Leave);
        }
        self.tell(&next)?;
        self.tell_now()?;
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
