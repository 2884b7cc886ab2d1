//! What is asked of the judge, and where so few notes cannot give it.
//!
//! * A skilled player without trouble passes in 99 % of attempts at `first`, 98 % at `steady`.
//! * A trouble of twice the tolerance is caught in 99 %: the attempt does not pass, and the right
//!   reason is among the findings.
//! * A trouble of half the tolerance is called `needs work` in 1 % at most.
//!
//! Where chance alone makes that impossible for so few notes, the bound by calculation takes the
//! goal's place. The judge's scatter of a skilled player is taken as 7 ms: hands of 6 ms, and what
//! a clock that walks by 2.5 ms an event leaves around a bent line.

use evenhand_core::measure::statistics::chi_square_90;
use evenhand_core::measure::stretch::{LEAST_SCATTER, STANDARD_ERRORS};
use evenhand_core::player::{ACCENT, Skill};
use evenhand_core::study::{Attack, Marks};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};

use super::bounds::{
    chi_square_off_centre, deviation_over, drift_caught, drift_error, left_of_a_parabola,
    stretch_told, weakest_under,
};
use super::piece::Piece;
use super::places::stretch_of;
use super::shares::stretched;
use super::tally::Tally;
use super::trouble::Trouble;

/// Of what a goal is a share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// Attempts that passed, at least.
    Passed,
    /// Attempts that were caught, at least.
    Caught,
    /// Attempts that need work, at most.
    NeedsWork,
    /// Attempts that do not need work and are told the right reason as advice, at least.
    Advised,
}

/// A goal for a cell of the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Goal {
    /// Of what.
    pub of: Of,
    /// The share.
    pub share: f64,
    /// It is the bound by calculation, not what is asked for.
    pub is_bound: bool,
}

impl Goal {
    /// The goal of a cell, if there is one. `pieces` are those of the cell.
    pub fn of(
        trouble: Option<Trouble>,
        level: PracticeLevel,
        size: u32,
        pieces: &[Piece],
    ) -> Option<Self> {
        let asked = |of, share| Some(Self { of, share, is_bound: false });
        let mean = |bound: &dyn Fn(&Piece) -> f64| {
            pieces.iter().map(bound).sum::<f64>() / pieces.len() as f64
        };
        let Some(trouble) = trouble else {
            return match level {
                PracticeLevel::First => asked(Of::Passed, 0.99),
                PracticeLevel::Steady => asked(Of::Passed, 0.98),
                PracticeLevel::Performance => None,
            };
        };
        let tolerances = Tolerances::of(level);
        match (trouble.has_size(), size) {
            (_, 0) => asked(Of::NeedsWork, 0.01).filter(|_| Trouble::MORE.contains(&trouble)),
            (true, 2_000) if trouble.is_advice() => asked(Of::Advised, 0.99),
            (true, 500) => {
                let bound = mean(&|piece| failed_by_chance(trouble, &tolerances, piece));
                let is_bound = bound > 0.01;
                let share = if is_bound { bound } else { 0.01 };
                Some(Self { of: Of::NeedsWork, share, is_bound })
            }
            (true, 2_000) => {
                let bound = mean(&|piece| caught_at_best(trouble, &tolerances, piece));
                let is_bound = bound < 0.99;
                let share = if is_bound { bound } else { 0.99 };
                Some(Self { of: Of::Caught, share, is_bound })
            }
            // At `first` a slip now and then is no failure, so it is found and passes.
            (false, _) if level != PracticeLevel::First || trouble == Trouble::FixedVelocity => {
                asked(Of::Caught, 0.99)
            }
            _ => None,
        }
    }

    /// Whether the cell reaches it, give or take [`Tally::margin`].
    pub fn is_reached(&self, tally: &Tally) -> bool {
        let margin = tally.margin(self.share);
        match self.of {
            Of::Passed => tally.share(tally.passed) >= self.share - margin,
            Of::Caught => tally.share(tally.caught) >= self.share - margin,
            Of::NeedsWork => tally.share(tally.needs_work) <= self.share + margin,
            Of::Advised => tally.share(tally.advised) >= self.share - margin,
        }
    }

    /// As it stands in the table.
    pub fn text(&self) -> String {
        let (of, sign) = match self.of {
            Of::Passed => ("pass", ">="),
            Of::Caught => ("caught", ">="),
            Of::NeedsWork => ("work", "<="),
            Of::Advised => ("advised", ">="),
        };
        let bound = if self.is_bound { " (bound)" } else { "" };
        format!("{of} {sign} {:.1}{bound}", 100.0 * self.share)
    }
}

/// The scatter of a skilled player, in microseconds.
const SKILLED: f64 = 7_000.0;

/// Degrees of freedom of the steadiness: a start, a pace, and a drift from six onsets on.
fn degrees(piece: &Piece) -> u32 {
    let onsets = piece.timed() as u32;
    onsets.saturating_sub(2 + u32::from(onsets >= 6))
}

/// One degree of freedom goes to a single note or pause: a judge that must be able to tell it
/// takes out what stands out most, and what is left scatters less.
const TO_TELL_ONE: u32 = 1;

/// The largest share of attempts with twice the tolerance that anyone can tell from such a
/// piece, by the distribution of the measure.
fn caught_at_best(trouble: Trouble, tolerances: &Tolerances, piece: &Piece) -> f64 {
    match trouble {
        Trouble::Unsteady => {
            // The onset of two notes is their mean, with half the variance of one note's.
            let events = piece.events();
            let chords = events.iter().filter(|event| event.len() > 1).count();
            let left = 1.0 - chords as f64 / events.len() as f64 / 2.0;
            deviation_over(0.5 / left.sqrt(), degrees(piece) - TO_TELL_ONE)
        }
        Trouble::Uneven => deviation_over(0.5, loudness_degrees(piece) - TO_TELL_ONE),
        Trouble::SlowingDown | Trouble::SpeedingUp => {
            let interval = f64::from(piece.interval().as_micros());
            let onsets = piece.timed() as u32;
            let skill = Skill::SKILLED;
            let hands = f64::from(skill.hands.as_micros()) / interval;
            let clock = f64::from(skill.clock.as_micros()) / interval;
            let known = drift_error(onsets, SKILLED / interval, 0.0);
            let error = (known, drift_error(onsets, hands, clock));
            let limit = f64::from(tolerances.drift_per_mille) / 1_000.0;
            drift_caught(2.0 * limit, limit, error, degrees(piece))
        }
        Trouble::Rushed | Trouble::Dragged => {
            stretch_at_best(piece, tolerances, trouble == Trouble::Dragged)
        }
        Trouble::WeakAccents => {
            // Twice as far below what the player does without trouble as the limit is.
            let limit = f64::from(tolerances.accent_above.hundredths());
            let under = f64::from(ACCENT.hundredths()) - limit;
            let accents = piece.notes.iter().filter(|n| n.marks.has(Marks::ACCENT)).count();
            weakest_under(-under / against_neighbours(), accents as u32)
        }
        _ => 1.0,
    }
}

/// The standard deviation of an accent's distance from the median of eight neighbours, in
/// hundredths of a decibel: that of a median is √(π / 2n) of one's (for large n).
fn against_neighbours() -> f64 {
    let one = f64::from(Skill::SKILLED.loudness.hundredths());
    one * (1.0 + std::f64::consts::PI / 16.0).sqrt()
}

/// Plucked notes that are compared, less the groups of four or more.
fn loudness_degrees(piece: &Piece) -> u32 {
    let compared = |voice: u8| {
        let in_it = |note: &&evenhand_core::study::ExpectedNote| {
            note.voice == voice && note.attack == Attack::Plucked && !note.marks.has(Marks::ACCENT)
        };
        piece.notes.iter().filter(in_it).count() as u32
    };
    (0..8).map(compared).filter(|&count| count >= 4).map(|count| count - 1).sum()
}

/// The share of attempts with half the tolerance whose scatter is over its limit for certain by
/// chance: one note that is out, or a stretch, adds to the sum of squares.
fn failed_by_chance(trouble: Trouble, tolerances: &Tolerances, piece: &Piece) -> f64 {
    let (degrees, onsets) = (degrees(piece), piece.timed() as f64);
    let added = match trouble {
        Trouble::OffBeat | Trouble::OffTheClick => {
            let off = f64::from(tolerances.single_note.at(piece.interval()).as_micros()) / 2.0;
            // What the fit leaves of one note: the degrees of freedom over the onsets, on average.
            off * off * f64::from(degrees) / onsets
        }
        Trouble::Rushed | Trouble::Dragged => {
            let shown = i32::from(tolerances.drift_per_mille) / 2;
            let shown = if trouble == Trouble::Dragged { shown } else { -shown };
            Stretched::of(piece, shown).left()
        }
        _ => return 0.0,
    };
    let limit = f64::from(tolerances.unsteadiness.at(piece.interval()).as_micros());
    let away = added / (SKILLED * SKILLED);
    let factor = f64::from(chi_square_90(degrees)) / 1_000.0;
    let needed = factor * f64::from(degrees) * limit * limit / (SKILLED * SKILLED);
    1.0 - chi_square_off_centre(needed, f64::from(degrees), away)
}

/// A stretch in the middle of a piece, measured as `shown` per mille.
struct Stretched {
    /// When its events are written, in microseconds, and which of them are in the stretch.
    places: Vec<f64>,
    inside: std::ops::Range<usize>,
    /// How much slower it is played, as a share of a beat's length.
    slower: f64,
}

impl Stretched {
    fn of(piece: &Piece, shown: i32) -> Self {
        let from = (piece.events().len() - stretch_of(piece)) / 2;
        let inside = from..from + stretch_of(piece);
        let slower = f64::from(stretched(piece, (from, inside.end - 1), shown)) / 1_000.0;
        let events = piece.events().into_iter().map(|event| event.start);
        let at = |note: usize| f64::from(piece.tempo.lasting(piece.notes[note].onset).as_micros());
        let places = events.chain(piece.landing().next()).map(at).collect();
        Self { places, inside, slower }
    }

    /// What the fit leaves of it, in microseconds squared.
    fn left(&self) -> f64 {
        let (from, to) = (self.places[self.inside.start], self.places[self.inside.end - 1]);
        let moved = |at: &f64| (at.clamp(from, to) - from) * self.slower;
        left_of_a_parabola(&self.places, &self.places.iter().map(moved).collect::<Vec<f64>>())
    }
}

/// The largest share of stretches of twice the tolerance that can be told.
fn stretch_at_best(piece: &Piece, tolerances: &Tolerances, slower: bool) -> f64 {
    let per_mille = i32::from(tolerances.drift_per_mille) * if slower { 2 } else { -2 };
    let stretch = Stretched::of(piece, per_mille);
    let interval = f64::from(piece.interval().as_micros());
    let places: Vec<f64> = stretch.places.iter().map(|place| place / interval).collect();
    stretch_told(
        &places,
        stretch.inside,
        stretch.slower,
        f64::from(tolerances.drift_per_mille) / 1_000.0,
        (SKILLED / interval, f64::from(LEAST_SCATTER) / interval),
        STANDARD_ERRORS as f64 / 1_000.0,
    )
}
