//! The whole judge: bytes and times in, verdicts out.

mod patience;

use crate::align::{Aligner, Material, Pairing};
use crate::attempt::Attempt;
use crate::condition::{Tail, Trails};
use crate::measure::timing::Click;
use crate::notes::{Converter, NoteEvent};
use crate::pickup::{Channels, Pickup};
use crate::study::Chunk;
use crate::units::{Instant, Pitch};
use crate::verdict::{Verdict, judge};
use crate::wire::Wire;
use heapless::Deque;
use patience::patience;

/// Note events that can wait while a finished attempt has not been fetched.
const WAITING: usize = 32;

/// How a session listens.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Hearing {
    /// The pickup that the notes come from.
    pub pickup: Pickup,
    /// The click that the player hears, if there is one.
    pub click: Option<Click>,
    /// What ends an attempt.
    pub ends: Ends,
}

/// What ends an attempt.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Ends {
    /// The chunk's last note (and the landing, where one follows), or silence.
    #[default]
    ByItself,
    /// Only [`Session::finish`]: everything that is fed is one attempt.
    ByCaller,
}

/// An attempt that is over, with all that is known about it.
#[derive(Clone, Debug)]
pub struct Judged<'s> {
    /// What is said of it.
    pub verdict: &'s Verdict,
    /// The chunk it was judged by.
    pub chunk: &'s Chunk<'s>,
    /// What was played.
    pub attempt: &'s Attempt,
    /// Which played note is which expected note.
    pub pairing: &'s Pairing,
}

impl Judged<'_> {
    /// The same as measures see it.
    pub fn material(&self) -> Material<'_> {
        Material {
            chunk: self.chunk,
            played: self.attempt.notes(),
            pairing: self.pairing,
            pickup: self.attempt.pickup(),
        }
    }
}

#[derive(Clone, Debug)]
enum Stage {
    /// No note of this attempt has come.
    Waiting,
    /// Notes are coming in; it ends at this time if nothing more comes.
    Playing(Option<Instant>),
    /// It is over and has not been fetched.
    Over,
    /// It has been fetched; its notes stay until the next call.
    Fetched,
}

/// Listens to a stream of MIDI bytes and judges each attempt at one chunk.
///
/// Time is an argument: nothing here reads a clock, and time may not step back (a time
/// before the last one is taken for the last one). Feed bytes as they come, then poll; poll
/// again when [`poll_at`](Session::poll_at) says so, if nothing has come until then.
///
/// A session holds all its memory, under 60 KiB at full capacity, and allocates nothing.
///
/// ```
/// use evenhand_core::session::{Hearing, Session};
/// use evenhand_core::study::{Chunk, ExpectedNote};
/// use evenhand_core::units::{Instant, Pitch, Tempo, Ticks};
/// use evenhand_core::verdict::Outcome;
///
/// // Eight quarter notes at 120 a minute.
/// let quarter = Ticks::new(Ticks::PER_QUARTER);
/// let notes: Vec<_> = (0..8)
///     .map(|i| {
///         let pitch = Pitch::new(60 + i).unwrap();
///         ExpectedNote::plain(Ticks::new(u32::from(i) * Ticks::PER_QUARTER), quarter, pitch)
///     })
///     .collect();
/// let tempo = Tempo::from_beats_per_minute(120, quarter).unwrap();
/// let chunk = Chunk::new(&notes, tempo).unwrap();
/// let mut session = Session::new(chunk, Hearing::default());
///
/// // Played steadily, with a natural variation in loudness.
/// let mut now = Instant::ZERO;
/// for i in 0..8_u8 {
///     now = Instant::from_micros(u64::from(i) * 500_000);
///     session.feed(&[0x90, 60 + i, 80 + i % 3], now);
///     assert!(session.poll(now).is_none());
/// }
/// // The chunk is complete, so the attempt ends by itself a moment later.
/// let end = session.poll_at().unwrap();
/// let judged = session.poll(end).unwrap();
/// assert_eq!(judged.verdict.outcome, Outcome::Passed);
/// ```
#[derive(Clone, Debug)]
pub struct Session<'c> {
    chunk: Chunk<'c>,
    hearing: Hearing,
    wire: Wire,
    converter: Converter,
    tail: Tail,
    attempt: Attempt,
    aligner: Aligner,
    stage: Stage,
    latest: Instant,
    waiting: Deque<(NoteEvent, Instant), WAITING>,
    lost: u32,
    /// All of the attempt so far may be noise after the last one.
    doubtful: bool,
    verdict: Option<Verdict>,
    pairing: Pairing,
}

impl<'c> Session<'c> {
    /// A session for one chunk.
    pub fn new(chunk: Chunk<'c>, hearing: Hearing) -> Self {
        Self {
            // Built in its place: it is large, and a pedal has no room for it twice.
            aligner: Aligner::new(&chunk),
            chunk,
            hearing,
            wire: Wire::new(),
            converter: Converter::new(&hearing.pickup),
            tail: Tail::new(),
            attempt: Attempt::by(hearing.pickup),
            stage: Stage::Waiting,
            latest: Instant::ZERO,
            waiting: Deque::new(),
            lost: 0,
            doubtful: false,
            verdict: None,
            pairing: Pairing::default(),
        }
    }

    /// Takes bytes that came in at `now`.
    ///
    /// Work is bounded: constant for a byte, and for a byte that begins a note proportional
    /// to the number of expected notes. If an attempt is over and has not been fetched by
    /// [`poll`](Session::poll), notes wait; beyond 32 they are counted as [`lost`](Session::lost).
    pub fn feed(&mut self, bytes: &[u8], now: Instant) {
        for &byte in bytes {
            if let Some(message) = self.wire.push(byte)
                && let Some(event) = self.converter.hear(&message)
            {
                self.hear(event, now);
            }
        }
    }

    /// Takes a note event, for callers with their own source of messages.
    pub fn hear(&mut self, event: NoteEvent, now: Instant) {
        let now = now.max(self.latest);
        self.latest = now;
        self.begin_next();
        self.expire(now);
        if matches!(self.stage, Stage::Over) || !self.waiting.is_empty() {
            if self.waiting.push_back((event, now)).is_err() {
                self.lost = self.lost.saturating_add(1);
            }
            return;
        }
        self.take(event, now);
    }

    /// When to poll if nothing comes in until then; `None` while nothing is under way.
    pub const fn poll_at(&self) -> Option<Instant> {
        match self.stage {
            Stage::Waiting | Stage::Fetched => None,
            Stage::Playing(end) => end,
            Stage::Over => Some(self.latest),
        }
    }

    /// Gives the attempt that is over at `now`, if one is. Call it again until it gives none.
    pub fn poll(&mut self, now: Instant) -> Option<Judged<'_>> {
        let now = now.max(self.latest);
        self.latest = now;
        self.begin_next();
        self.expire(now);
        self.fetch()
    }

    /// Ends the attempt under way, if there is one, and gives it: the stream is over, or the
    /// player pressed a switch. Where only the caller ends attempts, one without a note is an
    /// attempt, too.
    pub fn finish(&mut self) -> Option<Judged<'_>> {
        self.begin_next();
        let silent = matches!(self.stage, Stage::Waiting) && self.hearing.ends == Ends::ByCaller;
        if matches!(self.stage, Stage::Playing(_)) || silent {
            if self.doubtful {
                self.forget();
                return None;
            }
            self.end();
        }
        self.fetch()
    }

    /// Forgets the attempt under way without judging it.
    pub fn discard(&mut self) {
        self.waiting.clear();
        if !matches!(self.stage, Stage::Waiting) {
            self.stage = Stage::Fetched;
        }
        self.begin_next();
    }

    /// The chunk.
    pub const fn chunk(&self) -> &Chunk<'c> {
        &self.chunk
    }

    /// What was played of the attempt under way, or of the one just fetched.
    pub const fn attempt(&self) -> &Attempt {
        &self.attempt
    }

    /// How strings are spread over channels, as far as it is known by now.
    pub const fn channels(&self) -> Channels {
        self.converter.channels()
    }

    /// How many events (notes or chords) of the chunk are behind, by the best explanation so
    /// far.
    pub const fn events_behind(&self) -> usize {
        self.aligner.events_behind()
    }

    /// What the best explanation of the attempt leaves unexplained, in per cent of a note; see
    /// [`Aligner::unexplained`].
    pub fn unexplained(&self) -> u32 {
        self.aligner.unexplained()
    }

    /// Note events that were lost because a finished attempt was not fetched in time.
    pub const fn lost(&self) -> u32 {
        self.lost
    }

    /// Data bytes that belonged to no message.
    pub const fn bytes_passed_over(&self) -> u32 {
        self.wire.passed_over()
    }

    /// After a fetched attempt: forget it, and take what has waited.
    fn begin_next(&mut self) {
        if !matches!(self.stage, Stage::Fetched) {
            return;
        }
        self.forget();
        while let Some((event, at)) = self.waiting.pop_front() {
            self.expire(at);
            if matches!(self.stage, Stage::Over) {
                let _ = self.waiting.push_front((event, at));
                return;
            }
            self.take(event, at);
        }
    }

    fn expire(&mut self, now: Instant) {
        if let Stage::Playing(Some(end)) = self.stage
            && end <= now
        {
            if self.doubtful {
                self.forget();
            } else {
                self.end();
            }
        }
    }

    fn take(&mut self, event: NoteEvent, now: Instant) {
        let NoteEvent::Begun { pitch, .. } = event else {
            self.tail.hear(&event, now);
            if !matches!(self.stage, Stage::Waiting) {
                self.go_on(event, now);
            }
            return;
        };
        let trails = self.tail.trails(&event, now);
        self.tail.hear(&event, now);
        if self.doubtful && (trails == Trails::No || self.is_only(pitch)) {
            // Here is a note; what came before was noise, unless the chunk begins with it.
            let opened = self.attempt.notes().iter().any(|note| self.opens(note.pitch));
            if !opened || self.is_only(pitch) {
                self.forget();
            }
            self.doubtful = false;
        }
        if matches!(self.stage, Stage::Waiting) {
            if trails == Trails::Surely && !self.opens(pitch) {
                return;
            }
            self.doubtful = trails != Trails::No;
        }
        self.go_on(event, now);
    }

    /// Takes what belongs to the attempt.
    fn go_on(&mut self, event: NoteEvent, now: Instant) {
        if let Some(note) = self.attempt.take(event, now) {
            self.aligner.push(&self.chunk, self.attempt.notes());
            if note.is_bent() && !self.aligner.last_note_matched() {
                // Vibrato on the last note does not put off the end.
                return;
            }
            let end = match self.hearing.ends {
                Ends::ByItself => Some(now.plus(patience(&self.chunk, &self.aligner))),
                Ends::ByCaller => None,
            };
            self.stage = Stage::Playing(end);
        }
    }

    /// Whether the chunk begins with this pitch, so that it cannot be passed over as what a
    /// lifted finger left of the last attempt.
    fn opens(&self, pitch: Pitch) -> bool {
        let notes = self.chunk.notes();
        let first = notes.first().map(|note| note.onset);
        let mut opening = notes.iter().take_while(|note| Some(note.onset) == first);
        opening.any(|note| note.pitch == pitch)
    }

    /// Whether the attempt is one note of this pitch.
    fn is_only(&self, pitch: Pitch) -> bool {
        matches!(self.attempt.notes(), [note] if note.pitch == pitch)
    }

    /// Begins anew, as if nothing had come.
    fn forget(&mut self) {
        self.attempt = Attempt::by(self.hearing.pickup);
        self.aligner.begin();
        self.verdict = None;
        self.doubtful = false;
        self.stage = Stage::Waiting;
    }

    fn end(&mut self) {
        self.pairing = self.aligner.pairing(&self.chunk, self.attempt.notes());
        let material = Material {
            chunk: &self.chunk,
            played: self.attempt.notes(),
            pairing: &self.pairing,
            pickup: self.attempt.pickup(),
        };
        let start = self.attempt.start().unwrap_or(self.latest);
        let click = self.hearing.click.map(|click| (click, start));
        self.verdict = Some(judge(material, self.attempt.beyond(), click));
        self.stage = Stage::Over;
    }

    fn fetch(&mut self) -> Option<Judged<'_>> {
        if !matches!(self.stage, Stage::Over) {
            return None;
        }
        self.stage = Stage::Fetched;
        Some(Judged {
            verdict: self.verdict.as_ref()?,
            chunk: &self.chunk,
            attempt: &self.attempt,
            pairing: &self.pairing,
        })
    }
}

/// Whoever changes a capacity sees here what it costs.
const _: () = assert!(size_of::<Session<'_>>() <= crate::limits::SESSION_BYTES);
