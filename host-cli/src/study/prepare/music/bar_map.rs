//! Where the bars of the music stand, with their metres and tempi.

use crate::study::model::{Again, MetreText, Section, Start, TempoText};
use crate::study::prepare::bars::{BarPosition, into_bar};
use crate::study::report::Report;
use crate::study::span::Spanned;
use evenhand_core::study::Metre;
use evenhand_core::units::Ticks;
use std::ops::Range;

/// From a bar on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    pub(super) bar: u16,
    /// How far into that bar the music begins; only the first has any.
    into: Ticks,
    /// When it begins.
    pub(super) at: Ticks,
    pub(super) metre: Metre,
    pub(super) metre_text: Option<Spanned<MetreText>>,
    pub(super) tempo_text: Option<Spanned<TempoText>>,
}

/// All stretches, in order; one for each section.
#[derive(Clone, Debug, Default)]
pub(super) struct BarMap(Vec<Stretch>);

impl BarMap {
    /// The map of these sections, the first in `metre` where it names none.
    pub(super) fn of(sections: &[Section], metre: Metre, report: &mut Report<'_>) -> Self {
        let mut map: Vec<Stretch> = Vec::with_capacity(sections.len());
        for section in sections {
            let before = map.last().copied();
            let metre_text = section.metre.or(before.and_then(|b| b.metre_text));
            let own = section.metre.and_then(|text| Metre::new(text.upper, text.lower));
            let metre = own.or(before.map(|b| b.metre)).unwrap_or(metre);
            let (into, at) = match before {
                None => {
                    let into = into_bar(&section.at, metre);
                    if into.get() >= metre.bar().get() {
                        let found = "a start after the end of the bar";
                        report.add(section.at.span, found, "a place inside the bar");
                    }
                    (into, Ticks::ZERO)
                }
                Some(before) if section.at.bar <= before.bar => {
                    let found = format!("bar {} after bar {}", section.at.bar, before.bar);
                    report.add(section.at.span, found, "bars in their order");
                    continue;
                }
                Some(before) => (Ticks::ZERO, before.at_bar(section.at.bar)),
            };
            let tempo_text = section.tempo.or(before.and_then(|b| b.tempo_text));
            map.push(Stretch { bar: section.at.bar, into, at, metre, metre_text, tempo_text });
        }
        Self(map)
    }

    /// The stretch that begins with this bar.
    pub(super) fn beginning(&self, bar: u16) -> Option<&Stretch> {
        self.0.iter().find(|stretch| stretch.bar == bar)
    }

    /// The stretch that a bar is in.
    pub(super) fn stretch(&self, bar: u16) -> Option<&Stretch> {
        self.0.iter().rfind(|stretch| stretch.bar <= bar)
    }

    /// When this place is; none before the music, and none beyond the end of its bar.
    pub(super) fn at(&self, place: &Start) -> Option<Ticks> {
        let stretch = self.stretch(place.bar)?;
        let into = into_bar(place, stretch.metre);
        if into.get() >= stretch.metre.bar().get() {
            return None;
        }
        stretch.after(place.bar, into)
    }

    /// When this bar is over.
    pub(super) fn end(&self, bar: u16) -> Option<Ticks> {
        let stretch = self.stretch(bar)?;
        stretch.after(bar, stretch.metre.bar())
    }

    /// The first bar.
    pub(super) fn first(&self) -> u16 {
        self.0.first().map_or(1, |stretch| stretch.bar)
    }

    /// The last bar of music that lasts so long.
    pub(super) fn last_bar(&self, length: Ticks) -> u16 {
        let last = Ticks::new(length.get().saturating_sub(1));
        let stretch = self.0.iter().rfind(|stretch| stretch.at <= last);
        stretch.map_or(1, |stretch| stretch.position(last).bar)
    }

    /// How long a bar lasts then.
    pub(super) fn bar_at(&self, at: Ticks) -> Ticks {
        let stretch = self.0.iter().rfind(|stretch| stretch.at <= at);
        stretch.map_or(Metre::FOUR_FOUR, |stretch| stretch.metre).bar()
    }

    /// Whether a bar begins then.
    pub(super) fn is_barline(&self, at: Ticks) -> bool {
        let Some(stretch) = self.0.iter().rfind(|stretch| stretch.at <= at) else { return false };
        let from_bar = at.since(stretch.at).get() + stretch.into.get();
        from_bar.is_multiple_of(stretch.metre.bar().get())
    }

    /// From when to when these bars last.
    pub(super) fn bars(&self, again: Again) -> Option<Range<Ticks>> {
        let from = self.at(&Start { bar: again.first, beat: None, plus: None });
        // A pickup bar begins where the music does.
        let pickup = self.0.first().filter(|first| first.bar == again.first).map(|first| first.at);
        Some(from.or(pickup)?..self.end(again.last)?)
    }
}

impl Stretch {
    /// When a later bar begins.
    fn at_bar(&self, bar: u16) -> Ticks {
        self.after(bar, Ticks::ZERO).unwrap_or(self.at)
    }

    /// When it is so far into a bar; none before the music begins.
    fn after(&self, bar: u16, into: Ticks) -> Option<Ticks> {
        let bars = u32::from(bar.checked_sub(self.bar)?);
        let from_bar = bars.checked_mul(self.metre.bar().get())?.checked_add(into.get())?;
        Some(self.at.plus(Ticks::new(from_bar.checked_sub(self.into.get())?)))
    }

    /// The place in the text of what is due then.
    pub(super) fn position(&self, at: Ticks) -> BarPosition {
        let first = BarPosition { bar: self.bar, into: self.into };
        first.after(at.since(self.at), self.metre)
    }

    /// How far into its bar the music begins with it.
    pub(super) const fn into(&self) -> Ticks {
        self.into
    }
}
