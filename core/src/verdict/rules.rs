//! Measures and tolerances to findings, findings to the verdict.

use super::{Bearing, Finding, Kind, SettledBy, Size, Verdict};
use crate::align::Material;
use crate::limits::FINDINGS;
use crate::measure::evenness::{Evenness, evenness};
use crate::measure::hesitation::{Hesitation, hesitations};
use crate::measure::order::{Order, order};
use crate::measure::slips::{Slips, slips};
use crate::measure::slurs::{not_heard, slurs};
use crate::measure::statistics::{
    Compared, MOST_ATTEMPTS, compare_deviation, more_attempts, student_90, student_99,
};
use crate::measure::timing::{Click, FEWEST_FOR_STEADINESS, Timing, timing};
use crate::measure::togetherness::togetherness;
use crate::measure::trill::{FEWEST_NOTES, trills};
use crate::study::Marks;
use crate::tolerance::Tolerances;
use crate::units::{Instant, Level, Offset};
use heapless::Vec;

/// Notes weigh more than how they were played: a wrong note counts as much as something four
/// times its limit. Our default.
const WEIGHT_OF_NOTES: u32 = 4_000;

/// Less than this share of the expected notes, in per cent, and it was something else. Our
/// default.
const SHARE_OF_THIS_CHUNK: u32 = 50;

/// An attempt broke off if at least this share of the notes, in per cent, is missing at its
/// end. Our default.
const SHARE_BROKEN_OFF: u32 = 25;

/// Nobody plays a chunk this many times faster than its goal: the alignment follows up to three
/// times. Our default.
const FASTER_THAN_ANYONE: u32 = 6;

/// Judges an attempt. `click` is the click the player heard, with the time of the attempt's
/// first note; without one only the player's own tempo counts.
pub fn judge(material: Material<'_>, beyond: u32, click: Option<(Click, Instant)>) -> Verdict {
    let tolerances = material.chunk.tolerances();
    let mut findings = Findings::default();
    let slips = slips(material);
    if !heard_enough(material, &slips, beyond, &mut findings) {
        return findings.verdict();
    }
    let order = order(material);
    notes(material, tolerances, &slips, &order, &mut findings);
    let scatter = time(material, tolerances, &order, click, &mut findings);
    loudness(material, tolerances, &mut findings);
    chords(material, tolerances, &order, scatter, &mut findings);
    ornaments(material, tolerances, &mut findings);
    findings.verdict()
}

// Each of the following has its own stack frame for its numbers, which is given back before the
// next begins: `judge` as one frame would take all of them at once.

#[inline(never)]
fn time(
    material: Material<'_>,
    tolerances: &Tolerances,
    order: &Order,
    click: Option<(Click, Instant)>,
    findings: &mut Findings,
) -> u32 {
    let timing = timing(material, order, tolerances.single_note, click);
    steadiness(material, tolerances, &timing, findings);
    scatter(&timing)
}

/// How far the hands scatter, in microseconds; 0 where that is not known.
fn scatter(timing: &Timing) -> u32 {
    timing.steadiness.map_or(0, |measured| measured.deviation.as_micros().unsigned_abs())
}

/// How far chance may put off the distance between two onsets: 1.28 standard deviations (one
/// case of ten), of both of them.
const fn doubt_of_two(scatter: u32) -> u32 {
    scatter.saturating_mul(181) / 100
}

/// The same for one note against what many others say: a tenth more than for itself alone.
const fn doubt_of_one(scatter: u32) -> u32 {
    scatter.saturating_mul(141) / 100
}

/// Whether this was an attempt at the chunk, to its end. If not, nothing else is judged.
fn heard_enough(
    material: Material<'_>,
    slips: &Slips,
    beyond: u32,
    findings: &mut Findings,
) -> bool {
    let landing = |note: &crate::study::ExpectedNote| note.marks.has(Marks::LANDING);
    let expected = material.chunk.notes().iter().filter(|note| !landing(note)).count() as u32;
    let expected = if expected == 0 { material.chunk.notes().len() as u32 } else { expected };
    let all = Size::Notes(expected as u16);
    if material.played.is_empty() {
        findings.unsettled(Kind::NothingHeard, None, Size::Notes(0), all);
        return false;
    }
    if beyond > 0 {
        let beyond = beyond.min(u32::from(u16::MAX)) as u16;
        findings.unsettled(Kind::TooManyNotes, None, Size::Notes(beyond), Size::Notes(0));
    }
    let at_the_end = u32::from(slips.missing_at_the_end);
    let reached = expected.saturating_sub(at_the_end);
    let before_the_end = u32::from(slips.wrong.0 + slips.missing.0).saturating_sub(at_the_end);
    if at_the_end >= 2
        && at_the_end * 100 >= expected * SHARE_BROKEN_OFF
        && before_the_end * 100 <= reached * SHARE_OF_THIS_CHUNK
        && reached >= 2
    {
        let first = (reached as usize).min(material.chunk.notes().len() - 1);
        let size = Size::Notes(slips.missing_at_the_end);
        findings.unsettled(Kind::BrokenOff, Some(first), size, Size::Notes(0));
        return false;
    }
    // A note heard an octave off was played, too.
    if u32::from(slips.right + slips.mistracked) * 100 < expected * SHARE_OF_THIS_CHUNK {
        findings.unsettled(Kind::NotThisChunk, None, Size::Notes(slips.right), all);
        return false;
    }
    true
}

#[inline(never)]
fn notes(
    material: Material<'_>,
    tolerances: &Tolerances,
    slips: &Slips,
    order: &Order,
    findings: &mut Findings,
) {
    let expected = material.chunk.notes().len() as u16;
    let allowed = match tolerances.notes_a_slip {
        0 => 0,
        one_in => expected / one_in,
    };
    let made = slips.wrong.0 + slips.missing.0 + slips.extra.0 + order.swapped;
    let bearing = if made > allowed { Bearing::Fails } else { Bearing::Advice };
    let kinds = [
        (Kind::WrongNotes, slips.wrong.0, slips.wrong.1),
        (Kind::MissingNotes, slips.missing.0, slips.missing.1),
        (Kind::SwappedNotes, order.swapped, order.first),
        (Kind::ExtraNotes, slips.extra.0, slips.extra.1),
    ];
    for (kind, count, note) in kinds {
        if count > 0 {
            let weight = WEIGHT_OF_NOTES + 500 * (u32::from(count) - 1);
            findings.add(
                kind,
                bearing,
                note,
                count,
                Size::Notes(count),
                Size::Notes(allowed),
                weight,
            );
        }
    }
    if slips.pickup > 0 {
        let size = Size::Notes(slips.pickup);
        findings.add(Kind::PickupErrors, Bearing::Advice, None, slips.pickup, size, size, 100);
    }
}

#[inline(never)]
fn steadiness(
    material: Material<'_>,
    tolerances: &Tolerances,
    timing: &Timing,
    findings: &mut Findings,
) {
    if carries_no_time(material, timing) {
        let heard = Size::Notes(timing.points.len() as u16);
        findings.unsettled(Kind::NoTimeHeard, None, heard, Size::Notes(0));
        return;
    }
    for hesitation in worst_hesitations(material, timing, tolerances) {
        let Some((worst, count)) = hesitation else {
            continue;
        };
        let kind = if worst.at_shift { Kind::HesitationAtShift } else { Kind::Hesitation };
        let (size, limit) = (Size::Time(worst.lost), Size::Time(worst.limit));
        findings.single(kind, worst.note, count, (size, limit), doubt_of_two(scatter(timing)));
    }
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
    if let Some((off, count)) = timing.off_beat {
        let limit = Size::Time(tolerances.single_note.at(timing.interval));
        let sizes = (Size::Time(off.by), limit);
        findings.single(Kind::OffBeat, off.note, count, sizes, doubt_of_one(scatter(timing)));
    }
    if let Some(all) = timing.all_counted {
        let (deviation, limit) = (all.deviation.as_micros(), limit.as_micros());
        let sizes = (Size::Time(all.deviation), Size::Time(Offset::from_micros(limit)));
        let compared = compare_deviation(deviation, all.degrees, limit);
        let told = [Kind::OffBeat, Kind::Hesitation, Kind::HesitationAtShift];
        findings.perhaps_all(Kind::Unsteady, &told, compared, sizes);
    }
    if let Some(drift) = timing.drift_per_mille {
        let size = Size::PerMille(drift.clamp(-30_000, 30_000) as i16);
        let limit = Size::PerMille(tolerances.drift_per_mille.min(30_000) as i16);
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
    if let Some(lag) = timing.lag {
        let (earliest, latest) = tolerances.click_offset;
        if lag < earliest || lag > latest {
            let limit = Size::Time(if lag < earliest { earliest } else { latest });
            let weight = share(Size::Time(lag), limit);
            findings.add(
                Kind::BesideTheClick,
                Bearing::Advice,
                None,
                1,
                Size::Time(lag),
                limit,
                weight,
            );
        }
    }
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

/// The longest hesitation at a shift and elsewhere, each with how many there are.
fn worst_hesitations(
    material: Material<'_>,
    timing: &Timing,
    tolerances: &Tolerances,
) -> [Option<(Hesitation, u16)>; 2] {
    let mut worst: [Option<(Hesitation, u16)>; 2] = [None, None];
    for hesitation in hesitations(material, timing, tolerances.hesitation) {
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
pub(super) fn compare_drift(size: u32, error: u32, degrees: u32, limit: u32) -> Compared {
    let chance = |times: u32| (u64::from(error) * u64::from(times) / 1_000) as u32;
    if size <= limit || size <= chance(student_99(degrees)) {
        Compared::Within
    } else if size <= limit.saturating_add(chance(student_90(degrees))) {
        Compared::TooCloseToCall
    } else {
        Compared::Over
    }
}

#[inline(never)]
fn loudness(material: Material<'_>, tolerances: &Tolerances, findings: &mut Findings) {
    let measured: Evenness = evenness(material, tolerances.single_level);
    if measured.not_heard {
        findings.unsettled(Kind::EvennessNotHeard, None, Size::Notes(0), Size::Notes(0));
        return;
    }
    if let Some((deviation, degrees)) = measured.deviation {
        let limit = tolerances.unevenness;
        let (size, limit_size) = (Size::Loudness(deviation), Size::Loudness(limit));
        let (deviation, limit) = (deviation.hundredths().into(), limit.hundredths().into());
        match compare_deviation(deviation, degrees, limit) {
            Compared::Within => {}
            Compared::TooCloseToCall => {
                let more = more_attempts(deviation, degrees, limit);
                findings.close(Kind::Uneven, None, size, limit_size, more);
            }
            Compared::Over => {
                let weight = share(size, limit_size);
                findings.add(Kind::Uneven, Bearing::Fails, None, 1, size, limit_size, weight);
            }
        }
    }
    let limit = Size::Loudness(tolerances.single_level);
    let scatter = measured.deviation.map_or(0, |(level, _)| level.hundredths().unsigned_abs());
    let doubt = doubt_of_one(scatter.into());
    for (kind, found) in [(Kind::LoudNotes, measured.loud), (Kind::SoftNotes, measured.soft)] {
        if let Some((note, count)) = found {
            findings.single(kind, note.note, count, (Size::Loudness(note.by), limit), doubt);
        }
    }
    if let Some((all, degrees)) = measured.all_counted {
        let allowed = tolerances.unevenness;
        let compared =
            compare_deviation(all.hundredths().into(), degrees, allowed.hundredths().into());
        let sizes = (Size::Loudness(all), Size::Loudness(allowed));
        let told = [Kind::LoudNotes, Kind::SoftNotes];
        findings.perhaps_all(Kind::Uneven, &told, compared, sizes);
    }
    if let Some((first, count)) = not_heard(material) {
        let size = Size::Notes(count);
        findings.unsettled(Kind::SlursNotHeard, Some(first), size, Size::Notes(0));
    }
    if let Some(slurs) = slurs(material, tolerances.slur_below)
        && slurs.weak > 0
    {
        let limit = Level::from_hundredths(-tolerances.slur_below.hundredths());
        let sizes = (Size::Loudness(slurs.weakest_level), Size::Loudness(limit));
        // That all of them are weak is surer than that one is.
        let all = slurs_doubt(scatter.into(), slurs.measured, slurs.plucked);
        let over = (-slurs.median.hundredths()).saturating_sub(tolerances.slur_below.hundredths());
        let doubt = if i32::from(over) > all as i32 { 0 } else { doubt };
        findings.single(Kind::WeakSlurs, slurs.weakest, slurs.weak, sizes, doubt);
    }
}

/// How far chance may put off the distance between so many slurred and so many plucked notes on
/// average, in one case of ten.
pub(super) fn slurs_doubt(scatter: u32, slurred: u16, plucked: u16) -> u32 {
    let (slurred, plucked) = (u32::from(slurred.max(1)), u32::from(plucked.max(1)));
    let variance = 1_640_000 / slurred + 1_640_000 / plucked;
    (u64::from(scatter) * u64::from(variance.isqrt()) / 1_000) as u32
}

#[inline(never)]
fn chords(
    material: Material<'_>,
    tolerances: &Tolerances,
    order: &Order,
    scatter: u32,
    findings: &mut Findings,
) {
    let measured = togetherness(material, order, tolerances.chord_spread);
    if let Some((note, spread)) = measured.widest
        && measured.spread > 0
    {
        let limit = Size::Time(tolerances.chord_spread);
        let sizes = (Size::Time(spread), limit);
        findings.single(Kind::SpreadChords, note, measured.spread, sizes, doubt_of_two(scatter));
    }
}

#[inline(never)]
fn ornaments(material: Material<'_>, tolerances: &Tolerances, findings: &mut Findings) {
    for trill in trills(material) {
        if trill.notes < FEWEST_NOTES {
            let (size, limit) = (Size::Notes(trill.notes), Size::Notes(FEWEST_NOTES));
            findings.add(Kind::ShortTrill, Bearing::Fails, Some(trill.note), 1, size, limit, 2_000);
        } else if let Some((unevenness, degrees)) = trill.unevenness {
            let size = Size::PerMille(unevenness.min(30_000) as i16);
            let limit = Size::PerMille(tolerances.trill_unevenness_per_mille.min(30_000) as i16);
            let (measured, allowed) = (size.magnitude() as i32, limit.magnitude() as i32);
            match compare_deviation(measured, degrees, allowed) {
                Compared::Within => {}
                Compared::TooCloseToCall => {
                    let more = more_attempts(measured, degrees, allowed);
                    findings.close(Kind::UnevenTrill, Some(trill.note), size, limit, more);
                }
                Compared::Over => findings.over(Kind::UnevenTrill, trill.note, 1, size, limit),
            }
        }
    }
}

/// Size in per mille of the limit.
fn share(size: Size, limit: Size) -> u32 {
    let limit = u64::from(limit.magnitude()).max(1);
    (u64::from(size.magnitude()) * 1_000 / limit).min(60_000) as u32
}

#[derive(Default)]
struct Findings(Vec<Finding, FINDINGS>);

impl Findings {
    #[expect(clippy::too_many_arguments, reason = "the fields of a finding, in order")]
    fn add(
        &mut self,
        kind: Kind,
        bearing: Bearing,
        note: Option<usize>,
        count: u16,
        size: Size,
        limit: Size,
        weight: u32,
    ) {
        let weight = weight.min(u32::from(u16::MAX)) as u16;
        let note = note.map(|note| note as u16);
        let settled_by = SettledBy::Nothing;
        let finding = Finding { kind, bearing, note, count, size, limit, weight, settled_by };
        self.push(finding);
    }

    fn push(&mut self, finding: Finding) {
        if let Err(finding) = self.0.push(finding) {
            // Full: the lightest gives way.
            if let Some(lightest) = self.0.iter_mut().min_by_key(|f| (f.bearing, f.weight))
                && (lightest.bearing, lightest.weight) < (finding.bearing, finding.weight)
            {
                *lightest = finding;
            }
        }
    }

    fn over(&mut self, kind: Kind, note: usize, count: u16, size: Size, limit: Size) {
        let weight = share(size, limit);
        self.add(kind, Bearing::Fails, Some(note), count, size, limit, weight);
    }

    /// One note, or several, over the limit, the worst by so much; `doubt` is how far chance
    /// may have put it off. It fails if it is over the limit by more than that (or by half of
    /// the limit, however much the hands scatter), and is unsettled between.
    fn single(
        &mut self,
        kind: Kind,
        note: usize,
        count: u16,
        (size, limit): (Size, Size),
        doubt: u32,
    ) {
        let doubt = doubt.min(limit.magnitude() / 2);
        if size.magnitude() > limit.magnitude().saturating_add(doubt) {
            self.over(kind, note, count, size, limit);
        } else {
            let (note, weight) = (Some(note as u16), 1_000);
            let (bearing, settled_by) = (Bearing::Unsettled, SettledBy::AnotherAttempt);
            self.push(Finding { kind, bearing, note, count, size, limit, weight, settled_by });
        }
    }

    /// One of few notes that is out may be chance's choice among many that scatter. Where a
    /// single note or pause was `told`, and all together would be over the limit, it is said, too, that it may be the whole: unsettled, so the verdict does not change.
    fn perhaps_all(
        &mut self,
        kind: Kind,
        told: &[Kind],
        compared: Compared,
        (size, limit): (Size, Size),
    ) {
        let has = |kinds: &[Kind]| self.0.iter().any(|finding| kinds.contains(&finding.kind));
        if compared != Compared::Within && has(told) && !has(&[kind]) {
            self.close(kind, None, size, limit, 1);
        }
    }

    /// Too close to call: so many more attempts would settle it.
    fn close(&mut self, kind: Kind, note: Option<usize>, size: Size, limit: Size, more: u8) {
        let (bearing, settled_by) = (Bearing::Unsettled, SettledBy::MoreAttempts(more));
        let note = note.map(|note| note as u16);
        self.push(Finding {
            kind,
            bearing,
            note,
            count: 1,
            size,
            limit,
            weight: 1_000,
            settled_by,
        });
    }

    fn unsettled(&mut self, kind: Kind, note: Option<usize>, size: Size, limit: Size) {
        let settled_by = match kind {
            Kind::EvennessNotHeard => SettledBy::ThePickup,
            _ => SettledBy::AnotherAttempt,
        };
        let (bearing, note) = (Bearing::Unsettled, note.map(|note| note as u16));
        self.push(Finding {
            kind,
            bearing,
            note,
            count: 1,
            size,
            limit,
            weight: 1_000,
            settled_by,
        });
    }

    fn verdict(self) -> Verdict {
        Verdict::of(self.0)
    }
}
