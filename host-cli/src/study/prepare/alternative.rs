//! The same music fingered otherwise: checked note by note against the chunk.

use super::bars::BarPosition;
use super::body::{Body, body};
use super::playable::Sounding;
use super::walk::Hands;
use super::{Alternative, Fingering};
use crate::study::model::AlternativeText;
use crate::study::note_value::as_fraction;
use crate::study::pitch_name::PitchName;
use crate::study::problem::quote;
use crate::study::report::Report;
use evenhand_core::study::Metre;
use evenhand_core::units::{Pitch, Ticks};

/// Where the chunk stands that an alternative belongs to.
#[derive(Clone, Copy)]
pub(super) struct Setting<'a> {
    pub(super) hands: Hands<'a>,
    pub(super) metre: Metre,
    pub(super) start: BarPosition,
}

/// Compares an alternative with its chunk; `landing` notes are fingered as in the chunk.
pub(super) fn alternative(
    text: &AlternativeText,
    chunk: &Body,
    landing: &[Sounding],
    setting: Setting<'_>,
    report: &mut Report<'_>,
) -> Option<Alternative> {
    let Setting { hands, metre, start } = setting;
    let before = report.count();
    let other = body(&text.lines, text.name.span, hands, metre, start, report);
    if report.count() > before {
        return None;
    }
    let difference = chunk.notes.iter().zip(&other.notes).find(|(a, b)| music(a) != music(b));
    let surplus = other.notes.get(chunk.notes.len());
    let lack = chunk.notes.get(other.notes.len());
    if let Some((expected, found)) = difference {
        report.add(
            found.span,
            format!("{} in the alternative", said(found, setting)),
            format!("{}, as in the chunk,", said(expected, setting)),
        );
    } else if let Some(found) = surplus {
        let right = "the end of the music, as in the chunk,";
        report.add(found.span, format!("{} in the alternative", said(found, setting)), right);
    } else if let Some(expected) = lack {
        let right = format!("{} as well, as in the chunk,", said(expected, setting));
        report.add(text.name.span, format!("the end of {}", quote(&text.name)), right);
    }
    if report.count() > before {
        return None;
    }
    let all = other.notes.iter().chain(landing);
    let hand: Vec<Fingering> = all.clone().map(|s| s.hand).collect();
    let strings = all.map(|s| s.note.string).collect();
    Some(Alternative { name: text.name.value.clone(), strings, hand })
}

/// What must not differ.
fn music(s: &Sounding) -> (Ticks, u8, Option<u8>) {
    (s.note.onset, s.note.pitch.number(), s.note.trill.map(Pitch::number))
}

/// A note with its place, as a musician says it.
fn said(s: &Sounding, setting: Setting<'_>) -> String {
    let metre = setting.metre;
    let place = setting.start.after(s.note.onset, metre);
    let beat = place.into.get() / metre.beat().get() + 1;
    let name = PitchName::of(s.note.pitch);
    let trill = match s.note.trill {
        Some(other) => format!(" with a trill to {}", PitchName::of(other)),
        None => String::new(),
    };
    let into_beat = Ticks::new(place.into.get() % metre.beat().get());
    let plus = match into_beat {
        Ticks::ZERO => String::new(),
        _ => format!(" plus {}", as_fraction(into_beat)),
    };
    format!("{name}{trill} in bar {}, beat {beat}{plus}", place.bar)
}
