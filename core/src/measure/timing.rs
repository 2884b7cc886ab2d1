//! Steadiness, drift, single notes off the beat.
//!
//! The onset of an event is the median of the times of its notes that were played right. Rolled
//! chords and notes that changed places are left out, since their times say something else. Two
//! kinds of onset are *vague*: a chord that spreads over more than its limit, which came at no one
//! time, and a trill that goes straight on from one of the same notes, which begins nowhere. They
//! count for the robust fit of the tempo, but neither as scatter nor as notes off the beat. The
//! [landing](super::landing) tells about the tempo like other events, but when it came is a measure
//! of its own, and it never stands out here.
//!
//! * *Drift*: how much longer a beat was at the end than at the beginning, in per mille of the
//!   pace: the bend of a least-squares fit, with its standard error. Slower is positive, faster
//!   negative. From four events on; of so few it is known badly, and mostly unsettled.
//! * *Unsteadiness*: standard deviation of the onsets around the player's own tempo, in
//!   microseconds, after the drift is taken off and without the notes that stand out, by the
//!   same fit. The degrees of freedom are the events less one for each segment, one for the
//!   pace and one for the drift. From three events on; a drift is fitted from six on, and left
//!   out where it explains no more than chance.
//! * *Standing out*: an onset that is further from where it belongs than the limit for one
//!   note, than three robust standard deviations of all, and than four standard deviations
//!   (four and a half, if there are few) of the others; at most one in eight. Late is positive.
//!
//! Against a click the onsets are measured in [`click`](super::click).
//!
//! Numbers of events are our defaults: with fewer, the spread of the estimate is larger than
//! what it should tell (the 90 % range of a standard deviation from 8 notes is 0.56 to 1.42
//! times the truth, by χ²).

use super::click::{AgainstClick, Grid, against};
use super::fit::{Counted, Fitted, PlacedPoints};
use super::onsets::{Break, Breaks, FEWEST_BESIDE_DRIFT, Numbers, OffBeat, Point, Points};
use super::order::{Order, order};
use super::statistics::{deviation, median, robust_deviation_of};
use super::tempo::{Tempo, own_tempo, residuals};
use super::{Material, NoteSet, togetherness};
use crate::arithmetic::product;
use crate::limits::NOTES_TOGETHER;
use crate::study::{ExpectedNote, Marks};
use crate::tolerance::TimeLimit;
use crate::units::{self, Instant, Offset, lasting};
use core::ops::Range;
use heapless::Vec;

/// The fewest events whose drift is measured.
pub const FEWEST_FOR_DRIFT: usize = 4;
/// The fewest events whose steadiness is measured.
pub const FEWEST_FOR_STEADINESS: usize = 3;

/// A single note or a pause is beyond doubt if taking it out gains so many times the mean square
/// of the rest: seven standard deviations. Our default.
const BEYOND_DOUBT: u64 = 50;

/// A click that the player heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Click {
    /// When the chunk's first position was due.
    pub start: Instant,
}

/// Unsteadiness and what it is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Steadiness {
    /// Standard deviation of the onsets.
    pub deviation: Offset,
    /// Degrees of freedom of that estimate.
    pub degrees: u32,
}

/// How an attempt was timed.
#[derive(Clone, Debug)]
pub struct Timing {
    /// The onsets that were looked at.
    pub points: Points,
    /// The player's own tempo, where enough was heard.
    pub tempo: Option<Tempo>,
    /// How far each point was from where it belongs; late is positive.
    pub residuals: Numbers,
    /// The median written interval between neighbouring events at the tempo played.
    pub interval: Offset,
    /// Drift in per mille; slower is positive.
    pub drift_per_mille: Option<i32>,
    /// Its standard error in per mille: how far chance alone may put it off.
    pub drift_error: u32,
    /// The same for hands that scatter by a second.
    pub drift_error_a_second: u64,
    /// A pause, instead of the drift, would explain the onsets as well.
    pub maybe_a_pause: bool,
    /// How much later the end came for a stretch that was taken off the onsets.
    pub taken_off: Offset,
    /// Steadiness.
    pub steadiness: Option<Steadiness>,
    /// Steadiness with everything counted, single notes and pauses too, where what is left
    /// without them is not so much less that they are beyond doubt.
    pub all_counted: Option<Steadiness>,
    /// The points (not the notes) that came at no one time: chords that spread over more than their
    /// limit, and trills that go straight on from another.
    pub vague: NoteSet,
    /// The points that stand out.
    pub out: NoteSet,
    /// The note that stands out furthest, and how many do.
    pub off_beat: Option<(OffBeat, u16)>,
    /// The onsets against the click, where there was one.
    pub click: Option<AgainstClick>,
}

/// The tempo at which it was played, where enough was heard to say.
pub fn tempo_played(material: Material<'_>) -> Option<units::Tempo> {
    let order = order(material);
    let mut points = Points::new();
    onsets(material, &order, &mut points);
    let tempo = own_tempo(&points, material.chunk.tolerances().hesitation)?;
    units::Tempo::from_micros_per_quarter(tempo.pace)
}

/// Measures the timing. `single` is the limit for one note.
pub fn timing(
    material: Material<'_>,
    order: &Order,
    single: TimeLimit,
    click: Option<(Click, Instant)>,
) -> Timing {
    let mut timing = Timing::unknown();
    timing.measure(material, order, single, click);
    timing
}

impl Timing {
    /// Nothing was heard.
    // Not a constant, which would lie in a board's flash to be copied from.
    #[inline]
    pub(crate) fn unknown() -> Self {
        Self {
            points: Points::new(),
            tempo: None,
            residuals: Numbers::new(),
            interval: Offset::ZERO,
            drift_per_mille: None,
            drift_error: 0,
            drift_error_a_second: 0,
            maybe_a_pause: false,
            taken_off: Offset::ZERO,
            steadiness: None,
            all_counted: None,
            vague: NoteSet::NONE,
            out: NoteSet::NONE,
            off_beat: None,
            click: None,
        }
    }

    /// What [`timing`] does, in place, once.
    // Not inlined, as others here: scratch numbers leave the stack when they are done with.
    #[inline(never)]
    pub(crate) fn measure(
        &mut self,
        material: Material<'_>,
        order: &Order,
        single: TimeLimit,
        click: Option<(Click, Instant)>,
    ) {
        self.vague = onsets(material, order, &mut self.points);
        self.tempo = own_tempo(&self.points, material.chunk.tolerances().hesitation);
        let pace = self.tempo.as_ref().map(|tempo| tempo.pace);
        if let Some(pace) = pace {
            self.interval = median_interval(&self.points, pace);
        }
        let is_landing = |note: usize| {
            material.chunk.notes().get(note).is_some_and(|note| note.marks.has(Marks::LANDING))
        };
        if let Some((click, attempt)) = click {
            let grid = Grid {
                into_click: attempt.since(click.start),
                tempo: material.chunk.tempo(),
                beat: material.chunk.tempo().lasting(material.chunk.metre().beat()),
            };
            let may_be_off = |note| !is_landing(note);
            self.click = against(&self.points, grid, pace, self.interval, single, may_be_off);
            if let Some(against) = &mut self.click {
                // Beside the click is what is heard so.
                let late = taken_for_late(material, &self.points).as_micros();
                against.lag = Offset::from_micros(against.lag.as_micros().saturating_add(late));
            }
        }
        let limits = (single.at(self.interval), material.chunk.tolerances().hesitation);
        self.fit(limits, &is_landing);
    }

    /// Whether a point counts for steadiness and drift.
    pub(super) fn counts(&self, index: usize) -> bool {
        !self.out.has(index) && !self.vague.has(index)
    }

    /// Fits the onsets, where there is a tempo. Limits are for one note and for time lost.
    #[inline(never)]
    pub(super) fn fit(&mut self, limits: (Offset, TimeLimit), is_landing: &dyn Fn(usize) -> bool) {
        let Some(tempo) = self.tempo.take() else { return };
        let mut places = PlacedPoints::new();
        places.put(&self.points, tempo.pace);
        fit_the_rest(self, &tempo, &places, limits.0.as_micros(), is_landing);
        fit_the_drift(self, &tempo, &places, limits.1);
        self.tempo = Some(tempo);
    }
}

/// How much earlier the onsets are reckoned than they came, in the middle: see
/// [`Material::struck_at`].
#[inline(never)]
fn taken_for_late(material: Material<'_>, points: &[Point]) -> Offset {
    let notes = points.iter().filter_map(|point| material.chunk.notes().get(point.note as usize));
    let mut late: Numbers =
        notes.map(|note| material.late(note.pitch, note.string).as_micros()).collect();
    Offset::from_micros(median(&mut late).unwrap_or(0))
}

/// The median written interval between neighbours at a pace.
#[inline(never)]
fn median_interval(points: &[Point], pace: u32) -> Offset {
    let gaps = points.iter().zip(points.iter().skip(1));
    let mut gaps: Numbers = gaps.map(|(a, b)| lasting(b.written.since(a.written), pace)).collect();
    Offset::from_micros(median(&mut gaps).unwrap_or(0))
}

/// Finds the notes that stand out, and fits the others. First what the robust fit says, at most
/// one note in eight: where more are out, the playing is unsteady, and no single note is to
/// blame. Then each of them must also be out for the fit of the others.
#[inline(never)]
fn fit_the_rest(
    timing: &mut Timing,
    tempo: &Tempo,
    places: &PlacedPoints,
    limit: i32,
    is_landing: &dyn Fn(usize) -> bool,
) {
    let count = timing.points.len();
    let with_drift = count >= FEWEST_BESIDE_DRIFT;
    let left = &mut timing.residuals;
    residuals(&timing.points, tempo, left);
    let robust = limit.max(robust_deviation_of(left).saturating_mul(3));
    let vague = timing.vague;
    let mut out = standing_out(left, robust, |index| !vague.has(index));
    let most = (count / 8).max(1);
    if out.count() > most {
        out = NoteSet::default();
    }
    let fit_of = |out: &NoteSet, left: &mut Numbers| {
        let counted = |index: usize| !out.has(index) && !vague.has(index);
        places.residuals(&tempo.breaks, with_drift, &counted, left)
    };
    let mut fitted = fit_of(&out, left);
    if out.count() > 0 {
        let scatter = deviation(fitted.squares, fitted.degrees).unwrap_or(0);
        // Of so few others the scatter is not well known, so it takes more: with these numbers
        // about one steady attempt in ten of eight notes, and one in thirty of sixteen, would
        // have a note that stands out (t distribution) if it were not for the limit.
        let halves = if fitted.degrees < 8 { 9 } else { 8 };
        let threshold = limit.max(scatter.saturating_mul(halves) / 2);
        let confirmed = standing_out(left, threshold, |index| out.has(index));
        if confirmed.count() != out.count() {
            out = confirmed;
            fitted = fit_of(&out, left);
        }
    }
    for (index, (point, &residual)) in timing.points.iter().zip(&*left).enumerate() {
        if out.has(index) && !is_landing(point.note.into()) {
            let off = OffBeat { note: usize::from(point.note), by: Offset::from_micros(residual) };
            let (worst, count) = timing.off_beat.unwrap_or((off, 0));
            let worst = if off.by.size() > worst.by.size() { off } else { worst };
            timing.off_beat = Some((worst, count + 1));
        }
    }
    if count >= FEWEST_FOR_STEADINESS {
        if with_drift {
            // A drift that explains no more than chance does is not worth its degree of freedom:
            // four times the mean square, as likely within a factor of e².
            let counted = |index: usize| !out.has(index) && !vague.has(index);
            let flat = places.fit(&tempo.breaks, false, &counted);
            let degrees = u64::from(fitted.degrees);
            let allowed = product(fitted.squares, degrees + 4);
            if product(flat.squares, degrees) <= allowed {
                (fitted.squares, fitted.degrees) = (flat.squares, flat.degrees);
            }
        }
        let degrees = fitted.degrees;
        let steadiness = |squares: u64, degrees: u32| {
            let deviation = Offset::from_micros(deviation(squares, degrees)?);
            Some(Steadiness { deviation, degrees })
        };
        timing.steadiness = steadiness(fitted.squares, degrees);
        let taken = (out.count() + tempo.breaks.len()) as u64;
        if taken > 0 {
            let all = places.fit(&[], with_drift, &|index| !vague.has(index));
            let gained = product(all.squares.saturating_sub(fitted.squares), degrees.into());
            if gained < product(fitted.squares, taken * BEYOND_DOUBT) {
                timing.all_counted = steadiness(all.squares, all.degrees);
            }
        }
    }
    timing.out = out;
}

/// Fits the drift. Only pauses that the level does not allow are taken off it: with a new start
/// at every small one, which may be none, a drift would be known half as well.
#[inline(never)]
fn fit_the_drift(timing: &mut Timing, tempo: &Tempo, places: &PlacedPoints, hesitation: TimeLimit) {
    if timing.points.len() < FEWEST_FOR_DRIFT {
        return;
    }
    let written = |at: usize| {
        let (before, after) = (timing.points.get(at.checked_sub(1)?)?, timing.points.get(at)?);
        Some(Offset::from_micros(lasting(after.written.since(before.written), tempo.pace)))
    };
    let mut breaks = tempo.breaks.clone();
    breaks.retain(|b| written(b.point).is_some_and(|w| b.excess.size() > hesitation.at(w)));
    let fitted = places.fit(&breaks, true, &|index| timing.counts(index));
    let (Some(drift), Some(steadiness)) = (fitted.drift, timing.steadiness) else { return };
    let scatter = u64::from(steadiness.deviation.as_micros().unsigned_abs());
    let error = (drift.error_a_second * scatter / 1_000_000).min(1_000_000) as u32;
    timing.drift_per_mille = Some(drift.per_mille);
    timing.drift_error = error;
    timing.drift_error_a_second = drift.error_a_second;
    timing.maybe_a_pause = drift.per_mille.unsigned_abs() > 2 * error
        && pause_explains_it(places, &|index| timing.counts(index), breaks, &fitted);
}

/// Whether a pause somewhere, instead of the drift, explains the onsets nearly as well: worse by
/// no more than four times the mean square, which is as likely within a factor of e². A small pause
/// near either end bends the fit as a drift does; half the allowed pause was told as a drift in
/// one attempt of twenty of eight notes.
fn pause_explains_it(
    places: &PlacedPoints,
    counted: Counted<'_>,
    mut breaks: Breaks,
    drifting: &Fitted,
) -> bool {
    let degrees = u64::from(drifting.degrees);
    let allowed = product(drifting.squares, degrees + 4);
    (1..places.len()).any(|at| {
        let before = breaks.iter().position(|b| b.point >= at).unwrap_or(breaks.len());
        let this = Break { point: at, excess: Offset::ZERO };
        let is_one = breaks.get(before).is_some_and(|b| b.point == at);
        if is_one || breaks.insert(before, this).is_err() {
            return false;
        }
        let paused = places.fit(&breaks, false, counted);
        breaks.remove(before);
        product(paused.squares, degrees) <= allowed
    })
}

/// The points further out than `threshold`, of those that may be.
fn standing_out(residuals: &[i32], threshold: i32, may: impl Fn(usize) -> bool) -> NoteSet {
    let mut out = NoteSet::default();
    for (index, residual) in residuals.iter().enumerate() {
        if residual.saturating_abs() > threshold && may(index) {
            out.insert(index);
        }
    }
    out
}

/// Writes down the onsets of the events that tell about timing, and gives those that are vague. Where
/// more than one event in eight is a chord that spread, the hands scatter, and none is vague for it.
#[inline(never)]
fn onsets(material: Material<'_>, order: &Order, points: &mut Points) -> NoteSet {
    let (mut spread, mut going_on) = (NoteSet::NONE, NoteSet::NONE);
    points.clear();
    for (point, vague) in material.events().filter_map(|event| onset(material, order, event)) {
        match vague {
            Some(Vague::Spread) => spread.insert(points.len()),
            Some(Vague::GoingOn) => going_on.insert(points.len()),
            None => {}
        }
        // There is room: an event has a note at least.
        let _ = points.push(point);
    }
    if spread.count() <= (points.len() / 8).max(1) {
        (0..points.len()).filter(|&at| spread.has(at)).for_each(|at| going_on.insert(at));
    }
    going_on
}

/// Why an event came at no one time.
enum Vague {
    /// A chord that spread over more than its limit.
    Spread,
    /// A trill that goes straight on from another.
    GoingOn,
}

/// When an event came, and why that is vague, if it is.
fn onset(
    material: Material<'_>,
    order: &Order,
    event: Range<usize>,
) -> Option<(Point, Option<Vague>)> {
    let first = material.chunk.notes().get(event.start)?;
    let mut times: Vec<i32, NOTES_TOGETHER> = Vec::new();
    let mut going_on = None;
    for index in event.clone() {
        let wanted = material.chunk.notes().get(index)?;
        if wanted.marks.has(Marks::ROLLED) {
            return None;
        }
        if let Some(note) = material.right(index).filter(|_| !order.involved.has(index)) {
            let struck = material.struck_at(index, note).as_micros();
            if goes_on_from_a_trill(material, wanted) {
                going_on = Some(struck);
            } else {
                let _ = times.push(struck);
            }
        }
    }
    let ends = times.iter().max().zip(times.iter().min());
    let apart = ends.map(|(last, first)| last.saturating_sub(*first));
    let limit = togetherness::limit(material, &event).as_micros();
    let vague = match apart {
        Some(apart) if apart > limit => Some(Vague::Spread),
        Some(_) => None,
        None => Some(Vague::GoingOn),
    };
    let played = Offset::from_micros(median(&mut times).or(going_on)?);
    Some((Point { written: first.onset, played, note: event.start as u16 }, vague))
}

/// Whether a trill goes straight on in another one of the same two notes: which of them the second
/// begins with cannot be heard.
fn goes_on_from_a_trill(material: Material<'_>, wanted: &ExpectedNote) -> bool {
    let both = |note: &ExpectedNote| {
        let other = note.trill?;
        Some((note.pitch.min(other), note.pitch.max(other)))
    };
    let before = material.chunk.notes().iter().take_while(|note| note.onset < wanted.onset);
    both(wanted).is_some_and(|two| {
        let mut before = before;
        before.any(|note| both(note) == Some(two) && note.onset.plus(note.duration) == wanted.onset)
    })
}
