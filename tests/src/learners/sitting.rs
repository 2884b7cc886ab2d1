//! Twenty minutes of practice, second by second as the engine asks for it.

use super::model::{Hands, Learner, Tried};
use super::music::{BEAT, CHUNKS, facts, notes};
use evenhand::practice::Known;
use evenhand::practice::trend::{DayBest, Trend, rise};
use evenhand_core::practice::{
    AttemptResult, ChunkFacts, Due, Earlier, Engine, EventResults, Pacing, Piece, PracticeVariant,
    Reason, Step, WrongPitch,
};
use evenhand_core::study::{Chunk, ExpectedNote};
use evenhand_core::units::{Instant, Pitch, Seconds, Tempo, Ticks};
use std::collections::HashMap;

/// By which rules practice goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// Steps of tempo alone, and what is offered is not taken.
    Steps,
    /// With leaps, hard places and changes.
    Whole,
}

/// What became of a sitting. Times are in seconds.
#[derive(Clone, Copy, Debug, Default)]
pub struct Figures {
    /// Clean repetitions of the hard events.
    pub hard_clean: f64,
    /// When everything was at its goal, if it came so far.
    pub goal_after: Option<f64>,
    /// How many chunks were clean at the goal in the end.
    pub at_goal: f64,
    /// Playing, and waiting for something else than a count-in.
    pub playing: f64,
    /// Waiting: reading, and the pause between attempts.
    pub waiting: f64,
    /// The mean of the fastest clean tempi of the chunks.
    pub mean_best: f64,
    /// The whole sitting.
    pub lasted: f64,
    /// Attempts.
    pub attempts: f64,
    /// Changes that nobody asked for.
    pub changes: f64,
    /// A stretch of more than ten attempts at one piece without a faster clean tempo, and nothing was
    /// changed or offered.
    pub plateaus_unanswered: f64,
    /// The attempt at the piece at which the hard place was found; the right one or the one beside it.
    pub spot_after: Option<f64>,
    /// Spots that hold no hard event.
    pub false_spots: f64,
    /// After so many readings of it the misread note was named.
    pub misread_named_after: Option<f64>,
}

/// Twenty minutes. Our default.
const SITTING: f64 = 1_200.0;

/// From the end of an attempt until its verdict, where something else comes next: a rest of a second and a
/// half, as the session waits.
const VERDICT: f64 = 1.5;

/// From the end of an attempt until the next, where the same comes again: a little more than the median
/// pause before a restart in a drill, 0.26 s (22 rehearsals of two pianists, an open data set).
const LOOP: f64 = 0.4;

/// A learner practises for twenty minutes.
pub fn sitting(learner: Learner, rule: Rule, seed: u64) -> Figures {
    Sitting::new(Hands::new(learner, seed), rule, &[]).play().0
}

/// A learner practises for twenty minutes on each of some days; what was clean is known the next day.
pub(super) fn days(learner: Learner, rule: Rule, days: usize, seed: u64) -> Vec<Figures> {
    let mut hands = Hands::new(learner, seed);
    let mut known: Vec<Known> = Vec::new();
    let mut bests: HashMap<Piece, Vec<DayBest>> = HashMap::new();
    let mut all = Vec::new();
    let first = jiff::civil::date(2026, 1, 1);
    for day in 0..days {
        let (figures, after, best) = Sitting::new(hands, rule, &known).play();
        hands = after;
        hands.sleep();
        let day = first.saturating_add(jiff::Span::new().days(day as i64));
        for (piece, best) in best {
            let bests = bests.entry(piece).or_default();
            bests.push(DayBest { day, tempo: beats(best) });
            let rises = rise(bests).is_some_and(|rise| rise.trend == Trend::Progress);
            let earlier = if rises { Earlier::Improving } else { Earlier::Passed };
            known.retain(|known| known.piece != piece);
            known.push(Known { piece, fastest_clean: Some(best), earlier, tried_today: false });
        }
        // A join is known after what it is made of.
        known.sort_by_key(|known| known.piece.chunks().map(|(first, last)| (last - first, first)));
        all.push(figures);
    }
    all
}

struct Sitting {
    learner: Learner,
    hands: Hands,
    engine: Box<Engine<16>>,
    now: f64,
    figures: Figures,
    piece: Option<Piece>,
    since_best: u32,
    misreadings: u32,
    at_piece: Option<Piece>,
    attempts_at_piece: u32,
}

impl Sitting {
    fn new(hands: Hands, rule: Rule, known: &[Known]) -> Self {
        let learner = hands.learner;
        let mut engine: Box<Engine<16>> = Box::default();
        if rule == Rule::Steps {
            engine.practice_mut().by_steps();
        }
        for chunk in 0..CHUNKS {
            let known = known.iter().find(|known| known.piece == Piece::Chunk(chunk));
            let plain = facts(&learner, known.and_then(|known| known.fastest_clean));
            let earlier = known.map_or(Earlier::Unknown, |known| known.earlier);
            engine.add(ChunkFacts { earlier, ..plain }).expect("room for three chunks");
        }
        for known in known {
            // Chunks have had theirs.
            let _ = engine.practice_mut().recall(known.piece, known.fastest_clean, known.earlier);
        }
        Self {
            learner,
            hands,
            engine,
            now: 0.0,
            figures: Figures::default(),
            piece: None,
            since_best: 0,
            misreadings: 0,
            at_piece: None,
            attempts_at_piece: 0,
        }
    }

    fn at(&self) -> Instant {
        Instant::from_micros((self.now * 1e6) as u64)
    }

    fn play(mut self) -> (Figures, Hands, Vec<(Piece, Tempo)>) {
        let now = self.at();
        self.engine.begin(Pacing::PAGE, true, now);
        while self.now < SITTING && self.engine.task().is_some() {
            self.count_in();
            self.attempt();
        }
        self.figures.lasted = self.now;
        self.figures.at_goal = self
            .engine
            .practice()
            .pieces()
            .filter(|(piece, fastest, _)| {
                matches!(piece, Piece::Chunk(_))
                    && fastest.is_some_and(|tempo| beats(tempo) >= self.learner.goal.into())
            })
            .count() as f64;
        let best: Vec<(Piece, Tempo)> = self
            .engine
            .practice()
            .pieces()
            .filter(|(piece, ..)| piece.chunks().is_some())
            .filter_map(|(piece, best, _)| Some((piece, best?)))
            .collect();
        let tempi = best.iter().filter(|(piece, _)| matches!(piece, Piece::Chunk(_)));
        let tempi = tempi.map(|(_, best)| beats(*best));
        self.figures.mean_best = tempi.sum::<f64>() / f64::from(CHUNKS);
        (self.figures, self.hands, best)
    }

    /// Waits for the end of the count-in; who does not, begins at once. What is read is waiting, the
    /// count-in itself is neither.
    fn count_in(&mut self) {
        let Some(task) = self.engine.task() else { return };
        if self.learner.own_tempo.is_some() {
            self.now += 1.0;
            return;
        }
        let notes = [ExpectedNote::plain(Ticks::ZERO, BEAT, Pitch::new(60).expect("a pitch"))];
        let chunk = Chunk::new(&notes, task.tempo).expect("a chunk");
        while let Some(due) = self.engine.poll_at() {
            let due = due.as_micros() as f64 / 1e6;
            let waited = (due - self.now).max(0.0);
            if matches!(self.engine.stage(), evenhand_core::practice::Stage::Reading { .. }) {
                self.figures.waiting += waited;
            }
            self.now += waited;
            let now = self.at().plus(evenhand_core::units::Offset::from_micros(1));
            while let Some(due) = self.engine.poll(now, &chunk, false) {
                if due == Due::Play {
                    return;
                }
            }
        }
    }

    fn attempt(&mut self) {
        let Some(task) = self.engine.task() else { return };
        let events = notes(task.piece);
        let asked = beats(task.tempo);
        let tempo = asked * self.learner.own_tempo.unwrap_or(1.0);
        let spot = matches!(task.piece, Piece::Spot(_));
        let count = u8::try_from(events.len()).expect("few events");
        let mut results = EventResults::clean(count);
        let mut result = AttemptResult::Clean;
        let mut played = 0_u32;
        for (event, note) in (0_u8..).zip(&events) {
            played += 1;
            let hard = self.learner.hard_places.contains(&(note.chunk, note.event));
            match self.hands.try_once(*note, tempo, task.way, spot) {
                Tried::Right if hard => self.figures.hard_clean += 1.0,
                Tried::Right => {}
                Tried::Misread => {
                    let pitch = |number| Pitch::new(number).expect("a pitch");
                    let wrong = WrongPitch { event, written: pitch(65), played: pitch(66) };
                    results = results.with_wrong(wrong);
                    result = AttemptResult::NotClean;
                    self.misreadings += 1;
                }
                Tried::Failed => {
                    results.fail(event);
                    result = AttemptResult::NotClean;
                    if self.hands.stops() {
                        results = EventResults::stopped(count, event);
                        result = AttemptResult::Interrupted;
                        break;
                    }
                }
            }
        }
        // Sixteenths; and the pause in which the verdict comes.
        let took = f64::from(played) * 15.0 / tempo;
        self.now += took + LOOP;
        self.figures.playing += took;
        self.figures.waiting += LOOP;
        self.attempts_at_piece =
            if self.at_piece == Some(task.piece) { self.attempts_at_piece + 1 } else { 1 };
        self.at_piece = Some(task.piece);
        self.figures.attempts += 1.0;
        let heard = Tempo::from_beats_per_minute(tempo.round() as u32, BEAT);
        let best = self.best(task.piece);
        let now = self.at();
        let heard = heard.filter(|_| result != AttemptResult::Interrupted);
        let step = self.engine.attempt(result, heard, Seconds::new(took as u32), &results, now);
        if step.task != Some(task) {
            self.now += VERDICT - LOOP;
            self.figures.waiting += VERDICT - LOOP;
        }
        self.hands.told(step.reason);
        self.count(task.piece, best, &step, task.way);
    }

    fn best(&self, piece: Piece) -> Option<Tempo> {
        self.engine
            .practice()
            .pieces()
            .find(|(own, ..)| *own == piece)
            .and_then(|(_, best, _)| best)
    }

    fn count(&mut self, played: Piece, best: Option<Tempo>, step: &Step, way: PracticeVariant) {
        let is_raised = matches!(step.reason, Reason::Leap { .. } | Reason::Shown { .. });
        if self.piece != Some(played) || self.best(played) != best || is_raised {
            (self.piece, self.since_best) = (Some(played), 0);
        } else {
            self.since_best += 1;
        }
        let changed = matches!(
            step.reason,
            Reason::Plateau { .. }
                | Reason::Spot { .. }
                | Reason::Misread { .. }
                | Reason::Turn { .. }
        );
        if matches!(step.reason, Reason::Plateau { .. }) {
            self.figures.changes += 1.0;
        }
        if changed || !step.offer.is_empty() || way != PracticeVariant::AsWritten {
            self.since_best = 0;
        } else if self.since_best == 11 {
            self.figures.plateaus_unanswered += 1.0;
        }
        match (step.reason, step.task.map(|task| task.piece)) {
            (Reason::Spot { event, .. }, Some(_)) => {
                let at = notes(played)[usize::from(event)];
                let near =
                    |place: &(u8, u8)| place.0 == at.chunk && place.1.abs_diff(at.event) <= 1;
                if self.learner.hard_places.iter().any(near) {
                    let after = f64::from(self.attempts_at_piece);
                    self.figures.spot_after.get_or_insert(after);
                } else {
                    self.figures.false_spots += 1.0;
                }
            }
            (Reason::Misread { times, .. }, _) if times >= 3 => {
                let after = f64::from(self.misreadings);
                self.figures.misread_named_after.get_or_insert(after);
            }
            (Reason::AllAtGoal, _) => self.figures.goal_after = Some(self.now),
            _ => {}
        }
    }
}

fn beats(tempo: Tempo) -> f64 {
    f64::from(tempo.hundredths_of_beats_per_minute(BEAT)) / 100.0
}
