//! Loudness of plucked notes, slurs and accents.

use super::chance::{doubt_of_one, doubt_of_the_worst, uncertain};
use super::findings::{Findings, share};
use crate::align::Material;
use crate::arithmetic::short_root;
use crate::measure::accents::accents;
use crate::measure::evenness::{Evenness, evenness};
use crate::measure::single_levels::{SingleLevel, single_levels};
use crate::measure::slurs::{not_heard, slurs};
use crate::measure::statistics::{Compared, chi_square_99, compare_deviation, more_attempts};
use crate::study::Attack;
use crate::tolerance::Tolerances;
use crate::units::Level;
use crate::verdict::{Kind, Severity, Size};

/// Accents and their neighbours scatter at least this much, in hundredths of a decibel: by less
/// tones in a row cannot be told apart (0.7–1.2 dB; Musicae Scientiae, 2022), and of three or four
/// neighbours the scatter itself is hardly known.
const LEAST_SCATTER: u32 = 70;

/// How much a clean hand varies, at least, in hundredths of a decibel: tones in a row must differ by
/// 0.7–1.2 dB to be told apart (Musicae Scientiae, 2022), so nobody hears to be more even.
const CLEAN: i16 = 100;

#[inline(never)]
pub(super) fn loudness(material: Material<'_>, tolerances: &Tolerances, findings: &mut Findings) {
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
                findings.add(Kind::Uneven, Severity::Fails, None, 1, size, limit_size, weight);
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
        let rest = measured.deviation;
        if compared == Compared::Over && rest.is_some_and(|rest| !is_a_clean_hand(rest, allowed)) {
            // Others were out as well, if not as far.
            let weight = share(sizes.0, sizes.1);
            findings.take_back(Kind::Uneven);
            findings.add(Kind::Uneven, Severity::Fails, None, 1, sizes.0, sizes.1, weight);
        } else {
            findings.perhaps_all(Kind::Uneven, &told, compared, sizes);
        }
    }
    single_notes(material, tolerances, doubt, findings);
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
        // The weakest of many that scatter by themselves is weaker.
        let own = u32::from(slurs.scatter.hundredths().unsigned_abs());
        let doubt = doubt.max(doubt_of_the_worst(own, slurs.measured, slurs.measured.into()));
        let doubt = if i32::from(over) > all as i32 { 0 } else { doubt };
        findings.single(Kind::WeakSlurs, slurs.weakest, slurs.weak, sizes, doubt);
    }
    let above = tolerances.accent_above;
    if above > Level::ZERO
        && let Some(accents) = accents(material, above)
        && accents.weak > 0
    {
        let size = Size::Loudness(accents.weakest_level);
        let sizes = (size, Size::Loudness(above));
        let (kind, note) = (Kind::WeakAccents, accents.weakest);
        let degrees = measured.deviation.map_or(0, |(_, degrees)| degrees);
        // That all of them are weak is surer than that one is.
        let (number, neighbours) = (accents.measured, accents.neighbours);
        let scatter = u32::from(scatter).max(LEAST_SCATTER);
        let all = slurs_doubt(uncertain(scatter, degrees), number, neighbours);
        let under = i32::from(above.above(accents.mean).hundredths());
        let one = doubt_of_the_worst(scatter, number, degrees);
        let doubt = if under > all as i32 { 0 } else { one };
        findings.single_under(kind, note, accents.weak, sizes, doubt);
    }
    let single = [Kind::LoudNotes, Kind::SoftNotes, Kind::WeakSlurs, Kind::WeakAccents];
    findings.the_whole_first(Kind::Uneven, &single);
}

/// Whether plucked notes, without those that stand out, differ by no more than those of a clean hand
/// do in 99 cases of 100. A clean hand varies by half of what is asked, at least by [`CLEAN`]. Our
/// defaults.
fn is_a_clean_hand((deviation, degrees): (Level, u32), allowed: Level) -> bool {
    let clean = (allowed.hundredths() / 2).max(CLEAN);
    let (deviation, clean) = (i64::from(deviation.hundredths()), i64::from(clean));
    deviation.pow(2) * 1_000 <= clean.pow(2) * i64::from(chi_square_99(degrees))
}

/// Notes over their limit that no rule for groups has told: those of small voices and loud slurs
/// fail for themselves; what a group's rule did not blame on one note leaves the attempt unclear.
#[inline(never)]
fn single_notes(
    material: Material<'_>,
    tolerances: &Tolerances,
    doubt: u32,
    findings: &mut Findings,
) {
    // The furthest over its limit of each kind: loud or soft, with a rule for its group or without.
    let mut worst: [[Option<(SingleLevel, u16)>; 2]; 2] = [[None; 2]; 2];
    single_levels(material, tolerances, |note| {
        let [with, without] = &mut worst;
        let slots = if note.has_rule { with } else { without };
        let [loud, soft] = slots;
        let slot = if note.by > Level::ZERO { loud } else { soft };
        if note.is_over() {
            let (furthest, count) = slot.unwrap_or((note, 0));
            let further = note.by.hundredths().abs() > furthest.by.hundredths().abs();
            *slot = Some((if further { note } else { furthest }, count + 1));
        }
    });
    let [with, without] = worst;
    let kinds = [Kind::LoudNotes, Kind::SoftNotes];
    for (kind, note) in kinds.into_iter().zip(without) {
        if let Some((note, count)) = note.filter(|_| !findings.tell_any(&[kind])) {
            let sizes = (Size::Loudness(note.by), Size::Loudness(note.limit));
            findings.single(kind, note.note, count, sizes, doubt);
        }
    }
    let told = [Kind::LoudNotes, Kind::SoftNotes, Kind::Uneven];
    for (kind, note) in kinds.into_iter().zip(with) {
        let plucked = |note: &SingleLevel| {
            let wanted = material.chunk.notes().get(note.note);
            wanted.is_some_and(|wanted| wanted.attack == Attack::Plucked)
        };
        if let Some((note, _)) = note.filter(|(note, _)| plucked(note) && !findings.tell_any(&told))
        {
            let sizes = (Size::Loudness(note.by), Size::Loudness(note.limit));
            findings.unsettled(kind, Some(note.note), sizes.0, sizes.1);
        }
    }
}

/// How far chance may put off the distance between so many slurred and so many plucked notes on
/// average, in one case of ten.
pub(in crate::verdict) fn slurs_doubt(scatter: u32, slurred: u16, plucked: u16) -> u32 {
    let (slurred, plucked) = (u32::from(slurred.max(1)), u32::from(plucked.max(1)));
    let variance = 1_640_000 / slurred + 1_640_000 / plucked;
    (u64::from(scatter) * u64::from(short_root(variance)) / 1_000) as u32
}
