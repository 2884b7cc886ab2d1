//! The study's text: settings, the music bar by bar, and its chunks.

use super::bars::{self, StudyBar};
use super::lanes::{Event, Lane, lanes};
use super::lengths::{self, Filling, Stretch};
use super::pieces::{self, Piece};
use super::tell;
use super::tones::Tone;
use crate::score::{Part, Remarks, Slur};
use crate::study::{
    Again, FRETS, Item, MetreText, Note, NoteValue, PitchName, Section, Settings, Sound, Spanned,
    Spot, Start, Study, TempoText, TrillTo, VoiceLine,
};
use evenhand_core::study::Metre;
use evenhand_core::units::{GuitarString, Pitch, Ticks};
use std::collections::BTreeMap;

/// What does not change while a study is written.
pub(super) struct Frame<'f> {
    pub(super) title: String,
    /// The instrument, as a study with nothing else.
    pub(super) frets: Study,
    pub(super) played: &'f [StudyBar],
    pub(super) part: &'f Part,
    /// One chunk, if it can be.
    pub(super) whole: bool,
}

/// The tempo where a score has none: what a study's format has for it, in hundredths of quarters a minute.
const USUAL_TEMPO: u32 = 6_000;

/// What the format takes (docs/study-format.md), in hundredths of quarters a minute.
const TEMPI: std::ops::RangeInclusive<u32> = 1_000..=150_000;

/// One bar.
#[derive(Clone, Debug, Default)]
struct Lines {
    /// What is in it, by voice.
    voices: BTreeMap<usize, Vec<Spanned<Item>>>,
    /// A tie or slur comes to it from before it.
    hangs: bool,
}

/// Writes a study, with the pieces that its chunks are.
pub(super) fn study(
    frame: &Frame<'_>,
    tones: &[Tone],
    remarks: &mut Remarks,
) -> (Study, Vec<Piece>) {
    let lanes = lanes(tones, remarks);
    let mut bars: Vec<Lines> = vec![Lines::default(); frame.played.len()];
    for (number, lane) in lanes.iter().enumerate() {
        for (index, items, hangs) in written(lane, frame, remarks) {
            bars[index].voices.insert(number, items);
            bars[index].hangs |= hangs;
        }
    }
    for (bar, lines) in frame.played.iter().zip(&mut bars) {
        if lines.voices.is_empty() {
            let rest = Stretch { filling: Filling::Rest, end: bar.length.get(), tuplet: None };
            lines.voices.insert(0, lengths::written(&[rest]).0);
        }
    }
    let pieces = pieces::pieces(frame.played, tones, frame.whole, remarks);
    let first = frame.played.first();
    let settings = Settings {
        metre: first.map(|bar| bar.metre.into()),
        tempo: first.map(|bar| tempo_text(tempo(frame, bar), bar.metre).into()),
        ..Settings::default()
    };
    let mut study = frame.frets.clone();
    study.title = Some(frame.title.clone());
    study.settings = settings;
    study.music = sections(frame, &lanes, &bars);
    study.chunks = pieces.iter().map(|piece| piece.chunk(frame.played)).collect();
    (study, pieces)
}

/// A voice, bar by bar; bars in which it is silent are left out.
fn written(
    lane: &Lane,
    frame: &Frame<'_>,
    remarks: &mut Remarks,
) -> Vec<(usize, Vec<Spanned<Item>>, bool)> {
    let mut all = Vec::new();
    let mut slurs = Slurs::default();
    let mut from = 0;
    for (index, bar) in frame.played.iter().enumerate() {
        let (start, end) = (bar.start, bar.end());
        while lane.events.get(from).is_some_and(|event| event.end <= start) {
            from += 1;
        }
        let here = lane.events[from..].iter().take_while(|event| event.onset < end);
        let mut stretches: Vec<Stretch> = Vec::new();
        let mut at = start;
        slurs.begin_bar(start);
        for event in here {
            if event.onset > at {
                slurs.rest();
                let filling = Filling::Rest;
                stretches.push(Stretch {
                    filling,
                    end: event.onset.since(start).get(),
                    tuplet: None,
                });
            }
            let filling = if event.onset < start {
                slurs.hangs = true;
                Filling::Tie
            } else {
                Filling::Sound(sound(event, &mut slurs, frame, remarks))
            };
            at = event.end.min(end);
            let tuplet = event.tones.iter().find_map(|tone| tone.note.tuplet);
            stretches.push(Stretch { filling, end: at.since(start).get(), tuplet });
        }
        if stretches.is_empty() {
            slurs.rest();
            continue;
        }
        if at < end {
            slurs.rest();
            let filling = Filling::Rest;
            stretches.push(Stretch { filling, end: end.since(start).get(), tuplet: None });
        }
        let (items, moved) = lengths::written(&stretches);
        if moved {
            let (written, _) = bar.written.first().copied().unwrap_or_default();
            tell(remarks, "lengths that no note value has (moved to the nearest 64th)", written);
        }
        all.push((index, items, slurs.hangs));
    }
    all
}

/// What a slur may come from: the last pitch on each string since the last rest, and when it began.
#[derive(Default)]
struct Slurs {
    on_string: BTreeMap<GuitarString, (u8, Ticks)>,
    /// When the last notes began.
    last: Ticks,
    bar: Ticks,
    /// A slur or tie has come from before the bar.
    hangs: bool,
}

impl Slurs {
    fn begin_bar(&mut self, at: Ticks) {
        (self.bar, self.hangs) = (at, false);
    }

    fn rest(&mut self) {
        self.on_string.clear();
    }

    /// Whether a note is slurred from another. What is said to be a hammer-on or pull-off may come from a note that rings
    /// on; an arc leads from one note to the next.
    fn comes(&self, tone: &Tone) -> Option<Ticks> {
        let (string, _) = tone.place?;
        let (pitch, onset) = self.on_string.get(&string)?;
        let near = tone.note.slur == Slur::Named || *onset == self.last;
        (tone.note.slur != Slur::None && near && *pitch != tone.note.sounding).then_some(*onset)
    }
}

/// Notes that begin together.
fn sound(event: &Event, slurs: &mut Slurs, frame: &Frame<'_>, remarks: &mut Remarks) -> Sound {
    let mut notes: Vec<&Tone> = event.tones.iter().collect();
    // The lowest string first, as a chord is read.
    notes.sort_by_key(|tone| {
        (tone.place.map_or(0, |(string, _)| u8::MAX - string.number()), tone.note.sounding)
    });
    let written: Vec<Spanned<Note>> =
        notes.iter().map(|tone| note(tone, slurs, frame, remarks).into()).collect();
    for tone in notes {
        slurs.hangs |= slurs.comes(tone).is_some_and(|onset| onset < slurs.bar);
        if let Some((string, _)) = tone.place {
            slurs.on_string.insert(string, (tone.note.sounding, event.onset));
        }
    }
    slurs.last = event.onset;
    Sound {
        rolled: written.len() > 1 && event.tones.iter().any(|tone| tone.note.rolled),
        shift: event.tones.iter().find_map(|tone| tone.note.shift),
        barre: event.tones.iter().find_map(|tone| tone.note.barre),
        notes: written,
    }
}

fn note(tone: &Tone, slurs: &Slurs, frame: &Frame<'_>, remarks: &mut Remarks) -> Note {
    let of = &tone.note;
    let pitch = Pitch::new(of.sounding).unwrap_or(Pitch::LOWEST);
    let spot = match tone.place {
        Some((string, fret)) => Spot::Fretted(string, fret),
        None => Spot::Named(PitchName::of(pitch)),
    };
    let slurred = slurs.comes(tone).is_some();
    if of.slur != Slur::None && !slurred {
        tell(remarks, "slurs between strings, or from no note (judged as plucked)", of.bar);
    }
    let trill = of.trill.filter(|other| *other != of.sounding).and_then(|other| {
        let to = trill(tone, other, frame);
        if to.is_none() {
            tell(remarks, "trills to a note that the string does not have", of.bar);
        }
        to
    });
    let is_open = matches!(spot, Spot::Fretted(_, 0)) && trill.is_none();
    if is_open && of.left.is_some() {
        tell(remarks, "fingers of the left hand on open strings", of.bar);
    }
    Note {
        slurred,
        left: of.left.filter(|_| !is_open),
        right: of.right,
        trill,
        accent: of.accent,
        short: of.short,
        hold: of.hold,
        ..Note::plain(spot)
    }
}

fn trill(tone: &Tone, other: u8, frame: &Frame<'_>) -> Option<TrillTo> {
    let Some((_, fret)) = tone.place else {
        return Pitch::new(other).map(|pitch| TrillTo::Named(PitchName::of(pitch)));
    };
    let apart = i16::from(other) - i16::from(tone.note.sounding);
    let capo = frame.frets.capo.map_or(0, |capo| capo.value);
    let fret = u8::try_from(i16::from(fret) + apart).ok()?;
    (fret <= FRETS.saturating_sub(capo)).then_some(TrillTo::Fret(fret))
}

/// The music, a section for each bar or for several that come again.
fn sections(frame: &Frame<'_>, lanes: &[Lane], bars: &[Lines]) -> Vec<Section> {
    let mut all: Vec<Section> = Vec::new();
    let mut before: Option<(MetreText, u32)> = None;
    let mut index = 0;
    while let Some(bar) = frame.played.get(index) {
        let tempo = tempo(frame, bar);
        let again = again(frame, bars, index);
        let name = |lane: usize| lanes.get(lane).map_or("notes", |lane| lane.name.as_str());
        let mut lines: Vec<VoiceLine> = Vec::new();
        match again {
            Some((from, many)) => {
                let number = |bar: usize| frame.played[bar].number;
                let (first, last) = (number(from), number(from + many - 1));
                let voices: BTreeMap<usize, ()> = bars[from..from + many]
                    .iter()
                    .flat_map(|bar| &bar.voices)
                    .map(|(lane, _)| (*lane, ()))
                    .collect();
                for lane in voices.into_keys() {
                    let item = Item::Again(Again { first, last, higher: 0 });
                    lines.push(line(name(lane), vec![item.into()]));
                }
            }
            None => {
                for (lane, items) in &bars[index].voices {
                    lines.push(line(name(*lane), items.clone()));
                }
            }
        }
        let is_first = before.is_none();
        let new_metre = before.is_some_and(|(metre, _)| metre != bar.metre);
        let new_tempo = before.is_some_and(|(_, known)| known != tempo);
        let plain = Start { bar: bar.number, beat: None, plus: None };
        all.push(Section {
            at: if is_first { bars::start(bar).unwrap_or(plain) } else { plain }.into(),
            metre: new_metre.then(|| bar.metre.into()),
            tempo: new_tempo.then(|| tempo_text(tempo, bar.metre).into()),
            lines,
        });
        before = Some((bar.metre, tempo));
        index += again.map_or(1, |(_, many)| many);
    }
    all
}

fn line(name: &str, mut items: Vec<Spanned<Item>>) -> VoiceLine {
    items.push(Item::Barline.into());
    VoiceLine { name: name.to_owned().into(), items }
}

/// The earlier bars that these are once more, as a repeat plays them: the first, and how many.
fn again(frame: &Frame<'_>, bars: &[Lines], index: usize) -> Option<(usize, usize)> {
    let played = frame.played;
    let of_score = |bar: usize| played[bar].written.iter().map(|(written, _)| *written);
    let from = (0..index).find(|from| of_score(*from).eq(of_score(index)))?;
    let same = |many: &usize| {
        let (one, other) = (from + many, index + many);
        other < bars.len()
            && one < index
            && of_score(one).eq(of_score(other))
            && bars[one].voices == bars[other].voices
            && played[one].length == played[one].full()
            && (played[one].metre, tempo(frame, &played[one]))
                == (played[index].metre, tempo(frame, &played[other]))
            && tempo(frame, &played[other]) == tempo(frame, &played[index])
    };
    let mut many = (0..).take_while(same).count();
    // What is tied or slurred from bar to bar stays together.
    if bars[index].hangs || bars[from].hangs {
        return None;
    }
    while many > 0 && bars.get(index + many).is_some_and(|next| next.hangs) {
        many -= 1;
    }
    (many > 0).then_some((from, many))
}

/// The tempo of a bar, in hundredths of quarters a minute: what was said last.
fn tempo(frame: &Frame<'_>, bar: &StudyBar) -> u32 {
    let start = bar.written.first().and_then(|(index, _)| frame.part.bars.get(*index));
    let marks = frame.part.tempos.iter();
    let last = marks.take_while(|mark| start.is_some_and(|bar| mark.at <= bar.start)).last();
    last.map_or(USUAL_TEMPO, |mark| mark.hundredths).clamp(*TEMPI.start(), *TEMPI.end())
}

/// A tempo in the beats of a metre, or in quarters where that is a whole number and beats are not.
fn tempo_text(hundredths: u32, metre: MetreText) -> TempoText {
    let beat = Metre::new(metre.upper, metre.lower).unwrap_or(Metre::FOUR_FOUR).beat().get();
    let (over, under) =
        (u64::from(hundredths) * u64::from(Ticks::PER_QUARTER), u64::from(beat) * 100);
    let beats =
        |over: u64, under: u64| u16::try_from((over + under / 2) / under).unwrap_or(u16::MAX);
    if !over.is_multiple_of(under) && hundredths.is_multiple_of(100) {
        let of = NoteValue::new(4, 0);
        return TempoText { beats: beats(u64::from(hundredths), 100), of };
    }
    TempoText { beats: beats(over, under).max(1), of: None }
}

/// What is to be said of tempi.
pub(super) fn tempo_in_words(frame: &Frame<'_>) -> Vec<String> {
    let mut words = Vec::new();
    let part = frame.part;
    if part.tempos.is_empty() {
        words.push("the score says no tempo; the study says 60 quarters a minute".to_owned());
    }
    let is_at_bar = |at| part.bars.iter().any(|bar| bar.start == at);
    if part.tempos.iter().any(|mark| !is_at_bar(mark.at)) {
        words.push("a tempo that changes inside a bar holds from the next bar on".to_owned());
    }
    words
}
