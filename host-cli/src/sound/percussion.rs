//! ClickTrack, cues and passages as notes, and when each is due. No port is touched here.
//!
//! The notes of a passage are on channel 1. Those of click and cues are those of the percussion channel: the key map of General MIDI System Level 1 (MIDI
//! Manufacturers Association, 1991), on channel 10. An instrument that knows no General MIDI
//! sounds whatever it has on those keys.

use super::Passage;
use evenhand_core::practice::ClickTrack;
use evenhand_core::verdict::Outcome;

/// Note-on and note-off on channel 10.
const ON: u8 = 0x99;
const OFF: u8 = 0x89;

/// The same on channel 1, for what is played to be listened to.
const PLAYED: u8 = 0x90;
const ENDED: u8 = 0x80;

/// A key of the map and a velocity. Velocities are our defaults.
type Stroke = (u8, u8);

/// High and low wood block, for the click.
const STRONG: Stroke = (76, 110);
const WEAK: Stroke = (77, 90);

/// High bongo, low bongo and claves, for cues.
const HIGH: Stroke = (60, 90);
const LOW: Stroke = (61, 90);
const EVEN: Stroke = (75, 80);

/// The time between the two strokes of a cue, in microseconds. Our default.
const STEP: u64 = 160_000;

/// How long a note is held, in microseconds; percussion does not mind. Our default, shorter than
/// the shortest beat that anybody counts.
const HELD: u64 = 30_000;

/// A beat that is later than this, in microseconds, is left out: the machine slept. Our default.
const TOO_LATE: u64 = 100_000;

/// A message, and when it is due, in microseconds of the sitting's clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Due {
    pub(super) at: u64,
    pub(super) message: [u8; 3],
}

/// The click that goes on: when it began, and the beat that comes next.
#[derive(Clone, Copy, Debug)]
struct Going {
    click: ClickTrack,
    at: u64,
    next: u32,
}

impl Going {
    fn due(&self) -> u64 {
        self.at.saturating_add(self.click.micros(self.next))
    }
}

/// What is to be sent, and when.
#[derive(Debug, Default)]
pub(super) struct Percussion {
    going: Option<Going>,
    /// All but beats that are still to come, in any order: there are few.
    waiting: Vec<Due>,
}

impl Percussion {
    /// Begins a click, instead of one that goes on.
    pub(super) const fn start(&mut self, click: ClickTrack, at: u64) {
        self.going = Some(Going { click, at, next: 0 });
    }

    /// No further beat begins; what sounds is ended.
    pub(super) const fn stop(&mut self) {
        self.going = None;
    }

    /// Plans the two strokes of a cue: up, down, or the same twice.
    pub(super) fn cue(&mut self, outcome: Outcome, now: u64) {
        let (first, second) = match outcome {
            Outcome::Passed => (LOW, HIGH),
            Outcome::NeedsWork => (HIGH, LOW),
            Outcome::Unclear => (EVEN, EVEN),
        };
        self.strike(first, now);
        self.strike(second, now + STEP);
    }

    fn strike(&mut self, (key, velocity): Stroke, at: u64) {
        self.waiting.push(Due { at, message: [ON, key, velocity] });
        self.waiting.push(Due { at: at.saturating_add(HELD), message: [OFF, key, 0] });
    }

    /// Plans the notes of a passage, instead of those of another one.
    pub(super) fn play(&mut self, passage: &Passage, at: u64) {
        self.hush(at);
        for note in passage.notes() {
            let (begins, key) = (at.saturating_add(note.at), note.pitch.number());
            let ends = begins.saturating_add(note.lasts.max(1));
            self.waiting.push(Due { at: begins, message: [PLAYED, key, note.velocity] });
            self.waiting.push(Due { at: ends, message: [ENDED, key, 0] });
        }
    }

    /// Ends a passage: no further note of it begins, and what sounds is ended.
    pub(super) fn hush(&mut self, now: u64) {
        self.waiting.retain(|due| due.message[0] != PLAYED);
        for due in self.waiting.iter_mut().filter(|due| due.message[0] == ENDED) {
            due.at = due.at.min(now);
        }
    }

    /// When something is due next.
    pub(super) fn next_at(&self) -> Option<u64> {
        let waiting = self.waiting.iter().map(|due| due.at).min();
        let beat = self.going.as_ref().map(Going::due);
        waiting.into_iter().chain(beat).min()
    }

    /// Takes out what is due first, if it is due by now.
    pub(super) fn take(&mut self, now: u64) -> Option<Due> {
        while let Some(going) = self.going.as_mut().filter(|going| going.due() <= now) {
            let (at, strong) = (going.due(), going.click.beat(going.next).is_strong());
            match going.next.checked_add(1) {
                Some(next) => going.next = next,
                None => self.going = None,
            }
            if now - at <= TOO_LATE {
                self.strike(if strong { STRONG } else { WEAK }, at);
            }
        }
        let first = (0..self.waiting.len()).min_by_key(|index| self.waiting[*index].at)?;
        (self.waiting[first].at <= now).then(|| self.waiting.swap_remove(first))
    }

    /// Ends at once what still sounds.
    pub(super) fn endings(&self) -> impl Iterator<Item = [u8; 3]> {
        self.waiting
            .iter()
            .map(|due| due.message)
            .filter(|message| [OFF, ENDED].contains(&message[0]))
    }
}
