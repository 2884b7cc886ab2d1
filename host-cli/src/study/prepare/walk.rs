//! Walks along one voice and notes what sounds when.

mod repeat;

use super::Slur;
use super::bars::BarCheck;
use super::guitar::Guitar;
use super::note;
use super::playable::Sounding;
use super::slur;
use crate::study::model::{Again, FigureText, Item, Note, Sound, Step, Tuplet, VoiceLine};
use crate::study::note_value::{NoteValue, Ratio, as_fraction};
use crate::study::print;
use crate::study::problem::quote;
use crate::study::report::Report;
use crate::study::span::Span;
use evenhand_core::limits;
use evenhand_core::study::Attack;
use evenhand_core::units::Ticks;
use std::ops::Range;

/// How much a voice may hold, and what it is part of, for messages.
#[derive(Clone, Copy)]
pub(super) struct Room {
    pub(super) notes: usize,
    pub(super) quarters: u32,
    pub(super) of: &'static str,
    pub(super) instead: &'static str,
}

/// What the judge takes in a chunk.
pub(super) const CHUNK: Room = Room {
    notes: limits::EXPECTED_NOTES,
    quarters: limits::CHUNK_QUARTERS,
    of: "a chunk",
    instead: "two chunks",
};

/// Where bars stand that a voice names, if it may name any.
pub(super) type Bars<'a> = Option<&'a dyn Fn(Again) -> Option<Range<Ticks>>>;

/// The guitar, and the figures that a voice may name.
#[derive(Clone, Copy)]
pub(super) struct Hands<'g> {
    pub(super) guitar: &'g Guitar,
    pub(super) figures: &'g [FigureText],
}

/// The state along one voice.
pub(super) struct VoiceWalk<'g> {
    hands: Hands<'g>,
    room: Room,
    voice: u8,
    at: Ticks,
    value: Option<NoteValue>,
    bars: BarCheck,
    sounding: Vec<Sounding>,
    /// The notes that a tie would lengthen; none after a rest.
    last: Option<Range<usize>>,
    /// The last note on each string since the last rest; a slur starts from it.
    on_string: [Option<usize>; 9],
    /// Too long or too full: the rest of the voice is not walked.
    full: bool,
}

impl<'g> VoiceWalk<'g> {
    /// The start of a voice.
    pub(super) const fn new(hands: Hands<'g>, room: Room, voice: u8, bars: BarCheck) -> Self {
        Self {
            hands,
            room,
            voice,
            at: Ticks::ZERO,
            value: None,
            bars,
            sounding: Vec::new(),
            last: None,
            on_string: [None; 9],
            full: false,
        }
    }

    /// Walks along one line of the voice.
    pub(super) fn line(&mut self, line: &VoiceLine, again: Bars<'_>, report: &mut Report<'_>) {
        if self.full {
            return;
        }
        for item in &line.items {
            match &item.value {
                Item::Figure(used) => self.figure(used, item.span, report),
                Item::Again(written) => self.again(*written, again, item.span, report),
                Item::Step(step) => self.step(step, item.span, None, report),
                Item::Barline => self.bars.barline(self.at, item.span, report),
                Item::Tuplet(tuplet) => self.tuplet(tuplet, item.span, report),
            }
            if self.full {
                return;
            }
        }
    }

    /// What sounded, and how long the voice lasts.
    pub(super) fn finish(self) -> (Vec<Sounding>, Ticks) {
        (self.sounding, self.at)
    }

    /// How long the voice is so far.
    pub(super) const fn at(&self) -> Ticks {
        self.at
    }

    /// Whether the rest of the voice is not walked.
    pub(super) const fn is_full(&self) -> bool {
        self.full
    }

    /// Silence until then, where the next bar begins, in what may be another metre.
    pub(super) fn go_on(&mut self, at: Ticks, bars: BarCheck) {
        if self.at != at {
            self.last = None;
            self.on_string = [None; 9];
        }
        self.at = at;
        self.bars = bars;
    }

    fn too_many(&mut self, span: Span, report: &mut Report<'_>) {
        let Room { notes, of, instead, .. } = self.room;
        report.add(span, format!("more than {notes} notes in {of}"), instead);
        self.full = true;
    }

    fn tuplet(&mut self, tuplet: &Tuplet, span: Span, report: &mut Report<'_>) {
        let mut written = Ticks::ZERO;
        for step in &tuplet.steps {
            self.step(&step.value, step.span, Some(tuplet.ratio), report);
            if self.full {
                return;
            }
            if !matches!(step.value, Step::Value(_)) {
                written = written.plus(self.value.map_or(Ticks::ZERO, NoteValue::ticks));
            }
        }
        if !tuplet.ratio.is_filled_by(written) {
            let found = format!(
                "{} around {} of written notes",
                quote(&tuplet.ratio.to_string()),
                as_fraction(written)
            );
            let right = format!("notes that fill {} equal parts", tuplet.ratio.notes());
            report.add(span, found, right);
        }
    }

    fn step(&mut self, step: &Step, span: Span, ratio: Option<Ratio>, report: &mut Report<'_>) {
        if let Step::Value(value) = step {
            self.value = Some(*value);
            return;
        }
        let length = self.length(span, ratio, report);
        match step {
            Step::Rest => {
                self.last = None;
                self.on_string = [None; 9];
            }
            Step::Tie => self.tie(length, span, report),
            Step::Sound(sound) => self.sound(sound, length, span, report),
            Step::Value(_) => {}
        }
        self.at = self.at.plus(length);
        let Room { quarters, of, instead, .. } = self.room;
        let too_long = self.at.get() > quarters * Ticks::PER_QUARTER;
        if too_long && !self.full {
            report.add(span, format!("more than {quarters} quarter notes in {of}"), instead);
            self.full = true;
        }
    }

    /// How long the next step lasts.
    fn length(&mut self, span: Span, ratio: Option<Ratio>, report: &mut Report<'_>) -> Ticks {
        let value = match self.value {
            Some(value) => value,
            None => {
                let found = "the first note of a voice without a duration";
                report.add(span, found, "a duration such as 1/8 before it");
                // Told once: the rest of the voice is counted in quarters.
                let quarter = NoteValue::QUARTER;
                self.value = Some(quarter);
                quarter
            }
        };
        let written = value.ticks();
        let Some(ratio) = ratio else { return written };
        ratio.scale(written).unwrap_or_else(|| {
            let found = format!(
                "{value} in {}, which is no whole number of ticks",
                quote(&ratio.to_string())
            );
            report.add(span, found, "a longer note, or a ratio of 2 to 10, 12, 14 or 15 notes");
            written
        })
    }

    fn tie(&mut self, length: Ticks, span: Span, report: &mut Report<'_>) {
        let Some(last) = self.last.clone() else {
            report.word(span, "tie", "a note or chord of this chunk directly before “tie”");
            return;
        };
        for sounding in self.sounding.get_mut(last).into_iter().flatten() {
            sounding.note.duration = sounding.note.duration.plus(length);
        }
    }

    fn sound(&mut self, sound: &Sound, length: Ticks, span: Span, report: &mut Report<'_>) {
        if sound.rolled && sound.notes.len() < 2 {
            report.word(span, "rolled", "a chord of two notes or more after “rolled”");
        }
        let first = self.sounding.len();
        for written in &sound.notes {
            if self.sounding.len() >= self.room.notes {
                self.too_many(written.span, report);
                break;
            }
            let Some(plain) = note::note(written, sound, self.hands.guitar, report) else {
                continue;
            };
            let mut sounding = plain;
            sounding.note.onset = self.at;
            sounding.note.duration = length;
            sounding.note.voice = self.voice;
            if written.slurred {
                sounding.note.attack = Attack::Slurred;
                sounding.hand.slur = self.slur(&sounding, &written.value, report);
            }
            if self.sounding[first..].iter().any(|s| s.note.order() == sounding.note.order()) {
                let again = print::spot(written.spot);
                report.word(written.span, &again, "each note once in a chord");
                continue;
            }
            self.sounding.push(sounding);
        }
        let begun = first..self.sounding.len();
        for index in begun.clone() {
            if let Some(string) = self.sounding[index].note.string {
                self.on_string[usize::from(string.number())] = Some(index);
            }
        }
        self.last = Some(begun);
    }

    /// From which note a slurred one comes, and in which direction.
    fn slur(&self, to: &Sounding, written: &Note, report: &mut Report<'_>) -> Option<Slur> {
        let last = self.last.clone().and_then(|range| self.sounding.get(range)).unwrap_or(&[]);
        let same_string = to.note.string.and_then(|s| self.on_string[usize::from(s.number())]);
        let from = slur::Before { same_string: same_string.map(|i| &self.sounding[i]), last };
        slur::direction(&from, to)
            .map_err(|why| {
                let found = format!("“^{}” {}", print::spot(written.spot), why.found(to));
                report.add(to.span, found, why.right());
            })
            .ok()
    }
}
