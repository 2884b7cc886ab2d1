//! Tempo, steadiness, lost time, stretches.

use super::chance::{doubt_of_one, doubt_of_two};
use super::findings::{Findings, share};
use super::scatter::{clean_drift_error, clean_scatter, compare_drift, drift_limit, scatter};
use super::{click, landing, unexplained};
use crate::align::Material;
use crate::arithmetic::short_root;
use crate::measure::explained::Explained;
use crate::measure::hesitation::{Hesitation, hesitations};
use crate::measure::landing::Landing;
use crate::measure::order::Order;
use crate::measure::statistics::{Compared, MOST_ATTEMPTS, compare_deviation, more_attempts};
use crate::measure::stretch::{perhaps_a_stretch, stretch};
use crate::measure::timing::{Click, FEWEST_FOR_STEADINESS, Timing};
use crate::study::Marks;
use crate::tolerance::Tolerances;
use crate::units::{Instant, Offset};
use crate::verdict::{Kind, Severity, Size};

/// Nobody plays a chunk this many times faster than its goal: the alignment follows up to three
/// times. Our default.
const FASTER_THAN_ANYONE: u32 = 6;

/// What the timing tells the other rules.
#[derive(Clone, Copy, Default)]
pub(super) struct TimingHints {
    /// How far the hands scatter, in microseconds; 0 where that is not known.
    pub(super) scatter: u32,
    /// The player's own pace, in microseconds a quarter, where it is known.
    pub(super) pace: Option<u32>,
    /// How far onsets may scatter.
    pub(super) may_scatter: Offset,
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
) -> TimingHints {
    let mut timing = Timing::unknown();
    timing.measure(material, order, tolerances.single_note, click);
    let may_scatter = tolerances.unsteadiness.at(timing.interval);
    if carries_no_time(material, &timing) {
        let heard = Size::Notes(timing.points.len() as u16);
        findings.unsettled(Kind::NoTimeHeard, None, heard, Size::Notes(0));
        return TimingHints { scatter: scatter(&timing), pace: None, may_scatter };
    }
    let heard_pace = timing.tempo.as_ref().map(|tempo| tempo.pace);
    let is_landing = |note: usize| is_landing(material, note);
    let explained = match click {
        None => timing.without_a_stretch(tolerances, &is_landing),
        Some(_) => None,
    };
    lost_time(material, tolerances, &timing, findings);
    let is_open = matches!(explained, Some(Explained::Perhaps(_)));
    steadiness(tolerances, &timing, is_open, findings);
    match timing.click {
        Some(against) => click::beside(tolerances, &timing, against, findings),
        None => own_tempo(tolerances, &timing, findings),
    }
    if let Some(landing) = landing {
        landing::time(material, landing, &timing, tolerances, findings);
    }
    all_counted(tolerances, &timing, findings);
    off_pace(tolerances, &timing, explained, findings);
    unexplained::unexplained(material, tolerances, &timing, findings);
    TimingHints { scatter: scatter(&timing), pace: heard_pace, may_scatter }
}

/// A stretch that was rushed or dragged; where it is no more than clean hands make in one case of
/// a hundred, nothing is said.
fn off_pace(
    tolerances: &Tolerances,
    timing: &Timing,
    explained: Option<Explained>,
    findings: &mut Findings,
) {
    let limit = drift_limit(tolerances);
    let surely = match explained {
        Some(Explained::Surely(found)) => Some(found),
        _ => stretch(timing, tolerances.drift_per_mille, tolerances.hesitation),
    };
    if let Some(found) = surely {
        // 1.28 standard errors: chance in one case of ten.
        let doubt = u32::from(found.error) * 128 / 100;
        let sizes = (Size::PerMille(found.per_mille), limit);
        findings.single(Kind::OffPace, found.note, found.events, sizes, doubt);
        return;
    }
    let clean = clean_scatter(tolerances, timing);
    let limits = (tolerances.drift_per_mille, tolerances.hesitation);
    if let Some(found) = perhaps_a_stretch(timing, limits, clean) {
        let size = Size::PerMille(found.per_mille);
        findings.unsettled(Kind::OffPace, Some(found.note), size, limit);
    } else if let Some(Explained::Perhaps(found)) = explained
        && findings.tell_any(&[Kind::Unsteady])
    {
        // Which of the two it was, so few onsets do not tell. The stretch is the likelier.
        let (size, kind) = (Size::PerMille(found.per_mille), Kind::OffPace);
        findings.likelier(kind, found.note, found.events, size, limit);
    }
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

/// `is_open` says that a stretch off the pace may be what makes the onsets scatter: then it is not
/// settled which of the two it was.
fn steadiness(tolerances: &Tolerances, timing: &Timing, is_open: bool, findings: &mut Findings) {
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
                Compared::Over if is_open => {
                    findings.close(Kind::Unsteady, None, size, limit_size, 1);
                }
                Compared::Over => {
                    let weight = share(size, limit_size);
                    findings.add(
                        Kind::Unsteady,
                        Severity::Fails,
                        None,
                        1,
                        size,
                        limit_size,
                        weight,
                    );
                }
            }
        }
        None if timing.points.len() < FEWEST_FOR_STEADINESS => {
            let heard = Size::Notes(timing.points.len() as u16);
            let needed = Size::Notes(FEWEST_FOR_STEADINESS as u16);
            // Two onsets fit any tempo: nothing is said of the rhythm, and passed claims none.
            findings.add(Kind::TimingNotHeard, Severity::Advice, None, 1, heard, needed, 50);
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
        let errors = (timing.drift_error, clean_drift_error(tolerances, timing));
        let compared = compare_drift(size.magnitude(), errors, degrees, limit.magnitude());
        match compared {
            Compared::Within => {}
            Compared::Over if timing.maybe_a_pause => {
                findings.close(Kind::Drift, None, size, limit, 1);
            }
            Compared::TooCloseToCall => {
                let more = (2..=MOST_ATTEMPTS).find(|&together| {
                    // The error of a mean falls with the root of the number.
                    let root = short_root(10_000 * u32::from(together)).max(1);
                    let errors = (errors.0 * 100 / root, errors.1 * 100 / root);
                    let degrees = degrees * u32::from(together);
                    let (size, limit) = (size.magnitude(), limit.magnitude());
                    compare_drift(size, errors, degrees, limit) != Compared::TooCloseToCall
                });
                let more = more.unwrap_or(MOST_ATTEMPTS) - 1;
                findings.close(Kind::Drift, None, size, limit, more);
            }
            Compared::Over => {
                let weight = share(size, limit);
                findings.add(Kind::Drift, Severity::Fails, None, 1, size, limit, weight);
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
            Kind::OnsetOffClick,
            Kind::Hesitation,
            Kind::HesitationAtShift,
            Kind::LandingTime,
        ];
        findings.perhaps_all(Kind::Unsteady, &told, compared, sizes);
    }
}

/// Of onsets that scatter some are off the beat or late, and some chords do not speak together: what
/// is no further off than four standard deviations, as the furthest of a hundred is seldom, is
/// part of the scatter.
pub(super) fn scattered(heard: TimingHints, findings: &mut Findings) {
    let parts = [
        Kind::OffBeat,
        Kind::Hesitation,
        Kind::HesitationAtShift,
        Kind::SpreadChords,
        Kind::SpreadLanding,
        Kind::LandingTime,
    ];
    findings.outrank(Kind::Unsteady, &parts, heard.scatter.saturating_mul(4));
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

fn is_landing(material: Material<'_>, note: usize) -> bool {
    material.chunk.notes().get(note).is_some_and(|note| note.marks.has(Marks::LANDING))
}

/// The longest hesitation at a shift and elsewhere, each with how many there are. The one before
/// a landing is told as the landing's.
fn worst_hesitations(
    material: Material<'_>,
    timing: &Timing,
    tolerances: &Tolerances,
) -> [Option<(Hesitation, u16)>; 2] {
    let mut worst: [Option<(Hesitation, u16)>; 2] = [None, None];
    let all = hesitations(material, timing, tolerances.hesitation);
    for hesitation in all.filter(|hesitation| !is_landing(material, hesitation.note)) {
        let [at_shift, elsewhere] = &mut worst;
        let slot = if hesitation.at_shift { at_shift } else { elsewhere };
        let (so_far, count) = slot.unwrap_or((hesitation, 0));
        let longer = hesitation.lost.size() > so_far.lost.size();
        *slot = Some((if longer { hesitation } else { so_far }, count + 1));
    }
    worst
}
