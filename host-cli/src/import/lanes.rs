//! Voices as a study writes them: in each, one note or chord after the other.

use super::tell;
use super::tones::Tone;
use crate::score::{Remarks, Slur};
use crate::study::VOICES;
use evenhand_core::units::Ticks;
use std::collections::BTreeMap;

/// A voice of the study.
#[derive(Clone, Debug)]
pub(super) struct Lane {
    pub(super) name: String,
    /// One after the other, never two at a time.
    pub(super) events: Vec<Event>,
}

/// Notes that begin and end together.
#[derive(Clone, Debug)]
pub(super) struct Event {
    pub(super) onset: Ticks,
    pub(super) end: Ticks,
    pub(super) tones: Vec<Tone>,
}

/// A voice of the score, which may need several of the study.
struct Voice {
    /// The sum of its pitches, and how many.
    height: (u64, u64),
    lanes: Vec<Vec<Event>>,
}

/// Puts notes into voices. What does not fit into as many as a study has is cut where the next begins.
pub(super) fn lanes(tones: &[Tone], remarks: &mut Remarks) -> Vec<Lane> {
    let mut names: BTreeMap<&str, usize> = BTreeMap::new();
    for tone in tones {
        let many = names.len();
        names.entry(tone.note.voice.as_str()).or_insert(many);
    }
    let count = names.len().min(VOICES);
    let new = || Voice { height: (0, 0), lanes: vec![Vec::new()] };
    let mut voices: Vec<Voice> = (0..count).map(|_| new()).collect();
    let mut spare = VOICES - count;
    for event in events(tones) {
        let Some(first) = event.tones.first() else { continue };
        let number = names.get(first.note.voice.as_str()).copied().unwrap_or(0);
        if number >= count {
            tell(remarks, "more than six voices (the others are joined)", first.note.bar);
        }
        let Some(voice) = voices.get_mut(number.min(count - 1)) else { continue };
        voice.height.0 += event.tones.iter().map(|tone| u64::from(tone.note.sounding)).sum::<u64>();
        voice.height.1 += event.tones.len() as u64;
        voice.take(event, &mut spare, remarks);
    }
    named(voices)
}

/// The notes of one voice that begin and end together, in order of time.
fn events(tones: &[Tone]) -> Vec<Event> {
    let mut events: Vec<Event> = Vec::new();
    for tone in tones {
        let here = events.iter_mut().rev().take_while(|event| event.onset == tone.onset);
        let same = |event: &&mut Event| {
            event.end == tone.end
                && event.tones.first().is_some_and(|first| first.note.voice == tone.note.voice)
        };
        match here.into_iter().find(same) {
            Some(event) => event.tones.push(tone.clone()),
            None => {
                let (onset, end) = (tone.onset, tone.end);
                events.push(Event { onset, end, tones: vec![tone.clone()] });
            }
        }
    }
    rolled_together(&mut events);
    events
}

/// A note of a rolled chord that lasts longer than the others stands in the chord, too: alone it would be no chord, and
/// the same note in two voices is one.
fn rolled_together(events: &mut [Event]) {
    let is_rolled = |event: &Event| event.tones.iter().any(|tone| tone.note.rolled);
    for index in 0..events.len() {
        let [tone] = events[index].tones.as_slice() else { continue };
        let (onset, tone) = (events[index].onset, tone.clone());
        let from = events.partition_point(|event| event.onset < onset);
        let chord = (from..events.len())
            .take_while(|at| events[*at].onset == onset)
            .find(|at| *at != index && is_rolled(&events[*at]));
        if let Some(chord) = chord.filter(|_| tone.note.rolled) {
            events[chord].tones.push(tone);
        }
    }
}

impl Voice {
    fn take(&mut self, event: Event, spare: &mut usize, remarks: &mut Remarks) {
        let is_free = |lane: &Vec<Event>| lane.last().is_none_or(|last| last.end <= event.onset);
        let free: Vec<usize> =
            (0..self.lanes.len()).filter(|at| is_free(&self.lanes[*at])).collect();
        // A slurred note follows the one that it comes from.
        let follows = |at: &&usize| {
            let last = self.lanes[**at].last();
            let string = event.tones.first().and_then(|tone| tone.place).map(|(string, _)| string);
            let comes = |last: &Event| {
                last.end == event.onset
                    && last.tones.iter().any(|tone| tone.place.map(|(s, _)| s) == string)
            };
            event.tones.iter().any(|tone| tone.note.slur != Slur::None) && last.is_some_and(comes)
        };
        let at = free.iter().find(follows).or_else(|| free.first()).copied();
        if let Some(lane) = at.and_then(|at| self.lanes.get_mut(at)) {
            lane.push(event);
            return;
        }
        if *spare > 0 {
            *spare -= 1;
            self.lanes.push(vec![event]);
            return;
        }
        // No voice is left: it joins what begins with it, or ends what sounds.
        let bar = event.tones.first().map_or(0, |tone| tone.note.bar);
        tell(remarks, "notes that overlap in more than six voices (some are shorter)", bar);
        let lane = self.lanes.iter_mut().min_by_key(|lane| lane.last().map(|last| last.end));
        let Some(lane) = lane else { return };
        match lane.last_mut() {
            Some(last) if last.onset == event.onset => {
                last.end = last.end.min(event.end);
                last.tones.extend(event.tones);
            }
            Some(last) => {
                last.end = event.onset;
                lane.push(event);
            }
            None => lane.push(event),
        }
    }
}

/// The voices with names, the highest first.
fn named(mut voices: Vec<Voice>) -> Vec<Lane> {
    voices.retain(|voice| voice.height.1 > 0);
    voices.sort_by(|a, b| {
        // Means compared without division.
        (b.height.0 * a.height.1).cmp(&(a.height.0 * b.height.1))
    });
    let many = voices.len();
    let mut lanes = Vec::new();
    for (place, voice) in voices.into_iter().enumerate() {
        let name = match (place, many) {
            (_, 1) => "notes".to_owned(),
            (0, _) => "upper".to_owned(),
            (last, many) if last + 1 == many => "lower".to_owned(),
            (1, 3) => "middle".to_owned(),
            (nth, _) => format!("middle{nth}"),
        };
        for (index, events) in voice.lanes.into_iter().enumerate().filter(|(_, e)| !e.is_empty()) {
            let name = if index == 0 { name.clone() } else { format!("{name}-{}", index + 1) };
            lanes.push(Lane { name, events });
        }
    }
    lanes
}
