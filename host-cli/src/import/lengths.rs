//! Lengths in ticks as a study writes them: note values, ties, tuplets.

use crate::study::{Item, NoteValue, Ratio, Sound, Spanned, Step, Tuplet};
use evenhand_core::units::Ticks;

/// The shortest note value, a 64th.
const GRID: u32 = Ticks::PER_QUARTER / 16;

/// What fills a stretch of a bar.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Filling {
    /// Notes that begin with it.
    Sound(Sound),
    /// The notes before it, which last longer.
    Tie,
    /// Silence.
    Rest,
}

/// A stretch of a bar, from the end of the one before it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) filling: Filling,
    /// Where it ends, counted from the beginning of the bar.
    pub(crate) end: u32,
    /// The tuplet that the score writes it in.
    pub(crate) tuplet: Option<(u8, u8)>,
}

/// Ratios that are tried where a score names none that fits: the usual ones first. The last writes 128ths.
const RATIOS: [(u8, u8); 12] = [
    (3, 2),
    (5, 4),
    (6, 4),
    (7, 4),
    (7, 8),
    (9, 8),
    (10, 8),
    (12, 8),
    (14, 8),
    (15, 8),
    (5, 2),
    (2, 1),
];

/// A bar as it is written, and whether something in it had to be moved.
pub(crate) fn written(stretches: &[Stretch]) -> (Vec<Spanned<Item>>, bool) {
    let mut writing = Writing { items: Vec::new(), value: None, moved: false };
    let bar_end = stretches.last().map_or(0, |last| last.end);
    let mut all = stretches.to_vec();
    let (mut at, mut next) = (0, 0);
    while let Some(stretch) = all.get(next).cloned() {
        if stretch.end <= at {
            // It was moved away altogether.
            writing.moved |= !matches!(stretch.filling, Filling::Rest);
            next += 1;
        } else if stretch.end % GRID == 0 {
            let steps = writing.steps(&stretch.filling, stretch.end - at);
            writing.items.extend(steps.into_iter().map(|step| Item::Step(step).into()));
            at = stretch.end;
            next += 1;
        } else if let Some((ratio, until)) = tuplet(&all[next..], at, bar_end) {
            let mut steps: Vec<Spanned<Step>> = Vec::new();
            let (notes, time) = (u32::from(ratio.notes()), scale(ratio));
            while at < until
                && let Some(stretch) = all.get_mut(next)
            {
                let end = stretch.end.min(until);
                let length = (end - at) * notes / time;
                steps.extend(writing.steps(&stretch.filling, length).into_iter().map(Into::into));
                at = end;
                if stretch.end <= until {
                    next += 1;
                } else {
                    goes_on(stretch);
                }
            }
            writing.items.push(Item::Tuplet(Tuplet { ratio, steps }).into());
        } else {
            writing.moved = true;
            let nearest = (stretch.end + GRID / 2) / GRID * GRID;
            all[next].end = nearest.min(bar_end);
        }
    }
    (writing.items, writing.moved)
}

/// What is left of a stretch after a part of it: its notes last longer.
fn goes_on(stretch: &mut Stretch) {
    if matches!(stretch.filling, Filling::Sound(_)) {
        stretch.filling = Filling::Tie;
    }
}

/// In the time of how many.
fn scale(ratio: Ratio) -> u32 {
    // A quarter in the ratio lasts so many parts of it.
    ratio.scale(Ticks::new(u32::from(ratio.notes()))).map_or(1, Ticks::get)
}

/// The tuplet that begins `at`, and where it ends: as soon as it can, where a stretch ends if that may be.
fn tuplet(stretches: &[Stretch], at: u32, bar_end: u32) -> Option<(Ratio, u32)> {
    let own = stretches.iter().find_map(|stretch| stretch.tuplet);
    let ratios = own.into_iter().chain(RATIOS);
    let mut split = None;
    for (notes, time) in ratios {
        let Some(ratio) = Ratio::new(notes, time) else { continue };
        let (notes, time) = (u32::from(notes), u32::from(time));
        // The shortest value must be a whole number of ticks.
        if ratio.scale(Ticks::new(GRID)).is_none() {
            continue;
        }
        let fits = |end: u32| ((end - at) * notes).is_multiple_of(time * GRID);
        let mut until = at;
        loop {
            until += time * GRID;
            if until > bar_end {
                break;
            }
            let inside = stretches.iter().take_while(|stretch| stretch.end < until);
            if !inside.clone().all(|stretch| fits(stretch.end)) {
                break;
            }
            if inside.count() == 0 {
                // It would hold nothing but a piece of one stretch.
                continue;
            }
            if stretches.iter().any(|stretch| stretch.end == until) {
                return Some((ratio, until));
            }
            split = split.or(Some((ratio, until)));
        }
    }
    split
}

struct Writing {
    items: Vec<Spanned<Item>>,
    value: Option<NoteValue>,
    moved: bool,
}

impl Writing {
    /// Steps for a filling that lasts so many written ticks.
    fn steps(&mut self, filling: &Filling, mut length: u32) -> Vec<Step> {
        let mut steps = Vec::new();
        let mut is_first = true;
        while let Some(value) = longest(length) {
            length -= value.ticks().get();
            if self.value != Some(value) {
                self.value = Some(value);
                steps.push(Step::Value(value));
            }
            steps.push(match filling {
                Filling::Rest => Step::Rest,
                Filling::Sound(sound) if is_first => Step::Sound(sound.clone()),
                Filling::Sound(_) | Filling::Tie => Step::Tie,
            });
            is_first = false;
        }
        steps
    }
}

/// The longest value that is no longer than this.
fn longest(length: u32) -> Option<NoteValue> {
    let parts = [1, 2, 4, 8, 16, 32, 64];
    let mut values = parts.into_iter().flat_map(|part| [(part, 1), (part, 0)]);
    values.find_map(|(part, dots)| {
        NoteValue::new(part, dots).filter(|value| value.ticks().get() <= length)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const QUARTER: u32 = Ticks::PER_QUARTER;

    /// A bar of rests, whose ends are given, in words.
    fn rests(ends: &[u32]) -> (String, bool) {
        let all: Vec<Stretch> = ends
            .iter()
            .map(|end| Stretch { filling: Filling::Rest, end: *end, tuplet: None })
            .collect();
        let (items, moved) = written(&all);
        let step = |step: &Step| match step {
            Step::Value(value) => value.to_string(),
            Step::Rest => "r".to_owned(),
            _ => "?".to_owned(),
        };
        let words: Vec<String> = items
            .iter()
            .map(|item| match &item.value {
                Item::Step(one) => step(one),
                Item::Tuplet(tuplet) => {
                    let steps: Vec<String> = tuplet.steps.iter().map(|s| step(s)).collect();
                    format!("{}[{}]", tuplet.ratio, steps.join(" "))
                }
                _ => "?".to_owned(),
            })
            .collect();
        (words.join(" "), moved)
    }

    #[test]
    fn lengths_are_written_as_a_musician_would() {
        for (ends, wanted) in [
            (&[4 * QUARTER][..], "1/1 r"),
            (&[QUARTER, 2 * QUARTER, 4 * QUARTER], "1/4 r r 1/2 r"),
            (&[QUARTER * 5 / 2], "1/2 r 1/8 r"),
            (&[QUARTER / 3, QUARTER * 2 / 3, QUARTER, 2 * QUARTER], "3in2[1/8 r r r] 1/4 r"),
            (&[QUARTER * 2 / 3, QUARTER], "3in2[1/4 r 1/8 r]"),
            (&[QUARTER / 5, QUARTER], "5in4[1/16 r 1/4 r]"),
            (&[QUARTER / 32, QUARTER / 16], "2in1[1/64 r r]"),
            // What begins inside a beat and goes beyond it.
            (&[QUARTER / 3, 2 * QUARTER], "3in2[1/8 r 1/2 r 1/8 r]"),
        ] {
            let (words, moved) = rests(ends);
            assert_eq!(words, wanted);
            assert!(!moved);
        }
    }

    #[test]
    fn what_no_value_lasts_is_moved_and_said() {
        let (words, moved) = rests(&[QUARTER + 7, 2 * QUARTER]);
        assert_eq!((words.as_str(), moved), ("1/4 r r", true));
    }
}
