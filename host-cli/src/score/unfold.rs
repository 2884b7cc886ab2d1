//! Repeats, endings and jumps: the bars in the order in which they are played.

use super::model::Bar;
use super::refusal::Refusal;

/// The most bars that are played. Our default: what a study counts to.
pub const MOST_BARS: usize = 9_999;

/// A repeat that one is in.
#[derive(Clone, Copy, Debug)]
struct Repeat {
    /// Where it begins.
    from: usize,
    /// Which time it is played, from 1.
    time: u32,
    /// An ending was left out this time.
    skipped: bool,
    /// A sign says that it begins there; the piece itself begins without one.
    named: bool,
}

/// The bars in the order in which they are played, by their indices.
///
/// After da capo and dal segno no repeat is played again, and the last ending is taken (common practice).
///
/// # Errors
/// More than [`MOST_BARS`].
pub fn unfolded(bars: &[Bar]) -> Result<Vec<usize>, Refusal> {
    let mut order: Vec<usize> = Vec::with_capacity(bars.len());
    let mut open = vec![Repeat { from: 0, time: 1, skipped: false, named: false }];
    let (mut at, mut jumped) = (0, false);
    while let Some(bar) = bars.get(at) {
        if order.len() >= MOST_BARS {
            return Err(Refusal::Endless(MOST_BARS));
        }
        let signs = &bar.signs;
        if signs.forward && !jumped {
            match open.last_mut() {
                Some(repeat) if repeat.from == at => repeat.named = true,
                _ => open.push(Repeat { from: at, time: 1, skipped: false, named: true }),
            }
        }
        let time = open.last().map_or(1, |repeat| repeat.time);
        if !signs.ending.is_empty() {
            let last = next_ending(bars, at).is_none();
            let is_now = if jumped { last } else { signs.ending.contains(&time) };
            if !is_now {
                if let Some(repeat) = open.last_mut() {
                    repeat.skipped = true;
                }
                at = end_of_ending(bars, at) + 1;
                continue;
            }
        }
        order.push(at);
        if jumped && signs.fine {
            break;
        }
        if jumped
            && signs.to_coda
            && let Some(coda) = coda_after(bars, at)
        {
            at = coda;
            continue;
        }
        if !jumped && (signs.da_capo || signs.dal_segno) {
            let segno = bars.iter().position(|bar| bar.signs.segno);
            jumped = true;
            at = if signs.dal_segno { segno.unwrap_or(0) } else { 0 };
            continue;
        }
        at = next(bars, at, &mut open, jumped);
    }
    Ok(order)
}

/// Where one goes after a bar: on, or back to where its repeat began.
fn next(bars: &[Bar], at: usize, open: &mut Vec<Repeat>, jumped: bool) -> usize {
    let signs = &bars[at].signs;
    if jumped {
        return at + 1;
    }
    let Some(repeat) = open.last_mut() else { return at + 1 };
    let in_ending = ending_of(bars, at, repeat.from);
    let goes_back = signs.backward.is_some_and(|times| match in_ending {
        // After the last of several endings one goes on.
        Some(first) => next_ending(bars, first).is_some() || !repeat.skipped,
        None => repeat.time < times,
    });
    if goes_back {
        repeat.time = repeat.time.saturating_add(1);
        repeat.skipped = false;
        return repeat.from;
    }
    let ends = signs.backward.is_some() || in_ending.is_some() && signs.ending_stops;
    if ends {
        let inner = open.len() > 1;
        if inner {
            open.pop();
        }
        // What is repeated next without a sign begins here, unless this was within a repeat that goes on.
        if let [outermost] = open.as_mut_slice()
            && (!inner || !outermost.named)
        {
            *outermost = Repeat { from: at + 1, time: 1, skipped: false, named: false };
        }
    }
    at + 1
}

/// The bar in which the ending begins that a bar is in.
fn ending_of(bars: &[Bar], at: usize, from: usize) -> Option<usize> {
    let first = (from..=at).rev().find(|index| !bars[*index].signs.ending.is_empty())?;
    (end_of_ending(bars, first) >= at).then_some(first)
}

/// The last bar of the ending that begins in this one.
fn end_of_ending(bars: &[Bar], first: usize) -> usize {
    let ends = |index: &usize| {
        let signs = &bars[*index].signs;
        let next = bars.get(index + 1);
        signs.ending_stops
            || signs.backward.is_some()
            || next.is_some_and(|next| !next.signs.ending.is_empty())
    };
    (first..bars.len()).find(ends).unwrap_or(bars.len().saturating_sub(1))
}

/// The ending that follows the one that begins in this bar.
fn next_ending(bars: &[Bar], first: usize) -> Option<usize> {
    let next = end_of_ending(bars, first) + 1;
    bars.get(next).filter(|bar| !bar.signs.ending.is_empty()).map(|_| next)
}

/// Where the coda begins.
fn coda_after(bars: &[Bar], at: usize) -> Option<usize> {
    (at + 1..bars.len()).find(|index| bars[*index].signs.coda)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::{Quarters, Signs};

    /// Bars by words: `|:` and `:|` for repeats, `1[` for endings, names of jumps.
    fn order(words: &[&str]) -> Result<Vec<usize>, Refusal> {
        let bars: Vec<Bar> = words
            .iter()
            .map(|word| {
                let mut signs = Signs::default();
                for one in word.split(' ') {
                    match one {
                        "|:" => signs.forward = true,
                        ":|" => signs.backward = Some(2),
                        ":||" => signs.backward = Some(3),
                        "fine" => signs.fine = true,
                        "segno" => signs.segno = true,
                        "coda" => signs.coda = true,
                        "to" => signs.to_coda = true,
                        "dc" => signs.da_capo = true,
                        "ds" => signs.dal_segno = true,
                        "]" => signs.ending_stops = true,
                        "for-ever" => signs.backward = Some(u32::MAX),
                        "" => {}
                        ending => {
                            let numbers = ending.trim_end_matches('[').split(',');
                            signs.ending = numbers.map(|n| n.parse().unwrap()).collect();
                        }
                    }
                }
                let (start, length) = (Quarters::ZERO, Quarters::ZERO);
                Bar { label: String::new(), start, length, metre: (4, 4), signs }
            })
            .collect();
        unfolded(&bars)
    }

    #[test]
    fn repeats_and_endings_are_played_as_they_are_meant() {
        for (words, wanted) in [
            (&["", "", ""][..], &[0, 1, 2][..]),
            (&["", ":|", ""], &[0, 1, 0, 1, 2]),
            (&["", "|:", ":|", ""], &[0, 1, 2, 1, 2, 3]),
            (&["|: :|", "", ":|"], &[0, 0, 1, 2, 1, 2]),
            (&["|:", "1[ :| ]", "2[ ]", ""], &[0, 1, 0, 2, 3]),
            (&["", "1[ :| ]", "2[ ]", "|:", ":|"], &[0, 1, 0, 2, 3, 4, 3, 4]),
            (&["|:", "1,2[ :| ]", "3[ ]", ""], &[0, 1, 0, 1, 0, 2, 3]),
            (&["|:", "1[", ":| ]", "2[", ":| ]", "3[ ]"], &[0, 1, 2, 0, 3, 4, 0, 5]),
            (&["|:", "1[ :| ]", ""], &[0, 1, 0, 2]),
            (&["|:", "1[ :| ]", "2[ :| ]", ""], &[0, 1, 0, 2, 3]),
            (&["|: :||", ""], &[0, 0, 0, 1]),
            (&["|:", "|: :|", ":|"], &[0, 1, 1, 2, 0, 1, 1, 2]),
        ] {
            assert_eq!(order(words).as_deref(), Ok(wanted), "{words:?}");
        }
    }

    #[test]
    fn jumps_are_made_once() {
        for (words, wanted) in [
            (&["", "fine", "dc"][..], &[0, 1, 2, 0, 1][..]),
            (&["", "segno", "fine", "ds"], &[0, 1, 2, 3, 1, 2]),
            (&["", "segno", "to", "ds", "coda", ""], &[0, 1, 2, 3, 1, 2, 4, 5]),
            (&["|: :|", "fine", "dc"], &[0, 0, 1, 2, 0, 1]),
            (&["|:", "1[ :| ]", "2[ ]", "fine", "dc"], &[0, 1, 0, 2, 3, 4, 0, 2, 3]),
        ] {
            assert_eq!(order(words).as_deref(), Ok(wanted), "{words:?}");
        }
    }

    #[test]
    fn repeats_without_end_are_refused() {
        assert_eq!(order(&["", "for-ever"]), Err(Refusal::Endless(MOST_BARS)));
        // However they are mixed, it ends.
        for words in [&["1[", "|:", "2["][..], &[":| 2[ ]", "1[ :|"], &["ds", "dc segno to coda"]] {
            assert!(order(words).is_ok(), "{words:?}");
        }
    }
}
