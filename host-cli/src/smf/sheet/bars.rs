//! The bars of a Standard MIDI File, by its metres.

use super::raw::Raw;
use evenhand_core::study::Metre;

/// A bar, in ticks of the study.
#[derive(Clone, Copy, Debug)]
pub(super) struct Span {
    pub(super) start: u64,
    pub(super) length: u64,
    pub(super) metre: (u8, u8),
}

/// The bars, one more than the notes fill; `None` where they are more than `most`. A metre that changes inside a bar
/// holds from the next bar on, and is told.
pub(super) fn bars(raw: &mut Raw, most: usize) -> Option<Vec<Span>> {
    let mut all: Vec<Span> = Vec::new();
    let mut metre = Metre::FOUR_FOUR;
    let mut written = (4, 4);
    let mut next = 0;
    let mut start = 0;
    loop {
        while let Some((at, (upper, lower))) = raw.metres.get(next).copied()
            && at <= start
        {
            next += 1;
            if let Some(new) = Metre::new(upper, lower) {
                if at < start && written != (upper, lower) {
                    raw.told.push((
                        "a metre that changes inside the bar (from the next on)".into(),
                        at,
                    ));
                }
                (metre, written) = (new, (upper, lower));
            }
        }
        if start > raw.end {
            return Some(all);
        }
        if all.len() > most {
            return None;
        }
        let length = u64::from(metre.bar().get());
        all.push(Span { start, length, metre: written });
        start += length;
    }
}

/// The bar of a moment; the last for what lies after it.
pub(super) fn bar_at(bars: &[Span], at: u64) -> usize {
    bars.partition_point(|bar| bar.start <= at).saturating_sub(1)
}
