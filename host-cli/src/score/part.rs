//! The whole of a score: its parts, bar by bar, whichever way round they are written.

use super::bar::Reading;
use super::model::{Bar, Part, Score, Signs, TempoMark};
use super::refusal::Refusal;
use super::ties;
use super::time::Quarters;
use super::xml::{Element, child, named, text, text_of};

/// The most bars that are written. Our default: what a study counts to.
const MOST_BARS: usize = 9_999;

/// What a bar lasts where nothing says it.
const USUAL_METRE: (u16, u16) = (4, 4);

/// Reads a score from its outermost element.
pub(super) fn score(root: Element<'_>) -> Result<Score, Refusal> {
    let timewise = match root.tag_name().name() {
        "score-partwise" => false,
        "score-timewise" => true,
        other => return Err(Refusal::Other(other.chars().take(40).collect())),
    };
    let mut readings: Vec<Reading> = Vec::new();
    if timewise {
        for measure in named(root, "measure") {
            for (place, content) in named(measure, "part").enumerate() {
                let id = content.attribute("id").unwrap_or_default();
                let known = readings.iter().position(|reading| reading.part.id == id);
                let at = known.unwrap_or_else(|| {
                    readings.push(Reading::new(id, &name(root, id, place)));
                    readings.len() - 1
                });
                readings[at].bar(measure, content)?;
            }
        }
    } else {
        for (place, part) in named(root, "part").enumerate() {
            let id = part.attribute("id").unwrap_or_default();
            let mut reading = Reading::new(id, &name(root, id, place));
            for measure in named(part, "measure") {
                reading.bar(measure, measure)?;
            }
            readings.push(reading);
        }
    }
    if readings.iter().any(|reading| reading.bars.len() > MOST_BARS) {
        return Err(Refusal::Endless(MOST_BARS));
    }
    if readings.iter().all(|reading| reading.bars.is_empty()) {
        return Err(Refusal::Empty);
    }
    Ok(Score { title: title(root), parts: together(readings)? })
}

fn title(root: Element<'_>) -> Option<String> {
    let work = child(root, "work").and_then(|work| text_of(work, "work-title"));
    let movement = text_of(root, "movement-title");
    let title = movement.filter(|title| !title.is_empty()).or(work)?;
    let title = title.split_whitespace().collect::<Vec<_>>().join(" ");
    Some(title).filter(|title| !title.is_empty())
}

/// What the list of parts calls one; where it has no such part, the one at the same place.
fn name(root: Element<'_>, id: &str, place: usize) -> String {
    let Some(list) = child(root, "part-list") else { return String::new() };
    let mut parts = named(list, "score-part");
    let part = named(list, "score-part").find(|part| part.attribute("id") == Some(id));
    let part = part.filter(|_| !id.is_empty()).or_else(|| parts.nth(place));
    let name = part.and_then(|part| child(part, "part-name")).map(text).unwrap_or_default();
    name.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Puts the parts side by side: bars that stand below each other begin and end together, and where one goes, and how
/// fast, holds for all though it may stand in one.
fn together(mut readings: Vec<Reading>) -> Result<Vec<Part>, Refusal> {
    let bars = readings.iter().map(|reading| reading.bars.len()).max().unwrap_or(0);
    let mut starts: Vec<Quarters> = Vec::with_capacity(bars);
    let mut lengths: Vec<Quarters> = Vec::with_capacity(bars);
    let mut at = Quarters::ZERO;
    let mut signs: Vec<Signs> = Vec::with_capacity(bars);
    let mut tempos: Vec<TempoMark> = Vec::new();
    for index in 0..bars {
        let here =
            || readings.iter().filter_map(|reading| Some((reading, reading.bars.get(index)?)));
        let reaches = here().filter_map(|(_, bar)| bar.reaches).max();
        let (beats, kind) = here().find_map(|(_, bar)| bar.metre).unwrap_or(USUAL_METRE);
        let by_metre = Quarters::new(i64::from(beats) * 4, i64::from(kind));
        let length = reaches.or(by_metre).unwrap_or(Quarters::ZERO);
        for (reading, bar) in here() {
            for (into, hundredths) in &bar.tempos {
                let when = at.plus(*into).ok_or_else(|| too_long(reading, &bar.label))?;
                let mark = TempoMark { at: when, hundredths: *hundredths };
                if !tempos.contains(&mark) {
                    tempos.push(mark);
                }
            }
        }
        signs.push(here().fold(Signs::default(), |all, (_, bar)| joined(all, &bar.signs)));
        starts.push(at);
        lengths.push(length);
        let last = here().next().map(|(reading, bar)| too_long(reading, &bar.label));
        at = at.plus(length).ok_or_else(|| last.unwrap_or(Refusal::Empty))?;
    }
    tempos.sort_by_key(|mark| mark.at);
    let mut parts = Vec::with_capacity(readings.len());
    for reading in &mut readings {
        reading.end();
    }
    for mut reading in readings {
        let mut part = std::mem::take(&mut reading.part);
        for tied in &mut reading.notes {
            let start = starts.get(tied.note.bar).copied().unwrap_or(Quarters::ZERO);
            let label = reading.bars.get(tied.note.bar).map_or("", |bar| bar.label.as_str());
            let onset = start.plus(tied.note.onset);
            tied.note.onset = onset.ok_or_else(|| Refusal::Length {
                part: part.name.clone(),
                bar: label.to_owned(),
                found: "where it begins".to_owned(),
            })?;
        }
        let bars = reading.bars.into_iter().enumerate();
        part.bars = bars
            .map(|(index, bar)| Bar {
                label: bar.label,
                start: starts[index],
                length: lengths[index],
                metre: bar.metre.unwrap_or(USUAL_METRE),
                signs: signs[index].clone(),
            })
            .collect();
        part.notes = ties::joined(reading.notes, &mut part.remarks);
        part.tempos.clone_from(&tempos);
        parts.push(part);
    }
    Ok(parts)
}

fn too_long(reading: &Reading, label: &str) -> Refusal {
    Refusal::Length {
        part: reading.part.name.clone(),
        bar: label.to_owned(),
        found: "its length".to_owned(),
    }
}

fn joined(all: Signs, other: &Signs) -> Signs {
    Signs {
        forward: all.forward || other.forward,
        backward: all.backward.max(other.backward),
        ending: if all.ending.is_empty() { other.ending.clone() } else { all.ending },
        ending_stops: all.ending_stops || other.ending_stops,
        segno: all.segno || other.segno,
        coda: all.coda || other.coda,
        fine: all.fine || other.fine,
        to_coda: all.to_coda || other.to_coda,
        da_capo: all.da_capo || other.da_capo,
        dal_segno: all.dal_segno || other.dal_segno,
    }
}
