//! What the three lamps say. Position and pattern carry all of it; the colour of a lamp says
//! nothing. The table for players is in `docs/pedal.md`.

use evenhand_core::board::Pattern;
use evenhand_core::units::Offset;
use evenhand_core::verdict::{Aspect, Finding, Outcome, Severity, Verdict};

/// Left, middle, right.
pub type Lights = [Pattern; 3];

const DARK: Pattern = Pattern::DARK;
const LIT: Pattern = Pattern::LIT;

/// Blinks this slowly are restful, at 0.5 Hz; those of a fault, at 5 Hz, are not. All of them stay
/// away from the 15 to 25 flashes a second to which most people with photosensitive epilepsy
/// respond (Fisher and others, 2005); our defaults.
const SLOW: Offset = Offset::from_millis(1_000);
const QUICK: Offset = Offset::from_millis(250);
const FAST: Offset = Offset::from_millis(100);

/// A lamp flashes for an eighth of a beat. Our default.
const FLASHES_A_BEAT: u8 = 8;

/// A pattern has room for so many beats.
const MOST_BEATS: u8 = 8;

/// Which lamp, from the left, tells of what a verdict is about most.
pub fn lamp_of(verdict: &Verdict) -> Option<Aspect> {
    heaviest(verdict).map(|finding| finding.kind.aspect())
}

/// The heaviest finding of a verdict that is not mere advice.
pub fn heaviest(verdict: &Verdict) -> Option<&Finding> {
    let counts = |severity| match verdict.outcome {
        Outcome::NeedsWork => severity == Severity::Fails,
        _ => severity != Severity::Advice,
    };
    verdict.findings.iter().find(|finding| counts(finding.severity))
}

/// What there is to see.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// There is no study.
    NoStudy,
    /// This study, counted from 0, is practised if the player wants it.
    Studies(u8),
    /// This chunk, counted from 0, is chosen if the player wants it.
    Choosing(u8),
    /// So many beats of this length until the music begins.
    CountIn {
        /// How many.
        beats: u8,
        /// Which of them is the first of a bar, counted from 0.
        strong: u8,
        /// How long each is.
        beat: Offset,
    },
    /// The player may begin; the beat is this long.
    Ready(Offset),
    /// An attempt is heard.
    Playing,
    /// So much of what comes is the pickup's noise that nothing can be judged; the beat is this long, or
    /// an attempt is heard.
    HeardPoorly(Option<Offset>),
    /// How it went.
    Verdict(Outcome),
    /// What it was about.
    Finding(Aspect),
    /// The last attempt does not count.
    TakenBack,
    /// Two other ways to go on, or none of them.
    Offer,
    /// The tempo is being changed; the beat is this long.
    Tempo(Offset),
    /// A rest is due.
    Rest,
    /// Every piece is at its goal.
    AtGoal,
    /// It hurts: practice is over for today.
    Hurts,
    /// A study is coming in, or results are going out.
    Link,
    /// A result could not be kept.
    NotKept,
    /// The firmware had stopped, and the pedal has begun anew by itself.
    BegunAnew,
    /// Something is wrong with the pedal.
    Fault,
}

impl View {
    /// Its name, for a log.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::NoStudy => "no study",
            Self::Studies(_) => "choosing a study",
            Self::Choosing(_) => "choosing",
            Self::CountIn { .. } => "count-in",
            Self::Ready(_) => "ready",
            Self::Playing => "playing",
            Self::HeardPoorly(_) => "heard poorly",
            Self::Verdict(outcome) => outcome.word(),
            Self::Finding(Aspect::Notes) => "about the notes",
            Self::Finding(Aspect::Time) => "about the time",
            Self::Finding(Aspect::Sound) => "about the sound",
            Self::TakenBack => "taken back",
            Self::Offer => "offer",
            Self::Tempo(_) => "tempo",
            Self::Rest => "rest",
            Self::AtGoal => "at the goal",
            Self::Hurts => "hurts",
            Self::Link => "link",
            Self::NotKept => "not kept",
            Self::BegunAnew => "begun anew",
            Self::Fault => "fault",
        }
    }

    /// The lamps.
    pub const fn lights(&self) -> Lights {
        match *self {
            Self::NoStudy => {
                let blip = Pattern::new(0b1, 8, QUICK);
                [blip, DARK, blip]
            }
            // On the side of the switch that led here.
            Self::Studies(study) => [LIT, number(study as u16 + 1), DARK],
            Self::Choosing(chunk) => [LIT, number(chunk as u16 + 1), LIT],
            // More beats than a pattern holds are not told apart.
            Self::CountIn { beats, beat, .. } if beats > MOST_BEATS => [flashes(0, 1, 1, beat); 3],
            Self::CountIn { beats, strong, beat } => {
                let first = flashes(strong, 1, beats, beat);
                [first, flashes(0, beats, beats, beat), first]
            }
            Self::Ready(beat) => [DARK, flashes(0, 1, 1, beat), DARK],
            Self::Playing => [DARK, LIT, DARK],
            Self::HeardPoorly(beat) => {
                let thrice = Pattern::new(0b10101, 12, QUICK);
                let middle = match beat {
                    Some(beat) => flashes(0, 1, 1, beat),
                    None => LIT,
                };
                [thrice, middle, thrice]
            }
            Self::Verdict(Outcome::NeedsWork) => [LIT, DARK, DARK],
            Self::Verdict(Outcome::Passed) => [DARK, DARK, LIT],
            Self::Verdict(Outcome::Unclear) => [LIT, DARK, LIT],
            Self::Finding(about) => {
                let flickers = Pattern::new(0b01, 2, FAST);
                match about {
                    Aspect::Notes => [flickers, DARK, DARK],
                    Aspect::Time => [DARK, flickers, DARK],
                    Aspect::Sound => [DARK, DARK, flickers],
                }
            }
            Self::TakenBack => {
                let twice = Pattern::new(0b101, 8, QUICK);
                [twice, DARK, twice]
            }
            Self::Offer => [Pattern::new(0b0011, 4, QUICK), DARK, Pattern::new(0b1100, 4, QUICK)],
            Self::Tempo(beat) => [flashes(0, 1, 1, beat); 3],
            Self::Rest => [Pattern::new(0b01, 2, SLOW); 3],
            Self::AtGoal => [DARK, DARK, Pattern::new(0b101, 8, QUICK)],
            Self::Hurts => [DARK, Pattern::new(0b1, 16, QUICK), DARK],
            Self::Link => [
                Pattern::new(0b001, 3, QUICK),
                Pattern::new(0b010, 3, QUICK),
                Pattern::new(0b100, 3, QUICK),
            ],
            Self::NotKept => [DARK, Pattern::new(0b10101, 12, QUICK), DARK],
            Self::BegunAnew => [LIT, Pattern::new(0b01, 2, FAST), LIT],
            Self::Fault => [Pattern::new(0b01, 2, FAST), DARK, Pattern::new(0b10, 2, FAST)],
        }
    }
}

/// A flash at each of `lit` beats from `from` on, of `beats` that come again and again. A step is no
/// shorter than an eighth of a beat.
const fn flashes(from: u8, lit: u8, beats: u8, beat: Offset) -> Pattern {
    let mut bits = 0;
    let mut at = from;
    while at < from + lit {
        bits |= 1 << (at as u64 % MOST_BEATS as u64 * FLASHES_A_BEAT as u64);
        at += 1;
    }
    let step = Offset::from_micros(beat.as_micros() / FLASHES_A_BEAT as i32);
    Pattern::new(bits, beats.saturating_mul(FLASHES_A_BEAT), step)
}

/// A number below 100 in flashes: a long one for each ten, a short one for each one, a pause.
const fn number(number: u16) -> Pattern {
    let (mut tens, mut ones) = (number / 10 % 10, number % 10);
    let (mut bits, mut steps) = (0_u64, 0_u8);
    while tens > 0 {
        bits |= 0b111 << steps;
        steps += 4;
        tens -= 1;
    }
    while ones > 0 {
        bits |= 0b1 << steps;
        steps += 2;
        ones -= 1;
    }
    // 9 tens and 9 ones take 54 steps.
    Pattern::new(bits, steps + 6, QUICK)
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use std::vec::Vec;

    const BEAT: Offset = Offset::from_millis(600);

    fn all() -> Vec<View> {
        let mut all = std::vec![
            View::NoStudy,
            View::CountIn { beats: 4, strong: 0, beat: BEAT },
            View::Ready(BEAT),
            View::Playing,
            View::HeardPoorly(None),
            View::HeardPoorly(Some(BEAT)),
            View::TakenBack,
            View::Offer,
            View::Tempo(BEAT),
            View::Rest,
            View::AtGoal,
            View::Hurts,
            View::Link,
            View::NotKept,
            View::BegunAnew,
            View::Fault,
        ];
        all.extend((0..99).map(View::Choosing));
        all.extend((0..16).map(View::Studies));
        all.extend([Outcome::Passed, Outcome::NeedsWork, Outcome::Unclear].map(View::Verdict));
        all.extend([Aspect::Notes, Aspect::Time, Aspect::Sound].map(View::Finding));
        all
    }

    /// Twenty seconds in steps of 25 ms.
    fn seen(view: &View) -> Vec<[bool; 3]> {
        (0..800).map(|n| view.lights().map(|pattern| pattern.is_lit(n * 25_000))).collect()
    }

    #[test]
    fn no_two_views_look_the_same() {
        let all = all();
        let seen: Vec<_> = all.iter().map(seen).collect();
        for (index, view) in all.iter().enumerate() {
            for (other, b) in seen[..index].iter().enumerate() {
                assert!(seen[index] != *b, "{view:?} and {:?}", all[other]);
            }
        }
    }

    #[test]
    fn a_number_is_counted_in_long_and_short_flashes() {
        let lit: Vec<bool> = (0..20).map(|step| number(12).is_lit(step * 250_000)).collect();
        let flashes: Vec<usize> =
            lit.chunk_by(|a, b| a == b).filter(|run| run[0]).map(<[bool]>::len).collect();
        assert_eq!(flashes[..3], [3, 1, 1]);
    }

    #[test]
    fn a_count_in_flashes_once_a_beat() {
        let [side, middle, _] = View::CountIn { beats: 4, strong: 0, beat: BEAT }.lights();
        for beat in 0..4_u64 {
            assert!(middle.is_lit(beat * 600_000 + 10_000));
            assert!(!middle.is_lit(beat * 600_000 + 300_000));
            assert_eq!(side.is_lit(beat * 600_000 + 10_000), beat == 0);
        }
    }
}
