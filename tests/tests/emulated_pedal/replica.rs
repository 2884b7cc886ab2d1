//! The computer's own practice on the same bytes: its plan, its listener, its records.

use evenhand::listening::{Finished, Listener};
use evenhand::practice::{Plan, Playing, Settings};
use evenhand::report;
use evenhand::study::Study;
use evenhand_core::limits::{RESULT_BYTES, RESULT_FINDINGS};
use evenhand_core::pack::{FoundRecord, ResultRecord};
use evenhand_core::practice::{Attempt, Heard, Piece};
use evenhand_core::session::Hearing;
use evenhand_core::units::{Instant, Seconds};
use evenhand_core::verdict::Kind;
use evenhand_core::wire::Wire;
use wmidi::MidiMessage;

/// One sitting: a chunk is chosen, and bytes come.
pub(crate) struct Sitting<'s> {
    pub(crate) study: &'s Study,
    pub(crate) hash: u64,
    pub(crate) hearing: Hearing,
    pub(crate) chunk: u8,
    /// When practice began.
    pub(crate) began: Instant,
    pub(crate) bytes: &'s [(Instant, u8)],
    /// When it was over.
    pub(crate) end: Instant,
    /// The number that the first result has, and that of the sitting.
    pub(crate) number: u32,
    pub(crate) sitting: u32,
}

fn seconds(at: Instant) -> Seconds {
    Seconds::new((at.as_micros() / 1_000_000) as u32)
}

struct Desk<'s> {
    sitting: &'s Sitting<'s>,
    plan: Plan,
    records: Vec<Vec<u8>>,
}

/// The records of a sitting, encoded.
pub(crate) fn records(sitting: &Sitting<'_>) -> Vec<Vec<u8>> {
    let mut plan = Plan::new(sitting.study, &Settings::default()).expect("a right study");
    let now = seconds(sitting.began);
    plan.begin(now);
    if sitting.chunk != 0 {
        plan.go_to(Piece::Chunk(sitting.chunk), now).expect("there is such a chunk");
    }
    let mut desk = Desk { sitting, plan, records: Vec::new() };
    let mut bytes = sitting.bytes;
    while let Some(playing) = desk.plan.current().cloned() {
        bytes = desk.play(&playing, bytes);
        if bytes.is_empty() {
            break;
        }
    }
    desk.records
}

impl Desk<'_> {
    /// Plays one piece until another has its turn; gives what is left to play.
    fn play<'b>(
        &mut self,
        playing: &Playing,
        mut bytes: &'b [(Instant, u8)],
    ) -> &'b [(Instant, u8)] {
        let chunks = [playing.chunk.clone()];
        let mut listener = Listener::for_attempts(&chunks, self.sitting.hearing);
        let mut wire = Wire::new();
        loop {
            let next = bytes.first().map_or(self.sitting.end, |(at, _)| *at);
            while let Some(due) = listener.poll_at().filter(|due| *due <= next) {
                if self.poll(&mut listener, playing, due) {
                    return bytes;
                }
            }
            let Some(((at, byte), rest)) = bytes.split_first() else { return bytes };
            if self.poll(&mut listener, playing, *at) {
                return bytes;
            }
            let begins = wire.push(*byte).is_some_and(|message| {
                matches!(message, MidiMessage::NoteOn(_, _, velocity) if u8::from(velocity) > 0)
            });
            listener.feed(&[*byte], *at, begins);
            bytes = rest;
            if self.poll(&mut listener, playing, *at) {
                return bytes;
            }
        }
    }

    /// Whether something else is to be played.
    fn poll(&mut self, listener: &mut Listener<'_>, playing: &Playing, now: Instant) -> bool {
        while let Some(finished) = listener.poll(now) {
            let record = self.record(&finished, playing);
            let played = &finished.played;
            let mut room = [0; RESULT_BYTES];
            let length = record.encode(played, &mut room).expect("it has room");
            self.records.push(room[..length].to_vec());
            let last = played.last().map_or(0, |note| note.at.as_micros());
            let next = self.plan.attempt(Attempt {
                heard: Heard::of(&finished.verdict),
                tempo: record.heard,
                lasted: Seconds::new(u32::try_from(last / 1_000_000).unwrap_or(0)),
                ended: seconds(now),
            });
            if next.step.task != Some(playing.task) {
                return true;
            }
        }
        false
    }

    fn record(&self, finished: &Finished<'_>, playing: &Playing) -> ResultRecord {
        let chunk = finished.chunk.chunk();
        let verdict = &finished.verdict;
        let found = verdict.findings.iter().take(RESULT_FINDINGS).map(|finding| {
            let note = finding.note.and_then(|note| chunk.notes().get(usize::from(note)));
            FoundRecord { finding: *finding, place: note.map(|note| chunk.place(note.onset)) }
        });
        let kept = self.records.len() as u32;
        ResultRecord {
            number: self.sitting.number + kept,
            sitting: self.sitting.sitting,
            attempt: kept + 1,
            began: seconds(finished.began),
            clock: None,
            study: self.sitting.hash,
            piece: playing.task.piece,
            way: playing.task.way,
            fingering: 0,
            beat: chunk.metre().beat(),
            asked: playing.task.tempo,
            heard: report::tempo_heard(finished),
            level: chunk.tolerances().level,
            outcome: verdict.outcome,
            together: finished.together,
            findings: found.collect(),
            false_starts: finished.false_starts,
            interrupted: verdict.finding(Kind::BrokenOff).is_some(),
        }
    }
}
