//! What an attempt showed of each event of a piece: reached or not, as written or not.

use crate::classify::{Rates, deviations};
use crate::measure::{Material, NoteSet};
use crate::study::Marks;
use crate::units::Pitch;
use crate::verdict::{Kind, Severity, Verdict};
use heapless::Vec;

/// Wrong pitches of one attempt that are kept. Our default: who plays more of them wrong plays something
/// else.
const WRONG_PITCHES: usize = 4;

/// Another pitch in place of the one that is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct WrongPitch {
    /// At which event of the piece, counted from 0.
    pub event: u8,
    /// The pitch that is written there.
    pub written: Pitch,
    /// The pitch that came.
    pub played: Pitch,
}

/// Which events of a piece an attempt reached, and which of them failed. Events are counted from 0, the
/// landing's is the last; of a piece of more than 255 events the last ones are not told apart.
///
/// What may have been the pickup's doing is not held against a place.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct EventResults {
    events: u8,
    from: u8,
    until: u8,
    is_broken_off: bool,
    failed: NoteSet,
    wrong: Vec<WrongPitch, WRONG_PITCHES>,
}

impl EventResults {
    /// Of an attempt that shows nothing.
    pub const NONE: Self = Self {
        events: 0,
        from: 0,
        until: 0,
        is_broken_off: false,
        failed: NoteSet::NONE,
        wrong: Vec::new(),
    };

    /// What an attempt showed. Where it broke off, the event that did not come any more has failed.
    // Not inlined: what it takes of the stack is given back before practice goes on.
    #[inline(never)]
    pub fn of(material: Material<'_>, verdict: &Verdict) -> Self {
        let has = |kind| verdict.finding(kind).is_some();
        let nothing =
            [Kind::NothingHeard, Kind::NotThisChunk, Kind::PoorHearing, Kind::TooManyNotes];
        let matched = || {
            let notes = 0..material.chunk.notes().len();
            notes.filter(|&note| material.pairing.played(note).is_some())
        };
        let (Some(first), Some(last)) = (matched().next(), matched().next_back()) else {
            return Self::NONE;
        };
        if nothing.into_iter().any(has) {
            return Self::NONE;
        }
        let events = u8::try_from(material.events().count()).unwrap_or(u8::MAX);
        let is_broken_off = has(Kind::BrokenOff);
        let left_out = u8::from(has(Kind::LandingNotPlayed) || lands_unheard(material, last));
        let until = if is_broken_off {
            event_of(material, last).saturating_add(2).min(events)
        } else {
            events.saturating_sub(left_out)
        };
        let from = if has(Kind::BegunMidway) { event_of(material, first) } else { 0 };
        let mut results =
            Self { events, from, until, is_broken_off, failed: NoteSet::NONE, wrong: Vec::new() };
        results.mark_slips(material);
        for finding in &verdict.findings {
            if finding.severity == Severity::Fails
                && is_at_a_place(finding.kind)
                && let Some(note) = finding.note
            {
                results.fail(event_of(material, note.into()));
            }
        }
        if is_broken_off {
            results.fail(until.saturating_sub(1));
        }
        results
    }

    fn mark_slips(&mut self, material: Material<'_>) {
        let rates = Rates::of(material);
        for slip in deviations(material, &rates).filter(|slip| !slip.is_open) {
            let Some(place) = slip.place else { continue };
            let event = event_of(material, place);
            if !self.has_reached(event) {
                continue;
            }
            self.fail(event);
            if let (false, Some(played)) = (slip.is_beside, slip.pitch)
                && let Some(written) = material.chunk.notes().get(place)
            {
                // Those beyond the capacity are slips still.
                let _ = self.wrong.push(WrongPitch { event, written: written.pitch, played });
            }
        }
    }

    /// An event failed.
    pub fn fail(&mut self, event: u8) {
        if self.has_reached(event) {
            self.failed.insert(event.into());
        }
    }

    /// An attempt that reached all of so many events, and in which nothing failed.
    pub fn clean(events: u8) -> Self {
        Self { events, until: events, ..Self::NONE }
    }

    /// An attempt at so many events that stopped before event `at`.
    pub fn stopped(events: u8, at: u8) -> Self {
        let until = at.saturating_add(1).min(events);
        let mut results = Self { events, until, is_broken_off: true, ..Self::NONE };
        results.fail(at);
        results
    }

    /// The same with another pitch at its event.
    #[must_use]
    pub fn with_wrong(mut self, wrong: WrongPitch) -> Self {
        self.fail(wrong.event);
        let _ = self.wrong.push(wrong);
        self
    }

    /// How many events the piece has.
    pub const fn events(&self) -> u8 {
        self.events
    }

    /// Whether an event was reached, failed or not.
    pub const fn has_reached(&self, event: u8) -> bool {
        self.from <= event && event < self.until
    }

    /// Whether an event was reached and failed.
    pub fn has_failed(&self, event: u8) -> bool {
        self.has_reached(event) && self.failed.has(event.into())
    }

    /// How many events failed.
    pub fn failures(&self) -> usize {
        self.failed.count()
    }

    /// Whether it stopped on the way.
    pub const fn is_broken_off(&self) -> bool {
        self.is_broken_off
    }

    /// The other pitches that came, of those that are kept.
    pub fn wrong(&self) -> &[WrongPitch] {
        &self.wrong
    }
}

/// Whether only the landing's notes come after this note.
fn lands_unheard(material: Material<'_>, last: usize) -> bool {
    let mut beyond = material.chunk.notes().iter().skip(last.saturating_add(1)).peekable();
    beyond.peek().is_some() && beyond.all(|note| note.marks.has(Marks::LANDING))
}

/// The event that an expected note belongs to.
fn event_of(material: Material<'_>, note: usize) -> u8 {
    let event = material.events().position(|event| event.contains(&note));
    event.and_then(|event| u8::try_from(event).ok()).unwrap_or(u8::MAX)
}

/// Whether a finding of this kind is about the place it is told at, and not about the whole attempt.
const fn is_at_a_place(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::SwappedNotes
            | Kind::Return
            | Kind::OffBeat
            | Kind::Hesitation
            | Kind::HesitationAtShift
            | Kind::OnsetOffClick
            | Kind::LandingNotes
            | Kind::LandingTime
            | Kind::SpreadLanding
            | Kind::LoudNotes
            | Kind::SoftNotes
            | Kind::WeakSlurs
            | Kind::WeakAccents
            | Kind::SpreadChords
            | Kind::ShortTrill
            | Kind::UnevenTrill
            | Kind::TrillRepeats
            | Kind::TrillStopsEarly
            | Kind::HeldNotes
            | Kind::LongStaccato
    )
}
