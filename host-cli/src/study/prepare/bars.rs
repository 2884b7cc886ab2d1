//! Where chunks begin, and whether bars are full.

use crate::study::model::Start;
use crate::study::note_value::as_fraction;
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};
use evenhand_core::study::Metre;
use evenhand_core::units::Ticks;

/// A place in the study.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct BarPosition {
    /// The number of the bar.
    pub(super) bar: u16,
    /// How far into it.
    pub(super) into: Ticks,
}

impl BarPosition {
    /// The start of the first bar.
    pub(super) const FIRST: Self = Self { bar: 1, into: Ticks::ZERO };

    /// The place so much later.
    pub(super) fn after(self, length: Ticks, metre: Metre) -> Self {
        let from_bar = self.into.plus(length).get();
        let bars = u16::try_from(from_bar / metre.bar().get()).unwrap_or(u16::MAX);
        let into = Ticks::new(from_bar % metre.bar().get());
        Self { bar: self.bar.saturating_add(bars), into }
    }
}

/// Where a chunk with this written start begins; `follows` is where the last one ended.
pub(super) fn place(
    start: Option<&Spanned<Start>>,
    follows: BarPosition,
    metre: Metre,
    name: Span,
    report: &mut Report<'_>,
) -> BarPosition {
    let bar_ticks = metre.bar().get();
    let Some(start) = start else {
        if follows.into.get() < bar_ticks {
            return follows;
        }
        let found = format!("a chunk that begins {} into its bar", as_fraction(follows.into));
        let right =
            format!("“at bar” and a number, since its bars last {}", as_fraction(metre.bar()));
        report.add(name, found, right);
        return BarPosition { into: Ticks::ZERO, ..follows };
    };
    let into = into_bar(&start.value, metre).get();
    if into >= bar_ticks {
        let beats = bar_ticks.div_ceil(metre.beat().get());
        let right = format!("a place inside a bar of {beats} beats");
        report.add(start.span, "a start after the end of the bar", right);
        return BarPosition { bar: start.bar, into: Ticks::ZERO };
    }
    BarPosition { bar: start.bar, into: Ticks::new(into) }
}

/// How far into its bar a written place is; in a bar of another metre it may be beyond its end.
pub(super) fn into_bar(start: &Start, metre: Metre) -> Ticks {
    let beats_before = u32::from(start.beat.unwrap_or(1).max(1) - 1);
    let plus = start.plus.map_or(0, |v| v.ticks().get());
    Ticks::new(beats_before * metre.beat().get() + plus)
}

/// Checks the barlines of one voice.
pub(super) struct BarCheck {
    bar: u64,
    /// Where the next barline is due. Wider than ticks, so that no text overflows it.
    due: u64,
    /// Where the last barline was, if a barline may stand there once more: at the end of a
    /// line and at the start of the next one.
    last: Option<u64>,
}

impl BarCheck {
    /// The check for a voice that begins so far into a bar.
    pub(super) fn new(metre: Metre, into: Ticks) -> Self {
        Self::from(Ticks::ZERO, metre, into)
    }

    /// The check from then on, so far into a bar.
    pub(super) fn from(at: Ticks, metre: Metre, into: Ticks) -> Self {
        let bar = u64::from(metre.bar().get());
        let (at, into) = (u64::from(at.get()), u64::from(into.get()));
        Self { bar, due: at + bar.saturating_sub(into), last: (into == 0).then_some(at) }
    }

    /// Whole bars have passed up to `at`, without barlines between them.
    pub(super) fn pass(&mut self, at: Ticks) {
        let at = u64::from(at.get());
        while self.due < at {
            self.due += self.bar;
        }
    }

    /// There is a barline at `at`.
    pub(super) fn barline(&mut self, at: Ticks, span: Span, report: &mut Report<'_>) {
        let here = u64::from(at.get());
        if self.last == Some(here) {
            return;
        }
        if here != self.due {
            let (by, what, mend) = if here < self.due {
                (self.due - here, "short", "more")
            } else {
                (here - self.due, "long", "less")
            };
            let by = as_fraction(Ticks::new(u32::try_from(by).unwrap_or(u32::MAX)));
            let found = format!("a barline after a bar that is {by} too {what}");
            report.add(span, found, format!("{by} {mend} before it"));
        }
        // After a wrong bar the next one is counted from here, so that one slip is told once.
        self.due = here + self.bar;
        self.last = Some(here);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const QUARTER: u32 = Ticks::PER_QUARTER;

    #[test]
    fn chunks_follow_each_other() {
        let place = BarPosition::FIRST.after(Ticks::new(6 * QUARTER), Metre::FOUR_FOUR);
        assert_eq!(place, BarPosition { bar: 2, into: Ticks::new(2 * QUARTER) });
        let end = BarPosition { bar: u16::MAX, into: Ticks::ZERO };
        assert_eq!(end.after(Ticks::new(8 * QUARTER), Metre::FOUR_FOUR).bar, u16::MAX);
    }

    #[test]
    fn a_pickup_bar_is_what_is_left() {
        let mut report = Report::new("");
        let mut check = BarCheck::new(Metre::FOUR_FOUR, Ticks::new(3 * QUARTER));
        check.barline(Ticks::new(QUARTER), Span::default(), &mut report);
        check.barline(Ticks::new(QUARTER), Span::default(), &mut report);
        check.barline(Ticks::new(5 * QUARTER), Span::default(), &mut report);
        assert_eq!(report.count(), 0);
        check.barline(Ticks::new(8 * QUARTER), Span::default(), &mut report);
        check.barline(Ticks::new(12 * QUARTER), Span::default(), &mut report);
        check.barline(Ticks::new(17 * QUARTER), Span::default(), &mut report);
        let found: Vec<String> = report.finish().into_iter().map(|p| p.found).collect();
        assert_eq!(
            found,
            [
                "a barline after a bar that is 1/4 too short",
                "a barline after a bar that is 1/4 too long"
            ]
        );
    }
}
