//! The tempo of one piece: up after clean attempts in a row, down after one that is not.

use super::rules::{
    BURST_PER_MILLE, COLD_PER_MILLE, FAILED_RAISES, FLOOR_PER_MILLE, PLACING_PER_MILLE, Rules,
    START_PER_MILLE,
};
use crate::units::{Tempo, Ticks};

/// What an attempt did to the tempo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Move {
    /// Nothing: it was clean, but not yet often enough.
    Stays,
    /// It was clean often enough: faster.
    Raised,
    /// It was clean often enough at the goal.
    Reached,
    /// Slower.
    Lowered(Raises),
    /// It was not clean, and slower than this a passage is not practised.
    AtFloor(Raises),
}

/// What became of the raises above the fastest clean tempo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Raises {
    /// Nothing to say.
    Open,
    /// [`FAILED_RAISES`] did not hold: steps up and down are half as large from here.
    Halved,
    /// As many did not hold with half steps, either: tempo alone does not help.
    Stuck,
}

/// The state of one piece's tempo. It is always between the floor and the goal.
#[derive(Clone, Copy, Debug)]
pub struct Staircase {
    rules: Rules,
    beat: Ticks,
    goal: Tempo,
    floor: Tempo,
    tempo: Tempo,
    fastest: Option<Tempo>,
    run: u8,
    failed_raises: u8,
    halved: bool,
}

impl Staircase {
    /// A passage that is to reach `goal`, counted in beats of length `beat`. It begins at the
    /// fastest tempo at which it was clean before, or at [`START_PER_MILLE`] of the goal.
    /// A beat of no length is taken for a quarter note.
    pub fn new(goal: Tempo, beat: Ticks, rules: Rules, fastest_clean: Option<Tempo>) -> Self {
        let beat = if beat == Ticks::ZERO { Ticks::new(Ticks::PER_QUARTER) } else { beat };
        let floor = goal.at_per_mille(FLOOR_PER_MILLE).in_whole_beats(beat).slower(goal);
        let start = goal.at_per_mille(START_PER_MILLE).in_whole_beats(beat);
        let start = fastest_clean.unwrap_or(start).slower(goal).faster(floor);
        Self {
            rules,
            beat,
            goal,
            floor,
            tempo: start,
            fastest: fastest_clean,
            run: 0,
            failed_raises: 0,
            halved: false,
        }
    }

    /// The tempo is the player's own: it neither rises nor falls, and enough clean attempts in a
    /// row reach the goal.
    pub const fn hold(&mut self) {
        (self.floor, self.tempo) = (self.goal, self.goal);
    }

    /// Takes a settled attempt at [`tempo`](Self::tempo).
    pub fn take(&mut self, clean: bool) -> Move {
        if !clean {
            return self.lower();
        }
        self.run = self.run.saturating_add(1);
        if self.run < self.rules.in_a_row() {
            return Move::Stays;
        }
        self.run = 0;
        if self.fastest.is_none_or(|fastest| fastest.is_slower_than(self.tempo)) {
            self.fastest = Some(self.tempo);
            self.failed_raises = 0;
        }
        if !self.tempo.is_slower_than(self.goal) {
            return Move::Reached;
        }
        let step = self.step(self.rules.up_per_mille);
        let raised = self.hundredths().saturating_add(step);
        self.tempo = self.in_beats(raised).slower(self.goal);
        Move::Raised
    }

    /// A day begins below the tempo at which it was clean, if it was.
    pub fn begin_cold(&mut self) {
        if let Some(fastest) = self.fastest {
            let cold = fastest.at_per_mille(COLD_PER_MILLE).in_whole_beats(self.beat);
            self.tempo = cold.slower(self.goal).faster(self.floor);
        }
    }

    /// It was clean once, at the first try: on by a leap, to the fastest clean tempo at most if there is
    /// one. `false`, and nothing is changed, if it is there already.
    pub fn leap(&mut self) -> bool {
        let most = self.fastest.unwrap_or(self.goal).slower(self.goal);
        if !self.tempo.is_slower_than(most) {
            return false;
        }
        let leap = self.tempo.at_per_mille(PLACING_PER_MILLE).in_whole_beats(self.beat);
        self.tempo = leap.faster(self.tempo).slower(most);
        true
    }

    /// The last leap did not hold: back to where it was clean.
    pub fn leap_back(&mut self) {
        let back = u64::from(self.hundredths()) * 1_000 / u64::from(PLACING_PER_MILLE);
        let back = self.in_beats(u32::try_from(back).unwrap_or(u32::MAX));
        (self.tempo, self.run) = (back.faster(self.floor), 0);
    }

    /// A step down.
    pub fn lower(&mut self) -> Move {
        self.run = 0;
        let raises = if self.fastest.is_some_and(|fastest| fastest.is_slower_than(self.tempo)) {
            self.raise_failed()
        } else {
            Raises::Open
        };
        if !self.floor.is_slower_than(self.tempo) {
            return Move::AtFloor(raises);
        }
        let step = self.step(self.rules.down_per_mille);
        let lowered = self.hundredths().saturating_sub(step);
        self.tempo = self.in_beats(lowered).faster(self.floor);
        Move::Lowered(raises)
    }

    /// The tempo to play.
    pub const fn tempo(&self) -> Tempo {
        self.tempo
    }

    /// The tempo to reach.
    pub const fn goal(&self) -> Tempo {
        self.goal
    }

    /// Slower than this it is not practised.
    pub const fn floor(&self) -> Tempo {
        self.floor
    }

    /// The length of the beat that is counted.
    pub const fn beat(&self) -> Ticks {
        self.beat
    }

    /// The rules.
    pub const fn rules(&self) -> &Rules {
        &self.rules
    }

    /// The fastest tempo at which it was clean often enough in a row.
    pub const fn fastest_clean(&self) -> Option<Tempo> {
        self.fastest
    }

    /// Clean attempts in a row so far.
    pub const fn run(&self) -> u8 {
        self.run
    }

    /// Something else came between: attempts before it and after it are not in a row.
    pub const fn interrupt(&mut self) {
        self.run = 0;
    }

    /// The tempo of a burst, at most the goal; `None` if that is no faster.
    pub fn burst(&self) -> Option<Tempo> {
        let fast = self.tempo.at_per_mille(BURST_PER_MILLE).in_whole_beats(self.beat);
        let fast = fast.slower(self.goal);
        self.tempo.is_slower_than(fast).then_some(fast)
    }

    /// It was clean often enough in a row at this tempo: goes on from there.
    pub fn was_clean_at(&mut self, tempo: Tempo) {
        self.run = 0;
        self.tempo = tempo.slower(self.goal).faster(self.floor);
        self.fastest = Some(self.fastest.map_or(self.tempo, |fastest| fastest.faster(self.tempo)));
        self.failed_raises = 0;
    }

    /// Begins anew near this tempo, held between the floor and the goal.
    pub fn begin_at(&mut self, tempo: Tempo) {
        let tempo = tempo.in_whole_beats(self.beat);
        self.tempo = tempo.slower(self.goal).faster(self.floor);
        self.run = 0;
        self.failed_raises = 0;
        self.halved = false;
    }

    /// Goes up to this tempo, where that is faster: what it is made of has become so.
    pub fn rise_to(&mut self, tempo: Tempo) {
        let tempo = tempo.in_whole_beats(self.beat).slower(self.goal);
        if self.tempo.is_slower_than(tempo) {
            (self.tempo, self.run) = (tempo, 0);
        }
    }

    /// A part of it, that is to reach this tempo and has never been clean.
    #[must_use]
    pub fn up_to(&self, goal: Tempo, rules: Rules) -> Self {
        let goal = goal.slower(self.goal).faster(self.floor);
        let tempo = self.tempo.slower(goal);
        let (fastest, run, failed_raises, halved) = (None, 0, 0, false);
        Self { rules, goal, tempo, fastest, run, failed_raises, halved, ..*self }
    }

    /// Begins anew near this tempo, as if it had never been clean.
    pub fn begin_anew_at(&mut self, tempo: Tempo) {
        self.begin_at(tempo);
        self.fastest = None;
    }

    fn raise_failed(&mut self) -> Raises {
        self.failed_raises = self.failed_raises.saturating_add(1);
        if self.failed_raises < FAILED_RAISES {
            return Raises::Open;
        }
        self.failed_raises = 0;
        if self.halved {
            return Raises::Stuck;
        }
        self.halved = true;
        Raises::Halved
    }

    fn hundredths(&self) -> u32 {
        self.tempo.hundredths_of_beats_per_minute(self.beat)
    }

    /// A step, in hundredths of a beat a minute. At least the rules' least, half of it (but one
    /// beat) where steps are halved, so that halving is felt at slow tempi, too.
    fn step(&self, per_mille: u16) -> u32 {
        let share = u64::from(self.hundredths()) * u64::from(per_mille) / 1_000;
        let least = 100 * u64::from(self.rules.least_beats);
        let (share, least) = if self.halved { (share / 2, least / 2) } else { (share, least) };
        u32::try_from(share.max(least).max(100)).unwrap_or(u32::MAX)
    }

    fn in_beats(&self, hundredths: u32) -> Tempo {
        let beats = (u64::from(hundredths) + 50) / 100;
        Tempo::of_beats(beats.max(1), self.beat)
    }
}
