//! Learners. All figures of the models are ours, where no source is named.

use super::music::{CHUNKS, EVENTS, GOAL, Note};
use crate::seeded::Seeded;
use evenhand_core::practice::{PracticeVariant, Reason};
use evenhand_core::tolerance::PracticeLevel;

/// How a learner begins, and what they are like. Tempi are in beats a minute.
#[derive(Clone, Copy, Debug)]
pub struct Learner {
    /// Their name in the table.
    pub name: &'static str,
    /// The level that they practise at.
    pub level: PracticeLevel,
    /// The tempo to reach.
    pub goal: u32,
    /// The tempo at which every other try of a plain event fails.
    pub plain: f64,
    /// The same for the hard events.
    pub hard: f64,
    /// The hard events: `(chunk, event)`.
    pub hard_places: &'static [(u8, u8)],
    /// How much a clean repetition raises that tempo, in parts of it.
    pub gain: f64,
    /// Events fail so often whatever the tempo.
    pub slips: f64,
    /// Above this tempo no repetition helps, but those in a rhythm and of a spot do: they lift it.
    pub ceiling: Option<f64>,
    /// What is left of it after a night, in parts.
    pub overnight: f64,
    /// So often a failure stops the attempt.
    pub stops: f64,
    /// Another pitch is read at this place until somebody says so.
    pub misreads: Option<(u8, u8)>,
    /// They play at this multiple of the tempo that is asked for, without waiting for the count-in.
    pub own_tempo: Option<f64>,
}

const PLAIN: Learner = Learner {
    name: "",
    level: PracticeLevel::Steady,
    goal: GOAL,
    plain: 400.0,
    hard: 400.0,
    hard_places: &[],
    gain: 0.01,
    slips: 0.002,
    ceiling: None,
    overnight: 1.0,
    stops: 0.3,
    misreads: None,
    own_tempo: None,
};

/// One hard place in an easy bar, the misread fret, the ceiling, those who break off, begin by themselves,
/// are beginners, are fast, are evenly bad, improve.
pub const LEARNERS: [Learner; 9] = [
    Learner { name: "one hard spot", hard: 55.0, hard_places: &[(1, 9)], ..PLAIN },
    Learner { name: "a misread fret", misreads: Some((1, 5)), ..PLAIN },
    Learner {
        name: "a ceiling",
        hard: 70.0,
        hard_places: &[(0, 6), (2, 11)],
        ceiling: Some(72.0),
        ..PLAIN
    },
    Learner { name: "breaks off", hard: 58.0, hard_places: &[(0, 12)], stops: 0.9, ..PLAIN },
    Learner { name: "begins unasked", own_tempo: Some(1.25), plain: 300.0, ..PLAIN },
    Learner {
        name: "a beginner",
        level: PracticeLevel::First,
        plain: 150.0,
        hard: 60.0,
        hard_places: &[(0, 4), (1, 4), (2, 4)],
        slips: 0.01,
        ..PLAIN
    },
    Learner { name: "flawless", plain: 100_000.0, slips: 0.0, ..PLAIN },
    Learner { name: "evenly bad", plain: 170.0, gain: 0.002, ..PLAIN },
    Learner { name: "improves", plain: 190.0, gain: 0.006, ..PLAIN },
];

/// Learners of several days: one who gets better, one who stays where they are.
pub(super) const EVERY_DAY: [Learner; 3] = [
    Learner { name: "gains every day", goal: 240, plain: 130.0, gain: 0.0016, stops: 0.1, ..PLAIN },
    Learner { name: "stays the same", goal: 240, plain: 130.0, gain: 0.0, stops: 0.1, ..PLAIN },
    Learner { name: "forgets", goal: 240, plain: 130.0, gain: 0.003, overnight: 0.96, ..PLAIN },
];

/// How steeply events fail beyond their tempo. Our default: a tenth faster, and a third more fail.
const STEEP: f64 = 9.0;

/// How much a repetition in a rhythm, or of a spot, lifts a ceiling, in parts of it.
const LIFTS: f64 = 0.01;

/// A learner in a sitting.
#[derive(Clone, Debug)]
pub(super) struct Hands {
    pub(super) learner: Learner,
    /// For each event the tempo at which every other try fails.
    even: Vec<f64>,
    ceiling: Option<f64>,
    misreads: Option<(u8, u8)>,
    pub(super) chance: Seeded,
}

/// What came of one event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Tried {
    Right,
    Failed,
    /// Another pitch, read as it stands there.
    Misread,
}

impl Hands {
    /// At the beginning.
    pub(super) fn new(learner: Learner, seed: u64) -> Self {
        let of = |chunk, event| {
            let hard = learner.hard_places.contains(&(chunk, event));
            if hard { learner.hard } else { learner.plain }
        };
        let all = (0..CHUNKS).flat_map(|chunk| (0..=EVENTS).map(move |event| (chunk, event)));
        Self {
            learner,
            even: all.map(|(chunk, event)| of(chunk, event)).collect(),
            ceiling: learner.ceiling,
            misreads: learner.misreads,
            chance: Seeded::new(seed),
        }
    }

    /// Tries an event at a tempo, and learns by it.
    pub(super) fn try_once(
        &mut self,
        note: Note,
        tempo: f64,
        way: PracticeVariant,
        spot: bool,
    ) -> Tried {
        let at = usize::from(note.chunk) * usize::from(EVENTS + 1) + usize::from(note.event);
        let even = self.ceiling.map_or(self.even[at], |ceiling| {
            let hard = self.learner.hard_places.contains(&(note.chunk, note.event));
            if hard { self.even[at].min(ceiling) } else { self.even[at] }
        });
        let fails = 1.0 / (1.0 + (even / tempo).powf(STEEP));
        let fails = fails + self.learner.slips;
        if self.misreads == Some((note.chunk, note.event)) {
            return Tried::Misread;
        }
        if self.chance.chance(fails) {
            return Tried::Failed;
        }
        // Nobody gets ever faster: twice the goal is fast enough.
        let most = 2.0 * f64::from(self.learner.goal);
        if even < most {
            self.even[at] *= 1.0 + self.learner.gain;
        }
        if let Some(ceiling) = &mut self.ceiling
            && (spot || way != PracticeVariant::AsWritten)
            && self.learner.hard_places.contains(&(note.chunk, note.event))
        {
            *ceiling *= 1.0 + LIFTS;
        }
        Tried::Right
    }

    /// A night passes.
    pub(super) fn sleep(&mut self) {
        self.even.iter_mut().for_each(|even| *even *= self.learner.overnight);
    }

    /// Whether a failure stops the attempt.
    pub(super) fn stops(&mut self) -> bool {
        self.chance.chance(self.learner.stops)
    }

    /// Listens to what is said: who is told that another pitch is written, looks.
    pub(super) fn told(&mut self, reason: Reason) {
        match reason {
            Reason::Misread { times, .. } if times >= 3 => self.misreads = None,
            // Now and then one finds it by oneself.
            Reason::Slower { .. } | Reason::TooFewClean { .. } if self.chance.chance(0.02) => {
                self.misreads = None;
            }
            _ => {}
        }
    }
}
