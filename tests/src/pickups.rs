//! The simulated player heard through a simulated pickup.

use evenhand_core::classify::is_octave_error;
use evenhand_core::pickup::Pickup;
use evenhand_core::player::{Artefacts, Fault, Performance, Skill, perform, transmit};
use evenhand_core::session::{Judged, Session, SessionConfig};
use evenhand_core::study::{Chunk, Marks};
use evenhand_core::units::{Instant, Velocity};
use evenhand_core::verdict::{Outcome, Verdict};

/// Half a second before the first note.
const LEAD_IN: u64 = 500_000;

/// How far from where it was played the note may be heard that is taken for it, in
/// microseconds: a little more than a double trigger comes late.
const NEAR: u64 = 65_000;

/// What came of one attempt.
#[derive(Clone, Debug)]
pub struct Outcomes {
    /// The verdict.
    pub verdict: Verdict,
    /// Expected notes that were played and are not where they were played. A landing is not
    /// counted: an attempt may be over before it.
    pub hidden: Vec<usize>,
    /// Further attempts that were heard, though there was only one.
    pub spurious: usize,
}

impl Outcomes {
    /// Whether it needs work.
    pub fn fails(&self) -> bool {
        self.verdict.outcome == Outcome::NeedsWork
    }
}

/// Has `chunk` played once by a skilled player, with these faults, through a pickup with these
/// artefacts, and judged by someone who knows `known` of the pickup. `None` if no attempt is heard.
pub fn attempt(
    chunk: &Chunk<'_>,
    faults: &[Fault],
    artefacts: &Artefacts,
    known: Pickup,
    seed: u64,
) -> Option<Outcomes> {
    let performance = perform(chunk, chunk.tempo(), Skill::SKILLED, faults, seed);
    let sent = transmit(&performance, artefacts, seed ^ 0x5eed);
    let config = SessionConfig { pickup: known, ..SessionConfig::default() };
    let mut session = Box::new(Session::new(*chunk, config));
    // The first notes of a stream may tell which channel is which string; they have been heard.
    for string in [0x90, 0x91, 0x92, 0x93, 0x94, 0x95] {
        let open = [64, 59, 55, 50, 45, 40][usize::from(string & 7)];
        let velocity = artefacts.fixed_velocity.map_or(80, Velocity::value);
        session.feed(&[string, open, velocity, open, 0], Instant::ZERO);
    }
    session.discard();
    let mut all: Vec<(Verdict, Vec<usize>)> = Vec::new();
    for message in sent.messages() {
        let now = Instant::from_micros(LEAD_IN).plus(message.at);
        while let Some(at) = session.poll_at().filter(|at| *at <= now) {
            let Some(judged) = session.poll(at) else { continue };
            all.push((judged.verdict.clone(), hidden(chunk, &performance, &judged)));
        }
        session.feed(&message.bytes, now);
    }
    while let Some(judged) = session.finish() {
        all.push((judged.verdict.clone(), hidden(chunk, &performance, &judged)));
    }
    let spurious = all.len().saturating_sub(1);
    // The attempt is the one that accounts for the most notes.
    let (verdict, hidden) = all.into_iter().min_by_key(|(_, hidden)| hidden.len())?;
    Some(Outcomes { verdict, hidden, spurious })
}

fn hidden(chunk: &Chunk<'_>, performance: &Performance, judged: &Judged<'_>) -> Vec<usize> {
    let is_there = |index: usize, at: Instant| {
        let (Some(wanted), Some(note)) = (
            chunk.notes().get(index),
            judged.pairing.played(index).and_then(|by| judged.played.get(by)),
        ) else {
            return false;
        };
        let apart = judged.began.plus(note.at).as_micros().abs_diff(at.as_micros());
        apart <= NEAR && (note.pitch == wanted.pitch || is_octave_error(wanted, note))
    };
    performance
        .notes()
        .iter()
        .filter_map(|note| {
            let index = usize::from(note.meant?);
            let at = Instant::from_micros(LEAD_IN).plus(note.at);
            let landing = chunk.notes().get(index)?.marks.has(Marks::LANDING);
            (!landing && !is_there(index, at)).then_some(index)
        })
        .collect()
}
