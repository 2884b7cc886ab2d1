//! The onsets of a piece, as the best test sees them.

use evenhand_core::pickup::Latency;
use evenhand_core::player::Skill;
use evenhand_core::study::Marks;
use evenhand_core::units::Offset;

use super::best::Values;
use super::piece::Piece;

/// When events are written, and of how many notes each is. The landing is one, too.
#[derive(Clone, Debug)]
pub struct Onsets {
    /// In microseconds.
    places: Vec<f64>,
    notes: Vec<f64>,
    /// The mean period of the notes, in microseconds.
    periods: Vec<f64>,
    /// How many of them are no landing.
    proper: usize,
}

impl Onsets {
    /// Those of a piece; what is rolled says nothing.
    pub fn of(piece: &Piece) -> Self {
        let mut onsets =
            Self { places: Vec::new(), notes: Vec::new(), periods: Vec::new(), proper: 0 };
        let landing = piece.landing();
        let has_landing = !landing.is_empty();
        let period = Latency { base: Offset::ZERO, periods_percent: 100 };
        for event in piece.events().into_iter().chain(has_landing.then_some(landing)) {
            let notes = &piece.notes[event];
            if notes.iter().any(|note| note.marks.has(Marks::ROLLED)) {
                continue;
            }
            let count = notes.len() as f64;
            let periods = notes.iter().map(|note| f64::from(period.of(note.pitch).as_micros()));
            onsets.periods.push(periods.sum::<f64>() / count);
            onsets.places.push(f64::from(piece.tempo.lasting(notes[0].onset).as_micros()));
            onsets.notes.push(count);
            onsets.proper += usize::from(!notes[0].marks.has(Marks::LANDING));
        }
        onsets
    }

    /// As this player plays them: hands that scatter for each note alone, and a clock that carries
    /// its steps on. Start and pace are anybody's. A pickup of unknown latency is late by none to
    /// two periods of a note: one, give or take one.
    pub fn values(&self, skill: Skill, is_late: bool) -> Values {
        let hands = f64::from(skill.hands.as_micros()).powi(2);
        let clock = f64::from(skill.clock.as_micros()).powi(2);
        let size = self.places.len();
        let cell = |i: usize, j: usize| {
            let own = if i == j { hands / self.notes[i] } else { 0.0 };
            own + clock * (i.min(j) + 1) as f64
        };
        let covariance = (0..size).map(|i| (0..size).map(|j| cell(i, j)).collect()).collect();
        let common = is_late.then(|| self.periods.clone());
        Values { covariance, common, nuisance: vec![vec![1.0; size], self.places.clone()] }
    }

    /// The same where a click says the pace.
    pub fn values_with_a_click(&self, skill: Skill, is_late: bool) -> Values {
        let mut values = self.values(skill, is_late);
        values.nuisance.truncate(1);
        values
    }

    /// One event off by so many microseconds, each in turn.
    pub fn one_off(&self, by: f64) -> Vec<Vec<f64>> {
        let shape = |place: usize| {
            (0..self.places.len()).map(|at| if at == place { by } else { 0.0 }).collect()
        };
        (0..self.proper).map(shape).collect()
    }

    /// Time lost before each event but the first in turn, by the time written before it in
    /// microseconds.
    pub fn lost(&self, by: impl Fn(f64) -> f64) -> Vec<Vec<f64>> {
        let shape = |place: usize| {
            let lost = by(self.places[place] - self.places[place - 1]);
            (0..self.places.len()).map(|at| if at >= place { lost } else { 0.0 }).collect()
        };
        (1..self.proper).map(shape).collect()
    }

    /// The landing off by so many microseconds.
    pub fn landing(&self, by: f64) -> Vec<Vec<f64>> {
        let shape = |place: usize| {
            (0..self.places.len()).map(|at| if at == place { by } else { 0.0 }).collect()
        };
        (self.proper..self.places.len()).map(shape).collect()
    }

    /// All of it slower by such a share.
    pub fn slower(&self, share: f64) -> Vec<f64> {
        self.places.iter().map(|place| place * share).collect()
    }

    /// A drift of such a share from the first event to the last.
    pub fn drift(&self, share: f64) -> Vec<f64> {
        let first = self.places.first().copied().unwrap_or(0.0);
        let length = self.places.last().map_or(1.0, |last| last - first).max(1.0);
        let bend = |place: &f64| {
            let at = place - first;
            (at * at / length - at) * share / 2.0
        };
        self.places.iter().map(bend).collect()
    }

    /// Slower by such a share from an event on, each in turn.
    pub fn from_there_on(&self, share: f64) -> Vec<Vec<f64>> {
        let shape = |from: usize| {
            let start = self.places[from];
            self.places.iter().map(|place| (place - start).max(0.0) * share).collect()
        };
        (1..self.places.len().saturating_sub(1)).map(shape).collect()
    }

    /// Slower by a share in every run of so many events; which, `share` says for its first and last.
    pub fn stretch(&self, events: usize, share: impl Fn(usize, usize) -> f64) -> Vec<Vec<f64>> {
        let shape = |from: usize| {
            let to = from + events - 1;
            let (start, end, share) = (self.places[from], self.places[to], share(from, to));
            self.places.iter().map(|place| (place.clamp(start, end) - start) * share).collect()
        };
        (0..=self.proper.saturating_sub(events)).map(shape).collect()
    }
}
