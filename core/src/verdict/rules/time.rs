//! Tempo, steadiness, lost time, stretches.

use super::chance::{doubt_of_one, doubt_of_two};
use super::findings::{Findings, share};
use super::{click, landing};
use crate::align::Material;
use crate::measure::hesitation::{Hesitation, hesitations};
use crate::measure::landing::Landing;
use crate::measure::order::Order;
use crate::measure::statistics::{
    Compared, MOST_ATTEMPTS, compare_deviation, more_attempts, student_90, student_99,
};
use crate::measure::stretch::stretch;
use crate::measure::timing::{Click, FEWEST_FOR_STEADINESS, Timing};
use crate::study::Marks;
use crate::tolerance::Tolerances;
use crate::units::Instant;
use crate::verdict::{Bearing, Kind, Size};

/// Nobody plays a chunk this many times faster than its goal: the alignment follows up to three
/// times. Our default.
const FASTER_THAN_ANYONE: u32 = 6;

/// What the timing tells the other rules.
#[derive(Clone, Copy, Default)]
pub(super) struct Heard {
    /// How far the hands scatter, in microseconds; 0 where that is not known.
    pub(super) scatter: u32,
    /// The player's own pace, in microseconds a quarter, where it is known.
    pub(super) pace: Option<u32>,
}

/// Judges the timing.
#[inline(never)]
pub(super) fn time(
    material: Material<'_>,
    tolerances: &Tolerances,
    order: &Order,
    landing: Option<&Landing>,
    click: Option<(Click, Instant)>,
    findings: &mut Findings,
) -> Heard {
    let mut timing = Timing::unknown();
    timing.measure(material, order, tolerances.single_note, click);
    if carries_no_time(material, &timing) {
        let heard = Size::Notes(timing.points.len() as u16);
        findings.unsettled(Kind::NoTimeHeard, None, heard, Size::Notes(0));
        return Heard { scatter: scatter(&timing), pace: None };
    }
    lost_time(material, tolerances, &timing, findings);
    steadiness(tolerances, &timing, findings);
    match timing.click {
        Some(against) => click::beside(tolerances, &timing, against, findings),
        None => own_tempo(tolerances, &timing, findings),
    }
    if let Some(landing) = landing {
        landing::time(material, landing, &timing, tolerances, findings);
    }
    all_counted(tolerances, &timing, findings);
    if let Some(found) = stretch(&timing, tolerances.drift_per_mille, tolerances.hesitation) {
        let sizes = (Size::PerMille(found.per_mille), drift_limit(tolerances));
        // 1.28 standard errors: chance in one case of ten.
        let doubt = u32::from(found.error) * 128 / 100;
        findings.single(Kind::OffPace, found.note, found.events, sizes, doubt);
    }
    Heard { scatter: scatter(&timing), pace: timing.tempo.map(|tempo| tempo.pace) }
}

/// How far the hands scatter, in microseconds; 0 where that is not known.
pub(super) fn scatter(timing: &Timing) -> u32 {
    timing.steadiness.map_or(0, |measured| measured.deviation.as_micros().unsigned_abs())
}

fn lost_time(
    material: Material<'_>,
    tolerances: &Tolerances,
    timing: &Timing,
    findings: &mut Findings,
) {
    for hesitation in worst_hesitations(material, timing, tolerances) {
        let Some((worst, count)) = hesitation else {
            continue;
        };
        let kind = if worst.at_shift { Kind::HesitationAtShift } else { Kind::Hesitation };
        let (size, limit) = (Size::Time(worst.lost), Size::Time(worst.limit));
        findings.single(kind, worst.note, count, (size, limit), doubt_of_two(scatter(timing)));
    }
}

fn steadiness(tolerances: &Tolerances, timing: &Timing, findings: &mut Findings) {
    let limit = tolerances.unsteadiness.at(timing.interval);
    match timing.steadiness {
        Some(measured) => {
            let (size, limit_size) = (Size::Time(measured.deviation), Size::Time(limit));
            let deviation = measured.deviation.as_micros();
            match compare_deviation(deviation, measured.degrees, limit.as_micros()) {
                Compared::Within => {}
                Compared::TooCloseToCall => {
                    let more = more_attempts(deviation, measured.degrees, limit.as_micros());
                    findings.close(Kind::Unsteady, None, size, limit_size, more);
                }
                Compared::Over => {
                    let weight = share(size, limit_size);
                    findings.add(Kind::Unsteady, Bearing::Fails, None, 1, size, limit_size, weight);
                }
            }
        }
        None if timing.points.len() < FEWEST_FOR_STEADINESS => {
            let heard = Size::Notes(timing.points.len() as u16);
            let needed = Size::Notes(FEWEST_FOR_STEADINESS as u16);
            // A chunk of so few events can be steady only to the ear.
            findings.add(Kind::TimingNotHeard, Bearing::Advice, None, 1, heard, needed, 50);
        }
        None => {}
    }
}

/// Without a click: single notes and drift against the player's own tempo.
fn own_tempo(tolerances: &Tolerances, timing: &Timing, findings: &mut Findings) {
    if let Some((off, count)) = timing.off_beat {
        let limit = Size::Time(tolerances.single_note.at(timing.interval));
        let sizes = (Size::Time(off.by), limit);
        findings.single(Kind::OffBeat, off.note, count, sizes, doubt_of_one(scatter(timing)));
    }
    if let Some(drift) = timing.drift_per_mille {
        let size = Size::PerMille(drift.clamp(-30_000, 30_000) as i16);
        let limit = drift_limit(tolerances);
        let degrees = timing.steadiness.map_or(0, |measured| measured.degrees);
        let compared =
            compare_drift(size.magnitude(), timing.drift_error, degrees, limit.magnitude());
        match compared {
            Compared::Within => {}
            Compared::Over if timing.maybe_a_pause => {
                findings.close(Kind::Drift, None, size, limit, 1);
            }
            Compared::TooCloseToCall => {
                let more = (2..=MOST_ATTEMPTS).find(|&together| {
                    // The error of a mean falls with the root of the number.
                    let error =
                        timing.drift_error * 100 / (10_000 * u32::from(together)).isqrt().max(1);
                    let degrees = degrees * u32::from(together);
                    let (size, limit) = (size.magnitude(), limit.magnitude());
                    compare_drift(size, error, degrees, limit) != Compared::TooCloseToCall
                });
                let more = more.unwrap_or(MOST_ATTEMPTS) - 1;
                findings.close(Kind::Drift, None, size, limit, more);
            }
            Compared::Over => {
                let weight = share(size, limit);
                findings.add(Kind::Drift, Bearing::Fails, None, 1, size, limit, weight);
            }
        }
    }
}

/// What single notes or pauses may be, if they are not what they are taken for.
fn all_counted(tolerances: &Tolerances, timing: &Timing, findings: &mut Findings) {
    if let Some(all) = timing.all_counted {
        let limit = tolerances.unsteadiness.at(timing.interval);
        let deviation = all.deviation.as_micros();
        let sizes = (Size::Time(all.deviation), Size::Time(limit));
        let compared = compare_deviation(deviation, all.degrees, limit.as_micros());
        let told = [
            Kind::OffBeat,
            Kind::OffTheClick,
            Kind::Hesitation,
            Kind::HesitationAtShift,
            Kind::LandingTime,
        ];
        findings.perhaps_all(Kind::Unsteady, &told, compared, sizes);
    }
}

/// What of a change of tempo would pass.
pub(super) fn drift_limit(tolerances: &Tolerances) -> Size {
    Size::PerMille(tolerances.drift_per_mille.min(30_000) as i16)
}

/// Whether the notes came so much faster than written that no hand played them: bytes from a
/// file, poured into a live input.
fn carries_no_time(material: Material<'_>, timing: &Timing) -> bool {
    let practised = material.chunk.tempo().micros_per_quarter();
    match (&timing.tempo, timing.points.len()) {
        (Some(tempo), _) => tempo.pace.saturating_mul(FASTER_THAN_ANYONE) < practised,
        (None, points) => points >= 3,
    }
}

/// The longest hesitation at a shift and elsewhere, each with how many there are. The one before
/// a landing is told as the landing's.
fn worst_hesitations(
    material: Material<'_>,
    timing: &Timing,
    tolerances: &Tolerances,
) -> [Option<(Hesitation, u16)>; 2] {
    let mut worst: [Option<(Hesitation, u16)>; 2] = [None, None];
    let landing = |note: usize| {
        material.chunk.notes().get(note).is_some_and(|note| note.marks.has(Marks::LANDING))
    };
    let all = hesitations(material, timing, tolerances.hesitation);
    for hesitation in all.filter(|hesitation| !landing(hesitation.note)) {
        let [at_shift, elsewhere] = &mut worst;
        let slot = if hesitation.at_shift { at_shift } else { elsewhere };
        let (so_far, count) = slot.unwrap_or((hesitation, 0));
        let longer = hesitation.lost.size() > so_far.lost.size();
        *slot = Some((if longer { hesitation } else { so_far }, count + 1));
    }
    worst
}

/// Compares a drift with its limit, all in per mille. It is over for certain if it is beyond
/// the limit by what chance makes in one case of ten. If it is over at all, it must also be more
/// than chance makes of a steady tempo in one case of a hundred: the drift of eight fast notes
/// is known to no better than a few per cent, and a steady player would else be told of one in
/// every tenth attempt.
pub(in crate::verdict) fn compare_drift(
    size: u32,
    error: u32,
    degrees: u32,
    limit: u32,
) -> Compared {
    let chance = |times: u32| (u64::from(error) * u64::from(times) / 1_000) as u32;
    if size <= limit || size <= chance(student_99(degrees)) {
        Compared::Within
    } else if size <= limit.saturating_add(chance(student_90(degrees))) {
        Compared::TooCloseToCall
    } else {
        Compared::Over
    }
}
