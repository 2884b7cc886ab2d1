//! Notes that begin and end together, voice by voice.

use crate::study::{Fingering, Piece};
use evenhand_core::study::ExpectedNote;
use evenhand_core::units::Ticks;

/// Notes of a voice that begin and end together.
#[derive(Clone, Debug)]
pub(super) struct Event {
    pub(super) onset: Ticks,
    pub(super) end: Ticks,
    pub(super) notes: Vec<(ExpectedNote, Fingering)>,
}

/// The voices of a piece; in each, nothing begins before what is in it has ended. What overlaps in a voice of the piece
/// stands in a further one after it.
pub(super) fn voices(piece: &Piece) -> Vec<Vec<Event>> {
    let mut all: Vec<Vec<Event>> = Vec::new();
    for voice in (0..).take(piece.voices.len()) {
        let mut lanes: Vec<Vec<Event>> = vec![Vec::new()];
        for event in of_voice(piece, voice) {
            let free =
                |lane: &&mut Vec<Event>| lane.last().is_none_or(|last| last.end <= event.onset);
            match lanes.iter_mut().find(free) {
                Some(lane) => lane.push(event),
                None => lanes.push(vec![event]),
            }
        }
        all.extend(lanes.into_iter().filter(|lane| !lane.is_empty()));
    }
    all
}

fn of_voice(piece: &Piece, voice: u8) -> Vec<Event> {
    let mut events: Vec<Event> = Vec::new();
    for (note, hand) in piece.notes.iter().zip(&piece.hand).filter(|(note, _)| note.voice == voice)
    {
        let end = note.onset.plus(note.duration);
        let here = events.iter_mut().rev().take_while(|event| event.onset == note.onset);
        match here.into_iter().find(|event| event.end == end) {
            Some(event) => event.notes.push((*note, *hand)),
            None => events.push(Event { onset: note.onset, end, notes: vec![(*note, *hand)] }),
        }
    }
    events
}
