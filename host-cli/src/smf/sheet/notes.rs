//! The notes of a part: on the grid, in voices or on strings.

use super::bars::{Span, bar_at};
use super::grid::{Grid, TOLD};
use super::raw::RawNote;
use crate::channels;
use crate::score::{Note, Quarters, Remarks, Slur};
use crate::study::FRETS;
use evenhand_core::notes::Channels;
use evenhand_core::study::ExpectedNote;
use evenhand_core::units::{GuitarString, Pitch, Ticks};
use std::collections::BTreeMap;

/// A note of the file, and the voice that it is in.
pub(super) struct Voiced {
    pub(super) note: RawNote,
    pub(super) voice: String,
}

/// A note on the grid.
struct Placed {
    from: u64,
    to: u64,
    of: Voiced,
    string: Option<(u8, u8)>,
}

/// The notes of a part, in order of time.
pub(super) fn notes(
    voiced: Vec<Voiced>,
    bars: &[Span],
    strings: Option<Channels>,
    remarks: &mut Remarks,
) -> Vec<Note> {
    let mut placed = on_grid(voiced, bars, remarks);
    if let Some(channels) = strings {
        for note in &mut placed {
            note.string = place(&note.of.note, channels);
            if note.string.is_none() {
                let what =
                    "notes that the string of their channel does not have in standard tuning";
                remarks.add(what, bar_at(bars, note.from));
            }
        }
    }
    placed.sort_by_key(|note| (note.from, note.of.note.pitch));
    cut(&mut placed, bars, remarks);
    placed.iter().filter_map(|note| written(note, bars)).collect()
}

/// Moves beginnings and ends to the grid of their bars, and tells what was moved far.
fn on_grid(voiced: Vec<Voiced>, bars: &[Span], remarks: &mut Remarks) -> Vec<Placed> {
    let into = |at: u64| {
        let bar = bar_at(bars, at);
        (bar, at - bars[bar].start)
    };
    let mut inside: Vec<(Vec<u64>, Vec<u64>)> = vec![Default::default(); bars.len()];
    let end = |note: &RawNote| {
        note.to.unwrap_or_else(|| {
            let bar = bars[bar_at(bars, note.from)];
            bar.start + bar.length
        })
    };
    for Voiced { note, .. } in &voiced {
        let (bar, at) = into(note.from);
        inside[bar].0.push(at);
        let (bar, at) = into(end(note));
        inside[bar].1.push(at);
        if note.to.is_none() {
            remarks
                .add("notes without an end (they last to the end of the bar)", into(note.from).0);
        }
    }
    let grids: Vec<Grid> = bars
        .iter()
        .zip(&inside)
        .map(|(bar, (onsets, ends))| Grid::new(bar.length, onsets, ends))
        .collect();
    let mut far: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
    let mut all = Vec::with_capacity(voiced.len());
    for of in voiced {
        let nearest = |at: u64| {
            let (bar, inside) = into(at);
            bars[bar].start + grids[bar].nearest(inside)
        };
        let (from, last) = (of.note.from, end(&of.note));
        let (bar, inside) = into(from);
        let onset = nearest(from);
        let to = nearest(last).max(onset + grids[bar].step(inside));
        let moved = far.entry(bar).or_default();
        moved.0 += usize::from(onset.abs_diff(from) > TOLD);
        moved.1 += usize::from(to.abs_diff(last) > TOLD);
        all.push(Placed { from: onset, to, of, string: None });
    }
    for (bar, (onsets, ends)) in far {
        let many =
            |count: usize, one: &str| format!("{count} {one}{}", if count == 1 { "" } else { "s" });
        if onsets > 0 {
            let what = many(onsets, "note");
            remarks.add(format!("{what} in the bar moved by more than a 64th"), bar);
        }
        if ends > 0 {
            let what = many(ends, "end of a note").replace("end of a notes", "ends of notes");
            remarks.add(format!("{what} in the bar moved by more than a 64th"), bar);
        }
    }
    all
}

/// String and fret in standard tuning, if the note is there.
fn place(note: &RawNote, channels: Channels) -> Option<(u8, u8)> {
    let string: GuitarString = channels.string(note.channel)?;
    let expected = ExpectedNote {
        string: Some(string),
        ..ExpectedNote::plain(Ticks::ZERO, Ticks::ZERO, Pitch::new(note.pitch)?)
    };
    channels::fret(&expected).filter(|fret| *fret <= FRETS).map(|fret| (string.number(), fret))
}

/// A string, or a key of a channel, sounds once at a time: what is struck there again ends.
fn cut(placed: &mut [Placed], bars: &[Span], remarks: &mut Remarks) {
    let mut sounding: BTreeMap<(Option<u8>, u8, u8), usize> = BTreeMap::new();
    for index in 0..placed.len() {
        let (note, from) = (placed[index].of.note, placed[index].from);
        let key = match placed[index].string {
            Some((string, _)) => (Some(string), 0, 0),
            None => (None, note.channel, note.pitch),
        };
        if let Some(before) = sounding.insert(key, index).and_then(|at| placed.get_mut(at))
            && before.to > from
            && before.from < from
        {
            before.to = from;
            let what = match key.0 {
                Some(_) => "notes whose string is needed again (they end there)",
                None => "notes that are struck again before they end (they end there)",
            };
            remarks.add(what, bar_at(bars, before.from));
        }
    }
}

fn written(placed: &Placed, bars: &[Span]) -> Option<Note> {
    let pitch = placed.of.note.pitch;
    Some(Note {
        bar: bar_at(bars, placed.from),
        onset: quarters(placed.from)?,
        length: quarters(placed.to - placed.from)?,
        written: pitch,
        sounding: pitch,
        staff: 1,
        voice: placed.of.voice.clone(),
        tuplet: None,
        string: placed.string.map(|(string, _)| string),
        fret: placed.string.map(|(_, fret)| fret),
        left: None,
        right: None,
        slur: Slur::None,
        trill: None,
        barre: None,
        shift: None,
        rolled: false,
        accent: false,
        short: false,
        hold: false,
    })
}

/// Ticks of the study as a fraction.
pub(super) fn quarters(ticks: u64) -> Option<Quarters> {
    Quarters::new(i64::try_from(ticks).ok()?, Ticks::PER_QUARTER.into())
}
