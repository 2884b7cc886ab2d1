//! Listens to a stream with one or several chunks in mind, and hands out each attempt when
//! it is over.

use crate::study::Prepared;
use evenhand_core::align::{Material, Pairing};
use evenhand_core::attempt::Attempt;
use evenhand_core::session::{Hearing, Judged, Session};
use evenhand_core::units::Instant;
use evenhand_core::verdict::{Kind, Verdict};

/// An attempt that is over.
#[derive(Clone, Debug)]
pub struct Finished<'a> {
    /// Its number, from 1.
    pub number: u32,
    /// The chunk that it was, or that it is nearest to.
    pub chunk: &'a Prepared,
    /// What is said of it.
    pub verdict: Verdict,
    /// What was played.
    pub attempt: Attempt,
    /// Which played note is which expected note.
    pub pairing: Pairing,
    /// For each note of the attempt, its number among all note-ons of the stream, from 0.
    pub arrival: Vec<u32>,
}

impl Finished<'_> {
    /// The number of a played note among all note-ons of the stream.
    pub fn arrival(&self, played: usize) -> u32 {
        self.arrival.get(played).copied().unwrap_or(u32::MAX)
    }

    /// Calls `with` with the attempt as measures see it.
    pub fn material<T>(&self, with: impl FnOnce(Material<'_>) -> T) -> T {
        let chunk = self.chunk.chunk();
        with(Material {
            chunk: &chunk,
            played: self.attempt.notes(),
            pairing: &self.pairing,
        })
    }

    /// How many expected notes were played right, of how many; and the notes that were not
    /// part of it.
    fn fit(&self) -> Fit {
        self.material(|material| Fit {
            right: material.right_notes().count(),
            played: material.played.len(),
            settled: self.verdict.finding(Kind::NotThisChunk).is_none()
                && self.verdict.finding(Kind::BrokenOff).is_none()
                && self.verdict.finding(Kind::NothingHeard).is_none(),
        })
    }
}

#[derive(Clone, Copy, Debug)]
struct Fit {
    right: usize,
    played: usize,
    settled: bool,
}

impl Fit {
    /// Whether this is surely the chunk that was played: it was judged to its end, and most
    /// of what was played belongs to it.
    const fn is_sure(self) -> bool {
        self.settled && self.right * 10 >= self.played * 6
    }
}

/// One session a chunk; each hears everything.
pub struct Listener<'a> {
    chunks: &'a [Prepared],
    sessions: Vec<Ear<'a>>,
    attempts: u32,
    note_ons: u32,
    nearest: Option<Finished<'a>>,
}

/// A session, and what is known beside it.
struct Ear<'a> {
    session: Box<Session<'a>>,
    /// Numbers of the notes of the attempt under way.
    arrival: Vec<u32>,
    /// It has given its opinion on the notes since the last attempt.
    has_spoken: bool,
}

impl<'a> Listener<'a> {
    /// Listens for attempts at any of `chunks`.
    pub fn new(chunks: &'a [Prepared], hearing: Hearing) -> Self {
        let ear = |chunk: &'a Prepared| Ear {
            session: Box::new(Session::new(chunk.chunk(), hearing)),
            arrival: Vec::new(),
            has_spoken: false,
        };
        Self {
            chunks,
            sessions: chunks.iter().map(ear).collect(),
            attempts: 0,
            note_ons: 0,
            nearest: None,
        }
    }

    /// Takes one message (or a piece of one) that came at `now`. Poll until nothing more
    /// comes before each call. `begins` tells whether it begins a note.
    pub fn feed(&mut self, bytes: &[u8], now: Instant, begins: bool) {
        for ear in &mut self.sessions {
            ear.session.feed(bytes, now);
            if ear.session.attempt().notes().len() > ear.arrival.len() {
                ear.arrival.push(self.note_ons);
            }
        }
        self.note_ons += u32::from(begins);
    }

    /// When to poll if nothing comes in until then.
    pub fn poll_at(&self) -> Option<Instant> {
        self.sessions
            .iter()
            .filter_map(|ear| ear.session.poll_at())
            .min()
    }

    /// The attempt that is over at `now`, if one is.
    pub fn poll(&mut self, now: Instant) -> Option<Finished<'a>> {
        self.ask(|session| session.poll(now))
    }

    /// Ends the stream. Call until nothing more comes.
    pub fn finish(&mut self) -> Option<Finished<'a>> {
        self.ask(|session| session.finish())
    }

    fn ask(
        &mut self,
        mut over: impl for<'s> FnMut(&'s mut Session<'a>) -> Option<Judged<'s>>,
    ) -> Option<Finished<'a>> {
        let mut sure = None;
        for (chunk, ear) in self.chunks.iter().zip(&mut self.sessions) {
            let Some(judged) = over(&mut ear.session) else {
                continue;
            };
            let finished = Finished {
                number: self.attempts + 1,
                chunk,
                verdict: judged.verdict.clone(),
                attempt: judged.attempt.clone(),
                pairing: judged.pairing.clone(),
                arrival: std::mem::take(&mut ear.arrival),
            };
            ear.has_spoken = true;
            let fit = finished.fit();
            let nearer = |than: &Option<Finished<'a>>| {
                than.as_ref().is_none_or(|other| {
                    let other = other.fit();
                    (fit.settled, fit.right) > (other.settled, other.right)
                })
            };
            if fit.is_sure() && nearer(&sure) {
                sure = Some(finished);
            } else if nearer(&self.nearest) {
                self.nearest = Some(finished);
            }
        }
        if sure.is_none() && self.anyone_listening() {
            return None;
        }
        let finished = sure.or_else(|| self.nearest.take())?;
        self.nearest = None;
        for ear in &mut self.sessions {
            ear.session.discard();
            ear.arrival.clear();
            ear.has_spoken = false;
        }
        self.attempts += 1;
        Some(finished)
    }

    /// Whether a chunk may still turn out to be the one that is being played.
    fn anyone_listening(&self) -> bool {
        self.sessions
            .iter()
            .any(|ear| !ear.has_spoken && ear.session.poll_at().is_some())
    }
}
