//! The least share of attempts with a trouble that pass, whoever judges: see [`super::best`].

use evenhand_core::player::{ACCENT, Skill};
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::Offset;

use super::best::{Values, scatter_passed_at_least};
use super::levels::{accents_passed_at_least, levels, one_louder, slurs_passed_at_least};
use super::onsets::Onsets;
use super::piece::Piece;
use super::places::stretch_of;
use super::shares::stretched;
use super::trouble::Trouble;
use crate::paths::Lateness;

/// A piece, what is asked of it, and how it is heard.
#[derive(Clone, Copy, Debug)]
pub struct Conditions<'a> {
    /// The piece.
    pub piece: &'a Piece,
    /// What the level allows.
    pub tolerances: &'a Tolerances,
    /// The pickup.
    pub lateness: Lateness,
    /// So many attempts together, with the trouble at the same place.
    pub together: u32,
}

/// The least share that passes of a trouble of `size`, in per mille of the tolerance; 0 where each
/// can be told.
pub fn passed_at_least(trouble: Trouble, size: u32, conditions: Conditions<'_>) -> f64 {
    let Conditions { piece, tolerances, lateness, together } = conditions;
    let onsets = Onsets::of(piece);
    let late = lateness == Lateness::TwoPeriods;
    let times = f64::from(size) / 1_000.0;
    let told = |values: Values, shapes: &dyn Fn(f64) -> Vec<Vec<f64>>| {
        let either = |times: f64| [shapes(times), shapes(-times)].concat();
        values.together(together).passed_at_least(&either(0.5), &either(times))
    };
    let own = || onsets.values(Skill::SKILLED, late);
    let clicked = || onsets.values_with_a_click(Skill::SKILLED, late);
    let micros = |time: Offset| f64::from(time.as_micros());
    let drift = f64::from(tolerances.drift_per_mille) / 1_000.0;
    let scatter = |degrees: u32| scatter_passed_at_least(times / 0.5, degrees * together);
    match trouble {
        Trouble::Unsteady => scatter(own().degrees()),
        Trouble::Uneven => scatter(levels(piece).degrees()),
        Trouble::SlowingDown | Trouble::SpeedingUp => {
            told(own(), &|times| vec![onsets.drift(times * drift)])
        }
        Trouble::OffBeat | Trouble::OnsetOffClick => {
            let limit = micros(tolerances.single_note.at(piece.interval()));
            let values = if trouble == Trouble::OffBeat { own() } else { clicked() };
            told(values, &|times| onsets.one_off(times * limit))
        }
        Trouble::Hesitation | Trouble::HesitationAtShift => {
            let limit =
                |gap: f64| micros(tolerances.hesitation.at(Offset::from_micros(gap as i32)));
            told(own(), &|times| onsets.lost(|gap| times * limit(gap)))
        }
        Trouble::LateLanding | Trouble::SoonLanding => {
            let limit = micros(tolerances.hesitation.at(piece.gap_before_landing()));
            told(own(), &|times| onsets.landing(times * limit))
        }
        Trouble::Rushed | Trouble::Dragged => {
            let share = |times: f64| {
                let shown = (times * f64::from(tolerances.drift_per_mille)) as i32;
                move |from, to| f64::from(stretched(piece, (from, to), shown)) / 1_000.0
            };
            told(own(), &|times| onsets.stretch(stretch_of(piece), share(times)))
        }
        Trouble::TempoOffClick => told(clicked(), &|times| vec![onsets.slower(times * drift)]),
        Trouble::LoudNote | Trouble::SoftNote => {
            let limit = f64::from(tolerances.single_level.hundredths());
            told(levels(piece), &|times| one_louder(piece, times * limit))
        }
        Trouble::WeakSlurs => {
            let limit = f64::from(tolerances.slur_below.hundredths());
            slurs_passed_at_least(piece, limit / 2.0, times * limit, together)
        }
        Trouble::WeakAccents => {
            let may = f64::from(ACCENT.above(tolerances.accent_above).hundredths());
            accents_passed_at_least(piece, may / 2.0, times * may, together)
        }
        _ => 0.0,
    }
}
