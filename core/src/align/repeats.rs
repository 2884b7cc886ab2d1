//! Which of several equal notes, chords or figures is the missing one.
//!
//! When the same is written several times in a row and one of them does not come, pitch leaves
//! open which; only time tells. The dynamic programme keeps one explanation a cell, and before it
//! has heard a tempo it may keep the wrong one. Here a gap is slid along the repetition, and each
//! place is as likely as the pace is even then. It goes where half of the likelihood lies on
//! either side: if the player waited where the notes are missing, that is there, and if not (the
//! figure was played once less, and nothing tells where) it is in the middle, where the
//! fewest notes are taken for others.

use super::events::Events;
use super::milliseconds;
use super::octaves::scaled;
use super::pace::Evenness;
use super::pairing::PairingMut;
use crate::attempt::PlayedNote;
use crate::study::ExpectedNote;
use heapless::Vec;

/// Events that a gap is slid along at most, in each direction. Our default: a bar of sixteenths,
/// and few enough for the work to stay small.
const REACH: usize = 16;

/// A change of pace, in 256ths of an octave, that makes a place half as likely. Our default: what
/// the unsteadiness of two hands does to an interval. Chosen on invented figures of which notes
/// were left out, with the time kept open and without.
const HALF_AS_LIKELY: i32 = 128;

/// Events on either side of what is slid that are looked at: some of them may be missing, too.
const AROUND: usize = 4;

pub(super) fn settle(
    events: &Events,
    notes: &[ExpectedNote],
    played: &[PlayedNote],
    pairing: &mut PairingMut<'_>,
) {
    let mut repeats = Repeats { events, notes, played, pairing };
    let mut first = 0;
    while first < events.len() {
        let gap = (first..events.len()).take_while(|&event| repeats.lacks(event)).count();
        if gap > 0 {
            repeats.slide(first, gap);
        }
        first += gap.max(1);
    }
}

struct Repeats<'a, 'p> {
    events: &'a Events,
    notes: &'a [ExpectedNote],
    played: &'a [PlayedNote],
    pairing: &'a mut PairingMut<'p>,
}

impl Repeats<'_, '_> {
    /// Slides a gap of so many events to its likeliest place.
    fn slide(&mut self, first: usize, gap: usize) {
        // It may be slid over what is there again on its other side.
        let again = |from: usize, to: usize| self.are_equal(from, to) || self.lacks(from);
        let back =
            (1..=REACH.min(first)).take_while(|&by| again(first - by, first - by + gap)).count();
        let forth = (first..first + REACH).take_while(|&to| again(to + gap, to)).count();
        for event in (first - back..first).rev() {
            self.move_notes(event, event + gap);
        }
        let (lowest, highest) = (first - back, first + forth);
        let mut changes: Vec<i32, { 2 * REACH + 1 }> = Vec::new();
        let mut change = 0;
        let _ = changes.push(change);
        for event in lowest..highest {
            change -= self.changes_of_pace(event, gap);
            self.move_notes(event + gap, event);
            change += self.changes_of_pace(event, gap);
            let _ = changes.push(change);
        }
        for event in (lowest + middle(&changes)..highest).rev() {
            self.move_notes(event, event + gap);
        }
    }

    /// How much the pace changes from one interval to the next around an event and the one that a
    /// gap is away, in 256ths of an octave.
    fn changes_of_pace(&self, event: usize, gap: usize) -> i32 {
        let mut evenness = Evenness::START;
        for event in event.saturating_sub(AROUND)..=event + gap + AROUND {
            if let Some(due) = self.events.get(event).map(|event| event.due) {
                evenness.take(self.when(event), due);
            }
        }
        evenness.changes()
    }

    fn move_notes(&mut self, from: usize, to: usize) {
        if let (Some(from), Some(to)) = (self.events.get(from), self.events.get(to)) {
            for (from, to) in from.indices().zip(to.indices()) {
                if let Some(by) = self.pairing.played(from) {
                    self.pairing.part(from);
                    self.pairing.pair(to, by);
                }
            }
        }
    }

    fn are_equal(&self, a: usize, b: usize) -> bool {
        let (Some(a), Some(b)) = (self.events.get(a), self.events.get(b)) else {
            return false;
        };
        let same =
            |(a, b): (&ExpectedNote, &ExpectedNote)| a.pitch == b.pitch && a.string == b.string;
        a.is_landing() == b.is_landing()
            && a.size == b.size
            && a.notes(self.notes).iter().zip(b.notes(self.notes)).all(same)
    }

    /// Whether nothing of an event was played. A landing that was not played is no gap.
    fn lacks(&self, event: usize) -> bool {
        self.events.get(event).is_some_and(|event| !event.is_landing())
            && self.when(event).is_none()
    }

    /// When the first note of an event was played; `None` if none of it was.
    fn when(&self, event: usize) -> Option<u32> {
        let notes = self.events.get(event)?.indices();
        let played = notes.filter_map(|note| self.played.get(self.pairing.played(note)?));
        played.map(milliseconds).min()
    }
}

/// Where half of the likelihood lies on either side, of places with so much change of pace.
fn middle(changes: &[i32]) -> usize {
    let least = changes.iter().copied().min().unwrap_or(0);
    // Sums of so many stay far below 32 bits.
    let likelihood = |change: &i32| scaled(1 << 20, (least - change) * 256 / HALF_AS_LIKELY);
    let half = changes.iter().map(likelihood).sum::<u32>() / 2;
    let mut so_far = 0;
    let reached = changes.iter().position(|change| {
        so_far += likelihood(change);
        so_far > half
    });
    reached.unwrap_or(0)
}
