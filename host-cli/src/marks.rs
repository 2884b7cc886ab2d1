//! What to write under each expected note of an attempt.

use crate::listening::Finished;
use evenhand_core::measure::landing::{Arrival, arrival, time_lost};
use evenhand_core::measure::order::order;
use evenhand_core::measure::timing::timing;
use evenhand_core::measure::trill::{Trill, trills};
use evenhand_core::study::{Attack, Marks};
use evenhand_core::units::{Level, Offset};

/// How an expected note was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoteMark {
    /// With the right pitch.
    Right {
        /// Which played note it is.
        played: usize,
        /// How late against the player's own steady tempo; `None` where that is not known.
        late: Option<Offset>,
        /// How loud against the plucked notes of its voice; `None` where that says nothing.
        level: Option<Level>,
        /// Whether it came after a note that it should have preceded.
        swapped: bool,
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

/// The mark of each expected note.
pub fn marks(finished: &Finished<'_>) -> Vec<NoteMark> {
    finished.material(|material| {
        let tolerances = material.chunk.tolerances();
        let order = order(material);
        let timing = timing(material, &order, tolerances.single_note, None);
        // The residual of an event is that of the median of its notes.
        let landing = match arrival(material) {
            Some(Arrival::Played(landing)) => Some(landing),
            _ => None,
        };
        let landed = landing
            .as_ref()
            .and_then(|landing| Some((landing.at?, time_lost(material, landing, &timing)?.0)));
        let event_of = |index: usize| -> Option<(Offset, Offset)> {
            if material.chunk.notes().get(index)?.marks.has(Marks::LANDING) {
                return landed;
            }
            let onset = material.chunk.notes().get(index)?.onset;
            let point = timing.points.iter().position(|point| point.written == onset)?;
            let late = Offset::from_micros(*timing.residuals.get(point)?);
            Some((timing.points.get(point)?.played, late))
        };
        let centre = |voice: u8| -> Option<i32> {
            let mut levels: Vec<i32> = material
                .right_notes()
                .filter(|(_, wanted, _)| {
                    wanted.voice == voice
                        && wanted.attack == Attack::Plucked
                        && !wanted.marks.has(Marks::ACCENT)
                })
                .filter_map(|(_, _, note)| Some(material.level(note)?.hundredths().into()))
                .collect();
            evenhand_core::measure::statistics::median(&mut levels)
        };
        let fixed =
            finished.verdict.finding(evenhand_core::verdict::Kind::EvennessNotHeard).is_some();
        material
            .chunk
            .notes()
            .iter()
            .enumerate()
            .map(|(index, wanted)| {
                let Some(played) = material.pairing.played(index) else {
                    let landing = wanted.marks.has(Marks::LANDING);
                    return if landing { NoteMark::NotReached } else { NoteMark::Missing };
                };
                let Some(note) = material.right(index) else {
                    return NoteMark::Wrong { played };
                };
                let late = event_of(index).map(|(event, late)| {
                    let within = note.at.as_micros() - event.as_micros();
                    Offset::from_micros(late.as_micros().saturating_add(within))
                });
                let heard = material.level(note).filter(|_| !fixed);
                let level = heard.zip(centre(wanted.voice)).map(|(level, centre)| {
                    Level::from_hundredths((i32::from(level.hundredths()) - centre) as i16)
                });
                NoteMark::Right { played, late, level, swapped: order.involved.has(index) }
            })
            .collect()
    })
}

/// The trills that were played, in order.
pub fn played_trills(finished: &Finished<'_>) -> Vec<Trill> {
    finished.material(|material| {
        let single = material.chunk.tolerances().single_note;
        let tempo = timing(material, &order(material), single, None).tempo;
        trills(material, tempo.map(|tempo| tempo.pace)).collect()
    })
}
