//! Listens to a stream with one or several chunks in mind, and hands out each attempt when
//! it is over.

use crate::study::Prepared;
use evenhand_core::align::{Material, Pairing};
use evenhand_core::attempt::Attempt;
use evenhand_core::pickup::Channels;
use evenhand_core::session::{Hearing, Judged, Session};
use evenhand_core::units::Instant;
use evenhand_core::verdict::{Kind, Verdict};

/// An attempt that is over.
#[derive(Clone, Debug)]
pub struct Finished<'a> {
    /// The chunk that it was, or that it is nearest to.
    pub chunk: &'a Prepared,
    /// What is said of it.
    pub verdict: Verdict,
    /// What was played.
    pub attempt: Attempt,
    /// Which played note is which expected note.
    pub pairing: Pairing,
    /// For each note of the attempt, its number among all note-ons of the stream, from 0; none
    /// for a bend.
    pub arrival: Vec<Option<u32>>,
}

impl Finished<'_> {
    /// The number of a played note among all note-ons of the stream; none for a bend.
    pub fn arrival(&self, played: usize) -> Option<u32> {
        self.arrival.get(played).copied().flatten()
    }

    /// Calls `with` with the attempt as measures see it.
    pub fn material<T>(&self, with: impl FnOnce(Material<'_>) -> T) -> T {
        let chunk = self.chunk.chunk();
        with(Material {
            chunk: &chunk,
            played: self.attempt.notes(),
            pairing: &self.pairing,
            pickup: self.attempt.pickup(),
        })
    }

    /// Whether it was an attempt at this chunk, to its end, and most of what was played
    /// belongs to it.
    fn is_settled(&self) -> bool {
        let unsettled = [Kind::NotThisChunk, Kind::BrokenOff, Kind::NothingHeard];
        let right = self.material(|material| material.right_notes().count());
        unsettled.iter().all(|&kind| self.verdict.finding(kind).is_none())
            && right * 10 >= self.attempt.notes().len() * 6
    }
}

/// An opinion of one session on what was played, and how well it explains it.
struct Opinion<'a> {
    finished: Finished<'a>,
    /// In per cent of a note; see [`Session::unexplained`].
    unexplained: u32,
}

/// One session a chunk; each hears everything.
pub struct Listener<'a> {
    chunks: &'a [Prepared],
    sessions: Vec<Ear<'a>>,
    note_ons: u32,
    nearest: Option<Opinion<'a>>,
}

/// A session, and what is known beside it.
struct Ear<'a> {
    session: Box<Session<'a>>,
    /// Numbers of the notes of the attempt under way.
    arrival: Vec<Option<u32>>,
    /// When it began.
    start: Option<Instant>,
    /// It has given its opinion on the notes since the last attempt.
    has_spoken: bool,
}

impl<'a> Listener<'a> {
    /// Listens for attempts at any of `chunks`.
    pub fn new(chunks: &'a [Prepared], hearing: Hearing) -> Self {
        let ear = |chunk: &'a Prepared| Ear {
            session: Box::new(Session::new(chunk.chunk(), hearing)),
            arrival: Vec::new(),
            start: None,
            has_spoken: false,
        };
        Self { chunks, sessions: chunks.iter().map(ear).collect(), note_ons: 0, nearest: None }
    }

    /// Takes one message (or a piece of one) that came at `now`. Poll until nothing more
    /// comes before each call. `begins` tells whether it begins a note.
    pub fn feed(&mut self, bytes: &[u8], now: Instant, begins: bool) {
        for ear in &mut self.sessions {
            ear.session.feed(bytes, now);
            let attempt = ear.session.attempt();
            if attempt.start() != ear.start {
                // Another attempt; or what began as one was noise.
                ear.start = attempt.start();
                ear.arrival.clear();
            }
            if attempt.notes().len() > ear.arrival.len() {
                ear.arrival.push(begins.then_some(self.note_ons));
            }
        }
        self.note_ons += u32::from(begins);
    }

    /// How strings are spread over channels, as far as it is known by now.
    pub fn channels(&self) -> Channels {
        self.sessions.first().map_or(Channels::Auto, |ear| ear.session.channels())
    }

    /// When to poll if nothing comes in until then.
    pub fn poll_at(&self) -> Option<Instant> {
        self.sessions.iter().filter_map(|ear| ear.session.poll_at()).min()
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
        for (chunk, ear) in self.chunks.iter().zip(&mut self.sessions) {
            let Some(judged) = over(&mut ear.session) else {
                continue;
            };
            let finished = Finished {
                chunk,
                verdict: judged.verdict.clone(),
                attempt: judged.attempt.clone(),
                pairing: judged.pairing.clone(),
                arrival: std::mem::take(&mut ear.arrival),
            };
            ear.has_spoken = true;
            let unexplained = ear.session.unexplained();
            // Of equally good explanations the one that holds more of the notes.
            let rank = |opinion: &Opinion<'_>| {
                let length = opinion.finished.chunk.notes.len();
                (opinion.unexplained, std::cmp::Reverse(length))
            };
            let opinion = Opinion { finished, unexplained };
            if self.nearest.as_ref().is_none_or(|nearest| rank(&opinion) < rank(nearest)) {
                self.nearest = Some(opinion);
            }
        }
        let nearest = self.nearest.as_ref()?;
        // While another chunk explains the notes as well and is not over, wait for its end.
        let others = self.sessions.iter().filter(|ear| ear.is_listening());
        let best_of_others = others.map(|ear| ear.session.unexplained()).min();
        let settled = nearest.finished.is_settled();
        if best_of_others.is_some_and(|other| !settled || other <= nearest.unexplained) {
            return None;
        }
        let finished = self.nearest.take()?.finished;
        for ear in &mut self.sessions {
            ear.session.discard();
            ear.arrival.clear();
            ear.has_spoken = false;
        }
        Some(finished)
    }
}

impl Ear<'_> {
    /// Whether its chunk may still turn out to be the one that is being played.
    fn is_listening(&self) -> bool {
        !self.has_spoken && self.session.poll_at().is_some()
    }
}
