//! What stands around a note: strings and fingers, ornaments, marks.

use super::attributes::letter_above;
use super::model::Remarks;
use super::xml::{Element, child, children, named, text};
use crate::study::{LeftFinger, RightFinger};

/// What was found around a note.
#[derive(Clone, Debug, Default)]
pub(super) struct Around {
    pub(super) string: Option<u8>,
    pub(super) fret: Option<u8>,
    pub(super) left: Option<LeftFinger>,
    pub(super) right: Option<RightFinger>,
    pub(super) accent: bool,
    pub(super) short: bool,
    pub(super) rolled: bool,
    pub(super) hold: bool,
    /// It is sounded by the left hand from the note before it.
    pub(super) hammered: bool,
    pub(super) tie_goes_on: bool,
    pub(super) tie_comes: bool,
    /// The pitch of the other note of a trill, as it is written.
    pub(super) trill: Option<i16>,
    pub(super) arcs_begin: Vec<u8>,
    pub(super) arcs_end: Vec<u8>,
}

/// Looks around a note; `fifths` is its key.
pub(super) fn around(note: Element<'_>, fifths: i8, bar: usize, remarks: &mut Remarks) -> Around {
    let mut found = Around::default();
    let mut to = Taking { found: &mut found, note, fifths, bar, remarks };
    // Ties stand for what sounds; programs that write only how they look mean the same.
    let mut sounding_ties = false;
    for tie in named(note, "tie") {
        sounding_ties = true;
        to.tie(tie);
    }
    for one in named(note, "notations").flat_map(children) {
        match one.tag_name().name() {
            "tied" if sounding_ties => {}
            "tied" => to.tie(one),
            "slur" => to.arc(one),
            "technical" => children(one).for_each(|inside| to.technical(inside)),
            "articulations" => children(one).for_each(|inside| to.articulation(inside)),
            "ornaments" => children(one).for_each(|inside| to.ornament(inside, one)),
            "arpeggiate" => to.found.rolled = true,
            "non-arpeggiate" => {}
            "fermata" => to.say("fermatas (time may be taken there; it is judged as written)"),
            "dynamics" => to.say("dynamics"),
            "glissando" | "slide" => to.say("slides between notes"),
            "tuplet" | "accidental-mark" | "footnote" | "level" => {}
            other => to.say(&format!("“{other}”")),
        }
    }
    found
}

/// Takes what stands around one note.
struct Taking<'t, 'a> {
    found: &'t mut Around,
    note: Element<'a>,
    fifths: i8,
    bar: usize,
    remarks: &'t mut Remarks,
}

impl Taking<'_, '_> {
    fn say(&mut self, what: &str) {
        self.remarks.add(what, self.bar);
    }

    fn tie(&mut self, tie: Element<'_>) {
        match tie.attribute("type") {
            Some("start") => self.found.tie_goes_on = true,
            Some("stop") => self.found.tie_comes = true,
            Some("continue") => (self.found.tie_goes_on, self.found.tie_comes) = (true, true),
            Some("let-ring") => self.say("notes that ring on (judged as long as they are written)"),
            _ => {}
        }
    }

    fn arc(&mut self, slur: Element<'_>) {
        let number = slur.attribute("number").and_then(|number| number.parse().ok()).unwrap_or(1);
        match slur.attribute("type") {
            Some("start") => self.found.arcs_begin.push(number),
            Some("stop") => self.found.arcs_end.push(number),
            _ => {}
        }
    }

    fn technical(&mut self, one: Element<'_>) {
        let number = |most: u8| text(one).parse::<u8>().ok().filter(|number| *number <= most);
        match one.tag_name().name() {
            "string" => match number(8).filter(|string| *string > 0) {
                Some(string) => self.found.string = Some(string),
                None => self.say("a string that is no number from 1 to 8"),
            },
            "fret" => match number(30) {
                Some(fret) => self.found.fret = Some(fret),
                None => self.say("a fret that is no number from 0 to 30"),
            },
            "open-string" => self.found.fret = self.found.fret.or(Some(0)),
            "fingering" => self.fingering(text(one)),
            "pluck" => self.pluck(text(one)),
            "hammer-on" | "pull-off" => {
                if one.attribute("type") == Some("stop") {
                    self.found.hammered = true;
                }
            }
            "harmonic" => self.say("harmonics (judged by the pitch that is written)"),
            "bend" => self.say("bends (judged by the pitch before them)"),
            "tap" => self.say("tapped notes (judged as plucked)"),
            "thumb-position" => self.say("thumb positions"),
            "up-bow" | "down-bow" => self.say("strokes of the plectrum or bow"),
            "snap-pizzicato" => self.say("snapped strings"),
            "other-technical" => self.other(text(one)),
            other => self.say(&format!("“{other}”")),
        }
    }

    /// What a study says and MusicXML has no name for, as an export writes it.
    fn other(&mut self, word: &str) {
        let trill = word.strip_prefix("trill ").and_then(|steps| steps.parse::<i16>().ok());
        let pitch = child(self.note, "pitch")
            .and_then(|pitch| super::attributes::pitch(pitch, "step", "alter", "octave"));
        match (word, trill, pitch) {
            ("hold", ..) => self.found.hold = true,
            (_, Some(steps), Some(pitch)) => self.found.trill = Some(i16::from(pitch) + steps),
            _ => self.say("“other-technical”"),
        }
    }

    fn fingering(&mut self, word: &str) {
        let finger = |sign: &str| {
            let wanted = sign.to_lowercase();
            LeftFinger::ALL.into_iter().find(|(_, sign)| wanted == sign.to_string())
        };
        match (finger(word), RightFinger::ALL.into_iter().find(|(_, s)| word == s.to_string())) {
            // An open string has no finger; some write 0.
            _ if word == "0" || word.is_empty() => {}
            (Some((left, _)), _) if self.found.left.is_none() => self.found.left = Some(left),
            (None, Some((right, _))) if self.found.right.is_none() => {
                self.found.right = Some(right);
            }
            _ => self.say("fingerings that are no finger of one hand"),
        }
    }

    fn pluck(&mut self, word: &str) {
        let sign = match word.to_lowercase().as_str() {
            // The little finger has several letters.
            "c" | "e" | "x" | "q" | "ch" => "c".to_owned(),
            other => other.to_owned(),
        };
        match RightFinger::ALL.into_iter().find(|(_, s)| sign == s.to_string()) {
            Some((right, _)) => self.found.right = Some(right),
            None if word.is_empty() => {}
            None => self.say("fingers of the right hand that are none of p i m a c"),
        }
    }

    fn articulation(&mut self, one: Element<'_>) {
        match one.tag_name().name() {
            "accent" | "strong-accent" => self.found.accent = true,
            "staccato" | "staccatissimo" | "spiccato" => self.found.short = true,
            "detached-legato" => self.found.short = true,
            "tenuto" => self.say("tenuto"),
            "breath-mark" | "caesura" => self.say("breaths and caesuras"),
            "stress" | "unstress" | "soft-accent" => self.say("signs of stress"),
            "scoop" | "plop" | "doit" | "falloff" => self.say("slides into or out of notes"),
            "footnote" | "level" => {}
            other => self.say(&format!("“{other}”")),
        }
    }

    fn ornament(&mut self, one: Element<'_>, all: Element<'_>) {
        match one.tag_name().name() {
            "trill-mark" => {
                let sign = child(all, "accidental-mark").map(text);
                let sign = sign.and_then(super::sign::raises);
                let pitch = child(self.note, "pitch");
                self.found.trill = pitch.and_then(|pitch| letter_above(pitch, self.fifths, sign));
            }
            // With a trill it is the trill's line, alone a hand's vibrato.
            "wavy-line" if child(all, "trill-mark").is_some() => {}
            "wavy-line" => self.say("wavy lines"),
            "accidental-mark" | "footnote" | "level" => {}
            "mordent" | "inverted-mordent" => self.say("mordents"),
            "turn"
            | "delayed-turn"
            | "inverted-turn"
            | "delayed-inverted-turn"
            | "vertical-turn"
            | "inverted-vertical-turn" => self.say("turns"),
            "tremolo" => self.say("tremolos (judged as one note)"),
            "shake" | "schleifer" | "haydn" => self.say("other ornaments"),
            other => self.say(&format!("“{other}”")),
        }
    }
}
