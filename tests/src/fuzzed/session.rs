//! Bytes into a session, at times and in pieces of any kind.

use super::fault::clear_fault;
use super::script::{Script, Step};
use evenhand::listening::Finished;
use evenhand::report::Ink;
use evenhand::study::Prepared;
use evenhand::{events, report};
use evenhand_core::align::Role;
use evenhand_core::attempt::SAME_STROKE;
use evenhand_core::limits::SESSION_BYTES;
use evenhand_core::pickup::Latency;
use evenhand_core::session::{Ends, Judged, Session};
use evenhand_core::units::Instant;
use evenhand_core::verdict::{Outcome, Severity};
use std::borrow::Cow;

/// More instructions than this are not followed, so that a long input is not a slow one.
const STEPS: usize = 400;

/// For the same reason: notes that are played, times notes of the chunk. It is enough for 512 notes
/// in a chunk of 32, and for one and a half times a chunk of 256.
const WORK: usize = 100_000;

/// Attempts that are put into words; the others are only checked.
const SAID: u32 = 6;

/// A session, one that hears the same bytes one by one, and the time.
struct Pair<'a> {
    chunk: &'a Prepared,
    whole: Box<Session>,
    single: Box<Session>,
    now: Instant,
    /// The next expected note to be played; it goes on counting when the chunk is repeated.
    next: usize,
    /// What is left of [`WORK`].
    work: usize,
    said: u32,
}

/// Has a piece played with a clear fault, or follows the instructions in `input`; its last byte says
/// which.
///
/// # Panics
/// If the fault passes, or if two sessions that hear the same disagree, or if what is said of an
/// attempt does not hold together.
pub fn session(input: &[u8]) {
    match input.split_last() {
        Some((last, piece)) if last & 3 == 3 => clear_fault(piece),
        _ => follow(input),
    }
}

fn follow(input: &[u8]) {
    let mut script = Script::new(input);
    let Some((config, prepared)) = script.head() else { return };
    let chunk = match prepared.checked(prepared.tempo) {
        Ok(chunk) => chunk,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return;
        }
    };
    let mut pair = Pair {
        chunk: &prepared,
        whole: Box::new(Session::new(chunk, config)),
        single: Box::new(Session::new(chunk, config)),
        now: Instant::ZERO,
        next: 0,
        work: WORK,
        said: 0,
    };
    assert!(size_of::<Session>() <= SESSION_BYTES);
    for _ in 0..STEPS {
        let Some(step) = script.step().filter(|_| pair.work > 0) else { break };
        pair.follow(&step);
    }
    // Where the caller ends attempts, an empty one is one, too: there is no last.
    let most = if config.ends == Ends::ByCaller { 2 } else { 600 };
    let attempts = (0..most).take_while(|_| pair.ask(Ask::Finish)).count();
    assert!(attempts < 600, "there is no end of attempts");
}

impl Pair<'_> {
    fn follow(&mut self, step: &Step<'_>) {
        match *step {
            Step::Wait(micros) => self.now = self.later(micros),
            Step::SetBack(micros) => {
                self.now = Instant::from_micros(self.now.as_micros().saturating_sub(micros));
            }
            Step::Bytes(bytes) => self.feed(bytes),
            Step::Play { notes, later, loudness } => {
                for note in 0..notes {
                    self.play(later, loudness.wrapping_mul(note) & 0x1f);
                }
            }
            Step::Skip => self.next += 1,
            Step::Again => self.next = 0,
            Step::Poll => self.poll(),
            Step::PollWhenDue => {
                if let Some(due) = self.whole.poll_at() {
                    self.now = self.now.max(due);
                    self.poll();
                }
            }
            Step::Finish => {
                self.ask(Ask::Finish);
            }
            Step::Discard => {
                self.whole.discard();
                self.single.discard();
            }
        }
    }

    fn later(&self, micros: u64) -> Instant {
        Instant::from_micros(self.now.as_micros().saturating_add(micros))
    }

    /// Plays the next expected note, as long after the one before as it is written and a little
    /// more.
    fn play(&mut self, later: u8, softer: u8) {
        let notes = &self.chunk.notes;
        let Some(note) = notes.get(self.next % notes.len()) else { return };
        let before = self.next.checked_sub(1).and_then(|last| notes.get(last % notes.len()));
        let written = before.map_or(note.onset, |before| note.onset.since(before.onset));
        let gap = u64::from(self.chunk.tempo.lasting(written).as_micros().unsigned_abs());
        self.now = self.later(gap + gap * u64::from(later) / 256);
        self.next += 1;
        let channel = note.string.map_or(0, |string| string.number() - 1);
        self.feed(&[0x90 | channel, note.pitch.number(), 100 - softer]);
        self.poll();
    }

    fn feed(&mut self, bytes: &[u8]) {
        // A message of three bytes may begin a note.
        let work = self.chunk.notes.len() * bytes.len().div_ceil(3);
        self.work = self.work.saturating_sub(work);
        self.whole.feed(bytes, self.now);
        for byte in bytes {
            self.single.feed(&[*byte], self.now);
        }
        assert_eq!(self.whole.poll_at(), self.single.poll_at());
        assert_eq!(self.whole.match_score(), self.single.match_score());
        assert!(self.whole.events_behind() <= self.chunk.notes.len());
    }

    fn poll(&mut self) {
        self.ask(Ask::Poll(self.now));
    }

    /// Whether there was an attempt.
    fn ask(&mut self, ask: Ask) -> bool {
        let judged = ask.of(&mut self.whole);
        let other = ask.of(&mut self.single);
        assert_eq!(judged.is_some(), other.is_some());
        let (Some(judged), Some(other)) = (judged, other) else { return false };
        assert_eq!(judged.verdict, other.verdict);
        assert_eq!(judged.first_note, other.first_note);
        assert_eq!(judged.played, other.played);
        check(&judged);
        if self.said < SAID {
            self.said += 1;
            say(&judged, self.chunk);
        }
        true
    }
}

/// The two ways to get an attempt.
#[derive(Clone, Copy)]
enum Ask {
    Poll(Instant),
    Finish,
}

impl Ask {
    fn of<'s>(self, session: &'s mut Session) -> Option<Judged<'s>> {
        match self {
            Self::Poll(now) => session.poll(now),
            Self::Finish => session.finish(),
        }
    }
}

/// What holds for every attempt, whatever was played.
fn check(judged: &Judged<'_>) {
    let (expected, played) = (judged.chunk.notes(), judged.played);
    // Arrival never steps back, and a stroke is no longer than this before it.
    let most = Latency::MOST.as_micros() + SAME_STROKE.as_micros();
    let mut latest = i32::MIN;
    for note in played {
        latest = latest.max(note.at.as_micros());
        assert!(latest - note.at.as_micros() <= most, "time steps back: {note:?}");
    }
    for note in 0..expected.len() {
        if let Some(by) = judged.pairing.played(note) {
            assert!(by < played.len());
            assert_eq!(judged.pairing.role(by), Role::Note(note), "not one to one");
        }
    }
    for by in 0..played.len() {
        match judged.pairing.role(by) {
            Role::Note(note) => assert_eq!(judged.pairing.played(note), Some(by)),
            Role::Trill(note) => assert!(expected[note].trill.is_some()),
            Role::Extra => {
                assert!(!judged.pairing.class(by).is_right(), "an extra note is not right");
            }
        }
    }
    let findings = &judged.verdict.findings;
    let severities = findings.iter().map(|finding| finding.severity);
    let outcome = match severities.max() {
        None | Some(Severity::Advice) => Outcome::Passed,
        Some(Severity::Unsettled) => Outcome::Unclear,
        Some(Severity::Fails) => Outcome::NeedsWork,
    };
    assert_eq!(judged.verdict.outcome, outcome);
    for finding in findings {
        assert!(finding.note.is_none_or(|note| usize::from(note) < expected.len()), "{finding:?}");
    }
}

/// Says it in words and in lines for programs, to nobody.
fn say(judged: &Judged<'_>, chunk: &Prepared) {
    let arrival = (judged.first_note..).map(Some).take(judged.played.len()).collect();
    let finished = Finished::of(Cow::Borrowed(chunk), judged, arrival);
    let mut out = Vec::new();
    report::attempt(&mut out, &finished, Ink::Plain).expect("memory takes all");
    events::attempt(&mut out, &finished, 1, "fuzzed").expect("memory takes all");
    assert!(std::str::from_utf8(&out).is_ok_and(|text| !text.is_empty()));
}
