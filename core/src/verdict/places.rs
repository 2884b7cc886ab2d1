//! What is open of an attempt, settled by those before it at the same chunk and tempo: a slip of the hand
//! recurs at its place, noise of a converter moves.
//!
//! * An expected note that was *not heard* counts as heard if one of the last attempts had it; a place that
//!   never was heard right never passes. If it is missing, or comes as the same other pitch, again and
//!   again, that speaks for the hand, and it is charged; but never a stroke of a note that sounds on, which
//!   converters lose each time and hands leave out without a trace alike.
//! * A note *in doubt* beside them is charged if it comes again, and taken back if the attempts before did
//!   not have it.
//!
//! Weights of evidence are added up in decibans, see `classify/weight.rs`. How much a recurrence speaks for
//! the hand follows from how often the mistakes of a free pitch tracker recurred on strings that we made:
//! lost strokes in one of four attempts, second triggers in one of five, what a lifted finger and a
//! neighbouring string leave in half of them or more, the rest nearly never. A hand's slip recurs in seven
//! of ten attempts (our default).

use super::{Finding, Kind, SettledBy, Severity, Size, Verdict};
use crate::align::Material;
use crate::classify::{Deviation, ENOUGH, Rates, count, deviations, looks_mistracked};
use crate::limits::FINDINGS;
use crate::measure::NoteSet;
use crate::pickup::{Habits, Mistakes, ONE, TrackingError};
use crate::units::GuitarString;
use core::num::NonZeroU8;
use heapless::Vec;

/// So many attempts before are looked at. Our default.
const BEFORE: usize = 3;

/// So many of them are kept of an attempt; those beyond are as if they had not come before.
const KEPT: usize = 16;

/// How much speaks against the hand that an attempt before did not have a note in doubt: a slip recurs in
/// seven of ten.
const NOT_BEFORE: i32 = 5;

/// What became of an open note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Settled {
    /// It was a slip.
    Charged,
    /// It was the pickup's.
    TakenBack,
    /// It is open still.
    Open,
}

/// What came otherwise than it is written, and how often it has in a row.
#[derive(Clone, Copy, Debug)]
struct Doubt {
    /// The expected note, [`NOWHERE`] for none.
    place: u16,
    /// As a MIDI note number, [`NO_PITCH`] for none.
    pitch: u8,
    is_beside: bool,
    times: u8,
    /// Which mistake of the pickup's it looked like, on which string, although it was charged.
    looked_like: Option<Look>,
}

/// A mistake and a string, in a byte: three bits for the mistake, and a string's number or 0.
#[derive(Clone, Copy, Debug)]
struct Look(NonZeroU8);

impl Look {
    fn of(error: TrackingError, string: Option<GuitarString>) -> Option<Self> {
        let string = string.map_or(0, |string| string.number());
        NonZeroU8::new((error as u8 + 1) << 4 | string).map(Self)
    }

    fn get(self) -> Option<(TrackingError, Option<GuitarString>)> {
        let error = TrackingError::ALL.get(usize::from(self.0.get() >> 4).wrapping_sub(1))?;
        Some((*error, GuitarString::new(self.0.get() & 15)))
    }
}

/// In place of an expected note, of which no chunk has so many.
const NOWHERE: u16 = u16::MAX;

/// In place of a pitch, which has seven bits.
const NO_PITCH: u8 = u8::MAX;

/// A pedal keeps many of them.
const _: () = assert!(size_of::<Doubt>() <= 6);

impl Doubt {
    fn of(material: Material<'_>, note: &Deviation) -> Self {
        // Which note of a chord came last before a note beside them is chance.
        let notes = material.chunk.notes();
        let onset = |place: usize| notes.get(place).map(|note| note.onset);
        let first_of = |place: usize| {
            (0..place).rev().take_while(|&other| onset(other) == onset(place)).last()
        };
        let place = note
            .place
            .map(|place| if note.is_beside { first_of(place).unwrap_or(place) } else { place });
        Self {
            place: place.map_or(NOWHERE, |place| place as u16),
            pitch: note.pitch.map_or(NO_PITCH, |pitch| pitch.number()),
            is_beside: note.is_beside,
            times: 1,
            looked_like: None,
        }
    }

    /// Whether it is the same once more.
    fn is(&self, other: &Self) -> bool {
        (self.place, self.pitch, self.is_beside) == (other.place, other.pitch, other.is_beside)
    }
}

/// How many notes, and the first of them.
#[derive(Clone, Copy, Debug, Default)]
struct Notes {
    count: u16,
    first: Option<u16>,
}

/// What attempts have shown of each place of a chunk.
#[derive(Clone, Debug, Default)]
pub(super) struct Places {
    /// The expected notes that each of the last attempts had, the newest first; and those of the one
    /// that would be looked at again if the newest were taken back.
    heard: [NoteSet; BEFORE + 1],
    attempts: u8,
    doubts: Vec<Doubt, KEPT>,
    /// What the newest attempt changed.
    before: Before,
}

/// What was known before an attempt.
#[derive(Clone, Debug, Default)]
struct Before {
    attempts: u8,
    doubts: Vec<Doubt, KEPT>,
    /// The attempt was kept.
    is_kept: bool,
    /// What was charged to the hand in it.
    charged: Mistakes,
}

impl Before {
    const NOTHING: Self =
        Self { attempts: 0, doubts: Vec::new(), is_kept: false, charged: Mistakes::NONE };
}

impl Places {
    pub(super) const fn new() -> Self {
        Self {
            heard: [NoteSet::NONE; BEFORE + 1],
            attempts: 0,
            doubts: Vec::new(),
            before: Before::NOTHING,
        }
    }

    /// An attempt comes, which may be taken back until the next.
    pub(super) fn begin(&mut self) {
        self.before.attempts = self.attempts;
        self.before.doubts.clear();
        // As many as there is room for.
        let _ = self.before.doubts.extend_from_slice(&self.doubts);
        (self.before.is_kept, self.before.charged) = (false, Mistakes::NONE);
    }

    /// The newest attempt is as if it had not been played. Gives the mistakes that the pickup would have
    /// made in place of the slips that were charged: what was open counts as half a mistake of it anyway.
    pub(super) fn take_back(&mut self) -> Mistakes {
        if self.before.is_kept {
            self.heard.rotate_left(1);
        }
        self.attempts = self.before.attempts;
        core::mem::swap(&mut self.doubts, &mut self.before.doubts);
        self.before.charged
    }

    /// How many attempts before are looked at.
    pub(super) const fn attempts(&self) -> u8 {
        self.attempts
    }

    /// Forgets all attempts. In place.
    pub(super) fn clear(&mut self) {
        self.attempts = 0;
        self.doubts.clear();
    }

    /// Settles what is open of an attempt, keeps it, and lets `habits` learn from it. Gives the verdict
    /// that follows, if it is another one.
    // Not inlined: what it takes of the stack is given back before attempts are measured.
    #[inline(never)]
    pub(super) fn settle(
        &mut self,
        material: Material<'_>,
        verdict: &Verdict,
        habits: &mut Habits,
    ) -> Option<Verdict> {
        let rates = Rates::of(material);
        count(material, habits);
        let mut doubts: Vec<Doubt, KEPT> = Vec::new();
        let mut told = Told::default();
        for note in deviations(material, &rates) {
            let mut doubt = Doubt::of(material, &note);
            let before = self.doubts.iter().find(|before| before.is(&doubt)).map_or(0, |d| d.times);
            doubt.times = before.saturating_add(1);
            let mut settled = Settled::Charged;
            if note.is_likely {
                settled = self.settled(&note, before);
                if settled == Settled::Charged {
                    told.count(&note, settled);
                }
            }
            if note.is_open {
                settled = self.settled(&note, before);
                learn(habits, &note, settled, before);
                told.count(&note, settled);
            }
            if settled == Settled::Charged {
                self.before.charged.insert(note.string, note.error);
                let looked_like = looks_mistracked(material, &note);
                doubt.looked_like = looked_like.and_then(|error| Look::of(error, note.string));
            }
            let _ = doubts.push(doubt);
        }
        self.learn_from_what_healed(material, habits);
        self.doubts = doubts;
        self.keep(material);
        // Where slips are allowed, one that nothing but its coming again tells of is.
        let is_strict = material.chunk.tolerances().notes_a_slip == 0;
        told.verdict(verdict, is_strict)
    }

    /// What looked like a mistake of the pickup's, was charged, and is right the next time, was half of one.
    fn learn_from_what_healed(&self, material: Material<'_>, habits: &mut Habits) {
        for doubt in &self.doubts {
            let look = doubt.looked_like.and_then(Look::get);
            if let Some((error, string)) = look
                && material.right(doubt.place.into()).is_some()
            {
                habits.string_mut(string).count(error, ONE / 2);
            }
        }
    }

    /// Keeps which notes were heard.
    fn keep(&mut self, material: Material<'_>) {
        self.heard.rotate_right(1);
        let mut heard = NoteSet::NONE;
        material.right_notes().for_each(|(index, ..)| heard.insert(index));
        if let Some(newest) = self.heard.first_mut() {
            *newest = heard;
        }
        self.attempts = (self.attempts + 1).min(BEFORE as u8);
        self.before.is_kept = true;
    }

    /// What an open note was that has come so often before, in a row.
    fn settled(&self, note: &Deviation, before: u8) -> Settled {
        let attempts = usize::from(self.attempts);
        let again = recurs(note.error) * i32::from(before);
        if note.is_beside {
            let without = i32::from(self.attempts.saturating_sub(before));
            return match note.weight + again - NOT_BEFORE * without {
                ENOUGH.. => Settled::Charged,
                weight if weight > -ENOUGH => Settled::Open,
                _ => Settled::TakenBack,
            };
        }
        let heard =
            |index: usize| self.heard.iter().take(attempts).filter(|set| set.has(index)).count();
        let times_heard = note.place.map_or(0, heard) as i32;
        match note.pitch {
            None if times_heard > 0 && note.weight - NOT_BEFORE * times_heard <= -ENOUGH => {
                Settled::TakenBack
            }
            // What came as another pitch is nearer to a slip than what did not come: that the hand can play
            // the note says nothing of a pickup that is not known to make this mistake.
            Some(_)
                if times_heard > 0
                    && note.weight < 0
                    && note.weight - NOT_BEFORE * times_heard <= -ENOUGH =>
            {
                Settled::TakenBack
            }
            _ if note.error == TrackingError::LostRepeat => Settled::Open,
            _ if before > 0 && note.weight + again >= ENOUGH => Settled::Charged,
            _ => Settled::Open,
        }
    }
}

/// How much speaks for the hand that a mistake comes again at its place, in decibans: 10 · log10 of
/// seven in ten over how often this mistake of a converter's does.
const fn recurs(error: TrackingError) -> i32 {
    match error {
        TrackingError::Lost => 5,
        TrackingError::Double => 6,
        TrackingError::Ghost | TrackingError::Trailing => 1,
        TrackingError::Octave | TrackingError::Blip | TrackingError::Stale => 8,
        TrackingError::LostRepeat => 0,
    }
}

/// What is learnt from an open note: a mistake where it turned out to be one, half of one while it is
/// open, but not once more where it comes again, and nothing where the hand made it.
fn learn(habits: &mut Habits, note: &Deviation, settled: Settled, before: u8) {
    let sixteenths = match settled {
        Settled::Charged => 0,
        Settled::TakenBack => ONE,
        Settled::Open if before > 0 => 0,
        Settled::Open => ONE / 2,
    };
    habits.string_mut(note.string).count(note.error, sixteenths);
}

/// What is to be told of open notes.
#[derive(Default)]
struct Told {
    wrong: Notes,
    missing: Notes,
    extra: Notes,
    not_heard: Notes,
    in_doubt: Notes,
}

impl Told {
    fn count(&mut self, note: &Deviation, settled: Settled) {
        let notes = match (settled, note.is_beside) {
            (Settled::TakenBack, _) => return,
            (Settled::Charged, true) => &mut self.extra,
            (Settled::Charged, false) if note.pitch.is_some() => &mut self.wrong,
            (Settled::Charged, false) => &mut self.missing,
            (Settled::Open, true) => &mut self.in_doubt,
            (Settled::Open, false) => &mut self.not_heard,
        };
        if notes.count == 0 {
            notes.first = note.place.map(|place| place as u16);
        }
        notes.count += 1;
    }

    /// The verdict with this in place of what was open of the attempt alone; none where nothing was, or
    /// nothing is settled.
    fn verdict(&self, verdict: &Verdict, is_strict: bool) -> Option<Verdict> {
        let is_open = |f: &&Finding| {
            f.severity == Severity::Unsettled
                && matches!(f.kind, Kind::NotesNotHeard | Kind::NotesInDoubt)
        };
        let open = verdict.findings.iter().find(is_open).map(|finding| finding.limit);
        let comes_again = is_strict && self.extra.count > 0;
        let limit = open.or(comes_again.then_some(Size::Notes(0)))?;
        let open = verdict.findings.iter().filter(is_open).map(|finding| finding.count).sum();
        if self.not_heard.count + self.in_doubt.count == open && !comes_again {
            return None;
        }
        let mut findings: Vec<Finding, FINDINGS> =
            verdict.findings.iter().filter(|finding| !is_open(finding)).copied().collect();
        let open = (Severity::Unsettled, SettledBy::AnotherAttempt);
        let slip = (Severity::Fails, SettledBy::Nothing);
        let told = [
            (Kind::WrongNotes, self.wrong, slip),
            (Kind::MissingNotes, self.missing, slip),
            (Kind::ExtraNotes, self.extra, slip),
            (Kind::NotesNotHeard, self.not_heard, open),
            (Kind::NotesInDoubt, self.in_doubt, open),
        ];
        for (kind, notes, (severity, settled_by)) in told {
            if notes.count == 0 {
                continue;
            }
            if let Some(finding) = findings.iter_mut().find(|finding| finding.kind == kind) {
                finding.count += notes.count;
                finding.size = Size::Notes(finding.count);
                (finding.severity, finding.settled_by) = (severity, settled_by);
                continue;
            }
            let size = Size::Notes(notes.count);
            let (count, note, weight) = (notes.count, notes.first, OPEN_WEIGHT);
            let _ = findings.push(Finding {
                kind,
                severity,
                note,
                count,
                size,
                limit,
                weight,
                settled_by,
            });
        }
        Some(Verdict::of(findings))
    }
}

/// A slip that attempts agree on weighs as one of a single attempt.
const OPEN_WEIGHT: u16 = 4_000;
