//! Results on their way into the flash: written in a quiet moment, since a board's flash may stop
//! everything while it is written to.

use evenhand_core::limits::RESULT_BYTES;
use evenhand_core::link::Store;
use evenhand_core::pack::{FoundRecord, ResultRecord};
use evenhand_core::units::{Offset, Seconds};
use evenhand_core::verdict::Kind;
use heapless::Vec;

use crate::memory::{MappedFlash, Memory};
use crate::observer::Judgement;

/// Nothing has come on the MIDI line for this long: a moment is quiet. Our default: a page of
/// flash takes 3 ms at most on common parts, and notes of one chord come closer than this.
pub const QUIET: Offset = Offset::from_millis(20);

/// Results that wait, in bytes: the longest there is, after three or four usual ones. Our default.
const WAITING: usize = RESULT_BYTES + 1_024;

/// Results that wait.
#[derive(Debug, Default)]
pub struct ResultQueue {
    waiting: Vec<u8, WAITING>,
    count: u32,
    attempts: u32,
    lost: u32,
}

impl ResultQueue {
    /// Nothing waits.
    pub const fn new() -> Self {
        Self { waiting: Vec::new(), count: 0, attempts: 0, lost: 0 }
    }

    /// Whether something waits.
    pub fn is_waiting(&self) -> bool {
        self.count > 0
    }

    /// Whether a result that comes now may find no room.
    pub fn is_nearly_full(&self) -> bool {
        self.waiting.len() > WAITING - RESULT_BYTES
    }

    /// Results that could not be kept.
    pub const fn lost(&self) -> u32 {
        self.lost
    }

    /// Takes an attempt.
    pub fn take<F: MappedFlash>(&mut self, judgement: &Judgement<'_>, memory: &Memory<F>) {
        self.attempts = self.attempts.saturating_add(1);
        let number = memory.next().saturating_add(self.count);
        let record = record(judgement, number, self.attempts, memory);
        let from = self.waiting.len();
        // Encoded where it waits.
        let _ = self.waiting.resize(WAITING, 0);
        let room = self.waiting.get_mut(from..).unwrap_or_default();
        match record.encode(judgement.judged.played, room) {
            Ok(length) => {
                self.waiting.truncate(from + length);
                self.count += 1;
            }
            Err(_) => {
                self.waiting.truncate(from);
                self.lost = self.lost.saturating_add(1);
            }
        }
    }

    /// Writes what waits. If the flash fails, the rest is lost with it: results are numbered.
    pub fn write<F: MappedFlash>(&mut self, memory: &mut Memory<F>) {
        let mut waiting = self.waiting.as_slice();
        while let Some((result, rest)) =
            ResultRecord::total(waiting).and_then(|total| waiting.split_at_checked(total))
        {
            if memory.keep_result(result).is_err() {
                self.lost = self.lost.saturating_add(self.count);
                break;
            }
            self.count = self.count.saturating_sub(1);
            waiting = rest;
        }
        self.waiting.clear();
        self.count = 0;
    }
}

/// An attempt as it is kept.
fn record<F: MappedFlash>(
    judgement: &Judgement<'_>,
    number: u32,
    attempt: u32,
    memory: &Memory<F>,
) -> ResultRecord {
    let Judgement { task, fingering, judged, verdict, together, tempo } = *judgement;
    let chunk = judged.chunk;
    let found = verdict.findings.iter().map(|finding| {
        let note = finding.note.and_then(|note| chunk.notes().get(usize::from(note)));
        FoundRecord { finding: *finding, place: note.map(|note| chunk.place(note.onset)) }
    });
    let began = Seconds::new((judged.began.as_micros() / 1_000_000) as u32);
    ResultRecord {
        number,
        sitting: memory.sitting(),
        attempt,
        began,
        clock: memory.clock_at(began),
        study: memory.study_hash(),
        piece: task.piece,
        way: task.way,
        fingering,
        beat: chunk.metre().beat(),
        asked: task.tempo,
        heard: tempo,
        level: chunk.tolerances().level,
        outcome: verdict.outcome,
        together,
        findings: found.take(evenhand_core::limits::RESULT_FINDINGS).collect(),
        false_starts: judged.false_starts,
        interrupted: verdict.finding(Kind::BrokenOff).is_some(),
    }
}
