//! What a stretch at another pace explains is taken off the onsets.
//!
//! Onsets that a rushed or dragged stretch has moved look unsteady, off the beat or late after a
//! pause. Where the stretch explains them better than any of these (see [`shapes`](super::shapes)),
//! they are measured as they would have been without it, and only what is left is told of them.
//! Three degrees of freedom go with it.
//!
//! How much slower it was, is told against the pace of the whole, like that of other stretches: the
//! median slope over all pairs of onsets.

use super::NoteSet;
use super::fit::{PlacedPoints, WHOLE};
use super::onsets::Numbers;
use super::shapes::{OF_A_DRIFT, OF_A_PLACE, Shapes, Tilt};
use super::stretch::{FEWEST_EVENTS, Stretch};
use super::tempo::{own_tempo, slope};
use super::timing::{Steadiness, Timing};
use crate::arithmetic::root;
use crate::tolerance::Tolerances;
use crate::units::{Offset, lasting};

/// A stretch over the limit that explains the onsets best.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Explained {
    /// Scatter is ruled out, and the stretch was taken off.
    Surely(Stretch),
    /// It may be scatter, too. Nothing was changed.
    Perhaps(Stretch),
}

impl Timing {
    /// Takes the stretch off that explains the onsets best, if it differs by more than the limit.
    #[inline(never)]
    pub(crate) fn without_a_stretch(
        &mut self,
        tolerances: &Tolerances,
        is_landing: &dyn Fn(usize) -> bool,
    ) -> Option<Explained> {
        if self.points.len() < FEWEST_EVENTS {
            return None;
        }
        let pace = slope(&self.points)?;
        let (tilt, is_certain) = self.best_explained(pace)?;
        let end = self.points.last()?.written.since(self.points.first()?.written);
        let lasts = i64::from(lasting(end, pace)).max(1);
        let moved = self.shift(tilt, 1)?;
        let rest = slope(&self.points).unwrap_or(pace);
        let beside = (i64::from(rest) - i64::from(pace)) * 1_000 / i64::from(pace);
        let per_mille = beside + tilt.late(WHOLE * 1_000) / lasts;
        if per_mille.unsigned_abs() <= tolerances.drift_per_mille.into() {
            self.shift(tilt, -1);
            return None;
        }
        let mut found = Stretch {
            note: self.points.get(tilt.first)?.note.into(),
            last: self.points.get(tilt.last)?.note.into(),
            events: (tilt.last - tilt.first + 1) as u16,
            per_mille: per_mille.clamp(-10_000, 10_000) as i16,
            error: 0,
        };
        if !is_certain {
            self.shift(tilt, -1);
            return Some(Explained::Perhaps(found));
        }
        self.forget_the_fit();
        self.taken_off = Offset::from_micros(moved as i32);
        self.tempo = own_tempo(&self.points, tolerances.hesitation);
        let single = tolerances.single_note.at(self.interval);
        self.fit((single, tolerances.hesitation), is_landing);
        for steadiness in [&mut self.steadiness, &mut self.all_counted] {
            *steadiness = steadiness.and_then(fewer_degrees);
        }
        let scatter = self.steadiness.map_or(0, |measured| measured.deviation.as_micros());
        let error = u64::from(scatter.unsigned_abs()) * WHOLE as u64 * 1_000
            / (root(tilt.width()).max(1) * lasts.unsigned_abs());
        found.error = error.min(10_000) as u16;
        Some(Explained::Surely(found))
    }

    /// The stretch that explains the onsets better than what has been found so far.
    #[inline(never)]
    fn best_explained(&self, pace: u32) -> Option<(Tilt, bool)> {
        let tempo = self.tempo.as_ref()?;
        let mut places = PlacedPoints::new();
        places.put(&self.points, pace);
        let told = |index: usize| !self.vague.has(index);
        let drifting = places.squares(&[], true, &told);
        let found =
            |with_drift| places.squares(&tempo.breaks, with_drift, &|index| self.counts(index));
        let chosen = (tempo.breaks.len() + self.out.count()) as u32 * OF_A_PLACE;
        let otherwise =
            [(drifting, OF_A_DRIFT), (found(false), chosen), (found(true), chosen + OF_A_DRIFT)];
        Shapes::of(&places, &told, &mut Numbers::new()).stretch(&otherwise)
    }

    /// As if only the onsets were known. In place, as it is too large to stand on the stack twice.
    fn forget_the_fit(&mut self) {
        self.tempo = None;
        self.residuals.clear();
        (self.drift_per_mille, self.drift_error, self.drift_error_a_second) = (None, 0, 0);
        self.maybe_a_pause = false;
        (self.steadiness, self.all_counted) = (None, None);
        (self.out, self.off_beat) = (NoteSet::NONE, None);
    }

    /// Moves the points back by what the stretch makes them late, so many times. Gives what those
    /// after it are moved by, in microseconds.
    #[inline(never)]
    fn shift(&mut self, tilt: Tilt, times: i64) -> Option<i64> {
        let mut places = PlacedPoints::new();
        places.put(&self.points, 1);
        let share = |at: usize| places.list().get(at).map(|place| place.share());
        let (from, to) = (share(tilt.first)?, share(tilt.last)?);
        for (point, place) in self.points.iter_mut().zip(places.list()) {
            let late = tilt.late(place.share().clamp(from, to) - from) * times;
            let late = late.clamp(-i64::from(i32::MAX), i64::from(i32::MAX)) as i32;
            let played = point.played.as_micros().saturating_sub(late);
            point.played = Offset::from_micros(played);
        }
        Some(tilt.late(to - from))
    }
}

/// With the degrees of freedom that a stretch takes off, if any are left.
fn fewer_degrees(measured: Steadiness) -> Option<Steadiness> {
    let degrees = measured.degrees.checked_sub(3).filter(|&degrees| degrees > 0)?;
    Some(Steadiness { degrees, ..measured })
}
