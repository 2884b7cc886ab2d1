//! How well notes are told apart when many of them are not right.

use std::fmt::Write;

use evenhand_core::align::Role as Judged;
use evenhand_core::pickup::{Channels, Pickup};
use evenhand_core::session::{Ends, Session, SessionConfig};
use evenhand_core::study::{Chunk, ExpectedNote};
use evenhand_core::units::{GuitarString, Instant, Pitch, Tempo, Ticks};

use super::slow_alignment;
use crate::attempt::{Attempt, PlayedNote, Role, TICKS_PER_QUARTER};
use crate::figures::{LeavesOut, figures, shortened};
use crate::labels::Labels;
use crate::seeded::Seeded;
use rayon::prelude::*;

/// What is done to notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mistake {
    /// Another pitch, up to three semitones away.
    Wrong,
    /// Left out.
    Missing,
    /// One more after it, up to seven semitones away.
    Extra,
    /// It changes places with a note of the next step.
    Swapped,
    /// One of these, at random.
    Any,
}

impl Mistake {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Wrong, Self::Missing, Self::Extra, Self::Swapped, Self::Any];

    const fn name(self) -> &'static str {
        match self {
            Self::Wrong => "wrong",
            Self::Missing => "missing",
            Self::Extra => "extra",
            Self::Swapped => "swapped",
            Self::Any => "any",
        }
    }
}

/// Shares of the notes that are not right, in per cent.
pub const SHARES: [u32; 6] = [0, 1, 2, 5, 10, 20];

/// A row of the table: F of the pairs, in per cent, by [`SHARES`].
#[derive(Clone, Debug)]
pub struct Row {
    /// What was done.
    pub mistake: Mistake,
    /// Whether the strings were told.
    pub strings: bool,
    /// What came of it.
    pub f: [f64; SHARES.len()],
}

/// How many pairs were found, how many there are, and how many of both are the same.
#[derive(Clone, Copy, Debug, Default)]
pub struct Found {
    both: usize,
    ours: usize,
    truly: usize,
}

impl Found {
    /// One more attempt, and what its notes are said to be.
    pub fn add(&mut self, attempt: &Attempt, judged: &Labels, strings: bool) {
        let twins = attempt.twins(strings);
        let truth = attempt.truth().with_twins_in_order(&twins);
        let judged = judged.with_twins_in_order(&twins);
        self.both += judged.pairs.intersection(&truth.pairs).count();
        self.ours += judged.pairs.len();
        self.truly += truth.pairs.len();
    }

    /// F of the pairs, in per cent.
    pub fn f(self) -> f64 {
        200.0 * self.both as f64 / (self.ours + self.truly) as f64
    }
}

/// F of the pairs in all attempts together, for each kind and share of mistakes.
pub fn rows(attempts: &[Attempt], strings: &[bool]) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for &mistake in &Mistake::ALL {
        rows.extend(strings.iter().map(|&s| Row { mistake, strings: s, f: [0.0; SHARES.len()] }));
    }
    let done = (0..rows.len() * SHARES.len()).into_par_iter().map(|job| {
        let (row, share) = (&rows[job / SHARES.len()], SHARES[job % SHARES.len()]);
        let mut found = Found::default();
        for (number, attempt) in attempts.iter().enumerate() {
            let mut seeded = Seeded::new((job as u64) << 32 | number as u64);
            let spoiled = spoiled(attempt, row.mistake, share, &mut seeded);
            let spoiled = if row.strings { spoiled } else { spoiled.on_one_channel() };
            found.add(&spoiled, &labels(&spoiled, row.strings), row.strings);
        }
        found.f()
    });
    let done: Vec<f64> = done.collect();
    for (job, f) in done.into_iter().enumerate() {
        rows[job / SHARES.len()].f[job % SHARES.len()] = f;
    }
    rows
}

/// The rows as text.
pub fn text(head: &str, rows: &[Row]) -> String {
    let mut text = format!("{head}\n  mistakes  strings");
    for share in SHARES {
        let _ = write!(text, "{share:>7} %");
    }
    for row in rows {
        let strings = if row.strings { "told" } else { "not" };
        let _ = write!(text, "\n{:>10}  {strings:>7}", row.mistake.name());
        for f in row.f {
            let _ = write!(text, "{f:>9.2}");
        }
    }
    text + "\n"
}

/// F of the pairs where a player leaves notes of figures out (see [`crate::figures`]), as text: by
/// the share of them, with strings and without; and what the slow alignment reaches with a tenth
/// of them left out, which is to say how much can be known, on the first attempts and the judge
/// on the same ones.
pub fn left_out(attempts: usize, slow: usize) -> (String, Vec<(f64, f64)>) {
    let short = |leaves, percent, number: usize| {
        let whole = figures(&mut Seeded::new(number as u64));
        shortened(&whole, leaves, percent, &mut Seeded::new(1_000 + number as u64))
    };
    let mut text = String::from("  left out  strings     2 %     5 %    10 %");
    for leaves in LeavesOut::ALL {
        for strings in [true, false] {
            let told = if strings { "told" } else { "not" };
            let _ = write!(text, "\n{:>10}  {told:>7}", leaves.name());
            for percent in [2, 5, 10] {
                let mut found = Found::default();
                for number in 0..attempts {
                    let attempt = short(leaves, percent, number);
                    let attempt = if strings { attempt } else { attempt.on_one_channel() };
                    found.add(&attempt, &labels(&attempt, strings), strings);
                }
                let _ = write!(text, "{:>8.2}", found.f());
            }
        }
    }
    let compared = (0..LeavesOut::ALL.len()).into_par_iter().map(|job| {
        let (mut ours, mut theirs) = (Found::default(), Found::default());
        for number in 0..slow {
            let attempt = short(LeavesOut::ALL[job], 10, number).on_one_channel();
            ours.add(&attempt, &labels(&attempt, false), false);
            theirs.add(&attempt, &slow_alignment::labels(&attempt), false);
        }
        (ours.f(), theirs.f())
    });
    let compared: Vec<_> = compared.collect();
    let _ = write!(text, "\nfirst {slow} at 10 %, strings not told: the judge, a slow alignment");
    for (leaves, (ours, theirs)) in LeavesOut::ALL.iter().zip(&compared) {
        let _ = write!(text, "\n{:>10}  {ours:>7.2} {theirs:>7.2}", leaves.name());
    }
    (text + "\n", compared)
}

/// What is asked for: 99 % up to 5 % of mistakes, 97 % at 10 %. The rows that miss it.
pub fn missed(rows: &[Row]) -> String {
    let mut text = String::new();
    for row in rows {
        for (share, f) in SHARES.iter().zip(row.f) {
            let goal = match share {
                0..=5 => 99.0,
                6..=10 => 97.0,
                _ => continue,
            };
            if f < goal {
                let _ = writeln!(text, "{row:?}: {f:.2} at {share} %, {goal} is asked for");
            }
        }
    }
    text
}

/// The attempt with about so many per cent of its notes not right, anywhere: mistakes may
/// stand side by side, where even a person could read them in more than one way.
fn spoiled(attempt: &Attempt, mistake: Mistake, share: u32, seeded: &mut Seeded) -> Attempt {
    let chosen = |seeded: &mut Seeded| seeded.chance(f64::from(share) / 100.0);
    let mut played: Vec<PlayedNote> = Vec::new();
    let mut swaps: Vec<usize> = Vec::new();
    for (at, note) in attempt.played.iter().enumerate() {
        let Role::Plays(expected) = note.role else {
            played.push(*note);
            continue;
        };
        if !chosen(seeded) {
            played.push(*note);
            continue;
        }
        let kind = match mistake {
            Mistake::Any => Mistake::ALL[seeded.index(4)],
            one => one,
        };
        let other = |most: i64, seeded: &mut Seeded| {
            let away = seeded.between(1, most) * if seeded.chance(0.5) { 1 } else { -1 };
            (i64::from(note.pitch) + away).clamp(0, 127) as u8
        };
        match kind {
            Mistake::Wrong => {
                let pitch = other(3, seeded);
                played.push(PlayedNote { pitch, role: Role::Wrong(expected), ..*note });
            }
            Mistake::Missing => {}
            Mistake::Extra => {
                played.push(*note);
                let gap =
                    attempt.played.get(at + 1).map_or(200_000, |next| next.onset - note.onset);
                let onset = note.onset + gap / 100 * seeded.between(25, 75) as u32;
                let pitch = other(7, seeded);
                played.push(PlayedNote { onset, pitch, role: Role::Extra, ..*note });
            }
            Mistake::Swapped | Mistake::Any => {
                // Each moves two notes.
                if seeded.chance(0.5) {
                    swaps.push(expected);
                }
                played.push(*note);
            }
        }
    }
    for expected in swaps {
        swap(attempt, expected, &mut played);
    }
    let (tempo, bar) = (attempt.micros_per_quarter, attempt.quarters_per_bar);
    Attempt::new(&attempt.expected, &played, tempo, bar)
}

/// Lets a note change places with one of another pitch of the next step, if both were played.
fn swap(attempt: &Attempt, expected: usize, played: &mut [PlayedNote]) {
    let this = attempt.expected[expected];
    let Some(next) = attempt.expected.iter().find(|note| note.onset > this.onset) else { return };
    let other = attempt
        .expected
        .iter()
        .position(|note| note.onset == next.onset && note.pitch != this.pitch);
    let at = |index: usize| played.iter().position(|note| note.role == Role::Plays(index));
    if let (Some(a), Some(b)) = (at(expected), other.and_then(at)) {
        let onset = played[a].onset;
        played[a].onset = played[b].onset;
        played[b].onset = onset;
    }
}

/// What the judge says each note is.
///
/// # Panics
/// If the attempt is no chunk.
pub fn labels(attempt: &Attempt, strings: bool) -> Labels {
    let string = |channel: u8| if strings { GuitarString::new(channel + 1) } else { None };
    let ticks = |ticks: u32| Ticks::new(ticks * (Ticks::PER_QUARTER / TICKS_PER_QUARTER));
    let notes: Vec<ExpectedNote> = attempt
        .expected
        .iter()
        .map(|note| ExpectedNote {
            string: string(note.channel),
            ..ExpectedNote::plain(
                ticks(note.onset),
                ticks(note.length),
                Pitch::new(note.pitch).expect("a pitch"),
            )
        })
        .collect();
    let tempo = Tempo::from_micros_per_quarter(attempt.micros_per_quarter).expect("a tempo");
    let chunk = Chunk::new(&notes, tempo).expect("a chunk");
    let channels = if strings { Channels::PerString { first: 0 } } else { Channels::One };
    let pickup = Pickup::UNKNOWN.on(channels);
    let config = SessionConfig { pickup, click: None, ends: Ends::ByCaller };
    let mut session = Box::new(Session::new(chunk, config));
    for note in &attempt.played {
        let bytes = [0x90 | note.channel, note.pitch, note.velocity];
        session.feed(&bytes, Instant::from_micros(note.onset.into()));
    }
    let judged = session.finish().expect("the caller ends the attempt");
    let mut labels = Labels::default();
    for by in 0..judged.played.len() {
        match judged.pairing.role(by) {
            Judged::Note(index) if attempt.expected[index].pitch == attempt.played[by].pitch => {
                labels.pairs.insert((index, by));
            }
            Judged::Note(index) => {
                labels.wrong.insert((index, by));
            }
            _ => {
                labels.extra.insert(by);
            }
        }
    }
    labels.missing = (0..notes.len()).filter(|&i| judged.pairing.played(i).is_none()).collect();
    labels
}
