//! Music that stands in the study, but not as a chunk: neighbours in one, a part of a chunk or of
//! neighbours, one voice of a chunk.

use super::study_events::StudyEvents;
use crate::practice::{cut, join};
use crate::study::stretch_name;
use crate::study::{Fingering, Prepared};
use evenhand_core::practice::Side;
use evenhand_core::study::{ExpectedNote, Marks};
use evenhand_core::units::Ticks;
use std::ops::Range;

/// A voice of fewer events than this is not practised alone; it may be chance. Our default.
const LEAST_VOICE: usize = 6;

/// Both chunks in one. Voices of one name go on in each other.
pub(super) fn joined(so_far: &Prepared, next: &Prepared) -> Prepared {
    let mut voices = so_far.voices.clone();
    for voice in &next.voices {
        if !voices.contains(voice) {
            voices.push(voice.clone());
        }
    }
    let number = |voice: u8| {
        let name = next.voices.get(usize::from(voice));
        let known = name.and_then(|name| voices.iter().position(|other| other == name));
        known.and_then(|number| u8::try_from(number).ok()).unwrap_or(voice)
    };
    let join = join::join(so_far, next, number);
    Prepared { voices, ..join }
}

/// What neighbours in one are called.
pub(super) fn name_of_several(chunks: &[Prepared]) -> String {
    match chunks {
        [] => String::new(),
        [one] => one.name.clone(),
        [first, last] => format!("{} and {}", first.name, last.name),
        [first, .., last] => format!("{} to {}", first.name, last.name),
    }
}

/// The music of some events, and the name of what it is part of.
pub(super) fn part(
    course: &StudyEvents,
    chunks: &[Prepared],
    events: &Range<usize>,
) -> Option<(Prepared, String)> {
    let (first, last) = (course.event(events.start)?, course.event(events.end.checked_sub(1)?)?);
    let own = chunks.get(first.chunk..=last.chunk)?;
    let (head, tail) = own.split_first()?;
    let whole = tail.iter().fold(head.clone(), |left, right| joined(&left, right));
    let whole_name = name_of_several(own);
    let begin = first.onset;
    let before: u32 = own[..own.len() - 1].iter().map(|chunk| chunk.length.get()).sum();
    let end = before + last.onset.get();
    let note = |onset: u32| whole.notes.iter().position(|note| note.onset.get() == onset);
    let stretch = stretch_name(&whole, note(begin.get())?, note(end)?);
    let next = whole.notes.iter().map(|note| note.onset.get()).find(|&onset| onset > end);
    let mut music = whole;
    if let Some(next) = next {
        music = cut::half(&music, Ticks::new(next), Side::First);
    }
    music = without_landing(music);
    if begin > Ticks::ZERO {
        music = cut::half(&music, begin, Side::Second);
    }
    music.name = format!("{whole_name}, {stretch}");
    music.checked(music.tempo).is_ok().then_some((music, whole_name))
}

fn without_landing(music: Prepared) -> Prepared {
    keep(music, |note| !note.marks.has(Marks::LANDING))
}

fn keep(music: Prepared, keep: impl Fn(&ExpectedNote) -> bool) -> Prepared {
    let all = music.notes.iter().copied().zip(music.hand.iter().copied());
    let (notes, hand): (Vec<ExpectedNote>, Vec<Fingering>) =
        all.filter(|(note, _)| keep(note)).unzip();
    Prepared { notes, hand, alternatives: Vec::new(), ..music }
}

/// The voices of chunks that have several, each by itself: what somebody plays who practises one
/// voice alone. For [`Listener::with_voices`](super::Listener::with_voices).
pub fn voices(chunks: &[Prepared]) -> Vec<Prepared> {
    chunks.iter().flat_map(voices_of).collect()
}

fn voices_of(chunk: &Prepared) -> Vec<Prepared> {
    let proper = || chunk.notes.iter().filter(|note| !note.marks.has(Marks::LANDING));
    let mut numbers: Vec<u8> = proper().map(|note| note.voice).collect();
    numbers.sort_unstable();
    numbers.dedup();
    if numbers.len() < 2 {
        return Vec::new();
    }
    let alone = |&voice: &u8| {
        let mut onsets: Vec<Ticks> =
            proper().filter(|note| note.voice == voice).map(|note| note.onset).collect();
        onsets.dedup();
        if onsets.len() < LEAST_VOICE {
            return None;
        }
        let name = match chunk.voices.get(usize::from(voice)) {
            Some(name) => format!("{}, {name} alone", chunk.name),
            None => format!("{}, voice {} alone", chunk.name, voice + 1),
        };
        let own = |note: &ExpectedNote| note.voice == voice && !note.marks.has(Marks::LANDING);
        let music = Prepared { name, ..keep(chunk.clone(), own) };
        // A voice may come in later than its chunk.
        let music = match onsets.first() {
            Some(&first) if first > Ticks::ZERO => {
                let name = music.name.clone();
                Prepared { name, ..cut::half(&music, first, Side::Second) }
            }
            _ => music,
        };
        music.checked(music.tempo).is_ok().then_some(music)
    };
    numbers.iter().filter_map(alone).collect()
}
