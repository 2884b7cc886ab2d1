//! One cell of the alignment that a chord leads to: the event explains the last few notes, in
//! whatever order they came.

use super::costs::Costs;
use super::events::{Event, Events};
use super::pace::Pace;
use super::table::{Cell, Cells, Column};
use super::together::{MOST, MatchBits, uneven};
use crate::attempt::{Onset, PlayedNote};
use crate::study::ExpectedNote;
use crate::units::{PARTIALS, Pitch};

/// What the last few played notes cost as the notes of a chord. Kept for the next event if that is
/// the same chord again, as in strumming, where every one of them could be meant.
#[derive(Default)]
pub(super) struct Chord {
    glance: Option<MatchBits>,
    /// For one played note, for two, and so on; [`u16::MAX`] where they do not fit at all.
    fits: [Option<u16>; MOST],
    pitches: Pitches,
}

/// Pitches that some of the last played notes could stand for without being wrong, a bit each: most chords are told
/// by that not to be what was played, and need no closer look.
#[derive(Default)]
struct Pitches {
    /// Of so many notes.
    of: usize,
    /// One of them may cost little where it is left over.
    is_light: bool,
    bits: [u32; 4],
}

impl Pitches {
    fn of(played: &[PlayedNote], most: usize) -> Self {
        let mut pitches = Self { of: most, ..Self::default() };
        for note in played.iter().rev().take(most) {
            pitches.is_light |= note.onset != Onset::Struck;
            pitches.put(Some(note.pitch));
            if note.string.is_some() {
                for semitones in PARTIALS {
                    pitches.put(note.pitch.transposed(-semitones));
                }
            }
        }
        pitches
    }

    fn put(&mut self, pitch: Option<Pitch>) {
        let number = pitch.map_or(0, Pitch::number);
        if let Some(bits) = self.bits.get_mut(usize::from(number >> 5)) {
            *bits |= 1 << (number & 31);
        }
    }

    fn has(&self, pitch: Pitch) -> bool {
        let bits = self.bits.get(usize::from(pitch.number() >> 5)).copied().unwrap_or(0);
        bits >> (pitch.number() & 31) & 1 != 0
    }

    /// How many of these notes can be among them, at most; `None` if that says nothing of the cost.
    fn likely(&self, expected: &[ExpectedNote]) -> Option<u32> {
        let likely = expected.iter().filter(|wanted| self.has(wanted.pitch));
        (!self.is_light).then(|| likely.count() as u32)
    }
}

impl Chord {
    /// The cheapest way to match `event` with some of the last notes, from the column `before` it,
    /// that costs no more than `limit`: the cell, and how many notes.
    // Not inlined: single notes are most of what is played, and the loop over them shall have
    // the few registers to itself.
    #[inline(never)]
    pub(super) fn match_with(
        &mut self,
        (index, event): (usize, &Event),
        expected: &[ExpectedNote],
        events: &Events,
        (cells, before): (&Cells, Column),
        (costs, played): (&Costs, &[PlayedNote]),
        mut limit: u16,
    ) -> Option<(Cell, u8)> {
        // A trill goes on over some events only.
        if !event.is_repeated() || events.has_trills() {
            self.glance = None;
            self.fits = [None; MOST];
        }
        let row = played.len();
        let most = event.most_notes().min(row);
        if self.pitches.of != most {
            self.pitches = Pitches::of(played, most);
        }
        let likely = if events.has_trills() { None } else { self.pitches.likely(expected) };
        let mut found = None;
        for (notes, fits) in (1..=most).zip(&mut self.fits) {
            let from = cells.before(before, notes);
            let so_much = match likely {
                Some(likely) => {
                    let likely = likely.min(notes as u32);
                    uneven(costs, expected.len() as u32 - likely, notes as u32 - likely)
                }
                // Even with all of them right, this many would be left over or out.
                None => {
                    notes.saturating_sub(expected.len()) as u16 * costs.trilled
                        + expected.len().saturating_sub(notes) as u16 * costs.missing
                }
            };
            if from.cost.saturating_add(so_much) > limit {
                continue;
            }
            let glance = self
                .glance
                .get_or_insert_with(|| MatchBits::at(events, index + 1, expected, played, most));
            if from.cost.saturating_add(glance.at_least(costs, notes)) > limit {
                continue;
            }
            let cost = *fits.get_or_insert_with(|| glance.cost(costs, notes).unwrap_or(u16::MAX));
            let matched = from.cost.saturating_add(cost);
            if cost == u16::MAX || matched > limit {
                continue;
            }
            let first = row - notes;
            let mut pace = Pace::of(costs, events.list(), played, first);
            let Some(time) = pace.time(from, event, limit - matched) else { continue };
            let matched = matched.saturating_add(time.price + pace.spread(event, row - 1));
            if matched <= limit {
                limit = matched;
                found = Some((from.matched(index, first, matched, time.tempo), notes as u8));
            }
        }
        found
    }
}
