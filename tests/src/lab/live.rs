//! Attempts at one piece, one after the other, as `listen --chunk` hears them: cut out of the
//! stream by themselves, through a pickup of which nothing is known.

use evenhand::listening::Finished;
use evenhand::study::Prepared;
use evenhand_core::measure::timing::Click;
use evenhand_core::player::perform;
use evenhand_core::study::Marks;
use evenhand_core::units::{Instant, Tempo};
use evenhand_core::verdict::{Finding, Outcome};
use std::ops::Range;

use super::plan::Plan;
use crate::paths::{Lateness, Message, begins, listen, live, note_ons, send};
use crate::seeded::Seeded;

/// What was said of an attempt.
#[derive(Clone, Debug, Default)]
pub struct Heard {
    /// The verdict; none if the attempt went by without a word. Of several that are about it the
    /// kindest counts: one that passes is one too many.
    pub outcome: Option<Outcome>,
    /// The findings of that verdict.
    pub findings: Vec<Finding>,
}

/// An attempt in the stream.
struct Played {
    /// The numbers of its note-ons.
    notes: Range<u32>,
    /// How many of them come before its landing.
    proper: u32,
}

/// Plays `plan` so many times and gives what is said of each.
///
/// # Panics
/// If the plan is for another piece.
pub fn heard(
    chunk: &[Prepared; 1],
    plan: &Plan,
    attempts: u32,
    lateness: Lateness,
    seed: u64,
) -> Vec<Heard> {
    let sitting = Sitting::new(&chunk[0], plan, attempts, lateness, seed);
    let mut heard = vec![Heard::default(); sitting.played.len()];
    sitting.hear(chunk, |finished| {
        for (heard, played) in heard.iter_mut().zip(&sitting.played) {
            heard.take(finished, played);
        }
    });
    heard
}

/// A stream with several attempts.
pub struct Sitting {
    /// What comes in.
    pub messages: Vec<Message>,
    /// Until when the stream stays open.
    pub until: Option<u64>,
    click: Option<Click>,
    played: Vec<Played>,
}

impl Sitting {
    /// Plays `plan` so many times.
    pub fn new(
        chunk: &Prepared,
        plan: &Plan,
        attempts: u32,
        lateness: Lateness,
        seed: u64,
    ) -> Self {
        let mut seeded = Seeded::new(seed ^ 0x11fe);
        let mut messages = open_strings();
        let beat = chunk.tempo.lasting(chunk.metre.beat()).as_micros();
        let beat = u64::from(beat.unsigned_abs());
        let mut played: Vec<Played> = Vec::new();
        for attempt in 0..attempts {
            let last = messages.last().map_or(0, |message| message.0);
            let rest = if attempt == 0 { TUNED } else { pause(&mut seeded) };
            let mut start = last + rest;
            if plan.click {
                // On a beat of the click.
                start = (start / beat + 1) * beat;
            }
            let seed = seed.wrapping_add(u64::from(attempt) << 48);
            played.push(play(chunk, plan, lateness, (start, seed), &mut messages));
        }
        let last = messages.last().map_or(0, |message| message.0);
        if let Some(velocity) = plan.velocity {
            let notes = messages.iter_mut().filter(|(_, bytes)| begins(bytes));
            notes.for_each(|(_, bytes)| bytes[2] = velocity);
        }
        let until = seeded.chance(0.5).then_some(last + SILENCE);
        // The click begins long before the player does.
        let click = plan.click.then_some(Click { start: Instant::ZERO });
        Self { messages, until, click, played }
    }

    /// Gives each attempt that is heard to `with`.
    pub fn hear<'a>(&self, chunk: &'a [Prepared; 1], with: impl FnMut(&Finished<'a>)) {
        listen(chunk, live(self.click), (&self.messages, self.until), with);
    }
}

/// From the open strings to the first attempt: nobody takes them for its beginning.
const TUNED: u64 = 4_000_000;

/// The silence at the end of a stream that goes on.
const SILENCE: u64 = 12_000_000;

/// Every player touches all strings before: it is known then which channel is which.
fn open_strings() -> Vec<Message> {
    const OPEN: [u8; 6] = [64, 59, 55, 50, 45, 40];
    let mut messages = Vec::new();
    for (channel, pitch) in (0..).zip(OPEN) {
        let at = 300_000 + u64::from(channel) * 400_000;
        messages.push((at, [0x90 | channel, pitch, 80]));
        messages.push((at + 300_000, [0x80 | channel, pitch, 64]));
    }
    messages
}

fn play(
    chunk: &Prepared,
    plan: &Plan,
    lateness: Lateness,
    (start, seed): (u64, u64),
    messages: &mut Vec<Message>,
) -> Played {
    let practised = i64::from(chunk.tempo.micros_per_quarter());
    let micros = practised + practised * i64::from(plan.slower_per_mille) / 1_000;
    let tempo = Tempo::from_micros_per_quarter(micros as u32).expect("a tempo");
    let performance = perform(&chunk.at_tempo(tempo), tempo, plan.skill, &plan.faults, seed);
    let first = note_ons(messages);
    send(&performance, lateness, start, seed, messages);
    let lands = |note: u16| chunk.notes[usize::from(note)].marks.has(Marks::LANDING);
    let notes = performance.notes().iter();
    let proper = notes.filter(|note| !note.meant.is_some_and(lands)).count() as u32;
    Played { notes: first..note_ons(messages), proper }
}

impl Heard {
    /// Takes a verdict in that is about half of the attempt at least.
    fn take(&mut self, finished: &Finished<'_>, played: &Played) {
        let numbers = finished.arrival.iter().flatten();
        let about = numbers.filter(|&&number| played.notes.contains(&number)).count() as u32;
        let outcome = finished.verdict.outcome;
        if about * 2 < played.proper
            || self.outcome.is_some_and(|before| kindness(before) >= kindness(outcome))
        {
            return;
        }
        self.outcome = Some(outcome);
        self.findings = finished.verdict.findings.to_vec();
    }
}

/// The kinder, the more.
pub const fn kindness(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::NeedsWork => 0,
        Outcome::Unclear => 1,
        Outcome::Passed => 2,
    }
}

/// A pause before the next attempt: 0.3 to 4 s, the short ones more often (the middle is 1.1 s).
pub fn pause(seeded: &mut Seeded) -> u64 {
    (300_000.0 * (4.0_f64 / 0.3).powf(seeded.unit())) as u64
}
