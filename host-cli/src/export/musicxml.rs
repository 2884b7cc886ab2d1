//! A study as MusicXML 4.0: a staff with fingers and marks, and below it the same music in tablature.

use super::Whole;
use super::around::{Around, Bracket, Length, Staff, Written};
use super::events::{Event, voices};
use super::xml::Xml;
use crate::import::lengths::{self, Filling, Stretch};
use crate::study::{Item, Note, PieceBar, PitchName, Ratio, Slur, Sound, Spanned, Spot, Step};
use evenhand_core::study::Metre;
use evenhand_core::units::{GuitarString, Tempo, Ticks};
use std::collections::BTreeMap;

/// Standard tuning, low to high.
const STANDARD: [u8; 6] = [40, 45, 50, 55, 59, 64];

/// A study as MusicXML.
pub fn musicxml(whole: &Whole) -> String {
    let mut xml = Xml::default();
    xml.line("<?xml version=\"1.0\" encoding=\"UTF-8\"?>");
    xml.line(
        "<!DOCTYPE score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \
         \"http://www.musicxml.org/dtds/partwise.dtd\">",
    );
    xml.within("score-partwise version=\"4.0\"", |xml| {
        if let Some(title) = &whole.study.title {
            xml.within("work", |xml| xml.text("work-title", title));
        }
        xml.within("identification", |xml| {
            xml.within("encoding", |xml| xml.text("software", "evenhand"));
        });
        xml.within("part-list", |xml| {
            xml.within("score-part id=\"P1\"", |xml| xml.text("part-name", "Guitar"));
        });
        xml.within("part id=\"P1\"", |xml| part(xml, whole));
    });
    xml.finish()
}

fn part(xml: &mut Xml, whole: &Whole) {
    let voices = voices(&whole.piece);
    let slurs: Vec<Slurs> = voices.iter().map(|events| Slurs::of(events)).collect();
    let staves =
        if has_strings(whole) { &[Staff::Notes, Staff::Tablature][..] } else { &[Staff::Notes] };
    let mut from = vec![0; voices.len()];
    let mut before: Option<PieceBar> = None;
    for bar in &whole.piece.bars {
        let full = Metre::new(bar.metre.upper, bar.metre.lower).unwrap_or(Metre::FOUR_FOUR).bar();
        let implicit = if bar.length < full { " implicit=\"yes\"" } else { "" };
        xml.within(&format!("measure number=\"{}\"{implicit}", bar.number), |xml| {
            attributes(xml, whole, bar, before.as_ref());
            if before.is_none_or(|last| last.tempo != bar.tempo) {
                tempo(xml, bar.tempo);
            }
            let bars: Vec<Vec<Stretch>> = voices
                .iter()
                .zip(&mut from)
                .map(|(events, from)| stretches(events, from, bar))
                .collect();
            let (mut at, mut signs) = (0, Signs::default());
            for staff in staves {
                for (number, here) in bars.iter().enumerate() {
                    // Further voices stand only where they play.
                    if here.is_empty() && number > 0 {
                        continue;
                    }
                    let back = std::mem::replace(&mut at, bar.length.get());
                    if back > 0 {
                        xml.within("backup", |xml| xml.text("duration", &back.to_string()));
                    }
                    let slurs = &slurs[number];
                    // Voices of the tablature have numbers of their own.
                    let number =
                        number + 1 + if *staff == Staff::Tablature { voices.len() } else { 0 };
                    let staff = (staves.len() > 1).then_some(*staff);
                    Voice { xml, number, staff, slurs, signs: &mut signs }.bar(here, bar);
                }
            }
        });
        before = Some(*bar);
    }
}

fn has_strings(whole: &Whole) -> bool {
    whole.piece.notes.iter().any(|note| note.string.is_some())
}

fn attributes(xml: &mut Xml, whole: &Whole, bar: &PieceBar, before: Option<&PieceBar>) {
    if before.is_some_and(|last| last.metre == bar.metre) {
        return;
    }
    xml.within("attributes", |xml| {
        if before.is_none() {
            xml.text("divisions", &Ticks::PER_QUARTER.to_string());
            xml.within("key", |xml| xml.text("fifths", "0"));
        }
        xml.within("time", |xml| {
            xml.text("beats", &bar.metre.upper.to_string());
            xml.text("beat-type", &bar.metre.lower.to_string());
        });
        if before.is_none() {
            if has_strings(whole) {
                xml.text("staves", "2");
            }
            xml.within("clef number=\"1\"", |xml| {
                xml.text("sign", "G");
                xml.text("line", "2");
                xml.text("clef-octave-change", "-1");
            });
            if has_strings(whole) {
                xml.within("clef number=\"2\"", |xml| {
                    xml.text("sign", "TAB");
                    xml.text("line", "5");
                });
                strings(xml, whole);
            }
        }
    });
}

fn strings(xml: &mut Xml, whole: &Whole) {
    let standard = || STANDARD.iter().filter_map(|pitch| evenhand_core::units::Pitch::new(*pitch));
    let open: Vec<PitchName> = match &whole.study.tuning {
        Some(tuning) => tuning.value.clone(),
        None => standard().map(PitchName::of).collect(),
    };
    xml.within("staff-details number=\"2\"", |xml| {
        xml.text("staff-lines", &open.len().to_string());
        for (line, name) in (1..).zip(&open) {
            xml.within(&format!("staff-tuning line=\"{line}\""), |xml| {
                letters(xml, *name, ["tuning-step", "tuning-alter", "tuning-octave"]);
            });
        }
        if let Some(capo) = whole.study.capo.filter(|capo| capo.value > 0) {
            xml.text("capo", &capo.value.to_string());
        }
    });
}

/// A pitch as a letter, half steps and an octave.
fn letters(xml: &mut Xml, name: PitchName, [step, alter, octave]: [&str; 3]) {
    let (letter, raised, number) = parted(name);
    xml.text(step, &letter);
    if raised != 0 {
        xml.text(alter, &raised.to_string());
    }
    xml.text(octave, &number);
}

fn parted(name: PitchName) -> (String, i32, String) {
    let word = name.to_string();
    let letter: String = word.chars().take(1).collect();
    let signs = word.chars().skip(1).take_while(|c| matches!(c, '#' | 'b'));
    let raised: i32 = signs.map(|c| if c == '#' { 1 } else { -1 }).sum();
    let number: String = word.chars().skip(1).filter(|c| !matches!(c, '#' | 'b')).collect();
    (letter, raised, number)
}

/// Which letters of a bar have been raised or lowered so far: a sign holds to the end of its bar (common practice).
#[derive(Default)]
struct Signs(BTreeMap<(String, String), i32>);

impl Signs {
    /// The sign that stands before a note, where one is needed.
    fn accidental(&mut self, name: PitchName) -> Option<&'static str> {
        let (letter, raised, number) = parted(name);
        let before = self.0.insert((letter, number), raised).unwrap_or(0);
        (before != raised).then_some(match raised {
            ..0 => "flat",
            0 => "natural",
            _ => "sharp",
        })
    }
}

fn tempo(xml: &mut Xml, tempo: Tempo) {
    let hundredths = tempo.hundredths_of_beats_per_minute(Ticks::new(Ticks::PER_QUARTER));
    let number = if hundredths.is_multiple_of(100) {
        (hundredths / 100).to_string()
    } else {
        format!("{}.{:02}", hundredths / 100, hundredths % 100)
    };
    xml.within("direction placement=\"above\"", |xml| {
        xml.within("direction-type", |xml| {
            xml.within("metronome", |xml| {
                xml.text("beat-unit", "quarter");
                xml.text("per-minute", &number);
            });
        });
        xml.line(&format!("<sound tempo=\"{number}\"/>"));
    });
}

/// What a bar of a voice holds; empty where nothing sounds.
fn stretches(events: &[Event], from: &mut usize, bar: &PieceBar) -> Vec<Stretch> {
    let (start, end) = (bar.at, bar.at.plus(bar.length));
    while events.get(*from).is_some_and(|event| event.end <= start) {
        *from += 1;
    }
    let mut all = Vec::new();
    let mut at = start;
    let rest = |until: Ticks| Stretch {
        filling: Filling::Rest,
        end: until.since(start).get(),
        tuplet: None,
    };
    for (index, event) in events.iter().enumerate().skip(*from) {
        if event.onset >= end {
            break;
        }
        if event.onset > at {
            all.push(rest(event.onset));
        }
        at = event.end.min(end);
        let filling = if event.onset < start {
            Filling::Tie
        } else {
            Filling::Sound(Sound { notes: marked(index), ..Sound::default() })
        };
        all.push(Stretch { filling, end: at.since(start).get(), tuplet: None });
    }
    if !all.is_empty() && at < end {
        all.push(rest(end));
    }
    all
}

/// Stands for the event of this number until it is written.
fn marked(index: usize) -> Vec<Spanned<Note>> {
    let number = u32::try_from(index).unwrap_or(u32::MAX);
    let span = crate::study::Span { line: number, ..crate::study::Span::default() };
    vec![Spanned::new(Note::plain(Spot::OfChord(1)), span)]
}

/// Which notes of a voice begin a slur to which, by event and string.
struct Slurs<'e> {
    events: &'e [Event],
    begins: BTreeMap<(usize, GuitarString), Slur>,
}

impl<'e> Slurs<'e> {
    fn of(events: &'e [Event]) -> Self {
        let mut begins = BTreeMap::new();
        let mut last: BTreeMap<GuitarString, usize> = BTreeMap::new();
        for (index, event) in events.iter().enumerate() {
            for (note, hand) in &event.notes {
                let Some(string) = note.string else { continue };
                if let Some(slur) = hand.slur
                    && let Some(from) = last.get(&string)
                {
                    begins.insert((*from, string), slur);
                }
            }
            for string in event.notes.iter().filter_map(|(note, _)| note.string) {
                last.insert(string, index);
            }
        }
        Self { events, begins }
    }
}

/// One voice of one bar.
struct Voice<'v> {
    xml: &'v mut Xml,
    number: usize,
    /// The staff, where there are two.
    staff: Option<Staff>,
    slurs: &'v Slurs<'v>,
    signs: &'v mut Signs,
}

impl Voice<'_> {
    fn bar(&mut self, stretches: &[Stretch], bar: &PieceBar) {
        if stretches.is_empty() {
            let (length, number, staff) = (bar.length.get(), self.number, self.staff);
            self.xml.within("note", |xml| {
                xml.line("<rest measure=\"yes\"/>");
                xml.text("duration", &length.to_string());
                xml.text("voice", &number.to_string());
                staff.iter().for_each(|staff| xml.text("staff", staff.number()));
            });
            return;
        }
        // What is tied to the bar before it is the last event that began before the bar.
        let mut current = self.slurs.events.iter().rposition(|event| event.onset < bar.at);
        let (items, _) = lengths::written(stretches);
        let mut steps: Vec<(&Step, Option<Ratio>, Bracket)> = Vec::new();
        for item in &items {
            match &item.value {
                Item::Step(step) => steps.push((step, None, Bracket::None)),
                Item::Tuplet(tuplet) => {
                    let sounds = |step: &Step| !matches!(step, Step::Value(_));
                    let all: Vec<&Step> = tuplet.steps.iter().map(|step| &step.value).collect();
                    let first = all.iter().position(|step| sounds(step));
                    let last = all.iter().rposition(|step| sounds(step));
                    for (at, step) in all.into_iter().enumerate() {
                        let bracket = match (first == Some(at), last == Some(at)) {
                            (true, _) => Bracket::Begins,
                            (_, true) => Bracket::Ends,
                            _ => Bracket::None,
                        };
                        steps.push((step, Some(tuplet.ratio), bracket));
                    }
                }
                _ => {}
            }
        }
        let mut value = None;
        let mut at = bar.at;
        for (step, ratio, bracket) in steps {
            let Some(length) = (match step {
                Step::Value(new) => {
                    value = Some(*new);
                    None
                }
                _ => value.map(|value| Length { value, ratio, bracket }),
            }) else {
                continue;
            };
            let (begins, until) = (at, at.plus(length.ticks()));
            at = until;
            match step {
                Step::Rest => self.rest(length),
                Step::Sound(sound) => {
                    let index = sound.notes.first().map(|note| note.span.line as usize);
                    current = index;
                    self.event(index, length, (begins, until));
                }
                Step::Tie => self.event(current, length, (begins, until)),
                Step::Value(_) => {}
            }
        }
    }

    fn rest(&mut self, length: Length) {
        let written = Written::silent(self.number, self.staff);
        // Tablature shows no rests.
        let tag = match self.staff {
            Some(Staff::Tablature) => "note print-object=\"no\"",
            _ => "note",
        };
        self.xml.within(tag, |xml| {
            xml.line("<rest/>");
            length.write(xml, written, |_| {});
        });
    }

    fn event(&mut self, index: Option<usize>, length: Length, at: (Ticks, Ticks)) {
        let Some((index, event)) = index.and_then(|i| Some((i, self.slurs.events.get(i)?))) else {
            return;
        };
        let (begins, until) = at;
        let is_new = begins == event.onset;
        let on_staff: Vec<_> = event
            .notes
            .iter()
            .filter(|(note, _)| self.staff != Some(Staff::Tablature) || note.string.is_some())
            .collect();
        if on_staff.is_empty() {
            self.rest(length);
            return;
        }
        if is_new && self.staff != Some(Staff::Tablature) {
            self.directions(event);
        }
        for (place, (note, hand)) in on_staff.into_iter().enumerate() {
            let tied = (!is_new, until < event.end);
            let begin_slur = note.string.and_then(|s| self.slurs.begins.get(&(index, s)).copied());
            let next = self.slurs.events.get(index + 1);
            let (staff, name) = (self.staff, PitchName::of(note.pitch));
            let accidental = match staff {
                Some(Staff::Tablature) => None,
                _ if is_new => self.signs.accidental(name),
                _ => None,
            };
            let written = Written { voice: self.number, staff, tied, accidental };
            self.xml.within("note", |xml| {
                if place > 0 {
                    xml.line("<chord/>");
                }
                xml.within("pitch", |xml| {
                    letters(xml, name, ["step", "alter", "octave"]);
                });
                length.write(xml, written, |xml| {
                    let around = Around { note, hand, is_new, tied, begin_slur, next, staff };
                    around.notations(xml, length.bracket);
                });
            });
        }
    }

    /// Barres and shifts stand above the note that they lead to.
    fn directions(&mut self, event: &Event) {
        let barre = event.notes.iter().find_map(|(_, hand)| hand.barre);
        let shift = event.notes.iter().find_map(|(_, hand)| hand.shift);
        let shift = shift.map(|shift| shift.to.map_or("shift".to_owned(), |to| to.to_string()));
        for words in barre.map(|barre| format!("C{barre}")).into_iter().chain(shift) {
            self.xml.within("direction placement=\"above\"", |xml| {
                xml.within("direction-type", |xml| xml.text("words", &words));
                xml.text("voice", &self.number.to_string());
                self.staff.iter().for_each(|staff| xml.text("staff", staff.number()));
            });
        }
    }
}
