//! A Standard MIDI File as a score to be made a study of: tracks as parts, channels as voices or strings, in bars by its
//! metres, on a grid.
//!
//! ```text
//! bytes --raw--> tracks --bars--> in bars --notes, grid--> Score
//! ```

mod bars;
mod grid;
mod notes;
mod raw;

use super::{check_tempo, parse};
use crate::fault::{Exit, Fault};
use crate::score::{Bar, MOST_BARS, Part, Remarks, Score, Signs, TempoMark};
use bars::{Span, bar_at};
use evenhand_core::notes::{Channels, Layout};
use evenhand_core::units::Pitch;
use midly::Timing;
use notes::{Voiced, quarters};
use raw::Raw;

/// The most notes that are read: as many as the music of a study has (docs/study-format.md).
const MOST_NOTES: usize = 20_000;

/// Microseconds of a quarter where a file names no tempo (Standard MIDI Files 1.0).
const USUAL_QUARTER: u32 = 500_000;

/// What channels are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum ChannelUse {
    /// Each channel is a voice.
    #[default]
    Voice,
    /// Each channel is a string in standard tuning, string 1 first.
    String,
}

/// How a file is to be read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Reading {
    /// What channels are.
    pub channels: ChannelUse,
    /// All tracks are one part, and each of them a voice.
    pub joined: bool,
}

/// Whether a file begins as a Standard MIDI File does.
pub fn is_one(content: &[u8]) -> bool {
    content.starts_with(b"MThd")
}

/// Reads a file as a score. `name` is used in errors.
///
/// # Errors
/// What is wrong with the file, with what to do about it.
pub fn sheet(content: &[u8], name: &str, reading: Reading) -> Result<Score, Fault> {
    let refuse = |what: String, advice: &str| {
        Err(Fault::new(Exit::Input, format!("{name} {what}")).advise(advice))
    };
    parse(content, name, |smf| {
        let Timing::Metrical(per_quarter) = smf.header.timing else {
            return refuse(
                "counts time in frames of film, not in quarter notes, and has no bars".to_owned(),
                "Export it with ticks per quarter note.",
            );
        };
        let per_quarter = u64::from(per_quarter.as_int()).max(1);
        let mut raw = raw::raw(smf, per_quarter, reading.channels == ChannelUse::String);
        let many: usize = raw.tracks.iter().map(|track| track.notes.len()).sum();
        if many == 0 {
            let advice = "Is it the right file? Percussion on channel 10 is not read.";
            return refuse("holds no notes".to_owned(), advice);
        }
        if many > MOST_NOTES {
            return refuse(
                format!("holds {many} notes; a study has room for {MOST_NOTES}"),
                "Export the guitar's track alone, or fewer bars of it.",
            );
        }
        if raw.tempos.first().is_some_and(|(_, micros)| !check_tempo(*micros)) {
            return refuse(
                "has no tempo that can be practised: its ticks are those of a clock, not of music"
                    .to_owned(),
                "A recording is judged with judge --played; export a score with its tempo and bars.",
            );
        }
        let Some(mut bars) = bars::bars(&mut raw, MOST_BARS) else {
            return refuse(
                format!("has more than {MOST_BARS} bars"),
                "Export fewer bars; is there silence before the music, or in it?",
            );
        };
        Ok(score(raw, &mut bars, reading))
    })
}

fn score(mut raw: Raw, bars: &mut Vec<Span>, reading: Reading) -> Score {
    let alone = raw.tracks.first().is_some_and(|track| track.notes.is_empty());
    let title = raw.tracks.first().filter(|track| alone && !track.name.is_empty());
    let title = title.map(|track| track.name.clone());
    let tempos = tempos(&mut raw, bars);
    // A track that only has a tempo map and the like belongs to all of them.
    let mut common = Remarks::default();
    for (what, at) in &raw.told {
        common.add(what.as_ref(), bar_at(bars, *at));
    }
    let strings = (reading.channels == ChannelUse::String).then(|| strings(&raw));
    let mut parts: Vec<Part> = Vec::new();
    let sounding = (1..).zip(raw.tracks).filter(|(_, track)| !track.notes.is_empty());
    let mut waiting: Vec<(String, String, Vec<Voiced>, Remarks)> = Vec::new();
    for (number, track) in sounding {
        let voice = |channel: u8| match (reading.joined, reading.channels) {
            (true, _) => format!("{number}"),
            (false, ChannelUse::String) => "1".to_owned(),
            (false, ChannelUse::Voice) => format!("{}", channel + 1),
        };
        let voiced =
            track.notes.iter().map(|note| Voiced { note: *note, voice: voice(note.channel) });
        let (joined, first) = (reading.joined, waiting.is_empty());
        if !joined || first {
            let name = if joined { String::new() } else { track.name.clone() };
            let id = if joined { "all tracks".to_owned() } else { format!("track {number}") };
            waiting.push((id, name, Vec::new(), common.clone()));
        }
        if let Some((.., notes, remarks)) = waiting.last_mut() {
            notes.extend(voiced);
            track.told.iter().for_each(|(what, at)| remarks.add(what.as_ref(), bar_at(bars, *at)));
        }
    }
    for (id, name, voiced, mut remarks) in waiting {
        let notes = notes::notes(voiced, bars, strings, &mut remarks);
        let tempos = tempos.clone();
        parts.push(Part { id, name, notes, tempos, remarks, ..Part::default() });
    }
    // No bar after the last that sounds.
    let ends =
        |part: &Part| part.notes.iter().filter_map(|note| note.onset.plus(note.length)).max();
    let end = parts.iter().filter_map(ends).max();
    bars.retain(|bar| bar.start == 0 || quarters(bar.start) < end);
    let written: Vec<Bar> =
        (1..).zip(bars.iter()).filter_map(|(number, bar)| written(number, bar)).collect();
    parts.iter_mut().for_each(|part| part.bars.clone_from(&written));
    Score { title, parts }
}

fn written(number: usize, bar: &Span) -> Option<Bar> {
    Some(Bar {
        label: number.to_string(),
        start: quarters(bar.start)?,
        length: quarters(bar.length)?,
        metre: (bar.metre.0.into(), bar.metre.1.into()),
        signs: Signs::default(),
    })
}

/// The tempi at barlines. One inside a bar holds from the next bar on, and is told.
fn tempos(raw: &mut Raw, bars: &[Span]) -> Vec<TempoMark> {
    let mut marks: Vec<TempoMark> = Vec::new();
    if raw.tempos.first().is_none_or(|(at, _)| *at > 0) {
        // Until the first that is written.
        let micros = raw.tempos.first().map_or(USUAL_QUARTER, |(_, micros)| *micros);
        marks.extend(mark(0, micros));
    }
    for (at, micros) in &raw.tempos {
        let bar = bar_at(bars, *at);
        let Some(span) = bars.get(bar).filter(|span| at - span.start < span.length) else {
            continue;
        };
        let mut from = span.start;
        if *at > from {
            from += span.length;
            let quarters = f64::from(60_000_000) / f64::from(*micros);
            let what = format!(
                "a tempo of {quarters:.1} quarters a minute inside the bar (from the next on)"
            );
            raw.told.push((what.into(), *at));
        }
        marks.extend(mark(from, *micros));
    }
    marks
}

/// A tempo, in hundredths of quarters a minute.
fn mark(at: u64, micros: u32) -> Option<TempoMark> {
    let micros = u64::from(micros.max(1));
    let hundredths = u32::try_from((6_000_000_000 + micros / 2) / micros).ok()?;
    Some(TempoMark { at: quarters(at)?, hundredths })
}

/// Which channel is the first string's, by all notes of the file.
fn strings(raw: &Raw) -> Channels {
    let mut layout = Layout::new();
    for note in raw.tracks.iter().flat_map(|track| &track.notes) {
        if let Some(pitch) = Pitch::new(note.pitch) {
            layout.hear(note.channel, pitch);
        }
    }
    Channels::PerString { first: layout.best().unwrap_or(0) }
}
