//! What to write under each expected note of an attempt.

use crate::listening::Finished;
use evenhand_core::align::Material;
use evenhand_core::measure::landing::{Arrival, arrival, time_lost};
use evenhand_core::measure::order::{Order, order};
use evenhand_core::measure::single_levels::single_levels;
use evenhand_core::measure::timing::{Timing, timing};
use evenhand_core::measure::togetherness::spread_chords;
use evenhand_core::measure::trill::{Trill, trills};
use evenhand_core::study::Marks;
use evenhand_core::units::{Level, Offset};
use evenhand_core::verdict::Kind;

/// What of a note is over its limit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Excess {
    /// When its event came, or how far its chord spread.
    pub time: bool,
    /// How loud it was.
    pub level: bool,
}

/// How an expected note was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoteMark {
    /// With the right pitch.
    Right {
        /// Which played note it is.
        played: usize,
        /// How late against the player's own steady tempo; `None` where that is not known.
        late: Option<Offset>,
        /// How loud against what it is compared with; `None` where that says nothing.
        level: Option<Level>,
        /// Whether it came after a note that it should have preceded.
        swapped: bool,
        /// What of it is over its limit.
        over: Excess,
    },
    /// With another pitch.
    Wrong {
        /// Which played note stands in its place.
        played: usize,
    },
    /// Not at all.
    Missing,
    /// Part of the landing, which was not played.
    NotReached,
}

/// The mark of each expected note. What is over is what the verdict is made of: under a passed
/// verdict nothing is.
pub fn marks(finished: &Finished<'_>) -> Vec<NoteMark> {
    finished.material(|material| {
        let order = order(material);
        let timing = timing(material, &order, material.chunk.tolerances().single_note, None);
        let times = times(material, &order, &timing);
        let levels = levels(finished, material);
        let notes = material.chunk.notes().iter().enumerate();
        notes
            .map(|(index, wanted)| {
                let Some(played) = material.pairing.played(index) else {
                    let landing = wanted.marks.has(Marks::LANDING);
                    return if landing { NoteMark::NotReached } else { NoteMark::Missing };
                };
                let Some(note) = material.right(index) else {
                    return NoteMark::Wrong { played };
                };
                let time = times[index];
                let late = time.event.map(|(at, late)| {
                    let within = note.at.as_micros() - at.as_micros();
                    Offset::from_micros(late.as_micros().saturating_add(within))
                });
                NoteMark::Right {
                    played,
                    late,
                    level: levels[index].0,
                    swapped: order.involved.has(index),
                    over: Excess { time: time.over, level: levels[index].1 },
                }
            })
            .collect()
    })
}

/// When the event of a note came.
#[derive(Clone, Copy, Default)]
struct Time {
    /// The median of its notes, and how late that was.
    event: Option<(Offset, Offset)>,
    /// Whether it is over a limit: off the beat, late to land, or spread.
    over: bool,
}

/// When the event of each expected note came.
fn times(material: Material<'_>, order: &Order, timing: &Timing) -> Vec<Time> {
    let tolerances = material.chunk.tolerances();
    let landing = match arrival(material) {
        Some(Arrival::Played(landing)) => Some(landing),
        _ => None,
    };
    let landed = landing.as_ref().map_or(Time::default(), |landing| {
        let lost = time_lost(material, landing, timing);
        let late =
            lost.is_some_and(|(lost, interval)| lost.size() > tolerances.hesitation.at(interval));
        let spread = landing.spread.is_some_and(|spread| spread > landing.may_spread);
        Time { event: landing.at.zip(lost.map(|(lost, _)| lost)), over: late || spread }
    });
    let swapped = order.told(tolerances);
    let spread = spread_chords(material, &swapped, tolerances.chord_spread);
    let limit = tolerances.single_note.at(timing.interval);
    let mut times = vec![Time::default(); material.chunk.notes().len()];
    for event in material.events() {
        let Some(first) = material.chunk.notes().get(event.start) else { continue };
        let time = if first.marks.has(Marks::LANDING) {
            landed
        } else {
            let at = timing.points.iter().position(|point| point.written == first.onset);
            let point = at.and_then(|at| timing.points.get(at).zip(timing.residuals.get(at)));
            let here = point.map(|(point, late)| (point.played, Offset::from_micros(*late)));
            let is_vague = at.is_some_and(|at| timing.vague.has(at));
            let off = !is_vague && here.is_some_and(|(_, late)| late.size() > limit);
            Time { event: here, over: off || spread.has(event.start) }
        };
        times[event].fill(time);
    }
    times
}

/// How loud each expected note was against what it is compared with, where that says something,
/// and whether it is over the limit.
fn levels(finished: &Finished<'_>, material: Material<'_>) -> Vec<(Option<Level>, bool)> {
    let mut levels = vec![(None, false); material.chunk.notes().len()];
    if finished.verdict.finding(Kind::EvennessNotHeard).is_some() {
        return levels;
    }
    single_levels(material, material.chunk.tolerances(), |level| {
        levels[level.note] = (Some(level.by), level.is_over());
    });
    levels
}

/// The trills that were played, in order.
pub fn played_trills(finished: &Finished<'_>) -> Vec<Trill> {
    finished.material(|material| {
        let single = material.chunk.tolerances().single_note;
        let tempo = timing(material, &order(material), single, None).tempo;
        trills(material, tempo.map(|tempo| tempo.pace)).collect()
    })
}
