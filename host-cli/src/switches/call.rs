//! A choice made with the guitar alone: a short figure that is in no music, alone between silences, and then
//! one open string.

use crate::study::PitchName;
use evenhand_core::units::{Instant, Offset, Pitch};
use std::fmt;
use std::str::FromStr;

/// So long nothing is played before the figure. Our default: no attempt is under way any more.
const BEFORE: Offset = Offset::from_millis(2_000);

/// From one note of the figure to the next at most. Our default.
const WITHIN: Offset = Offset::from_millis(1_000);

/// So long nothing is played after it. Our default: whoever goes on is playing music.
const AFTER: Offset = Offset::from_millis(600);

/// The same note again within this time is the pickup's, not the hand's. Our default: as where double
/// triggers are told.
const DOUBLE: Offset = Offset::from_millis(60);

/// So long a string is waited for. Our default: time to read six lines.
const PATIENCE: Offset = Offset::from_millis(8_000);

/// A string may be tuned so many semitones below the usual tuning and is still known: a whole tone is as far
/// as is usual (common practice), and neighbours are four apart at least.
const TUNED_DOWN: u8 = 2;

/// The open strings in standard tuning, string 1 first.
const STRINGS: [u8; 6] = [64, 59, 55, 50, 45, 40];

/// A figure has so many notes at least, so that nobody plays it by chance, and at most, so that it is
/// learnt at once. Our default.
pub const LENGTHS: std::ops::RangeInclusive<usize> = 3..=6;

/// A figure: what is played, in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure(Vec<Pitch>);

/// Why notes are no figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoFigure {
    /// There are too few of them or too many.
    Length(usize),
    /// They lie so close together that music has them.
    Near,
    /// One of them is no name of a pitch.
    NoPitch,
}

impl Figure {
    /// The figure that is proposed: the lowest open string and the highest, twice each. No hand is needed on
    /// the neck, and music rarely leaps two octaves up and down and up, and then stops.
    pub fn proposed() -> Self {
        let pitch = |string: usize| STRINGS.get(string).and_then(|number| Pitch::new(*number));
        Self([5, 0, 5, 0].into_iter().filter_map(pitch).collect())
    }

    /// A figure of these notes, which have a leap of an octave among them at least.
    pub fn new(notes: Vec<Pitch>) -> Result<Self, NoFigure> {
        if !LENGTHS.contains(&notes.len()) {
            return Err(NoFigure::Length(notes.len()));
        }
        let leaps = |two: &[Pitch]| two[0].number().abs_diff(two[1].number()) >= 12;
        if !notes.windows(2).any(leaps) {
            return Err(NoFigure::Near);
        }
        Ok(Self(notes))
    }

    /// Whether these notes hold it: it is not to be used where they are practised.
    pub fn is_in(&self, notes: &[Pitch]) -> bool {
        notes.windows(self.0.len()).any(|some| some == self.0)
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, pitch) in self.0.iter().enumerate() {
            let before = if index == 0 { "" } else { " " };
            write!(f, "{before}{}", PitchName::of(*pitch))?;
        }
        Ok(())
    }
}

impl FromStr for Figure {
    type Err = NoFigure;

    fn from_str(text: &str) -> Result<Self, NoFigure> {
        let pitch = |word| PitchName::read(word).map(PitchName::pitch);
        let notes: Option<Vec<_>> = text.split_whitespace().map(pitch).collect();
        Self::new(notes.ok_or(NoFigure::NoPitch)?)
    }
}

/// What the guitar said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Heard {
    /// Nothing to do with a call: it may be music.
    Music,
    /// This open string, 1 to 6, as a choice.
    String(u8),
}

/// Listens for a figure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Call {
    figure: Figure,
    /// So many of its notes have come.
    come: usize,
    last: Option<(Pitch, Instant)>,
    /// It has come: a string is waited for until then.
    open: Option<Instant>,
}

impl Call {
    /// Listens for this figure.
    pub const fn new(figure: Figure) -> Self {
        Self { figure, come: 0, last: None, open: None }
    }

    /// The figure.
    pub const fn figure(&self) -> &Figure {
        &self.figure
    }

    /// A note began.
    pub(super) fn hear(&mut self, pitch: Pitch, at: Instant) -> Heard {
        let before = self.last.replace((pitch, at));
        if before.is_some_and(|(other, last)| other == pitch && at.since(last) <= DOUBLE) {
            return Heard::Music;
        }
        if let Some(until) = self.open.take() {
            self.come = 0;
            if at <= until
                && let Some(string) = string_of(pitch)
            {
                return Heard::String(string);
            }
            return Heard::Music;
        }
        let quiet = before.is_none_or(|(_, last)| at.since(last) >= BEFORE);
        let goes_on = before.is_some_and(|(_, last)| at.since(last) <= WITHIN);
        let is = |index: usize| self.figure.0.get(index) == Some(&pitch);
        self.come = match self.come {
            _ if quiet => usize::from(is(0)),
            come @ 1.. if goes_on && is(come) => come + 1,
            _ => 0,
        };
        Heard::Music
    }

    /// Whether the figure has come, alone.
    pub(super) fn poll(&mut self, now: Instant) -> bool {
        if self.poll_at().is_none_or(|until| now < until) {
            return false;
        }
        self.come = 0;
        self.open = Some(now.plus(PATIENCE));
        true
    }

    /// When that is known.
    pub(super) fn poll_at(&self) -> Option<Instant> {
        let (_, last) = self.last.filter(|_| self.come == self.figure.0.len())?;
        Some(last.plus(AFTER))
    }
}

/// The string that is open at this pitch.
fn string_of(pitch: Pitch) -> Option<u8> {
    let is_its = |open: &u8| (0..=TUNED_DOWN).any(|down| pitch.number() + down == *open);
    let index = STRINGS.iter().position(is_its)?;
    u8::try_from(index + 1).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pitch(number: u8) -> Pitch {
        Pitch::new(number).unwrap()
    }

    /// What is made of these notes, each with its time in milliseconds: when a call was heard, and the string
    /// that was chosen.
    fn told(notes: &[(u8, u64)]) -> (Option<u64>, Option<u8>) {
        let mut call = Call::new(Figure::proposed());
        let at = |millis: u64| Instant::from_micros(millis * 1_000);
        let (mut called, mut string) = (None, None);
        for now in 0..30_000 {
            if call.poll(at(now)) {
                called = Some(now);
            }
            for (note, _) in notes.iter().filter(|(_, when)| *when == now) {
                if let Heard::String(chosen) = call.hear(pitch(*note), at(now)) {
                    string = Some(chosen);
                }
            }
        }
        (called, string)
    }

    const FIGURE: [(u8, u64); 4] = [(40, 5_000), (64, 5_300), (40, 5_600), (64, 5_900)];

    fn with(more: &[(u8, u64)]) -> Vec<(u8, u64)> {
        [&FIGURE[..], more].concat()
    }

    #[test]
    fn the_figure_alone_and_then_a_string() {
        assert_eq!(told(&FIGURE), (Some(6_500), None));
        assert_eq!(told(&with(&[(59, 8_000)])), (Some(6_500), Some(2)));
        // A string that is tuned down is known as well.
        assert_eq!(told(&with(&[(38, 8_000)])), (Some(6_500), Some(6)));
        // A pickup that hears one twice does not spoil it.
        assert_eq!(told(&with(&[(40, 5_640), (59, 8_000)])), (Some(6_500), Some(2)));
    }

    #[test]
    fn music_is_no_call() {
        // Played on, played just before, too slow, another note.
        assert_eq!(told(&with(&[(60, 6_300)])), (None, None));
        assert_eq!(told(&with(&[(60, 3_500)])), (None, None));
        assert_eq!(told(&[(40, 5_000), (64, 5_300), (40, 5_600), (64, 6_700)]), (None, None));
        assert_eq!(told(&[(40, 5_000), (64, 5_300), (41, 5_600), (64, 5_900)]), (None, None));
        // What is played after it instead of a string, or much later, is music.
        assert_eq!(told(&with(&[(61, 8_000), (59, 9_000)])).1, None);
        assert_eq!(told(&with(&[(59, 15_000)])).1, None);
    }

    #[test]
    fn a_figure_is_not_to_be_played_by_chance() {
        let of = |numbers: &[u8]| Figure::new(numbers.iter().copied().map(pitch).collect());
        assert_eq!(of(&[40, 64]), Err(NoFigure::Length(2)));
        assert_eq!(of(&[40; 7]), Err(NoFigure::Length(7)));
        assert_eq!(of(&[40, 45, 50]), Err(NoFigure::Near));
        assert!(of(&[40, 52, 40]).is_ok());
        assert_eq!("E2 E4 E2 E4".parse(), Ok(Figure::proposed()));
        assert_eq!(Figure::proposed().to_string(), "E2 E4 E2 E4");
        assert_eq!("E2 H4 E2".parse::<Figure>(), Err(NoFigure::NoPitch));
    }

    #[test]
    fn music_that_holds_it_is_found() {
        let notes: Vec<_> = [45, 40, 64, 40, 64, 50].into_iter().map(pitch).collect();
        assert!(Figure::proposed().is_in(&notes));
        assert!(!Figure::proposed().is_in(&notes[2..]));
    }
}
