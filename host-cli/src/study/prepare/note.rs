//! What one written note sounds on the guitar.

use super::Fingering;
use super::guitar::{Guitar, NoNote};
use super::playable::Sounding;
use crate::study::model::{Note, Sound, Spot, TrillTo};
use crate::study::print;
use crate::study::problem::quote;
use crate::study::report::Report;
use crate::study::span::{Span, Spanned};
use evenhand_core::study::{ExpectedNote, Marks};
use evenhand_core::units::{Pitch, Ticks};

/// A written note on this guitar, at no time yet.
pub(super) fn note(
    written: &Spanned<Note>,
    sound: &Sound,
    guitar: &Guitar,
    report: &mut Report<'_>,
) -> Option<Sounding> {
    let (pitch, fretted) = match guitar.sounding(written.spot) {
        Ok(sounding) => sounding,
        Err(why) => {
            refuse(why, &print::spot(written.spot), written.span, guitar, report);
            return None;
        }
    };
    let trill = written.trill.and_then(|to| trill(to, written, pitch, guitar, report));
    if let (Spot::Fretted(_, 0), Some(_), None) = (written.spot, written.left, written.trill) {
        let found =
            format!("a left finger on the open string {}", quote(&print::spot(written.spot)));
        report.add(written.span, found, "a fret, or no left finger,");
    }
    let mut marks = Marks::NONE;
    for (mark, set) in [
        (Marks::ROLLED, sound.rolled),
        (Marks::SHIFT, sound.shift.is_some()),
        (Marks::ACCENT, written.accent),
        (Marks::HELD, written.hold),
        (Marks::STACCATO, written.short),
    ] {
        if set {
            marks = marks.with(mark);
        }
    }
    let hand = Fingering {
        fret: fretted.map(|(_, fret)| fret),
        left: written.left,
        right: written.right,
        shift: sound.shift,
        barre: sound.barre,
        slur: None,
        trill_fret: trill.and_then(|(_, fret)| fret),
    };
    let note = ExpectedNote {
        string: fretted.map(|(string, _)| string),
        trill: trill.map(|(pitch, _)| pitch),
        marks,
        ..ExpectedNote::plain(Ticks::ZERO, Ticks::ZERO, pitch)
    };
    Some(Sounding { note, hand, span: written.span })
}

/// The other note of a trill, with its fret where the string is known.
fn trill(
    to: TrillTo,
    written: &Spanned<Note>,
    pitch: Pitch,
    guitar: &Guitar,
    report: &mut Report<'_>,
) -> Option<(Pitch, Option<u8>)> {
    let span = written.span;
    let (other, fret) = match (to, written.spot) {
        (TrillTo::Fret(fret), Spot::Fretted(string, _)) => match guitar.at(string, fret) {
            Ok(other) => (other, Some(fret)),
            Err(why) => {
                refuse(why, &format!("trill {fret}"), span, guitar, report);
                return None;
            }
        },
        (TrillTo::Fret(fret), Spot::Named(_) | Spot::OfChord(_)) => {
            let right = "a pitch such as D3 after “trill”, as the note names no string,";
            report.word(span, &format!("trill {fret}"), right);
            return None;
        }
        (TrillTo::Named(name), Spot::Named(_) | Spot::OfChord(_)) => (name.pitch(), None),
        (TrillTo::Named(name), Spot::Fretted(string, _)) => {
            let Some(fret) = guitar.fret(string, name.pitch()) else {
                let right = format!("a pitch that string {} has", string.number());
                report.word(span, &format!("trill {name}"), right);
                return None;
            };
            (name.pitch(), Some(fret))
        }
    };
    if other == pitch {
        report.add(span, "a trill to the note itself", "another fret or pitch after “trill”");
        return None;
    }
    Some((other, fret))
}

/// Says why there is no such note on the guitar.
fn refuse(why: NoNote, found: &str, span: Span, guitar: &Guitar, report: &mut Report<'_>) {
    let right = match why {
        NoNote::NoString(strings) => {
            format!("a string from 1 to {strings}, as the tuning is {},", guitar.names())
        }
        NoNote::NoFret(last) => format!("a fret from 0 to {last}"),
        NoNote::TooHigh => "a pitch up to G9".into(),
        NoNote::NoChord => "a note such as 5:3; 1st, 2nd and so on stand in a figure,".into(),
    };
    report.word(span, found, right);
}
