//! What stands in and around one note of MusicXML.

use super::events::Event;
use super::xml::{Xml, escaped};
use crate::study::{Fingering, NoteValue, Ratio, Slur};
use evenhand_core::study::{ExpectedNote, Marks};
use evenhand_core::units::{GuitarString, Ticks};

/// Which staff.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Staff {
    Notes,
    Tablature,
}

impl Staff {
    pub(super) const fn number(self) -> &'static str {
        match self {
            Self::Notes => "1",
            Self::Tablature => "2",
        }
    }
}

/// The names of note values (MusicXML 4.0, note-type-value), by their part of a whole note.
const TYPES: [(u32, &str); 7] = [
    (1, "whole"),
    (2, "half"),
    (4, "quarter"),
    (8, "eighth"),
    (16, "16th"),
    (32, "32nd"),
    (64, "64th"),
];

/// Where a tuplet's bracket is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bracket {
    Begins,
    Ends,
    None,
}

/// How long a note is written.
#[derive(Clone, Copy, Debug)]
pub(super) struct Length {
    pub(super) value: NoteValue,
    pub(super) ratio: Option<Ratio>,
    pub(super) bracket: Bracket,
}

impl Length {
    pub(super) fn ticks(self) -> Ticks {
        let written = self.value.ticks();
        self.ratio.map_or(written, |ratio| ratio.scale(written).unwrap_or(written))
    }

    /// Writes all that follows the pitch of a note or a rest, in the order that MusicXML wants.
    pub(super) fn write(self, xml: &mut Xml, written: Written, notations: impl FnOnce(&mut Xml)) {
        let word = self.value.to_string();
        let part = word.trim_start_matches("1/").trim_end_matches('.').parse().unwrap_or(4);
        let name = TYPES.iter().find(|(known, _)| *known == part).map_or("quarter", |(_, n)| n);
        xml.text("duration", &self.ticks().get().to_string());
        let (comes, goes_on) = written.tied;
        for kind in comes.then_some("stop").into_iter().chain(goes_on.then_some("start")) {
            xml.line(&format!("<tie type=\"{kind}\"/>"));
        }
        xml.text("voice", &written.voice.to_string());
        xml.text("type", name);
        word.chars().filter(|c| *c == '.').for_each(|_| xml.line("<dot/>"));
        written.accidental.into_iter().for_each(|sign| xml.text("accidental", sign));
        if let Some(ratio) = self.ratio {
            let ratio = ratio.to_string();
            let (notes, time) = ratio.split_once("in").unwrap_or(("1", "1"));
            xml.within("time-modification", |xml| {
                xml.text("actual-notes", notes);
                xml.text("normal-notes", time);
            });
        }
        written.staff.into_iter().for_each(|staff| xml.text("staff", staff.number()));
        notations(xml);
    }
}

/// Where a note or rest stands, and what stands before it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Written {
    pub(super) voice: usize,
    pub(super) staff: Option<Staff>,
    /// A tie comes to it, a tie goes on from it.
    pub(super) tied: (bool, bool),
    pub(super) accidental: Option<&'static str>,
}

impl Written {
    pub(super) const fn silent(voice: usize, staff: Option<Staff>) -> Self {
        Self { voice, staff, tied: (false, false), accidental: None }
    }
}

/// What stands around a note.
pub(super) struct Around<'n> {
    pub(super) note: &'n ExpectedNote,
    pub(super) hand: &'n Fingering,
    pub(super) is_new: bool,
    /// A tie comes to it, a tie goes on from it.
    pub(super) tied: (bool, bool),
    pub(super) begin_slur: Option<Slur>,
    pub(super) next: Option<&'n Event>,
    pub(super) staff: Option<Staff>,
}

impl Around<'_> {
    pub(super) fn notations(&self, xml: &mut Xml, bracket: Bracket) {
        let mut lines: Vec<String> = Vec::new();
        let (comes, goes_on) = self.tied;
        if comes {
            lines.push("<tied type=\"stop\"/>".to_owned());
        }
        if goes_on {
            lines.push("<tied type=\"start\"/>".to_owned());
        }
        match bracket {
            Bracket::Begins => lines.push("<tuplet type=\"start\"/>".to_owned()),
            Bracket::Ends => lines.push("<tuplet type=\"stop\"/>".to_owned()),
            Bracket::None => {}
        }
        let is_tablature = self.staff == Some(Staff::Tablature);
        if !is_tablature {
            lines.extend(self.slur_lines());
        }
        let marks = |mark| self.is_new && !is_tablature && self.note.marks.has(mark);
        if self.is_new && !is_tablature && self.note.trill.is_some() {
            lines.push("<ornaments><trill-mark/></ornaments>".to_owned());
        }
        let technical = self.technical();
        if !technical.is_empty() {
            lines.push(format!("<technical>{}</technical>", technical.concat()));
        }
        let articulations: String =
            [(Marks::ACCENT, "<accent/>"), (Marks::STACCATO, "<staccato/>")]
                .into_iter()
                .filter(|(mark, _)| marks(*mark))
                .map(|(_, line)| line)
                .collect();
        if !articulations.is_empty() {
            lines.push(format!("<articulations>{articulations}</articulations>"));
        }
        if marks(Marks::ROLLED) {
            lines.push("<arpeggiate/>".to_owned());
        }
        if !lines.is_empty() {
            xml.within("notations", |xml| lines.iter().for_each(|line| xml.line(line)));
        }
    }

    /// An arc only where it leads from one note to the next.
    fn slur_lines(&self) -> Vec<String> {
        let number = self.note.string.map_or(1, GuitarString::number);
        let mut lines = Vec::new();
        if self.hand.slur.is_some() && self.is_new && self.note.string.is_some() {
            lines.push(format!("<slur type=\"stop\" number=\"{number}\"/>"));
        }
        let leads = self.next.is_some_and(|next| {
            next.notes.iter().any(|(n, h)| n.string == self.note.string && h.slur.is_some())
        });
        if self.begin_slur.is_some() && leads && !self.tied.1 {
            lines.push(format!("<slur type=\"start\" number=\"{number}\"/>"));
        }
        lines
    }

    fn technical(&self) -> Vec<String> {
        let mut all = Vec::new();
        let (note, hand) = (self.note, self.hand);
        let mut add = |name: &str, text: String| {
            all.push(format!("<{name}>{}</{name}>", escaped(&text)));
        };
        if self.is_new && self.staff != Some(Staff::Tablature) {
            hand.left.into_iter().for_each(|left| add("fingering", left.to_string()));
            hand.right.into_iter().for_each(|right| add("pluck", right.to_string()));
            if let Some(other) = note.trill {
                let steps = other.semitones_above(note.pitch);
                add("other-technical", format!("trill {steps}"));
            }
            if note.marks.has(Marks::HELD) {
                add("other-technical", "hold".to_owned());
            }
        }
        if self.staff == Some(Staff::Notes) {
            return all;
        }
        if let (Some(string), Some(fret)) = (note.string, hand.fret) {
            add("string", string.number().to_string());
            add("fret", fret.to_string());
        }
        // What a tie leads to stands on its string, too, and nothing else is said of it.
        if !self.is_new {
            return all;
        }
        let number = note.string.map_or(1, GuitarString::number);
        let slur = |slur: Slur, kind: &str| {
            let (name, letter) = match slur {
                Slur::HammerOn => ("hammer-on", "H"),
                Slur::PullOff => ("pull-off", "P"),
            };
            let letter = if kind == "start" { letter } else { "" };
            format!("<{name} type=\"{kind}\" number=\"{number}\">{letter}</{name}>")
        };
        all.extend(hand.slur.map(|one| slur(one, "stop")));
        all.extend(self.begin_slur.map(|one| slur(one, "start")));
        all
    }
}
