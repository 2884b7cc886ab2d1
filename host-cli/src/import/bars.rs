//! The bars as they are played and as a study counts them.

use super::problem::Problem;
use crate::score::{Bar, Part, Quarters, unfolded};
use crate::study::{MetreText, NoteValue, Start};
use evenhand_core::study::Metre;
use evenhand_core::units::Ticks;
use std::ops::Range;

/// The most quarters of a study's music, and its last bar (docs/study-format.md).
const MOST_QUARTERS: u32 = 40_000;
const LAST_BAR: u16 = 9_999;

/// A bar of the study.
#[derive(Clone, Debug)]
pub(super) struct StudyBar {
    pub(super) number: u16,
    pub(super) start: Ticks,
    /// How long it is; the first may be a part of a bar.
    pub(super) length: Ticks,
    pub(super) metre: MetreText,
    /// The bars of the score that are in it, by index, and when each begins. Two where a repeat cuts one.
    pub(super) written: Vec<(usize, Ticks)>,
}

impl StudyBar {
    /// When it is over.
    pub(super) fn end(&self) -> Ticks {
        self.start.plus(self.length)
    }

    /// How long its metre makes it.
    pub(super) fn full(&self) -> Ticks {
        bar_of(self.metre)
    }
}

pub(super) fn bar_of(metre: MetreText) -> Ticks {
    Metre::new(metre.upper, metre.lower).unwrap_or(Metre::FOUR_FOUR).bar()
}

/// These bars of a part as they are played.
pub(super) fn played(part: &Part, range: &Range<usize>) -> Result<Vec<StudyBar>, Problem> {
    let written = &part.bars[range.clone()];
    let order = unfolded(written)?;
    let mut all: Vec<StudyBar> = Vec::with_capacity(order.len());
    let first: Option<u16> = written.first().and_then(|bar| bar.label.parse().ok());
    // Bars are counted on from the first; a pickup bar is bar 0 where it is printed so or not counted.
    let mut number = first.filter(|number| *number < LAST_BAR).unwrap_or(1);
    if first.is_none()
        && let [pickup, next, ..] = written
        && next.label == "1"
        && pickup.length < next.length
    {
        number = 0;
    }
    let mut at = Ticks::ZERO;
    for (place, index) in order.iter().enumerate() {
        let bar = &written[*index];
        let index = index + range.start;
        let length = bar.length.nearest_ticks();
        // Those that are too short are looked at below.
        let (metre, length) = match metre(bar) {
            Some(metre) if length <= bar_of(metre) => (metre, length),
            metre => filled(length, metre),
        };
        match all.last_mut() {
            Some(last) if place > 1 && goes_on(last, length, metre) => {
                last.written.push((index, at));
                last.length = last.length.plus(length);
            }
            _ => {
                let written = vec![(index, at)];
                all.push(StudyBar { number, start: at, length, metre, written });
                let next = number.checked_add(1).filter(|next| *next <= LAST_BAR + 1);
                number = next.ok_or(Problem::Long("it has more than 9999 bars as it is played"))?;
            }
        }
        at = at.plus(length);
        if at.get() > MOST_QUARTERS * Ticks::PER_QUARTER {
            return Err(Problem::Long("it has more than 40,000 quarter notes as it is played"));
        }
    }
    full(&mut all);
    Ok(all)
}

/// Makes bars full that are not: a pickup stays what it is, the last is silent to its end, and another has a metre of
/// its own.
fn full(all: &mut [StudyBar]) {
    let last = all.len().saturating_sub(1);
    let mut at = Ticks::ZERO;
    for (place, bar) in all.iter_mut().enumerate() {
        let is_pickup = place == 0 && last > 0 && start(bar).is_some();
        if bar.length < bar.full() && !is_pickup {
            if place == last {
                bar.length = bar.full();
            } else {
                (bar.metre, bar.length) = filled(bar.length, Some(bar.metre));
            }
        }
        let moved = at.since(bar.start);
        bar.start = at;
        bar.written.iter_mut().for_each(|(_, start)| *start = start.plus(moved));
        at = bar.end();
    }
}

/// Where the music begins, if it is with this bar.
pub(super) fn start(bar: &StudyBar) -> Option<Start> {
    let into = bar.full().since(bar.length).get();
    let beat = Metre::new(bar.metre.upper, bar.metre.lower)?.beat().get();
    let (beats, rest) = (into / beat, into % beat);
    let parts = [1, 2, 4, 8, 16, 32, 64];
    let mut values = parts.into_iter().flat_map(|part| [0, 1].map(|dots| (part, dots)));
    let plus = values
        .find_map(|(part, dots)| NoteValue::new(part, dots).filter(|v| v.ticks().get() == rest));
    let beat = u8::try_from(beats + 1).ok().filter(|_| into > 0);
    (rest == 0 || plus.is_some()).then_some(Start { bar: bar.number, beat, plus })
}

/// Whether a bar and the piece that follows it make one bar, as at a repeat that cuts one in two.
fn goes_on(last: &StudyBar, length: Ticks, metre: MetreText) -> bool {
    let full = bar_of(metre);
    let is_short = last.length < full && length < full;
    is_short && last.metre == metre && last.length.plus(length) <= full
}

/// The metre that a bar is written in, if a study can have it.
fn metre(bar: &Bar) -> Option<MetreText> {
    let (beats, kind) = bar.metre;
    let metre = MetreText { upper: u8::try_from(beats).ok()?, lower: u8::try_from(kind).ok()? };
    Metre::new(metre.upper, metre.lower).map(|_| metre)
}

/// A metre that such a length fills, or nearly: the shortest bar of quarters, eighths and so on that holds it.
fn filled(length: Ticks, written: Option<MetreText>) -> (MetreText, Ticks) {
    let own = written.map_or(4, |metre| metre.lower);
    let kinds = [own, 4, 8, 16, 32, 2, 1];
    let exact = kinds.into_iter().find_map(|lower| {
        let unit = 4 * Ticks::PER_QUARTER / u32::from(lower.max(1));
        let upper = u8::try_from(length.get() / unit).ok()?;
        let metre = Metre::new(upper, lower)?;
        (metre.bar() == length).then_some(MetreText { upper, lower })
    });
    if let Some(metre) = exact {
        return (metre, length);
    }
    let longer = [32, 16, 8, 4, 2, 1].into_iter().find_map(|lower: u8| {
        let unit = 4 * Ticks::PER_QUARTER / u32::from(lower);
        let upper = u8::try_from(length.get().div_ceil(unit)).ok()?;
        let metre = Metre::new(upper, lower)?;
        Some((MetreText { upper, lower }, metre.bar()))
    });
    longer.unwrap_or((MetreText { upper: 32, lower: 1 }, bar_of(MetreText { upper: 32, lower: 1 })))
}

/// How the study's bars are counted, where that differs from what is printed.
pub(super) fn in_words(part: &Part, played: &[StudyBar]) -> Option<String> {
    let printed = |bar: &StudyBar| {
        let (index, _) = bar.written.first()?;
        part.bars.get(*index)?.label.parse::<u16>().ok()
    };
    let first = played.iter().find(|bar| printed(bar) != Some(bar.number))?;
    let (index, _) = first.written.first()?;
    let label = &part.bars.get(*index)?.label;
    Some(format!(
        "bars are counted as they are played, repeats written out: bar {} is the printed bar {label}",
        first.number
    ))
}

/// So much of a bar of the score, in ticks, and whether it is exact.
pub(super) fn into_bar(onset: Quarters, bar: &Bar) -> (Ticks, bool) {
    let into = onset.minus(bar.start).unwrap_or(Quarters::ZERO);
    (into.nearest_ticks(), into.ticks().is_some())
}
