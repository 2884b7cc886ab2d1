//! A sitting of practice on a study.

use super::effects::{Effect, Effects};
use super::pieces::Pieces;
use super::sentences::{self, Cold};
use crate::study::{Prepared, Problem, Study};
use evenhand_core::practice::{
    AttemptResult, Choice, Choices, CountIn, Due, Earlier, Engine, EventResults, NotPossible,
    Pacing, Piece, PracticeVariant, Press, Reason, Step, Task,
};
use evenhand_core::units::{Instant, Seconds, Tempo};

/// What is added to the name of a piece that is played to warm up: the log tells it from a try at the piece.
const TO_WARM_UP: &str = ", to warm up";

/// What a plan is told beside the study.
#[derive(Clone, Debug)]
pub struct Settings {
    /// What is known from earlier days. What does not fit the study is passed over: studies
    /// change.
    pub known: Vec<Known>,
    /// The player chooses the tempo; none is asked for.
    pub own_tempo: bool,
    /// Nothing but steps of tempo, and what the player chooses; see [`Practice::by_steps`].
    ///
    /// [`Practice::by_steps`]: evenhand_core::practice::Practice::by_steps
    pub by_steps: bool,
    /// How long what is said is read.
    pub pacing: Pacing,
    /// The day begins with this piece, slowly, if the study has it.
    pub warm_up: Option<Piece>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            known: Vec::new(),
            own_tempo: false,
            by_steps: false,
            pacing: Pacing::PAGE,
            warm_up: None,
        }
    }
}

/// What is known of a piece from earlier days.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Known {
    /// A chunk or a join.
    pub piece: Piece,
    /// The fastest tempo at which it was clean often enough in a row.
    pub fastest_clean: Option<Tempo>,
    /// Whether it passed on an earlier day.
    pub earlier: Earlier,
    /// Whether it has had its first try of the day.
    pub tried_today: bool,
}

/// What is played now.
#[derive(Clone, Debug)]
pub struct Playing {
    /// The piece, the way, the tempo.
    pub task: Task,
    /// The music; its tempo is the tempo of practice, so a session can listen for it.
    pub chunk: Prepared,
    /// The tempo to reach.
    pub goal: Tempo,
}

/// What comes next, in the core's terms and in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Next {
    /// The step.
    pub step: Step,
    /// What is said, the heaviest first.
    pub sentences: Vec<String>,
}

/// A plan of practice: the core's engine with the music and the words of a study. Pure, without files
/// and clocks.
#[derive(Clone, Debug)]
pub struct Plan {
    pieces: Pieces,
    engine: Box<Engine>,
    playing: Option<Playing>,
    own_tempo: bool,
    pacing: Pacing,
    warm_up: Option<Piece>,
    /// What is known from earlier days of what has not been tried today.
    cold: Vec<Known>,
    effects: Effects,
}

impl Plan {
    /// A plan for all chunks of a study.
    ///
    /// # Errors
    ///
    /// What is wrong with the study; see [`Study::prepare`].
    pub fn new(study: &Study, settings: &Settings) -> Result<Self, Vec<Problem>> {
        let pieces = Pieces::of_chunks(study.prepare()?).with_voices_of(study);
        Ok(Self::of_pieces(pieces, settings))
    }

    /// A plan for chunks that are prepared already, say with another level. Chunks beyond
    /// [`limits::CHUNKS`](evenhand_core::limits::CHUNKS) are left out.
    pub fn of_chunks(chunks: Vec<Prepared>, settings: &Settings) -> Self {
        Self::of_pieces(Pieces::of_chunks(chunks), settings)
    }

    fn of_pieces(pieces: Pieces, settings: &Settings) -> Self {
        let mut engine: Box<Engine> = Box::default();
        if settings.own_tempo {
            engine.practice_mut().at_own_tempo();
        }
        if settings.by_steps {
            engine.practice_mut().by_steps();
        }
        let known = |piece| settings.known.iter().find(|known| known.piece == piece);
        for index in 0..pieces.chunks().len() {
            let Some(mut facts) = pieces.facts(index) else { break };
            let chunk = u8::try_from(index).ok();
            if let Some(known) = chunk.and_then(|chunk| known(Piece::Chunk(chunk))) {
                facts.fastest_clean = known.fastest_clean;
                facts.earlier = known.earlier;
            }
            if engine.add(facts).is_err() {
                break;
            }
        }
        for known in &settings.known {
            // Refused are chunks, which have had theirs, and what the study no longer has.
            let practice = engine.practice_mut();
            let _refused = practice.recall(known.piece, known.fastest_clean, known.earlier);
        }
        Self {
            pieces,
            engine,
            playing: None,
            own_tempo: settings.own_tempo,
            pacing: settings.pacing,
            warm_up: settings.warm_up,
            cold: settings.known.iter().filter(|known| !known.tried_today).copied().collect(),
            effects: Effects::default(),
        }
    }

    /// The first step; later, what is to be played now. With `counts` a bar is counted in before
    /// each piece.
    pub fn begin(&mut self, counts: bool, now: Instant) -> Next {
        let warm_up = self
            .warm_up
            .take()
            .and_then(|piece| self.engine.warm_up(piece, self.pacing, counts, now).ok());
        let step = warm_up.unwrap_or_else(|| self.engine.begin(self.pacing, counts, now));
        self.said(step, None)
    }

    /// The same player has practised something else before, by this plan: a rest is due when it would have
    /// been.
    pub fn goes_on_from(&mut self, before: &Self) {
        self.engine.practice_mut().goes_on_from(before.engine.practice());
    }

    /// Whether what is played now is there to warm up.
    pub fn is_warming_up(&self) -> bool {
        self.engine.practice().is_warming_up()
    }

    /// The music of a task, at its tempo; `None` for a piece that this study does not have.
    pub fn music(&self, task: Task) -> Option<Prepared> {
        self.pieces.build(task, &|chunk| self.engine.practice().fingering(chunk))
    }

    /// The chunks of the study.
    pub fn chunks(&self) -> &[Prepared] {
        self.pieces.chunks()
    }

    /// What is played now; `None` before the beginning and when practice is over.
    pub const fn current(&self) -> Option<&Playing> {
        self.playing.as_ref()
    }

    /// A note began.
    pub fn note(&mut self, at: Instant) {
        self.engine.note(at);
    }

    /// Takes an attempt at [`current`](Self::current). See [`AttemptResult::of`] for what a verdict means
    /// here, and [`Engine::attempt`].
    pub fn attempt(
        &mut self,
        heard: AttemptResult,
        tempo: Option<Tempo>,
        lasted: Seconds,
        results: &EventResults,
        now: Instant,
    ) -> Next {
        if matches!(heard, AttemptResult::Clean | AttemptResult::NotClean)
            && let Some(playing) = &self.playing
        {
            self.effects.attempt(playing.task);
        }
        let cold = self.cold_try(heard);
        let step = self.engine.attempt(heard, tempo, lasted, results, now);
        self.said(step, cold)
    }

    /// Takes what the player asks for. `None` where that is not possible here, and nothing is
    /// changed; and for the same once more, if it is only begun anew.
    pub fn press(&mut self, press: Press, now: Instant) -> Option<Next> {
        let step = self.engine.press(press, now)?;
        Some(self.said(step, None))
    }

    /// The player chooses.
    pub fn choose(&mut self, choice: Choice, now: Instant) -> Option<Next> {
        self.press(Press::Choose(choice), now)
    }

    /// What can be chosen now, offered or not.
    pub fn choices(&self) -> Choices {
        self.engine.practice().choices()
    }

    /// What was offered and has not lapsed; see [`Engine::offered`].
    pub const fn offered(&self) -> Choices {
        self.engine.offered()
    }

    /// The player asks what can be chosen: it is offered from now on.
    pub fn offer(&mut self, now: Instant) -> Choices {
        self.engine.offer(now)
    }

    /// Nobody is counted in for a while: something is about to be asked for.
    pub fn wait(&mut self, now: Instant) {
        self.engine.wait(now);
    }

    /// The player goes to another piece.
    ///
    /// # Errors
    ///
    /// If practice is over or there is no such piece (yet).
    pub fn go_to(&mut self, piece: Piece, now: Instant) -> Result<Next, NotPossible> {
        let step = self.engine.go_to(piece, now)?;
        Ok(self.said(step, None))
    }

    /// Whether anybody is counted in has changed.
    pub fn counts(&mut self, counts: bool, now: Instant) {
        self.engine.counts(counts, now);
    }

    /// Nobody is counted in before this time; see [`Engine::hold`].
    pub fn hold(&mut self, until: Instant) {
        self.engine.hold(until);
    }

    /// The click that sounds, with its count-in.
    pub fn click(&self) -> Option<CountIn> {
        self.engine.click()
    }

    /// The click that was asked for is heard from this time on.
    pub fn heard_from(&mut self, begins: Instant) {
        self.engine.heard_from(begins);
    }

    /// When [`poll`](Self::poll) has something to do, if nothing happens before.
    pub fn poll_at(&self) -> Option<Instant> {
        self.engine.poll_at()
    }

    /// What is due at `now`; ask until it is nothing. `under_way` says whether an attempt may be
    /// going on.
    pub fn poll(&mut self, now: Instant, under_way: bool) -> Option<Due> {
        let playing = self.playing.as_ref()?;
        self.engine.poll(now, &playing.chunk.chunk(), under_way)
    }

    /// The pieces so far: each with its name, its fastest clean tempo, and whether it passed
    /// today. What is kept of them is what [`Settings::known`] takes the next day.
    pub fn pieces(&self) -> impl Iterator<Item = (Piece, String, Option<Tempo>, bool)> + '_ {
        let pieces = self.engine.practice().pieces();
        pieces.map(|(piece, fastest, passed)| (piece, self.pieces.name(piece), fastest, passed))
    }

    /// What an attempt is, if it is the first of the day at a piece that was clean before: what is clean cold
    /// is what has been kept.
    fn cold_try(&mut self, heard: AttemptResult) -> Option<Cold> {
        let task = self.playing.as_ref()?.task;
        let settled = matches!(heard, AttemptResult::Clean | AttemptResult::NotClean);
        let as_written = task.way == PracticeVariant::AsWritten;
        if !settled || !as_written || self.engine.practice().is_warming_up() {
            return None;
        }
        let at = self.cold.iter().position(|known| known.piece == task.piece)?;
        let known = self.cold.swap_remove(at);
        known.fastest_clean.filter(|_| !self.own_tempo)?;
        Some(Cold { tempo: task.tempo, clean: heard == AttemptResult::Clean })
    }

    fn said(&mut self, step: Step, cold: Option<Cold>) -> Next {
        let before = self.playing.take();
        self.playing = step.task.and_then(|task| {
            let mut chunk = self.music(task)?;
            if matches!(step.reason, Reason::WarmUp { .. }) {
                // What is only warmed up on is no try at it.
                chunk.name.push_str(TO_WARM_UP);
            }
            Some(Playing { task, chunk, goal: self.pieces.goal(task.piece)? })
        });
        let before = before.map(|playing| playing.task);
        let best = before.and_then(|task| self.best(task.piece));
        self.effects.step(before, &step, best);
        let fingering = step.task.and_then(|task| self.fingering(task.piece));
        let weeks_away = step.task.map_or(0, |task| self.weeks_away(task.piece));
        let days = sentences::Days { cold, weeks_away };
        let sentences =
            sentences::sentences(&step, before, &self.pieces, fingering, self.own_tempo, days);
        Next { step, sentences }
    }

    fn weeks_away(&self, piece: Piece) -> u8 {
        let known = self.cold.iter().find(|known| known.piece == piece);
        known.map_or(0, |known| known.earlier.weeks_away())
    }

    /// What was changed so far and what came after it, each with a sentence.
    pub fn effects(&self) -> Vec<(Effect, String)> {
        let told = |effect: Effect| {
            let beat = self.pieces.beat(effect.piece);
            let sentence = effect.sentence(&self.pieces.name(effect.piece), beat);
            (effect, sentence)
        };
        self.effects.all(&|piece| self.best(piece)).into_iter().map(told).collect()
    }

    /// The fastest clean tempo of a piece.
    fn best(&self, piece: Piece) -> Option<Tempo> {
        self.engine.practice().pieces().find(|(known, ..)| *known == piece)?.1
    }

    /// The name of the other fingering in use.
    fn fingering(&self, piece: Piece) -> Option<&str> {
        let Piece::Chunk(chunk) = piece else { return None };
        let other = usize::from(self.engine.practice().fingering(chunk)).checked_sub(1)?;
        let chunk = self.pieces.chunks().get(usize::from(chunk))?;
        chunk.alternatives.get(other).map(|other| other.name.as_str())
    }
}
