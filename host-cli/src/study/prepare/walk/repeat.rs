//! What a voice has once and plays again: figures on chords, and bars.

use super::{Bars, VoiceWalk};
use crate::study::model::{Again, FigureUse, Item, Note, Shift, Sound, Spot, Step};
use crate::study::note_value::Ratio;
use crate::study::prepare::playable::Sounding;
use crate::study::print;
use crate::study::problem::quote;
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};

impl VoiceWalk<'_> {
    /// Plays a figure on a chord: left fingers are the chord's, right fingers the figure's.
    pub(super) fn figure(&mut self, used: &FigureUse, span: Span, report: &mut Report<'_>) {
        let Some(figure) = self.hands.figures.iter().find(|figure| figure.name.value == used.name)
        else {
            report.word(span, &used.name, "the name of a figure above the music");
            return;
        };
        let chord = &used.chord;
        let asked = figure.items.iter().flat_map(|item| numbers(&item.value)).max().unwrap_or(0);
        if usize::from(asked) > chord.notes.len() {
            let asked = quote(&print::spot(Spot::OfChord(asked)));
            let found = format!("{} notes and {asked} in {}", chord.notes.len(), quote(&used.name));
            report.add(span, found, "a chord with as many notes as the figure asks for");
        }
        let value = self.value;
        let mut first = true;
        for (step, ratio) in figure.items.iter().flat_map(|item| steps(&item.value)) {
            let on_chord = match step {
                Step::Sound(sound) => on_chord(sound, chord, std::mem::take(&mut first)),
                other => other.clone(),
            };
            self.step(&on_chord, span, ratio, report);
            if self.full {
                return;
            }
        }
        // What follows lasts as long as what came before the figure.
        self.value = value.or(self.value);
    }

    /// Plays bars of this voice once more.
    pub(super) fn again(
        &mut self,
        written: Again,
        place: Bars<'_>,
        span: Span,
        report: &mut Report<'_>,
    ) {
        let Some(place) = place else {
            report.add(span, "bars once more in a chunk", "this in the music above the chunks");
            return;
        };
        let Some(bars) = place(written).filter(|bars| bars.end <= self.at) else {
            let found = match (written.first, written.last) {
                (first, last) if first == last => format!("bar {first}, which is not written yet"),
                (first, last) => format!("bars {first} to {last}, which are not all written yet"),
            };
            report.add(span, found, "bars of this voice before this one");
            return;
        };
        let begun = |s: &&Sounding| bars.contains(&s.note.onset);
        let copies: Vec<Sounding> = self.sounding.iter().filter(begun).copied().collect();
        let shift = self.at.since(bars.start);
        for copy in copies {
            if self.sounding.len() >= self.room.notes {
                self.too_many(span, report);
                return;
            }
            let mut copy = copy;
            if written.higher != 0 && !self.move_by(&mut copy, written.higher, span, report) {
                return;
            }
            copy.note.duration = copy.note.duration.min(bars.end.since(copy.note.onset));
            copy.note.onset = copy.note.onset.plus(shift);
            self.sounding.push(copy);
        }
        self.at = self.at.plus(bars.end.since(bars.start));
        self.bars.pass(self.at);
        self.last = None;
        self.on_string = [None; 9];
    }

    /// Moves a note along its string. Says whether it is still on the neck.
    fn move_by(&self, note: &mut Sounding, by: i8, span: Span, report: &mut Report<'_>) -> bool {
        let last = self.hands.guitar.last_fret();
        let fret = |fret: u8| fret.checked_add_signed(by).filter(|fret| *fret <= last);
        let pitch = note.note.pitch.transposed(by);
        let moved = (note.hand.fret.map(fret), pitch);
        let (Some(pitch), false) = (pitch, matches!(moved.0, Some(None))) else {
            let right = format!("a move that stays between the open string and fret {last}");
            report.add(span, "a note that leaves the neck", right);
            return false;
        };
        note.note.pitch = pitch;
        note.hand.fret = moved.0.flatten();
        if note.hand.fret == Some(0) {
            note.hand.left = None;
        }
        note.note.trill = note.note.trill.and_then(|trill| trill.transposed(by));
        note.hand.trill_fret = note.hand.trill_fret.and_then(fret);
        // Where the hand goes is another place now; that it moves may stay true.
        note.hand.shift = note.hand.shift.map(|_| Shift { to: None });
        note.hand.barre = None;
        true
    }
}

/// The steps of an item of a figure, each with the ratio of its tuplet.
fn steps(item: &Item) -> Vec<(&Step, Option<Ratio>)> {
    match item {
        Item::Step(step) => vec![(step, None)],
        Item::Tuplet(tuplet) => {
            tuplet.steps.iter().map(|step| (&step.value, Some(tuplet.ratio))).collect()
        }
        _ => Vec::new(),
    }
}

/// Which notes of a chord an item of a figure asks for.
fn numbers(item: &Item) -> Vec<u8> {
    let sounds = steps(item).into_iter().filter_map(|(step, _)| match step {
        Step::Sound(sound) => Some(&sound.notes),
        _ => None,
    });
    let number = |note: &Spanned<Note>| match note.spot {
        Spot::OfChord(number) => Some(number),
        _ => None,
    };
    sounds.flatten().filter_map(number).collect()
}

/// A step of a figure with the notes of the chord in it; what stands before the chord belongs to the first.
fn on_chord(sound: &Sound, chord: &Sound, first: bool) -> Step {
    let notes = sound.notes.iter().filter_map(|written| {
        let Spot::OfChord(number) = written.spot else { return Some(*written) };
        let of_chord = chord.notes.get(usize::from(number) - 1)?;
        let own = written.value;
        let note = Note {
            slurred: own.slurred,
            left: own.left.or(of_chord.left),
            right: own.right.or(of_chord.right),
            hold: own.hold || of_chord.hold,
            accent: own.accent || of_chord.accent,
            short: own.short || of_chord.short,
            trill: own.trill.or(of_chord.trill),
            spot: of_chord.spot,
        };
        Some(Spanned::new(note, of_chord.span))
    });
    let notes: Vec<Spanned<Note>> = notes.collect();
    if notes.is_empty() {
        return Step::Rest;
    }
    Step::Sound(Sound {
        rolled: sound.rolled,
        shift: sound.shift.or(chord.shift.filter(|_| first)),
        barre: sound.barre.or(chord.barre.filter(|_| first)),
        notes,
    })
}
