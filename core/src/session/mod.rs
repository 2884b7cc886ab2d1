//! The whole judge: bytes and times in, verdicts out.

mod arrivals;
mod config;
mod follow;
mod judging;
mod parts;
mod patience;

pub use arrivals::Arrivals;
pub use config::{Ends, SessionConfig};

use crate::align::{Material, Pairing, PairingView, Workspace};
use crate::attempt::{Attempt, PlayedNote};
use crate::limits::{EXPECTED_NOTES, PLAYED_NOTES};
use crate::notes::{Converter, NoteEvent};
use crate::pickup::{Channels, Habits, Pickup};
use crate::study::{Chunk, ExpectedNote, Setting};
use crate::units::Instant;
use crate::verdict::Verdict;
use crate::wire::Wire;
use crate::zeroed_option::ZeroedOption;
use core::fmt;
use heapless::{Deque, Vec};
use parts::Parts;

/// Note events that can wait while a finished attempt has not been fetched.
const WAITING: usize = 32;

/// Fewer played notes than this are no buffer to cut attempts out of. Our default.
const FEWEST_PLAYED: usize = 16;

/// Why a chunk was not loaded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum LoadError {
    /// The chunk has more notes than the session has room for.
    TooManyNotes {
        /// How many it has.
        notes: usize,
        /// How many there is room for.
        room: usize,
    },
}

impl fmt::Display for LoadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::TooManyNotes { notes, room } = self;
        write!(f, "{notes} notes, and the session has room for {room}")
    }
}

impl core::error::Error for LoadError {}

/// An attempt that is over, with all that is known about it.
#[derive(Clone, Debug)]
pub struct Judged<'s> {
    /// What is said of it.
    pub verdict: &'s Verdict,
    /// The chunk it was judged by.
    pub chunk: Chunk<'s>,
    /// What was played, in order of arrival; times are from its first note.
    pub played: &'s [PlayedNote],
    /// When its first note began.
    pub began: Instant,
    /// The number of its first note among all that the session has heard, from 0.
    pub first_note: u32,
    /// Which played note is which expected note.
    pub pairing: PairingView<'s>,
    /// What it was heard with.
    pub pickup: &'s Pickup,
    /// How many of [`played`](Judged::played) come before the landing on the next chunk, which
    /// may be the next attempt's.
    pub before_landing: usize,
    /// How well it explains them; see [`Session::match_score`].
    pub match_score: i32,
    /// How often the player began and broke off since the last attempt.
    pub false_starts: u16,
}

impl Judged<'_> {
    /// The same as measures see it.
    pub const fn material(&self) -> Material<'_> {
        Material {
            chunk: &self.chunk,
            played: self.played,
            pairing: self.pairing,
            pickup: self.pickup,
        }
    }
}

/// What is known of the attempt under way, in notes of the buffer.
#[derive(Clone, Copy, Debug, Default)]
struct Track {
    start: usize,
    /// After the last note that is part of it.
    end: usize,
    events: usize,
    is_complete: bool,
    /// The landing has been played, too.
    is_landed: bool,
}

#[derive(Clone, Debug)]
#[repr(u8)]
enum Stage {
    /// No note has come. All zero bytes, see [`ZeroedOption`].
    Waiting = 0,
    /// Notes are coming in; at this time, if nothing more comes, the player has stopped.
    Playing(Option<Instant>),
    /// An attempt is over and has not been fetched.
    Over,
    /// It has been fetched; its notes stay until the next call.
    Fetched,
}

/// What a session knows besides notes, whatever its capacities.
#[derive(Clone, Debug)]
struct State {
    setting: ZeroedOption<Setting>,
    config: ZeroedOption<SessionConfig>,
    wire: Wire,
    converter: ZeroedOption<Converter>,
    stage: Stage,
    latest: Instant,
    waiting: Deque<(NoteEvent, Instant), WAITING>,
    lost: u32,
    track: ZeroedOption<Track>,
    false_starts: u16,
    verdict: ZeroedOption<Verdict>,
    /// How many notes of the buffer the verdict is about.
    judged: usize,
    /// How many of them come before the landing.
    proper: usize,
    /// How many of them no other attempt can begin with: the landing may be the next one's first
    /// note.
    done_with: usize,
    /// How much they explain of what was played.
    match_score: i32,
}

impl State {
    const IDLE: Self = Self {
        setting: ZeroedOption::Nothing,
        config: ZeroedOption::Nothing,
        wire: Wire::new(),
        converter: ZeroedOption::Nothing,
        stage: Stage::Waiting,
        latest: Instant::ZERO,
        waiting: Deque::new(),
        lost: 0,
        track: ZeroedOption::Nothing,
        false_starts: 0,
        verdict: ZeroedOption::Nothing,
        judged: 0,
        proper: 0,
        done_with: 0,
        match_score: 0,
    };

    const fn config(&self) -> &SessionConfig {
        self.config.or(&SessionConfig::PLAIN)
    }

    const fn pickup(&self) -> &Pickup {
        &self.config().pickup
    }

    const fn setting(&self) -> &Setting {
        self.setting.or(&Setting::SILENCE)
    }

    fn track(&self) -> Option<Track> {
        self.track.get().copied()
    }

    /// The track, while notes are coming in.
    fn playing(&self) -> Option<&Track> {
        self.track.get().filter(|_| matches!(self.stage, Stage::Playing(_)))
    }

    /// Takes a byte, and gives the note event that it completes.
    fn decode(&mut self, byte: u8) -> Option<NoteEvent> {
        let message = self.wire.push(byte)?;
        self.converter.or_put(|| Converter::new(&Pickup::UNKNOWN))?.hear(&message)
    }

    const fn poll_at(&self) -> Option<Instant> {
        match self.stage {
            Stage::Waiting | Stage::Fetched => None,
            Stage::Playing(end) => end,
            Stage::Over => Some(self.latest),
        }
    }

    /// Time goes on. Whether something is to be done now.
    fn is_due(&mut self, now: Instant) -> bool {
        self.latest = self.latest.max(now);
        matches!(self.stage, Stage::Fetched) || self.poll_at().is_some_and(|at| at <= self.latest)
    }
}

/// Listens to a stream of MIDI bytes and judges each attempt at one chunk.
///
/// Time is an argument: nothing here reads a clock, and time may not step back (a time
/// before the last one is taken for the last one). Feed bytes as they come, then poll; poll
/// again when [`poll_at`](Session::poll_at) says so, if nothing has come until then. What was due before
/// bytes that come is done before them, too, and only told later.
///
/// A session owns all its memory, the chunk's notes too, and allocates nothing. How much that is
/// follows from the most notes that a chunk may have and the most played notes that an attempt may
/// have: those of [`limits`](crate::limits) if nothing else is said, and no more. In bytes, on a
/// processor of 32 bits:
///
/// | `Session<EXPECTED, PLAYED>` | bytes |
/// |---|---|
/// | `Session<16, 64>` | 4,888 |
/// | `Session<32, 128>` | 7,096 |
/// | `Session<64, 256>` | 11,512 |
/// | `Session<128, 512>` | 20,344 |
/// | `Session<256, 512>` | 30,840 |
///
/// Twice as many played notes as expected ones leave room for false starts and for what a pickup
/// adds. [`new`](Session::new) makes a session of full capacity; any other is [`idle`](Session::idle)
/// first and then [loaded](Session::load).
///
/// Whatever the capacities, the code is there once. The stack that judging takes comes on top, and
/// does not depend on them; see [the table of costs](crate#what-it-takes).
///
/// ```
/// use evenhand_core::session::{SessionConfig, Session};
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
/// let mut session = Session::new(chunk, SessionConfig::default());
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
pub struct Session<const EXPECTED: usize = EXPECTED_NOTES, const PLAYED: usize = PLAYED_NOTES> {
    state: State,
    /// The notes of the chunk.
    notes: Vec<ExpectedNote, EXPECTED>,
    attempt: Attempt<Vec<PlayedNote, PLAYED>>,
    workspace: Workspace<EXPECTED>,
    pairing: Pairing<[u16; EXPECTED], [u16; PLAYED]>,
}

impl Session {
    /// A session of full capacity for one chunk, which has room for every chunk.
    ///
    /// It is large, and is made on the stack before it gets to its place. Where there is no room
    /// for it twice, use [`idle`](Session::idle) and [`load`](Session::load).
    pub fn new(chunk: Chunk<'_>, config: SessionConfig) -> Self {
        let mut session = Self::idle();
        // No chunk has more notes than this has room for.
        let _ = session.load(chunk, config);
        session
    }
}

impl<const EXPECTED: usize, const PLAYED: usize> Session<EXPECTED, PLAYED> {
    /// A session without a chunk, which passes over everything until it gets one by
    /// [`load`](Session::load).
    ///
    /// It can be the first value of a static, and then never stands on the stack. It is all zero
    /// bytes, so such a static takes no room in a board's flash.
    pub const fn idle() -> Self {
        const {
            assert!(0 < EXPECTED && EXPECTED <= EXPECTED_NOTES, "1 to 256 expected notes");
            assert!(FEWEST_PLAYED <= PLAYED && PLAYED <= PLAYED_NOTES, "16 to 512 played notes");
        }
        Self {
            state: State::IDLE,
            notes: Vec::new(),
            attempt: Attempt::<Vec<PlayedNote, PLAYED>>::new(),
            workspace: Workspace::EMPTY,
            pairing: Pairing::<[u16; EXPECTED], [u16; PLAYED]>::EMPTY,
        }
    }

    /// What listens and judges is written for the parts, whatever the capacities.
    // Not inlined: it is all that is there for each pair of capacities, and there once.
    #[inline(never)]
    fn parts(&mut self) -> Parts<'_> {
        Parts {
            state: &mut self.state,
            notes: &mut self.notes,
            attempt: &mut self.attempt,
            aligner: self.workspace.aligner(),
            pairing: self.pairing.writable(),
        }
    }

    fn attempt(&self) -> &Attempt {
        &self.attempt
    }

    /// Loads another chunk, in place, and copies its notes. Forgets what was under way and what has
    /// been heard; only the time goes on, the message that is coming in and, with the same pickup,
    /// what has been found out about it.
    ///
    /// If there is no room for the chunk, everything stays as it was.
    pub fn load(&mut self, chunk: Chunk<'_>, config: SessionConfig) -> Result<(), LoadError> {
        self.parts().load(&chunk, config)
    }

    /// Takes what has been learnt of the pickup since: what is judged from now on is judged with it,
    /// the attempt under way, too.
    pub fn learn(&mut self, habits: &Habits) {
        self.parts().learn(habits);
    }

    /// Gives the chunk back: from here on everything is passed over, as by a session that is
    /// [`idle`](Session::idle).
    pub fn unload(&mut self) {
        self.parts().unload();
    }

    /// Forgets everything, the time too, as if it were new and [`idle`](Session::idle). In place.
    pub fn reset(&mut self) {
        self.unload();
        self.state.config.clear();
        self.state.converter.clear();
        self.state.wire = Wire::new();
        self.state.latest = Instant::ZERO;
    }

    /// Takes bytes that came in at `now`.
    ///
    /// Work is bounded: constant for a byte, and for a byte that begins a note proportional
    /// to the number of expected notes. If an attempt is over and has not been fetched by
    /// [`poll`](Session::poll), notes wait; beyond 32 they are counted as [`lost`](Session::lost).
    pub fn feed(&mut self, bytes: &[u8], now: Instant) {
        for &byte in bytes {
            if let Some(event) = self.state.decode(byte) {
                self.hear(event, now);
            }
        }
    }

    /// Takes a note event, for callers with their own source of messages.
    pub fn hear(&mut self, event: NoteEvent, now: Instant) {
        self.parts().hear(event, now);
    }

    /// When to poll if nothing comes in until then; `None` while nothing is under way.
    pub const fn poll_at(&self) -> Option<Instant> {
        self.state.poll_at()
    }

    /// Gives the attempt that is over at `now`, if one is. Call it again until it gives none.
    pub fn poll(&mut self, now: Instant) -> Option<Judged<'_>> {
        if self.state.is_due(now) { self.parts().poll() } else { None }
    }

    /// Ends the attempt under way, if there is one, and gives it: the stream is over, or the
    /// player pressed a switch. Where only the caller ends attempts, one without a note is an
    /// attempt, too.
    pub fn finish(&mut self) -> Option<Judged<'_>> {
        self.parts().finish()
    }

    /// Forgets what is under way without judging it.
    pub fn discard(&mut self) {
        self.parts().discard();
    }

    /// Forgets the notes before number `until`, counted as in [`Judged::first_note`], without
    /// judging them, and listens once more to what has come since.
    ///
    /// An attempt that is over and has not been fetched is forgotten, too, if it began before.
    pub fn pass_over(&mut self, until: u32) {
        self.parts().pass_over(until);
    }

    /// The line broke: forgets the attempt under way without judging it, the message that was
    /// coming in, and what was sounding. What has been found out about the pickup stays. Fetch
    /// what is over by [`poll`](Session::poll) before. Tells whether an attempt was under way.
    pub fn interrupt(&mut self) -> bool {
        self.parts().interrupt()
    }

    /// The chunk; one without notes while there is none.
    pub fn chunk(&self) -> Chunk<'_> {
        Chunk::of(&self.notes, *self.state.setting())
    }

    /// How strings are spread over channels, as far as it is known by now.
    pub fn channels(&self) -> Channels {
        self.state.converter.get().map_or(Channels::Auto, Converter::channels)
    }

    /// How many notes have been heard since the beginning.
    pub fn notes_heard(&self) -> u32 {
        let kept = self.attempt().notes().len() as u32 + self.attempt().beyond();
        self.attempt().forgotten().saturating_add(kept)
    }

    /// The number of the first note of the attempt that is under way, among all that have been
    /// heard, from 0; `None` while what is played belongs to none.
    pub fn under_way_from(&self) -> Option<u32> {
        let track = self.state.playing()?;
        Some(self.attempt().forgotten().saturating_add(track.start as u32))
    }

    /// Whether the attempt under way has reached the chunk's end, and only its landing, or the end
    /// of a held note, is waited for.
    pub fn has_reached_the_end(&self) -> bool {
        self.state.playing().is_some_and(|track| track.is_complete)
    }

    /// Whether so much of what has come lately is noise of the pickup (notes begun twice, a
    /// neighbouring string's, what lifted fingers leave) that nothing can be judged by it: more than a
    /// quarter of at least 32 notes, whatever was played.
    pub fn hears_poorly(&self) -> bool {
        self.attempt().hearing().is_poor()
    }

    /// How often the player has begun and broken off since the last attempt.
    pub const fn false_starts(&self) -> u16 {
        self.state.false_starts
    }

    /// How many events (notes or chords) of the chunk are behind, by the best explanation so
    /// far.
    pub const fn events_behind(&self) -> usize {
        self.workspace.progress().events_behind()
    }

    /// How much better the attempt explains what was played than that nobody meant anything by
    /// it, in per cent of a note that is left out: of the attempt that was fetched last as it
    /// was judged, else of the one that is under way, as if it went on as it should. Comparable
    /// between chunks on the same notes: what is not part of the attempt counts for neither.
    pub fn match_score(&self) -> i32 {
        let from = match (&self.state.stage, self.state.track.get()) {
            (Stage::Over | Stage::Fetched, _) => return self.state.match_score,
            (_, Some(track)) => track.start,
            (_, None) => return 0,
        };
        let progress = self.workspace.progress();
        let notes = self.attempt().notes().get(from..progress.notes_aligned()).unwrap_or(&[]);
        progress.match_score(notes)
    }

    /// Note events that were lost because a finished attempt was not fetched in time.
    pub const fn lost(&self) -> u32 {
        self.state.lost
    }

    /// Data bytes that belonged to no message.
    pub const fn bytes_passed_over(&self) -> u32 {
        self.state.wire.passed_over()
    }
}

/// Whoever changes a capacity sees here what it costs.
const _: () = assert!(size_of::<Session>() <= crate::limits::SESSION_BYTES);
