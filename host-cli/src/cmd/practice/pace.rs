//! When to read, when to count in, when to play.
//!
//! Hands-free practice has a rhythm of its own: what was said is read, a bar is counted in, and
//! the click goes on until there is something new to say. Nobody is counted in who is playing.
//! Pure: time is an argument.

use crate::sound::Click;
use crate::study::Prepared;
use evenhand_core::units::{Instant, Offset, Ticks};

/// How long a verdict and the next step are read, in microseconds. Our default: three sentences,
/// with a hand to put back on the neck.
const READING: u64 = 4_000_000;

/// How long the heading is read where nothing has been said of an attempt. Our default.
const BEGINNING: u64 = 2_000_000;

/// So long nothing was played before somebody is counted in. Our default: the longest note at a
/// slow tempo.
const QUIET: u64 = 1_500_000;

/// A count-in has at least so many beats; in shorter bars it has several. Common practice.
const FEWEST_BEATS: u32 = 3;

/// A click with its count-in, and when it is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Grid {
    /// The click.
    pub(super) click: Click,
    /// When its first beat is heard.
    pub(super) begins: Instant,
    /// How long after a beat the chunk begins.
    after_beat: Offset,
}

impl Grid {
    /// A click for a chunk.
    fn new(chunk: &Prepared, begins: Instant) -> Self {
        let (bar, beat) = (chunk.metre.bar().get().max(1), chunk.metre.beat().get().max(1));
        let into = chunk.into_first_bar.get() % bar;
        let bars = FEWEST_BEATS.div_ceil((bar / beat).max(1));
        // A chunk that begins between two beats is counted in from the beat before.
        let after_beat = chunk.tempo.lasting(Ticks::new(into % beat));
        let click = Click::new(chunk.metre, chunk.tempo, bars).entering_on(into / beat);
        Self { click, begins, after_beat }
    }

    /// When the chunk begins, if it is played as it is counted in.
    pub(super) fn chunk_begins(&self) -> Instant {
        self.beat(self.click.count_in()).plus(self.after_beat)
    }

    /// When a beat is heard, counted from 0.
    fn beat(&self, number: u32) -> Instant {
        after(self.begins, self.click.micros(number))
    }

    /// The beat in a bar, from 1.
    fn in_bar(&self, number: u32) -> u8 {
        u8::try_from(self.click.beat(number).in_bar).unwrap_or(u8::MAX)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    /// The player begins when they like, without a click.
    Open,
    /// What was said is read until then.
    Reading { until: Instant },
    /// A rest: nothing is asked for until something is played.
    Resting { since: Instant },
    /// The click sounds. The beat that is counted next; none once the count-in is over.
    Clicking { grid: Grid, next: Option<u32> },
}

/// What is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Due {
    /// Nothing.
    Nothing,
    /// The count-in begins.
    CountIn(Grid),
    /// This beat of the bar is counted, from 1.
    Beat(u8),
    /// The count-in is over.
    Play,
}

/// Where practice is between a verdict and the next attempt.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pace {
    counts: bool,
    stage: Stage,
}

impl Pace {
    /// With a count-in and a click, or without.
    pub(super) const fn new(counts: bool) -> Self {
        Self { counts, stage: Stage::Open }
    }

    /// Something else is to be played, or the same anew. `read` tells whether something was said
    /// of an attempt.
    pub(super) fn turn(&mut self, now: Instant, read: bool, rest: bool) {
        let pause = if read { READING } else { BEGINNING };
        self.stage = match (self.counts, rest) {
            (false, _) => Stage::Open,
            (true, true) => Stage::Resting { since: now },
            (true, false) => Stage::Reading { until: after(now, pause) },
        };
    }

    /// The sound has gone or is back. A click that is under way is counted in anew, if from now on
    /// somebody is to be counted in at all.
    pub(super) fn sound_changed(&mut self, now: Instant, counts: bool) {
        self.counts = counts;
        self.stage = match self.stage {
            _ if !counts => Stage::Open,
            Stage::Open | Stage::Clicking { .. } => Stage::Reading { until: after(now, BEGINNING) },
            stage => stage,
        };
    }

    /// An attempt has been judged and the same goes on: a click goes on with it; whoever has not
    /// been counted in has something to read first.
    pub(super) fn judged(&mut self, now: Instant) {
        if let Stage::Reading { until } = &mut self.stage {
            *until = after(now, READING);
        }
    }

    /// The click that sounds.
    pub(super) const fn grid(&self) -> Option<&Grid> {
        match &self.stage {
            Stage::Clicking { grid, .. } => Some(grid),
            _ => None,
        }
    }

    /// The sound that was asked for is heard from this time on.
    pub(super) const fn heard_from(&mut self, begins: Instant) {
        if let Stage::Clicking { grid, .. } = &mut self.stage {
            grid.begins = begins;
        }
    }

    /// When [`step`](Self::step) has something to do at the latest.
    pub(super) fn due(&self) -> Option<Instant> {
        match &self.stage {
            Stage::Open | Stage::Resting { .. } => None,
            Stage::Reading { until } => Some(*until),
            Stage::Clicking { grid, next } => {
                next.map(|next| grid.beat(next).min(grid.chunk_begins()))
            }
        }
    }

    /// What is due at `now`. `chunk` is what is to be played, `quiet_since` when the last note
    /// began, and `under_way` whether an attempt may be going on.
    pub(super) fn step(
        &mut self,
        now: Instant,
        chunk: &Prepared,
        quiet_since: Option<Instant>,
        under_way: bool,
    ) -> Due {
        match &mut self.stage {
            Stage::Open => Due::Nothing,
            Stage::Resting { since } => {
                // Whoever plays has rested enough.
                if quiet_since.is_some_and(|last| last > *since) {
                    self.stage = Stage::Reading { until: after(now, QUIET) };
                }
                Due::Nothing
            }
            Stage::Reading { until } => {
                let quiet = quiet_since.is_none_or(|last| after(last, QUIET) <= now);
                if now < *until {
                    return Due::Nothing;
                }
                if under_way || !quiet {
                    *until = after(now, QUIET / 4);
                    return Due::Nothing;
                }
                let grid = Grid::new(chunk, now);
                self.stage = Stage::Clicking { grid, next: Some(0) };
                Due::CountIn(grid)
            }
            Stage::Clicking { grid, next } => {
                let Some(number) = *next else { return Due::Nothing };
                if grid.chunk_begins() <= now {
                    *next = None;
                    return Due::Play;
                }
                if now < grid.beat(number) {
                    return Due::Nothing;
                }
                *next = Some(number + 1);
                Due::Beat(grid.in_bar(number))
            }
        }
    }
}

fn after(time: Instant, micros: u64) -> Instant {
    Instant::from_micros(time.as_micros().saturating_add(micros))
}

#[cfg(test)]
mod tests {
    use super::*;
    use evenhand_core::study::Metre;

    const STUDY: &str = "evenhand study 1\nmetre 3/4\ntempo 60\nchunk \"A\" at bar 1\n  \
         m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 |\n";

    fn chunk() -> Prepared {
        crate::study::parse(STUDY).unwrap().prepare().unwrap().remove(0)
    }

    fn at(millis: u64) -> Instant {
        Instant::from_micros(millis * 1_000)
    }

    #[test]
    fn what_was_said_is_read_then_a_bar_is_counted_in() {
        let chunk = chunk();
        let mut pace = Pace::new(true);
        pace.turn(at(10_000), true, false);
        assert_eq!(pace.due(), Some(at(14_000)));
        assert_eq!(pace.step(at(13_999), &chunk, None, false), Due::Nothing);
        let Due::CountIn(grid) = pace.step(at(14_000), &chunk, None, false) else { panic!() };
        assert_eq!(grid.chunk_begins(), at(17_000));
        for (beat, time) in [(1, 14_000), (2, 15_000), (3, 16_000)] {
            assert_eq!(pace.due(), Some(at(time)));
            assert_eq!(pace.step(at(time), &chunk, None, false), Due::Beat(beat));
            assert_eq!(pace.step(at(time + 1), &chunk, None, false), Due::Nothing);
        }
        assert_eq!(pace.step(at(17_000), &chunk, None, false), Due::Play);
        assert_eq!((pace.due(), pace.grid().is_some()), (None, true));
    }

    #[test]
    fn nobody_is_counted_in_who_plays() {
        let chunk = chunk();
        let mut pace = Pace::new(true);
        pace.turn(at(0), false, false);
        assert_eq!(pace.step(at(2_000), &chunk, Some(at(1_900)), false), Due::Nothing);
        assert_eq!(pace.step(at(3_000), &chunk, Some(at(1_000)), true), Due::Nothing);
        let due = pace.step(at(3_500), &chunk, Some(at(1_900)), false);
        assert!(matches!(due, Due::CountIn(_)), "{due:?}");
    }

    #[test]
    fn a_rest_lasts_until_something_is_played() {
        let chunk = chunk();
        let mut pace = Pace::new(true);
        pace.turn(at(1_000), true, true);
        assert_eq!(pace.step(at(400_000), &chunk, Some(at(900)), false), Due::Nothing);
        assert_eq!(pace.step(at(400_500), &chunk, Some(at(400_400)), false), Due::Nothing);
        let due = pace.step(at(402_000), &chunk, Some(at(400_400)), false);
        assert!(matches!(due, Due::CountIn(_)), "{due:?}");
    }

    #[test]
    fn a_short_bar_is_counted_twice_and_an_upbeat_from_its_place() {
        let mut chunk = chunk();
        chunk.metre = Metre::new(2, 4).unwrap();
        chunk.into_first_bar = Ticks::new(Ticks::PER_QUARTER * 3 / 2);
        let grid = Grid::new(&chunk, at(0));
        assert_eq!((grid.in_bar(0), grid.in_bar(1), grid.in_bar(2)), (2, 1, 2));
        // Two bars of two, and half a beat.
        assert_eq!(grid.chunk_begins(), at(4_500));
    }

    #[test]
    fn when_the_sound_changes_it_is_counted_in_anew() {
        let chunk = chunk();
        let mut pace = Pace::new(true);
        pace.turn(at(0), false, false);
        assert!(matches!(pace.step(at(2_000), &chunk, None, false), Due::CountIn(_)));
        // Still shown: counted in again, after a moment to read that there is no sound.
        pace.sound_changed(at(3_000), true);
        assert_eq!(pace.due(), Some(at(5_000)));
        // Neither heard nor shown: nobody is counted in, until it is back.
        pace.sound_changed(at(3_500), false);
        assert_eq!(pace.step(at(9_000), &chunk, None, false), Due::Nothing);
        pace.sound_changed(at(9_000), true);
        assert!(matches!(pace.step(at(11_000), &chunk, None, false), Due::CountIn(_)));
        // Whoever rests goes on resting.
        pace.turn(at(12_000), true, true);
        pace.sound_changed(at(13_000), true);
        assert_eq!((pace.due(), pace.step(at(99_000), &chunk, None, false)), (None, Due::Nothing));
    }

    #[test]
    fn without_a_click_nothing_is_ever_due() {
        let chunk = chunk();
        let mut pace = Pace::new(false);
        pace.turn(at(0), true, false);
        assert_eq!((pace.due(), pace.step(at(9_000), &chunk, None, false)), (None, Due::Nothing));
    }
}
