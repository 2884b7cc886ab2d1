//! Where a way through the study was mended, and where it has gaps: what is cut out there, and how
//! much time goes with it.

use super::cut::Cut;
use super::note_history::NoteHistory;
use super::passes::{Neighbours, Pass, Placed, Return};
use super::study_events::StudyEvents;
use super::trace::STEP;
use evenhand_core::units::Offset;

/// So many events left out in a row are a gap: time is not lost or won there. Our default.
const GAP: usize = 3;

/// Less than this share of the time that is written for a gap, in per cent, and the player did
/// not wait it out. Our default.
const WAITED: i64 = 60;

const _: () = assert!(STEP > GAP, "a gap is still part of a way");

/// What a way was followed with.
#[derive(Clone, Copy)]
pub(super) struct RepairContext<'r> {
    pub(super) course: &'r StudyEvents,
    pub(super) numbers: &'r NoteHistory,
}

impl RepairContext<'_> {
    /// Where a pass was mended, and where it has gaps.
    pub(super) fn cuts(&self, pass: &Pass, around: Neighbours) -> Vec<Cut> {
        let mut cuts: Vec<Cut> =
            pass.returns.iter().filter_map(|one| cut(one, self.numbers)).collect();
        let before = around.before.filter(|_| pass.goes_on);
        let after = around.next().filter(|_| pass.leads_on);
        let own = pass.notes.iter().copied();
        let placed: Vec<Placed> = before.into_iter().chain(own).chain(after).collect();
        let pace = self.pace(&placed);
        for pair in placed.windows(2) {
            let (one, other) = (pair[0], pair[1]);
            let left_out = other.event.saturating_sub(one.event + 1);
            if left_out < GAP || cuts.iter().any(|cut| cut.to == other.note) {
                continue;
            }
            let written = self.course.written(one.event, other.event);
            let passed = self.since(one, other);
            let (Some(written), Some(passed), Some(pace)) = (written, passed, pace) else {
                continue;
            };
            let written = i64::from(written.get()) * pace / 1_000;
            if passed * 100 < written * WAITED {
                let time = i32::try_from(passed - written).unwrap_or(0);
                let time = Offset::from_micros(time);
                cuts.push(Cut { from: other.note, to: other.note, time, back: 0, ahead: 0 });
            }
        }
        cuts
    }

    fn since(&self, one: Placed, other: Placed) -> Option<i64> {
        let passed = self.numbers.at(other.note)?.since(self.numbers.at(one.note)?);
        Some(i64::from(passed.as_micros()))
    }

    /// Thousandths of a microsecond a tick: the median between events that follow each other.
    fn pace(&self, placed: &[Placed]) -> Option<i64> {
        let mut paces: Vec<i64> = placed
            .windows(2)
            .filter(|pair| pair[1].event == pair[0].event + 1)
            .filter_map(|pair| {
                let written = self.course.written(pair[0].event, pair[1].event)?;
                Some(self.since(pair[0], pair[1])? * 1_000 / i64::from(written.get().max(1)))
            })
            .collect();
        paces.sort_unstable();
        paces.get(paces.len() / 2).copied()
    }
}

fn cut(one: &Return, numbers: &NoteHistory) -> Option<Cut> {
    let time = numbers.at(one.to)?.since(numbers.at(one.from)?);
    Some(Cut { from: one.from, to: one.to, time, back: one.back, ahead: one.ahead })
}
