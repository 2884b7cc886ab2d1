//! Practice in time: what was said is read, a bar is counted in, the click goes on, an attempt comes,
//! something is said of it.
//!
//! [`Practice`] says what is played and why. [`Engine`] adds when: it takes attempts, notes and what
//! the player asks for, each with its time, and gives back steps to be told and kept, and beats to
//! be counted. It has no clock, hears no byte and makes no sound: a computer renders it with a page
//! and a sound card, a pedal with lamps and a click, and both practise the same way.
//!
//! ```text
//!            begin, press                     a beat, again a beat, …
//!   Idle ────────────────> Reading ────────> CountIn ────────────────> Clicking
//!                           ^   ^   quiet                                 │
//!                    played │   └────────── attempt: something else ──────┤
//!                        Resting <───────── attempt: a rest is due ───────┘
//! ```
//!
//! Nobody is counted in who is playing, and while the same is asked for again the click just goes on.

mod elsewhere;

use super::click::{CountIn, after};
use super::event_results::EventResults;
use super::piece::{ChunkFacts, Piece};
use super::pieces::Practice;
use super::step::{Attempt, AttemptResult, Choice, Choices, NotPossible, Reason, Step, Task};
use crate::limits;
use crate::study::Chunk;
use crate::units::{Instant, Offset, Seconds, Tempo, Ticks};
use crate::zeroed_option::ZeroedOption;

/// So long nothing was played before somebody is counted in, in microseconds. Our default: the
/// longest note at a slow tempo.
const QUIET: u64 = 1_500_000;

/// One step of the tempo that the player asks for, in per mille; at least two beats a minute. Our
/// default.
const TEMPO_STEP: u32 = 50;

/// How long what is shown is read. A page takes longer than three lamps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Pacing {
    /// A verdict and the next step.
    pub verdict: Offset,
    /// What comes next, where the attempt was clean or nothing was said of one.
    pub heading: Offset,
    /// What can be chosen, beside a verdict.
    pub offer: Offset,
}

impl Pacing {
    /// For a page of words: three sentences, with a hand to put back on the neck; a heading; and
    /// offers that are part of the sentences. Our defaults.
    pub const PAGE: Self = Self {
        verdict: Offset::from_millis(4_000),
        heading: Offset::from_millis(2_000),
        offer: Offset::ZERO,
    };

    /// For lamps: a verdict and what it was about, a glance each; a foot to put back; and an offer
    /// that is seen after both. Our defaults.
    pub const LAMPS: Self = Self {
        verdict: Offset::from_millis(3_000),
        heading: Offset::from_millis(1_000),
        offer: Offset::from_millis(5_000),
    };
}

/// Where practice is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Stage {
    /// It has not begun, or is over.
    #[default]
    Idle = 0,
    /// The player begins when they like, without a click.
    Open = 1,
    /// What was said is read until then.
    Reading {
        /// At the earliest.
        until: Instant,
    } = 2,
    /// A rest: nothing is asked for until something is played.
    Resting {
        /// It began then.
        since: Instant,
    } = 3,
    /// A chunk is counted in, by [`Engine::click`].
    CountIn {
        /// The beat that is counted next.
        next: u32,
    } = 4,
    /// It has been counted in, and the click goes on.
    Clicking = 5,
}

/// What the player asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Press {
    /// The same once more; what is under way does not count.
    Again,
    /// The chunk after this piece; after the last one the first.
    Next,
    /// The chunk before this piece; before the first one the last.
    Back,
    /// The same more slowly.
    Slower,
    /// The same faster.
    Faster,
    /// A choice, offered or not.
    Choose(Choice),
    /// The last attempt was right, the pickup misheard it: it does not count, and is no pass either.
    Misheard,
    /// It hurts: practice is over at once.
    Hurts,
}

/// What is to be done for the player at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Due {
    /// A click begins, which counts in. Who can say when its first beat is heard, says it:
    /// [`Engine::heard_from`].
    CountIn(CountIn),
    /// A beat of the count-in.
    Beat {
        /// Its number in the bar, from 1.
        in_bar: u8,
        /// When it is due.
        at: Instant,
    },
    /// The count-in is over: the chunk begins.
    Play,
}

/// A sitting of practice in time, of at most `PIECES` pieces.
///
/// All zero bytes until it is begun, so that a static of it takes no room in a board's flash.
///
/// ```
/// use evenhand_core::practice::{Due, Earlier, Engine, ChunkFacts, AttemptResult, Pacing, Rules, Stage};
/// use evenhand_core::study::{Chunk, ExpectedNote};
/// use evenhand_core::tolerance::PracticeLevel;
/// use evenhand_core::units::{Instant, Pitch, Seconds, Tempo, Ticks};
///
/// let beat = Ticks::new(Ticks::PER_QUARTER);
/// let mut engine: Engine<5> = Engine::new();
/// engine.add(ChunkFacts {
///     goal: Tempo::from_beats_per_minute(100, beat).unwrap(),
///     beat,
///     rules: Rules::of(PracticeLevel::First),
///     fastest_clean: None,
///     earlier: Earlier::Unknown,
///     notes: 1,
///     length: beat,
///     splits: false,
///     varies: false,
///     joins_next: false,
///     fingerings: 0,
/// }).unwrap();
/// let at = |millis: u64| Instant::from_micros(millis * 1_000);
/// let step = engine.begin(Pacing::PAGE, true, at(0));
/// let task = step.task.unwrap();
///
/// // Two seconds to read what comes, then a bar of beats at 60 a minute.
/// let notes = [ExpectedNote::plain(Ticks::ZERO, beat, Pitch::new(60).unwrap())];
/// let chunk = Chunk::new(&notes, task.tempo).unwrap();
/// assert_eq!(engine.poll(at(1_999), &chunk, false), None);
/// assert!(matches!(engine.poll(at(2_000), &chunk, false), Some(Due::CountIn(_))));
/// let beat = engine.poll(at(2_000), &chunk, false);
/// assert_eq!(beat, Some(Due::Beat { in_bar: 1, at: at(2_000) }));
/// assert_eq!(engine.poll_at(), Some(at(3_000)));
/// ```
#[derive(Clone, Debug)]
pub struct Engine<const PIECES: usize = { limits::PIECES }> {
    practice: Practice<PIECES>,
    stage: Stage,
    /// The last click that was begun.
    click: ZeroedOption<CountIn>,
    pacing: Pacing,
    /// Whether anybody is counted in: there is something to hear or to see it by.
    counts: bool,
    /// When the last note began.
    last_note: Instant,
    /// Whether a note has begun at all.
    played: bool,
    /// What can be chosen now.
    offered: Choices,
}

impl<const PIECES: usize> Default for Engine<PIECES> {
    fn default() -> Self {
        Self::new()
    }
}

impl<const PIECES: usize> Engine<PIECES> {
    /// Nothing to practise yet.
    pub const fn new() -> Self {
        const NONE: Pacing =
            Pacing { verdict: Offset::ZERO, heading: Offset::ZERO, offer: Offset::ZERO };
        Self {
            practice: Practice::new(),
            stage: Stage::Idle,
            click: ZeroedOption::Nothing,
            pacing: NONE,
            counts: false,
            last_note: Instant::ZERO,
            played: false,
            offered: Choices::NONE,
        }
    }

    /// Forgets everything, in place, as if it were new.
    pub fn clear(&mut self) {
        self.practice.clear();
        (self.stage, self.counts) = (Stage::Idle, false);
        (self.last_note, self.played, self.offered) = (Instant::ZERO, false, Choices::NONE);
    }

    /// Adds the next chunk of the study; see [`Practice::add`].
    ///
    /// # Errors
    ///
    /// [`NotPossible::Full`].
    pub fn add(&mut self, facts: ChunkFacts) -> Result<Piece, NotPossible> {
        self.practice.add(facts)
    }

    /// The pieces, with what is known of them and what can be chosen.
    pub const fn practice(&self) -> &Practice<PIECES> {
        &self.practice
    }

    /// The same before it begins, to tell it what was known when practice last ended.
    pub const fn practice_mut(&mut self) -> &mut Practice<PIECES> {
        &mut self.practice
    }

    /// What is to be played; `None` before the beginning and when practice is over.
    pub fn task(&self) -> Option<Task> {
        self.practice.current()
    }

    /// Where practice is.
    pub const fn stage(&self) -> Stage {
        self.stage
    }

    /// The click that sounds, with its count-in.
    pub const fn click(&self) -> Option<CountIn> {
        match self.stage {
            Stage::CountIn { .. } | Stage::Clicking => self.click.get().copied(),
            _ => None,
        }
    }

    /// Begins, or goes on with what there is. With `counts` a bar is counted in before each piece.
    pub fn begin(&mut self, pacing: Pacing, counts: bool, now: Instant) -> Step {
        (self.pacing, self.counts) = (pacing, counts);
        let step = self.practice.begin(seconds(now));
        self.head(step, now)
    }

    /// The player goes to a piece.
    ///
    /// # Errors
    ///
    /// If practice is over or there is no such piece (yet); nothing is changed then.
    pub fn go_to(&mut self, piece: Piece, now: Instant) -> Result<Step, NotPossible> {
        let step = self.practice.go_to(piece, seconds(now))?;
        Ok(self.head(step, now))
    }

    /// A note began.
    pub fn note(&mut self, at: Instant) {
        (self.last_note, self.played) = (self.last_note.max(at), true);
    }

    /// Takes an attempt at [`task`](Self::task), with the tempo at which it was played where that
    /// is known, how long it lasted, and what it showed of each event. Says what comes next, to be told
    /// and kept.
    pub fn attempt(
        &mut self,
        result: AttemptResult,
        tempo: Option<Tempo>,
        lasted: Seconds,
        results: &EventResults,
        now: Instant,
    ) -> Step {
        let before = self.task();
        let attempt = Attempt { result, tempo, lasted, ended: seconds(now) };
        let step = self.practice.attempt(attempt, results);
        let offered = !step.offer.is_empty();
        self.offered = step.offer;
        // Of what was clean there is little to read.
        let clean = result == AttemptResult::Clean;
        let until = now.plus(if clean { self.pacing.heading } else { self.pacing.verdict });
        let until = if offered { until.plus(self.pacing.offer) } else { until };
        self.stage = match (step.task, self.stage) {
            (None, _) => Stage::Idle,
            _ if !self.counts => Stage::Open,
            _ if step.rest.is_some() => Stage::Resting { since: now },
            (task, _) if task != before || offered => Stage::Reading { until },
            // Whoever has not been counted in has something to read first.
            (_, Stage::Reading { .. }) => Stage::Reading { until },
            // A click goes on.
            (_, stage) => stage,
        };
        step
    }

    /// Takes what the player asks for, and says what comes next. `None` where that is not possible
    /// here, and nothing is changed; and for the same once more, if it is only begun anew. What was
    /// misheard is always the last attempt that was told, until the next one is or something else was
    /// asked for, and once.
    pub fn press(&mut self, press: Press, now: Instant) -> Option<Step> {
        let at = seconds(now);
        let step = match press {
            Press::Again => {
                self.count_in_by(now);
                return None;
            }
            Press::Next => self.go_beside(true, now),
            Press::Back => self.go_beside(false, now),
            Press::Slower => self.change_tempo(false),
            Press::Faster => self.change_tempo(true),
            Press::Choose(choice) => self.practice.choose(choice, at),
            Press::Misheard => return self.take_back(now),
            Press::Hurts => Ok(Step { reason: Reason::Hurts, ..self.practice.hurts() }),
        };
        let step = self.head(step.ok()?, now);
        if matches!(press, Press::Slower | Press::Faster) {
            // Seldom the last of them.
            self.wait(now);
        }
        Some(step)
    }

    /// The last attempt is as if it had not been played. A click that has not been interrupted goes on.
    fn take_back(&mut self, now: Instant) -> Option<Step> {
        let before = self.task();
        let step = self.practice.take_back()?;
        match self.stage {
            // What was said has been read, or was about what does not count.
            Stage::Reading { .. } => self.count_in_by(now.plus(self.pacing.heading)),
            Stage::CountIn { .. } | Stage::Clicking if step.task != before => {
                self.count_in_by(now.plus(self.pacing.heading));
            }
            // A rest is due whatever was heard.
            _ => {}
        }
        Some(step)
    }

    /// What was offered and has not lapsed: it can be chosen until something else is asked for, the next
    /// attempt is told, or a count-in is over. It can be chosen later, too, but is not in anybody's mind.
    pub const fn offered(&self) -> Choices {
        self.offered
    }

    /// The player asks what can be chosen: it is offered from now on, and there is time to read it.
    pub fn offer(&mut self, now: Instant) -> Choices {
        self.offered = self.practice.choices();
        if !self.offered.is_empty() {
            self.count_in_by(now.plus(self.pacing.verdict).plus(self.pacing.offer));
        }
        self.offered
    }

    /// Whether anybody is counted in has changed: sound has gone or is back. What was begun with a
    /// click is counted in anew, if anybody is to be counted in at all.
    pub fn counts(&mut self, counts: bool, now: Instant) {
        self.counts = counts;
        match self.stage {
            Stage::Idle => {}
            _ if !counts => self.stage = Stage::Open,
            Stage::Open | Stage::CountIn { .. } | Stage::Clicking => {
                self.count_in_by(now.plus(self.pacing.heading));
            }
            Stage::Reading { .. } | Stage::Resting { .. } => {}
        }
    }

    /// The click that was asked for is heard from this time on.
    pub fn heard_from(&mut self, begins: Instant) {
        if let Some(click) = self.click() {
            self.click.put(click.beginning(begins));
        }
    }

    /// When [`poll`](Self::poll) has something to do, if nothing happens before.
    pub fn poll_at(&self) -> Option<Instant> {
        match self.stage {
            Stage::Idle | Stage::Open | Stage::Resting { .. } | Stage::Clicking => None,
            Stage::Reading { until } => Some(until),
            Stage::CountIn { next } => {
                let beats = self.click.get()?;
                Some(beats.beat(next).min(beats.chunk_begins()))
            }
        }
    }

    /// What is due at `now`; ask until it is nothing. `chunk` is the music of [`task`](Self::task),
    /// and `under_way` says whether an attempt may be going on.
    pub fn poll(&mut self, now: Instant, chunk: &Chunk<'_>, under_way: bool) -> Option<Due> {
        match self.stage {
            Stage::Idle | Stage::Open | Stage::Clicking => None,
            Stage::Resting { since } => {
                // Whoever plays has rested enough.
                if self.played && self.last_note > since {
                    self.stage = Stage::Reading { until: after(now, QUIET) };
                }
                None
            }
            Stage::Reading { until } => {
                if now < until {
                    return None;
                }
                if under_way || (self.played && after(self.last_note, QUIET) > now) {
                    self.stage = Stage::Reading { until: after(now, QUIET / 4) };
                    return None;
                }
                let beats = CountIn::of(chunk, now);
                self.click.put(beats);
                self.stage = Stage::CountIn { next: 0 };
                Some(Due::CountIn(beats))
            }
            Stage::CountIn { next } => {
                let beats = self.click.get()?;
                if beats.chunk_begins() <= now {
                    // Who plays on has chosen nothing.
                    (self.stage, self.offered) = (Stage::Clicking, Choices::NONE);
                    return Some(Due::Play);
                }
                let at = beats.beat(next);
                if now < at {
                    return None;
                }
                let in_bar = u8::try_from(beats.click.beat(next).in_bar).unwrap_or(u8::MAX);
                self.stage = Stage::CountIn { next: next.saturating_add(1) };
                Some(Due::Beat { in_bar, at })
            }
        }
    }

    /// Something else is to be played, and nothing was said of an attempt.
    fn head(&mut self, step: Step, now: Instant) -> Step {
        (self.stage, self.offered) = (Stage::Idle, Choices::NONE);
        if step.task.is_some() {
            self.stage = Stage::Open;
            self.count_in_by(now.plus(self.pacing.heading));
        }
        step
    }

    /// Counts in at this time, as soon as it is quiet.
    fn count_in_by(&mut self, until: Instant) {
        if self.stage != Stage::Idle {
            self.stage = if self.counts { Stage::Reading { until } } else { Stage::Open };
        }
    }

    fn change_tempo(&mut self, faster: bool) -> Result<Step, NotPossible> {
        let task = self.task().ok_or(NotPossible::Over)?;
        let beat = self.practice.beat().unwrap_or(Ticks::new(Ticks::PER_QUARTER));
        let beats = (task.tempo.hundredths_of_beats_per_minute(beat) + 50) / 100;
        let step = (beats * TEMPO_STEP / 1_000).max(2);
        let beats = if faster { beats + step } else { beats.saturating_sub(step).max(1) };
        let tempo = Tempo::from_beats_per_minute(beats, beat).ok_or(NotPossible::NotHere)?;
        self.practice.at_tempo(tempo)
    }
}

/// A time as practice counts it.
pub(super) fn seconds(at: Instant) -> Seconds {
    Seconds::new(u32::try_from(at.as_micros() / 1_000_000).unwrap_or(u32::MAX))
}

mod hold;
#[cfg(test)]
mod tests;
