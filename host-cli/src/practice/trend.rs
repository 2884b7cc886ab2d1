//! Whether a piece gets faster from day to day: progress, plateau, or too early to say.
//!
//! That a trend is not significant is no evidence that there is none: so *plateau* is said only where a
//! rise of one per cent a day is as good as excluded, and *progress* only where none at all is (an
//! equivalence test, with Student's t on the slope of a straight line through the logarithms of the days'
//! best tempi). Between, it is too early to say.
//!
//! It is looked at every day. For learners who rise by one per cent a day and scatter by four, plateau is
//! said in at most one of twenty over sixty days of looking; one who stays where they are is told after
//! about two weeks (simulated; see the test).

use jiff::civil::Date;

/// The best tempo of a day, in any unit of speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayBest {
    /// The day.
    pub day: Date,
    /// The fastest tempo at which it passed.
    pub tempo: f64,
}

/// What days say together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trend {
    /// Neither can be said.
    TooEarly,
    /// It rises.
    Progress,
    /// It does not rise by one per cent a day.
    Plateau,
}

/// A trend with its figures, in parts of the tempo a day: 0.01 is one per cent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rise {
    /// What is said.
    pub trend: Trend,
    /// The rise that fits best.
    pub a_day: f64,
    /// It is hardly less than this,
    pub least: f64,
    /// and hardly more than this.
    pub most: f64,
    /// So many days say so.
    pub days: usize,
}

/// Days that are looked back on. Our default: what was before says little of now.
const WINDOW: i32 = 28;

/// Days played until anything is said. Our default.
const FEWEST_DAYS: usize = 6;

/// A rise that a plateau lacks, a day. Our default: a step of four per cent in four days.
const WORTH_HAVING: f64 = 0.01;

/// Student's t that is exceeded in one of 500, for 4 degrees of freedom and more, up to 26 (SciPy 1.17,
/// `scipy.stats.t.ppf(0.998, n)`; a test asks it again).
pub const STUDENT_998: [f64; 23] = [
    5.951, 5.030, 4.524, 4.207, 3.991, 3.835, 3.716, 3.624, 3.550, 3.489, 3.438, 3.395, 3.358,
    3.326, 3.298, 3.273, 3.251, 3.231, 3.214, 3.198, 3.183, 3.170, 3.158,
];

/// The same for one of 200 (`scipy.stats.t.ppf(0.995, n)`).
pub const STUDENT_995: [f64; 23] = [
    4.604, 4.032, 3.707, 3.499, 3.355, 3.250, 3.169, 3.106, 3.055, 3.012, 2.977, 2.947, 2.921,
    2.898, 2.878, 2.861, 2.845, 2.831, 2.819, 2.807, 2.797, 2.787, 2.779,
];

/// What the best tempi of days say, the earliest first, one a day. `None` for fewer than
/// six days within four weeks of the last.
pub fn rise(bests: &[DayBest]) -> Option<Rise> {
    let last = bests.last()?.day;
    let points: Vec<(f64, f64)> = bests
        .iter()
        .filter(|best| best.tempo > 0.0)
        .map(|best| (last.since(best.day).map_or(i32::MAX, |span| span.get_days()), best.tempo))
        .filter(|(ago, _)| (0..WINDOW).contains(ago))
        .map(|(ago, tempo)| (-f64::from(ago), tempo.ln()))
        .collect();
    let days = points.len();
    if days < FEWEST_DAYS {
        return None;
    }
    let count = days as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
    let (day, level) = (mean(|point| point.0), mean(|point| point.1));
    let squares: f64 = points.iter().map(|point| (point.0 - day).powi(2)).sum();
    if squares <= 0.0 {
        return None;
    }
    let slope: f64 = points.iter().map(|point| (point.0 - day) * point.1).sum::<f64>() / squares;
    let off = |point: &(f64, f64)| (point.1 - level - slope * (point.0 - day)).powi(2);
    let scatter = (points.iter().map(off).sum::<f64>() / (count - 2.0) / squares).sqrt();
    let at = (days - FEWEST_DAYS).min(STUDENT_998.len() - 1);
    let (wide, narrow) = (STUDENT_998.get(at)?, STUDENT_995.get(at)?);
    let (least, most) = (slope - narrow * scatter, slope + wide * scatter);
    let trend = if most < WORTH_HAVING.ln_1p() {
        Trend::Plateau
    } else if least > 0.0 {
        Trend::Progress
    } else {
        Trend::TooEarly
    };
    let (a_day, least, most) = (slope.exp_m1(), least.exp_m1(), most.exp_m1());
    Some(Rise { trend, a_day, least, most, days })
}

#[cfg(test)]
mod tests {
    use super::*;
    use evenhand_core::player::Chance;
    use jiff::ToSpan;

    fn days(count: i64, gain: f64, scatter: f64, seed: u64) -> Vec<DayBest> {
        let mut chance = Chance::new(seed);
        let micros = (scatter * 1e6) as i32;
        let first: Date = "2026-01-01".parse().unwrap();
        let best = |day: i64| {
            let tempo = 60.0
                * (1.0 + gain).powi(day as i32)
                * (f64::from(chance.normal(micros)) / 1e6).exp();
            DayBest { day: first.checked_add(day.days()).unwrap(), tempo }
        };
        (0..count).map(best).collect()
    }

    /// How many of so many learners are told this on at least one of sixty days, and after how many days
    /// half of them are.
    fn told(trend: Trend, gain: f64) -> (usize, usize) {
        const LEARNERS: u64 = 400;
        let first = |seed| {
            let bests = days(60, gain, 0.04, seed);
            (1..=60).find(|&to| rise(&bests[..to]).is_some_and(|rise| rise.trend == trend))
        };
        let mut after: Vec<usize> = (0..LEARNERS).filter_map(first).collect();
        after.sort_unstable();
        (after.len(), after.get(LEARNERS as usize / 2).copied().unwrap_or(usize::MAX))
    }

    #[test]
    fn plateau_is_said_of_those_who_stay_and_hardly_ever_of_those_who_gain_one_per_cent_a_day() {
        let (stuck, after) = told(Trend::Plateau, 0.0);
        println!("staying: {stuck} of 400 told, half of them by day {after}");
        assert!(stuck >= 396 && after <= 16, "{stuck}, {after}");
        let (gaining, _) = told(Trend::Plateau, 0.01);
        println!("gaining: {gaining} of 400 told");
        assert!(gaining * 20 <= 400, "{gaining} of 400 are told that they gain nothing");
        let (progress, after) = told(Trend::Progress, 0.03);
        assert!(progress == 400 && after <= 8, "{progress}, {after}");
    }

    #[test]
    fn few_days_and_old_ones_say_nothing() {
        assert_eq!(rise(&[]), None);
        assert_eq!(rise(&days(5, 0.1, 0.0, 1)), None);
        let mut old = days(6, 0.1, 0.0, 1);
        old[5].day = "2026-06-01".parse().unwrap();
        assert_eq!(rise(&old), None, "all but one are long ago");
        let same = [old[0]; 8];
        assert_eq!(rise(&same), None, "all on one day");
        let none = days(8, 0.0, 0.0, 1)
            .iter()
            .map(|best| DayBest { tempo: 0.0, ..*best })
            .collect::<Vec<_>>();
        assert_eq!(rise(&none), None);
    }

    #[test]
    fn without_scatter_it_is_certain_at_once() {
        let rising = rise(&days(6, 0.02, 0.0, 1)).unwrap();
        assert_eq!((rising.trend, rising.days), (Trend::Progress, 6));
        assert!((rising.a_day - 0.02).abs() < 1e-9 && rising.least <= rising.a_day);
        assert_eq!(rise(&days(6, 0.0, 0.0, 1)).unwrap().trend, Trend::Plateau);
    }
}
