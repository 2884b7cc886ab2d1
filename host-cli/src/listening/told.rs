//! What a listener tells: attempts, and false starts.

use super::otherwise::{Otherwise, otherwise};
use crate::study::Prepared;
use evenhand_core::align::{Material, Pairing};
use evenhand_core::attempt::PlayedNote;
use evenhand_core::measure::timing::tempo_played;
use evenhand_core::pickup::Pickup;
use evenhand_core::session::Judged;
use evenhand_core::study::Place;
use evenhand_core::units::{Instant, Tempo, Ticks};
use evenhand_core::verdict::{Outcome, Verdict};
use std::borrow::Cow;

/// An attempt that is over.
#[derive(Clone, Debug)]
pub struct Finished<'a> {
    /// The chunk that it was, or that it is nearest to: of the study, or several neighbours of it
    /// that were played through.
    pub chunk: Cow<'a, Prepared>,
    /// The names of other chunks that it fits as well, in the order of the study.
    pub also: Vec<&'a str>,
    /// What is said of it, taken together with the attempts before it where it alone is unclear.
    pub verdict: Verdict,
    /// How many attempts say so together; 1 if it stands for itself.
    pub together: u8,
    /// What was played; times are from its first note.
    pub played: Vec<PlayedNote>,
    /// When its first note began.
    pub began: Instant,
    /// Which played note is which expected note.
    pub pairing: Pairing,
    /// What it was heard with.
    pub pickup: Pickup,
    /// For each note of the attempt, its number among all note-ons of the stream, from 0; none
    /// for a bend.
    pub arrival: Vec<Option<u32>>,
    /// How often the player began and broke off since the last attempt.
    pub false_starts: u16,
    /// Where it is a part that was looped: the chunk, or the neighbours, that it is part of.
    pub part_of: Option<String>,
}

/// A chunk that was begun and broken off, too early to be judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FalseStart {
    /// The chunk.
    pub chunk: String,
    /// When its first note began.
    pub began: Instant,
    /// How many notes were played.
    pub notes: u32,
    /// Where it broke off: the first place that was not reached.
    pub reached: Option<Place>,
    /// The beat that the place is counted in.
    pub beat: Ticks,
}

impl<'a> Finished<'a> {
    /// What it was instead, where it did not pass: another of these chunks, or all of it higher or lower.
    pub fn otherwise<'c>(&'c self, chunks: &'c [Prepared]) -> Option<Otherwise<'c>> {
        if self.verdict.outcome == Outcome::Passed {
            return None;
        }
        let began = |note: &PlayedNote| {
            let micros = self.began.as_micros().saturating_add_signed(note.at.as_micros().into());
            (note.pitch, Instant::from_micros(micros))
        };
        let notes: Vec<_> = self.played.iter().map(began).collect();
        otherwise(&notes, Some(&self.chunk), chunks)
    }

    /// What a session found, standing for itself.
    pub fn of(chunk: Cow<'a, Prepared>, judged: &Judged<'_>, arrival: Vec<Option<u32>>) -> Self {
        Self {
            chunk,
            also: Vec::new(),
            verdict: judged.verdict.clone(),
            together: 1,
            played: judged.played.to_vec(),
            began: judged.began,
            pairing: judged.pairing.kept(),
            pickup: *judged.pickup,
            arrival,
            false_starts: judged.false_starts,
            part_of: None,
        }
    }

    /// The number of a played note among all note-ons of the stream; none for a bend.
    pub fn arrival(&self, played: usize) -> Option<u32> {
        self.arrival.get(played).copied().flatten()
    }

    /// The tempo at which it was played, where one was heard.
    pub fn tempo_heard(&self) -> Option<Tempo> {
        self.material(tempo_played)
    }

    /// Calls `with` with the attempt as measures see it.
    pub fn material<T>(&self, with: impl FnOnce(Material<'_>) -> T) -> T {
        let chunk = self.chunk.chunk();
        with(Material {
            chunk: &chunk,
            played: &self.played,
            pairing: self.pairing.view(),
            pickup: &self.pickup,
        })
    }
}
