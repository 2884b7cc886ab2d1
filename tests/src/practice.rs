//! Simulated practice: a player who loops a chunk for minutes, breaks off and starts again,
//! noodles, tunes a string and rests; with the truth about it.

use crate::performances::chunks;
use evenhand::study::Prepared;
use evenhand_core::attempt::PlayedNote;
use evenhand_core::notes::NoteEvent;
use evenhand_core::player::{Chance, Fault, Performance, Skill, perform};
use evenhand_core::units::{GuitarString, Instant, Offset, Pitch, Tempo, Velocity};

/// What the player did, in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Deed {
    /// An attempt from the first note to the last, with this many slips: its first and last
    /// note in the stream.
    Attempt {
        /// Number of its first note.
        first: u32,
        /// Number of its last note.
        last: u32,
        /// The chunk.
        chunk: usize,
    },
    /// An attempt that broke off early.
    FalseStart,
    /// Notes that belong to nothing.
    Noodling,
}

/// A session of practice.
#[derive(Clone, Debug)]
pub struct Practice {
    /// What came, in order of time.
    pub events: Vec<(Instant, NoteEvent)>,
    /// What it was.
    pub deeds: Vec<Deed>,
    /// How long it took.
    pub length: Instant,
}

/// The hand that plays.
struct Hand {
    chance: Chance,
    now: u64,
    notes: u32,
    practice: Practice,
    with_strings: bool,
}

impl Hand {
    fn note(&mut self, at: u64, lasts: u64, pitch: Pitch, velocity: u8, string: Option<u8>) {
        let string = string.filter(|_| self.with_strings).and_then(GuitarString::new);
        let velocity = Velocity::new(velocity).expect("a velocity");
        let begun = NoteEvent::Begun { pitch, velocity, string };
        let ended = NoteEvent::Ended { pitch, string };
        self.practice.events.push((Instant::from_micros(at), begun));
        self.practice.events.push((Instant::from_micros(at + lasts), ended));
    }

    fn rest(&mut self, from_millis: u32, to_millis: u32) {
        let millis = from_millis + self.chance.below(to_millis - from_millis);
        self.now += u64::from(millis) * 1_000;
    }

    /// Plays what a performance holds, `notes` of it at most, and lets the last one ring for
    /// its written length.
    fn play(&mut self, performance: &Performance, most: usize) -> (u32, u32) {
        let first = self.notes;
        let played = &performance.notes()[..most.min(performance.notes().len())];
        let start = self.now;
        for note in played {
            let at = start.saturating_add_signed(note.at.as_micros().into());
            let lasts = u64::from(note.lasts.as_micros().unsigned_abs());
            let string = note.string.map(|string| string.number());
            self.note(at, lasts, note.pitch, note.velocity.value(), string);
            self.notes += 1;
        }
        if let Some(last) = played.last() {
            let lasts = last.at.as_micros() + last.lasts.as_micros() + 12_000;
            self.now = start.saturating_add_signed(lasts.into());
        }
        (first, self.notes.saturating_sub(1))
    }

    fn noodle(&mut self) {
        let notes = 2 + self.chance.below(12);
        // The same string again and again is tuning; otherwise a few notes around a place.
        let tuning = self.chance.below(3) == 0;
        let base = 45 + self.chance.below(20) as u8;
        for _ in 0..notes {
            let up = if tuning { 0 } else { self.chance.below(8) as u8 };
            let pitch = Pitch::new(base + up).expect("a pitch");
            let velocity = 40 + self.chance.below(60) as u8;
            let string = 1 + self.chance.below(6) as u8;
            let now = self.now;
            self.note(now, 200_000, pitch, velocity, Some(string));
            self.notes += 1;
            self.rest(150, 900);
        }
        self.practice.deeds.push(Deed::Noodling);
    }
}

/// Chunks as they are practised here: without their landings, which a player who loops does
/// not play.
pub fn looped_chunks() -> Vec<Prepared> {
    chunks()
        .into_iter()
        .map(|mut chunk| {
            let landing = evenhand_core::study::Marks::LANDING;
            let keep = chunk.notes.iter().filter(|note| !note.marks.has(landing)).count();
            chunk.notes.truncate(keep);
            chunk.hand.truncate(keep);
            chunk.alternatives.clear();
            chunk
        })
        .collect()
}

/// Simulates a session of `minutes`, at one chunk (or, without one, going on to the next now
/// and then).
pub fn practice(chunks: &[Prepared], only: Option<usize>, minutes: u64, seed: u64) -> Practice {
    let mut hand = Hand {
        chance: Chance::new(seed),
        now: 1_000_000,
        notes: 0,
        practice: Practice { events: Vec::new(), deeds: Vec::new(), length: Instant::ZERO },
        with_strings: seed.is_multiple_of(2),
    };
    let end = minutes * 60_000_000;
    let mut current = only.unwrap_or(hand.chance.below(chunks.len() as u32) as usize);
    let mut share = 60 + hand.chance.below(60);
    while hand.now < end {
        let chunk = &chunks[current];
        let beat = chunk.metre.beat();
        let goal = chunk.tempo.hundredths_of_beats_per_minute(beat) / 100;
        let tempo =
            Tempo::from_beats_per_minute((goal * share / 100).max(20), beat).expect("a tempo");
        let notes = chunk.notes.len();
        let written = chunk.at_tempo(tempo);
        let any = |chance: &mut Chance| chance.below(notes as u32) as u16;
        let fault = match hand.chance.below(10) {
            0 => vec![Fault::Wrong { note: any(&mut hand.chance), semitones: 1 }],
            1 => vec![Fault::Missing(any(&mut hand.chance))],
            2 => vec![Fault::Hesitation {
                note: any(&mut hand.chance),
                lost: Offset::from_millis(250),
            }],
            _ => Vec::new(),
        };
        let performance = perform(&written, tempo, Skill::SKILLED, &fault, hand.chance.bits());
        match hand.chance.below(10) {
            0 if notes >= 6 => {
                // Breaks off before the middle, and starts again after a moment or at once.
                let most = 3 + hand.chance.below((performance.notes().len() / 2 - 3).max(1) as u32);
                hand.play(&performance, most as usize);
                hand.practice.deeds.push(Deed::FalseStart);
                hand.rest(50, 1_500);
            }
            1 => {
                hand.rest(300, 1_500);
                hand.noodle();
                hand.rest(300, 3_000);
            }
            _ => {
                let (first, last) = hand.play(&performance, usize::MAX);
                hand.practice.deeds.push(Deed::Attempt { first, last, chunk: current });
                // Looping goes on in time; now and then there is a rest.
                match hand.chance.below(4) {
                    0 => hand.rest(400, 6_000),
                    _ => hand.rest(0, 60),
                }
                if only.is_none() && hand.chance.below(6) == 0 {
                    hand.rest(800, 3_000);
                    current = hand.chance.below(chunks.len() as u32) as usize;
                    share = 60 + hand.chance.below(60);
                }
            }
        }
    }
    let mut practice = hand.practice;
    practice.length = Instant::from_micros(hand.now + 20_000_000);
    // A note that begins when another ends comes after it, as from a pickup.
    practice.events.sort_by_key(|(at, event)| (*at, matches!(event, NoteEvent::Begun { .. })));
    practice
}

/// Whether a found attempt has the right boundaries: it begins and ends within a note of the
/// truth, since a first or last note may be the very one that is wrong or missing.
pub fn same_place(found: (u32, u32), first: u32, last: u32) -> bool {
    found.0.abs_diff(first) <= 1 && found.1.abs_diff(last) <= 1
}

/// The played notes of an attempt, for whoever wants to look at one that was missed.
pub fn describe(notes: &[PlayedNote]) -> String {
    let words: Vec<String> = notes
        .iter()
        .map(|note| format!("{}@{}", note.pitch.number(), note.at.as_millis_rounded()))
        .collect();
    words.join(" ")
}
