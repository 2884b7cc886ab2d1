//! Notes as somebody would write them: on sixteenths, or on the triplets of eighths.
//!
//! A quarter of a bar takes the one of the two that its onsets lie nearer to, in sum, since bars of both are usual; where
//! both are as near, the one that all onsets of the bar lie nearer to, and else sixteenths. Where nothing begins, ends
//! decide in the same way. Our default: up to 125 quarters a minute, each note may be 20 ms off.

use evenhand_core::units::Ticks;

const QUARTER: u64 = Ticks::PER_QUARTER as u64;

/// A sixteenth, and a triplet of eighths.
const SIXTEENTH: u64 = QUARTER / 4;
const TRIPLET: u64 = QUARTER / 3;

/// What is moved by more than this is told: a 64th.
pub(super) const TOLD: u64 = QUARTER / 16;

/// The grid of a bar.
pub(super) struct Grid {
    /// How long the bar is.
    length: u64,
    /// What each of its quarters is cut into.
    steps: Vec<u64>,
}

impl Grid {
    /// The grid of a bar of such a length, by what begins and ends in it, counted from its beginning.
    pub(super) fn new(length: u64, onsets: &[u64], ends: &[u64]) -> Self {
        let all = if onsets.is_empty() { ends } else { onsets };
        // The bar's end is on either.
        let away = |places: &[u64], step: u64| -> u64 {
            let off = |at: &u64| (at % step).min(step - at % step).min(length.abs_diff(*at));
            places.iter().map(off).sum()
        };
        let [own, other] = match away(all, SIXTEENTH) <= away(all, TRIPLET) {
            true => [SIXTEENTH, TRIPLET],
            false => [TRIPLET, SIXTEENTH],
        };
        let in_quarter = |all: &[u64], quarter: u64| -> Vec<u64> {
            all.iter().copied().filter(|at| at / QUARTER == quarter).collect()
        };
        let steps = (0..length.div_ceil(QUARTER)).map(|quarter| {
            let mut here = in_quarter(onsets, quarter);
            if here.is_empty() {
                here = in_quarter(ends, quarter);
            }
            let is_other = away(&here, other) < away(&here, own);
            if is_other { other } else { own }
        });
        Self { length, steps: steps.collect() }
    }

    /// The nearest place on the grid.
    pub(super) fn nearest(&self, at: u64) -> u64 {
        let beginning = at / QUARTER * QUARTER;
        let step = self.step(at);
        let place = beginning + (at - beginning + step / 2) / step * step;
        // The bar's end is on it, too, where a bar is no number of quarters.
        if place > self.length || self.length.abs_diff(at) < place.abs_diff(at) {
            return self.length;
        }
        place
    }

    /// The shortest note there.
    pub(super) fn step(&self, at: u64) -> u64 {
        let quarter = usize::try_from(at / QUARTER).unwrap_or(usize::MAX);
        self.steps.get(quarter).or(self.steps.last()).copied().unwrap_or(SIXTEENTH)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moved(length: u64, places: &[u64]) -> Vec<u64> {
        let grid = Grid::new(length, places, &[]);
        places.iter().map(|at| grid.nearest(*at)).collect()
    }

    #[test]
    fn a_bar_takes_the_nearer_of_two_grids() {
        let bar = 4 * QUARTER;
        assert_eq!(moved(bar, &[90, 2_400, 5_100, 7_700]), [0, 2_520, 5_040, 7_560]);
        assert_eq!(moved(bar, &[90, 3_200, 6_900, 10_000]), [0, 3_360, 6_720, 10_080]);
    }

    #[test]
    fn a_quarter_of_it_may_have_the_other() {
        let both = [0, 2_520, 5_040, 7_560, 10_080, 13_440, 16_800, 20_160, 22_680, 25_200];
        assert_eq!(moved(4 * QUARTER, &both), both);
    }

    #[test]
    fn the_end_of_a_short_bar_is_on_the_grid() {
        // Three 32nds.
        assert_eq!(moved(3_780, &[0, 2_600, 3_700]), [0, 2_520, 3_780]);
    }
}
