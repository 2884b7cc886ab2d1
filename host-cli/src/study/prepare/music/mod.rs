//! The music that a study has once, and the parts of it that are chunks.

mod bar_map;
mod piece;

use super::VOICES;
use super::bars::{BarCheck, BarPosition};
use super::body::{self, Body, same_name};
use super::landing::arrival;
use super::playable::Sounding;
use super::walk::{Hands, Room, VoiceWalk};
use crate::study::model::{MetreText, Part, PartEnd, Section, TempoText};
use crate::study::note_value::as_fraction;
use crate::study::problem::quote;
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};
use bar_map::BarMap;
use evenhand_core::study::{Attack, Metre};
use evenhand_core::units::Ticks;
pub use piece::{Piece, PieceBar};
use std::ops::Range;

/// The most that is written once: our default, some sixty pages. What is said again counts again.
const ROOM: Room =
    Room { notes: 20_000, quarters: 40_000, of: "the music", instead: "a study for each movement" };

/// The whole music.
#[derive(Debug)]
pub(super) struct Music {
    bars: BarMap,
    notes: Vec<Sounding>,
    length: Ticks,
    voices: Vec<String>,
    /// The bar with which each section begins, and its voices in the order of its lines.
    orders: Vec<(u16, Vec<u8>)>,
}

/// A part of the music as a chunk.
#[derive(Debug)]
pub(super) struct Cut {
    pub(super) start: BarPosition,
    pub(super) body: Body,
    /// The next notes, where the music goes on.
    pub(super) follows: Vec<Sounding>,
    /// The metre and the tempo that the music names there.
    pub(super) metre: Option<Spanned<MetreText>>,
    pub(super) tempo: Option<Spanned<TempoText>>,
}

impl Music {
    /// Walks along all sections; those that name no metre before any other are in `metre`.
    pub(super) fn of(
        sections: &[Section],
        metre: Metre,
        hands: Hands<'_>,
        report: &mut Report<'_>,
    ) -> Self {
        let bars = BarMap::of(sections, metre, report);
        let mut walk = Walk { hands, bars: &bars, voices: Vec::new(), orders: Vec::new() };
        let mut bar = None;
        for section in sections {
            // One that is out of order has been told of.
            if bar.is_none_or(|bar| bar < section.at.bar) {
                bar = Some(section.at.bar);
                walk.section(section, report);
            }
        }
        let orders = std::mem::take(&mut walk.orders);
        let (notes, length, voices) = walk.finish(report);
        let notes = body::merged(notes);
        body::check_together(&notes, report);
        body::check_strings(&notes, report);
        Self { bars, notes, length, voices, orders }
    }

    /// The part that a chunk names.
    pub(super) fn part(&self, part: &Spanned<Part>, report: &mut Report<'_>) -> Option<Cut> {
        let from = self.bars.at(&part.from).or_else(|| {
            // A pickup bar begins where the music does.
            let is_whole = part.from.beat.is_none() && part.from.plus.is_none();
            self.bars.beginning(part.from.bar).filter(|_| is_whole).map(|stretch| stretch.at)
        });
        let to = match part.to {
            // The last bar may be a part of one, as after a pickup bar.
            PartEnd::Bar(last) if last == self.bars.last_bar(self.length) => Some(self.length),
            PartEnd::Bar(last) => self.bars.end(last),
            PartEnd::Until(place) => self.bars.at(&place),
        };
        let (Some(from), Some(to)) = (from, to.filter(|to| *to <= self.length)) else {
            let right = if self.notes.is_empty() {
                "“at bar” and voices under the chunk, as there is no music,".to_owned()
            } else {
                format!("a part of the music, which has {}", self.extent())
            };
            report.add(part.span, "a place that is not in the music", right);
            return None;
        };
        let first = self.bars.stretch(part.from.bar)?;
        if to <= from {
            report.add(part.span, "a part that ends before it begins", "the earlier place first");
            return None;
        }
        let start = first.position(from);
        let last = match part.to {
            PartEnd::Bar(last) => last,
            PartEnd::Until(place) => place.bar,
        };
        let next = self.bars.stretch(last)?;
        if next.metre != first.metre && next.at < to {
            let found = format!("a change of metre in bar {} within the chunk", next.bar);
            report.add(part.span, found, "a chunk on either side of it");
            return None;
        }
        let chosen = self.chosen(&part.voices, part.span, report)?;
        let present = self.present(part.from.bar, from..to, &chosen);
        if present.is_empty() {
            report.add(part.span, "no notes", "a part of the music in which somebody plays");
        }
        Some(Cut {
            start,
            body: self.body(from, to, &present),
            follows: self.follows(from, to, &chosen, &present),
            metre: first.metre_text,
            tempo: first.tempo_text,
        })
    }

    /// `bars 1 to 24`.
    fn extent(&self) -> String {
        let first = self.bars.first();
        let last = self.bars.last_bar(self.length);
        if first == last { format!("bar {first}") } else { format!("bars {first} to {last}") }
    }

    /// The numbers of the voices that a part names, or of all.
    fn chosen(&self, names: &[String], span: Span, report: &mut Report<'_>) -> Option<Vec<u8>> {
        let number = |name: &String| self.voices.iter().position(|voice| same_name(voice, name));
        if names.is_empty() {
            return Some((0_u8..).zip(&self.voices).map(|(number, _)| number).collect());
        }
        let mut chosen = Vec::with_capacity(names.len());
        for name in names {
            let Some(number) = number(name).and_then(|number| u8::try_from(number).ok()) else {
                let all: Vec<String> = self.voices.iter().map(|voice| quote(voice)).collect();
                report.add(span, format!("the voice {}", quote(name)), all.join(" or "));
                return None;
            };
            if !chosen.contains(&number) {
                chosen.push(number);
            }
        }
        Some(chosen)
    }

    /// The voices of these that have a note in a part, in the order in which they are written where it begins: as
    /// they are counted in a chunk that is written out.
    fn present(&self, bar: u16, part: Range<Ticks>, chosen: &[u8]) -> Vec<u8> {
        let within = self.notes.iter().filter(|s| part.contains(&s.note.onset));
        let mut present: Vec<u8> = within.map(|s| s.note.voice).collect();
        present.retain(|voice| chosen.contains(voice));
        present.sort_unstable();
        present.dedup();
        let order = self.orders.iter().rfind(|(first, _)| *first <= bar);
        let place = |voice: &u8| order.and_then(|(_, order)| order.iter().position(|v| v == voice));
        // Those that come in later follow.
        present.sort_by_key(|voice| place(voice).unwrap_or(usize::MAX));
        present
    }

    fn body(&self, from: Ticks, to: Ticks, present: &[u8]) -> Body {
        let within = |s: &&Sounding| {
            s.note.onset >= from && s.note.onset < to && present.contains(&s.note.voice)
        };
        let mut notes: Vec<Sounding> = self.notes.iter().filter(within).copied().collect();
        for index in 0..notes.len() {
            let (before, rest) = notes.split_at_mut(index);
            let Some(s) = rest.first_mut() else { break };
            s.note.duration = s.note.duration.min(to.since(s.note.onset));
            s.note.onset = s.note.onset.since(from);
            s.note.voice = number_among(present, s.note.voice);
            if s.note.attack == Attack::Slurred && !comes_from(before, s) {
                // What it was slurred from is not in the chunk, which begins plucked.
                s.note.attack = Attack::Plucked;
                s.hand.slur = None;
            }
        }
        let named = present.iter().filter_map(|voice| self.voices.get(usize::from(*voice)));
        Body { notes, length: to.since(from), voices: named.cloned().collect() }
    }

    /// The first notes after a part, within a bar of its end.
    fn follows(&self, from: Ticks, to: Ticks, chosen: &[u8], present: &[u8]) -> Vec<Sounding> {
        let later = |s: &&Sounding| s.note.onset >= to && chosen.contains(&s.note.voice);
        let Some(first) = self.notes.iter().find(later) else { return Vec::new() };
        let onset = first.note.onset;
        let bar = self.bars.bar_at(to);
        if onset.since(to) >= bar {
            return Vec::new();
        }
        let event = self.notes.iter().filter(later).take_while(|s| s.note.onset == onset);
        let of_chunk = event.map(|s| {
            let mut arrives = arrival(s, onset.since(from));
            arrives.note.voice = number_among(present, s.note.voice);
            arrives
        });
        of_chunk.collect()
    }
}

/// The number of a voice in a chunk that has these; one that comes in after them is the next.
fn number_among(present: &[u8], voice: u8) -> u8 {
    let number = present.iter().position(|one| *one == voice).unwrap_or(present.len());
    u8::try_from(number).unwrap_or(u8::MAX)
}

/// Whether a slurred note has the note that it comes from among those before it.
fn comes_from(before: &[Sounding], slurred: &Sounding) -> bool {
    before.iter().any(|s| match slurred.note.string {
        Some(_) => s.note.string == slurred.note.string,
        None => s.note.voice == slurred.note.voice,
    })
}

/// All voices, section by section.
struct Walk<'m> {
    hands: Hands<'m>,
    bars: &'m BarMap,
    voices: Vec<(Spanned<String>, VoiceWalk<'m>)>,
    orders: Vec<(u16, Vec<u8>)>,
}

impl<'m> Walk<'m> {
    fn section(&mut self, section: &'m Section, report: &mut Report<'_>) {
        let bars = self.bars;
        let Some(stretch) = bars.beginning(section.at.bar) else { return };
        let check = || BarCheck::from(stretch.at, stretch.metre, stretch.into());
        self.go_on(stretch.at, &check, Some(section.at.bar), report);
        let again = |again| bars.bars(again);
        let mut order: Vec<u8> = Vec::new();
        for line in &section.lines {
            let known = self.voices.iter().position(|(name, _)| same_name(name, &line.name));
            let index = match known {
                Some(index) => index,
                None if self.voices.len() == VOICES => {
                    let right = format!("at most {VOICES} voices in the music");
                    report.word(line.name.span, &line.name, right);
                    continue;
                }
                None => {
                    let number = u8::try_from(self.voices.len()).unwrap_or(u8::MAX);
                    let mut walk = VoiceWalk::new(self.hands, ROOM, number, check());
                    walk.go_on(stretch.at, check());
                    self.voices.push((line.name.clone(), walk));
                    self.voices.len() - 1
                }
            };
            if let Some((_, walk)) = self.voices.get_mut(index) {
                walk.line(line, Some(&again), report);
            }
            let number = u8::try_from(index).unwrap_or(u8::MAX);
            if !order.contains(&number) {
                order.push(number);
            }
        }
        self.orders.push((section.at.bar, order));
    }

    /// Brings all voices to a bar; one that has stopped at an earlier barline is silent until then.
    fn go_on(
        &mut self,
        at: Ticks,
        check: &dyn Fn() -> BarCheck,
        bar: Option<u16>,
        report: &mut Report<'_>,
    ) {
        for (name, walk) in &mut self.voices {
            let here = walk.at();
            if !walk.is_full() && here > at {
                let by = as_fraction(here.since(at));
                let next = bar.map_or_else(|| "the end".to_owned(), |bar| format!("bar {bar}"));
                let found = format!("{} that goes {by} beyond {next}", quote(name));
                report.add(name.span, found, "bars that are full and no more");
            } else if !walk.is_full() && here < at && !self.bars.is_barline(here) {
                let found = format!("{} that stops inside a bar", quote(name));
                report.add(name.span, found, "a full bar, with rests where needed,");
            }
            walk.go_on(at, check());
        }
    }

    fn finish(mut self, report: &mut Report<'_>) -> (Vec<Sounding>, Ticks, Vec<String>) {
        let ends = self.voices.iter().map(|(_, walk)| walk.at());
        let length = ends.max().unwrap_or_default();
        let check = || BarCheck::from(length, Metre::FOUR_FOUR, Ticks::ZERO);
        self.go_on(length, &check, None, report);
        let names = self.voices.iter().map(|(name, _)| name.value.to_lowercase()).collect();
        let walks = self.voices.into_iter();
        let notes = walks.flat_map(|(_, walk)| walk.finish().0).collect();
        (notes, length, names)
    }
}
