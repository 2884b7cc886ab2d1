//! Listens to a stream with one or several chunks in mind, and hands out each attempt when
//! it is over.

use crate::study::Prepared;
use evenhand_core::align::{Material, Pairing};
use evenhand_core::attempt::PlayedNote;
use evenhand_core::limits::PLAYED_NOTES;
use evenhand_core::notes::{Converter, NoteEvent};
use evenhand_core::pickup::{Channels, Pickup};
use evenhand_core::session::{Ends, Hearing, Judged, Session};
use evenhand_core::study::Marks;
use evenhand_core::units::Instant;
use evenhand_core::verdict::{Kind, Pool, Pooled, Verdict};
use evenhand_core::wire::Wire;
use std::cmp::Reverse;
use std::collections::VecDeque;
use std::ops::Range;
use wmidi::MidiMessage;

/// An attempt that is over.
#[derive(Clone, Debug)]
pub struct Finished<'a> {
    /// The chunk that it was, or that it is nearest to.
    pub chunk: &'a Prepared,
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
            played: &self.played,
            pairing: &self.pairing,
            pickup: &self.pickup,
        })
    }
}

/// One session's opinion on what some notes were.
struct Opinion<'a> {
    finished: Finished<'a>,
    /// Which notes of the stream, as the sessions count them: the first, and after the last
    /// that is not the landing's.
    notes: Range<u32>,
    /// How badly it explains them, in per cent of a note; see [`Session::unexplained`].
    unexplained: u32,
}

/// What a note costs that an opinion says nothing about and another one does, in per cent of a
/// note: about half of what the alignment pays for a note outside of an attempt. Our default.
const NOT_COVERED: u32 = 30;

/// What it costs to explain all notes of `stretch` by an attempt at some of them.
fn cost(unexplained: u32, notes: &Range<u32>, stretch: &Range<u32>) -> u32 {
    let before = notes.start.saturating_sub(stretch.start);
    let after = stretch.end.saturating_sub(notes.end);
    unexplained.saturating_add((before + after) * NOT_COVERED)
}

/// From the first note of either to the last.
fn both(a: &Range<u32>, b: &Range<u32>) -> Range<u32> {
    a.start.min(b.start)..a.end.max(b.end)
}

impl Opinion<'_> {
    /// Orders opinions on the same stretch of notes, the most convincing first: what explains
    /// most; what reached its end; what holds most of the notes.
    fn rank(&self, stretch: &Range<u32>) -> (u32, bool, Reverse<usize>) {
        let broken_off = self.finished.verdict.finding(Kind::BrokenOff).is_some();
        let right = self.finished.material(|material| material.right_notes().count());
        (cost(self.unexplained, &self.notes, stretch), broken_off, Reverse(right))
    }

    fn overlaps(&self, other: &Self) -> bool {
        // An attempt without a note stands somewhere, too.
        let end = |notes: &Range<u32>| notes.end.max(notes.start + 1);
        self.notes.start < end(&other.notes) && other.notes.start < end(&self.notes)
    }
}

/// For the notes that sessions hear, their numbers among all note-ons (bends have none): of those only that a
/// session can still judge, so that a stream without an end takes no more and more memory.
struct Numbers {
    ends: Ends,
    /// How the sessions count the first that is kept.
    first: u32,
    kept: VecDeque<Option<u32>>,
}

impl Numbers {
    fn push(&mut self, number: Option<u32>) {
        match self.ends {
            // One attempt; what finds no room in it is not judged.
            Ends::ByCaller if self.kept.len() == PLAYED_NOTES => return,
            // Twice what a session keeps: some notes may wait before they are looked at.
            Ends::ByItself if self.kept.len() == 2 * PLAYED_NOTES => {
                self.kept.pop_front();
                self.first += 1;
            }
            _ => {}
        }
        self.kept.push_back(number);
    }

    fn from(&self, first: u32) -> impl Iterator<Item = Option<u32>> + '_ {
        self.kept.iter().copied().skip(first.saturating_sub(self.first) as usize)
    }
}

/// One session a chunk; each hears everything.
pub struct Listener<'a> {
    chunks: &'a [Prepared],
    sessions: Vec<Box<Session<'a>>>,
    wire: Wire,
    converter: Converter,
    numbers: Numbers,
    note_ons: u32,
    opinions: Vec<Opinion<'a>>,
    pool: Pool,
}

impl<'a> Listener<'a> {
    /// Listens for attempts at any of `chunks`.
    pub fn new(chunks: &'a [Prepared], hearing: Hearing) -> Self {
        Self {
            chunks,
            sessions: chunks
                .iter()
                .map(|chunk| Box::new(Session::new(chunk.chunk(), hearing)))
                .collect(),
            wire: Wire::new(),
            converter: Converter::new(&hearing.pickup),
            numbers: Numbers { ends: hearing.ends, first: 0, kept: VecDeque::new() },
            note_ons: 0,
            opinions: Vec::new(),
            pool: Pool::new(),
        }
    }

    /// Goes on from the attempts of an earlier listener, so that they are taken together.
    #[must_use]
    pub fn after(mut self, earlier: Pool) -> Self {
        self.pool = earlier;
        self
    }

    /// The last attempts, for the next listener.
    pub fn into_attempts(self) -> Pool {
        self.pool
    }

    /// Takes one message (or a piece of one) that came at `now`. Poll until nothing more
    /// comes before each call. `begins` tells whether it begins a note.
    pub fn feed(&mut self, bytes: &[u8], now: Instant, begins: bool) {
        for session in &mut self.sessions {
            session.feed(bytes, now);
        }
        for &byte in bytes {
            if let Some(message) = self.wire.push(byte)
                && let Some(event) = self.converter.hear(&message)
            {
                self.number(&event);
            }
        }
        self.note_ons += u32::from(begins);
    }

    /// Takes a note event, for callers with their own source of messages.
    pub fn hear(&mut self, event: NoteEvent, now: Instant) {
        for session in &mut self.sessions {
            session.hear(event, now);
        }
        self.number(&event);
        self.note_ons += u32::from(matches!(event, NoteEvent::Begun { .. }));
    }

    /// Counts what the sessions count as a note.
    fn number(&mut self, event: &NoteEvent) {
        match event {
            NoteEvent::Begun { .. } => self.numbers.push(Some(self.note_ons)),
            NoteEvent::Bent { .. } => self.numbers.push(None),
            NoteEvent::Ended { .. } | NoteEvent::AllEnded { .. } => {}
        }
    }

    /// How strings are spread over channels, as far as it is known by now.
    pub const fn channels(&self) -> Channels {
        self.converter.channels()
    }

    /// When to poll if nothing comes in until then.
    pub fn poll_at(&self) -> Option<Instant> {
        self.sessions.iter().filter_map(|session| session.poll_at()).min()
    }

    /// The attempt that is over at `now`, if one is.
    pub fn poll(&mut self, now: Instant) -> Option<Finished<'a>> {
        self.ask(|session| session.poll(now));
        self.decide()
    }

    /// Ends the stream. Call until nothing more comes.
    pub fn finish(&mut self) -> Option<Finished<'a>> {
        self.ask(|session| session.finish());
        self.decide()
    }

    /// Forgets what is under way, and what was over and has not been handed out.
    pub fn discard(&mut self) {
        self.sessions.iter_mut().for_each(|session| session.discard());
        self.opinions.clear();
    }

    /// The line broke: no session judges what is under way. What was over is still to be polled,
    /// before this and after it. Tells whether an attempt was under way.
    pub fn interrupt(&mut self) -> bool {
        self.wire.interrupt();
        let _ = self.converter.hear(&MidiMessage::Reset);
        let sessions = self.sessions.iter_mut();
        sessions.fold(false, |under_way, session| session.interrupt() | under_way)
    }

    /// Note-ons that have come.
    pub const fn note_ons(&self) -> u32 {
        self.note_ons
    }

    fn ask(&mut self, mut over: impl for<'s> FnMut(&'s mut Session<'a>) -> Option<Judged<'s>>) {
        for (chunk, session) in self.chunks.iter().zip(&mut self.sessions) {
            let Some(judged) = over(session) else { continue };
            let first = judged.first_note;
            let proper = judged
                .material()
                .chunk
                .notes()
                .iter()
                .enumerate()
                .filter(|(_, wanted)| !wanted.marks.has(Marks::LANDING))
                .filter_map(|(index, _)| judged.pairing.played(index))
                .max();
            let after = proper.map_or(judged.played.len(), |last| last + 1) as u32;
            let arrival = self.numbers.from(first).take(judged.played.len());
            let finished = Finished {
                chunk,
                verdict: judged.verdict.clone(),
                together: 1,
                played: judged.played.to_vec(),
                began: judged.began,
                pairing: judged.pairing.clone(),
                pickup: *judged.pickup,
                arrival: arrival.collect(),
                false_starts: judged.false_starts,
            };
            let unexplained = session.unexplained();
            self.opinions.push(Opinion { finished, notes: first..first + after, unexplained });
        }
    }

    /// The first attempt on which the opinions are settled.
    fn decide(&mut self) -> Option<Finished<'a>> {
        let earliest = self.opinions.iter().min_by_key(|opinion| opinion.notes.start)?;
        let rivals =
            || self.opinions.iter().enumerate().filter(|(_, other)| other.overlaps(earliest));
        let stretch =
            rivals().fold(earliest.notes.clone(), |all, (_, other)| both(&all, &other.notes));
        let (best, opinion) = rivals().min_by_key(|(_, opinion)| opinion.rank(&stretch))?;
        // While another chunk explains the notes as well and is not over, wait for its end.
        let open = self.sessions.iter().any(|session| {
            let Some(from) = session.under_way_from().filter(|from| *from < opinion.notes.end)
            else {
                return false;
            };
            let heard = from..session.notes_heard();
            let stretch = both(&heard, &opinion.notes);
            cost(session.unexplained(), &heard, &stretch)
                <= cost(opinion.unexplained, &opinion.notes, &stretch)
        });
        if open {
            return None;
        }
        let opinion = self.opinions.swap_remove(best);
        self.opinions.retain(|other| !other.overlaps(&opinion));
        for session in &mut self.sessions {
            if session.under_way_from().is_some_and(|from| from < opinion.notes.end) {
                session.pass_over(opinion.notes.end);
            }
        }
        let (mut finished, pool) = (opinion.finished, &mut self.pool);
        let Pooled { verdict, attempts } =
            finished.material(|material| pool.add(material, &finished.verdict));
        finished.verdict = verdict;
        finished.together = attempts;
        Some(finished)
    }
}
