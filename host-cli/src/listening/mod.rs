//! Listens to a stream with one or several chunks in mind, and hands out each attempt when
//! it is over: which chunk it was, or which neighbours played through without a stop.
//!
//! There is one session a chunk, and each hears everything. What they find are opinions on the
//! same notes; `choice` says which of them explain the stream best and from when on that is
//! settled, `line` what neighbours make one attempt.
//!
//! What does not begin and end as it is written, and what lost its notes to another chunk, is read
//! once more as a way through the whole study:
//!
//! ```text
//! notes --trace--> where each was --passes--> returns, gaps, loops --attempts--> what is told
//! ```

mod attempts;
mod candidate;
mod choice;
mod cut;
mod judging;
mod note_history;
mod otherwise;
mod part;
mod passes;
mod queue;
mod remains;
mod repair;
mod run_through;
mod study_events;
mod told;
mod trace;
mod waiting;

pub use otherwise::{Otherwise, otherwise};
pub use part::voices;
pub use told::{FalseStart, Finished};

use crate::study::Prepared;
use candidate::{Candidate, LEAST_WORTH};
use evenhand_core::measure::timing::Click;
use evenhand_core::notes::{Converter, NoteEvent};
use evenhand_core::pickup::{Channels, Habits};
use evenhand_core::session::{Ends, Judged, Session, SessionConfig};
use evenhand_core::units::Instant;
use evenhand_core::verdict::{Pool, Pooled};
use evenhand_core::wire::Wire;
use note_history::NoteHistory;
use queue::Queue;
use remains::Remainder;
use run_through::RunThrough;
use wmidi::MidiMessage;

/// One session a chunk; each hears everything.
pub struct Listener<'a> {
    chunks: &'a [Prepared],
    /// Single voices of them.
    voices: &'a [Prepared],
    sessions: Vec<Box<Session>>,
    wire: Wire,
    converter: Converter,
    config: SessionConfig,
    numbers: NoteHistory,
    opinions: Vec<Candidate<'a>>,
    /// Neighbours that were played through so far, and may go on.
    line: RunThrough<'a>,
    /// What is left of the stream besides whole attempts; `None` where only those count.
    remains: Option<Remainder<'a>>,
    /// Whether what is left, from one note to another, goes on from the line.
    goes_on: ((u32, u32), bool),
    /// The chunk of the last whole attempt.
    last_chunk: Option<usize>,
    queue: Queue<'a>,
    latest: Instant,
    pool: Pool,
}

impl<'a> Listener<'a> {
    /// Listens for attempts at any of `chunks`, and for what else is practised of them: parts that
    /// are looped, ways with returns and gaps, false starts.
    pub fn new(chunks: &'a [Prepared], config: SessionConfig) -> Self {
        let remains = (config.ends == Ends::ByItself).then(|| Remainder::new(chunks));
        Self { remains, ..Self::for_attempts(chunks, config) }
    }

    /// Listens for attempts alone, as a session does: what a pedal hears, too.
    pub fn for_attempts(chunks: &'a [Prepared], config: SessionConfig) -> Self {
        Self {
            chunks,
            voices: &[],
            sessions: chunks
                .iter()
                .map(|chunk| Box::new(Session::new(chunk.chunk(), config)))
                .collect(),
            wire: Wire::new(),
            converter: Converter::new(&config.pickup),
            config,
            numbers: NoteHistory::new(config.ends),
            opinions: Vec::new(),
            line: RunThrough::default(),
            remains: None,
            goes_on: ((0, 0), false),
            last_chunk: None,
            queue: Queue::default(),
            latest: Instant::ZERO,
            pool: Pool::new(),
        }
    }

    /// Listens for single voices, too; see [`voices`].
    #[must_use]
    pub fn with_voices(mut self, voices: &'a [Prepared]) -> Self {
        self.voices = voices;
        let sessions =
            voices.iter().map(|voice| Box::new(Session::new(voice.chunk(), self.config)));
        self.sessions.extend(sessions);
        self
    }

    /// Whether so much of what has come lately is the pickup's noise that nothing can be judged by it.
    pub fn hears_poorly(&self) -> bool {
        self.sessions.iter().any(|session| session.hears_poorly())
    }

    /// Whether an attempt under way has come to its end, and only what may still belong to it is waited
    /// for.
    pub fn has_reached_the_end(&self) -> bool {
        self.sessions.iter().any(|session| session.has_reached_the_end())
    }

    /// How the pickup errs, as far as that has been learnt.
    pub const fn habits(&self) -> &Habits {
        &self.config.pickup.habits
    }

    /// The click that is heard.
    pub const fn click(&self) -> Option<Click> {
        self.config.click
    }

    /// The attempt that was handed out last is as if it had not been played; see [`Pool::take_back`].
    pub fn take_back(&mut self) {
        let habits = &mut self.config.pickup.habits;
        if self.pool.take_back(habits) {
            self.sessions.iter_mut().for_each(|session| session.learn(habits));
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
        // Decoded once, however many sessions there are.
        for &byte in bytes {
            if let Some(message) = self.wire.push(byte)
                && let Some(event) = self.converter.hear(&message)
            {
                for session in &mut self.sessions {
                    session.hear(event, now);
                }
                self.numbers.hear(&event, now);
            }
        }
        if begins {
            self.numbers.count_note_on();
        }
        self.latest = self.latest.max(now);
    }

    /// Takes a note event, for callers with their own source of messages.
    pub fn hear(&mut self, event: NoteEvent, now: Instant) {
        for session in &mut self.sessions {
            session.hear(event, now);
        }
        self.numbers.hear(&event, now);
        if matches!(event, NoteEvent::Begun { .. }) {
            self.numbers.count_note_on();
        }
        self.latest = self.latest.max(now);
    }

    /// How strings are spread over channels, as far as it is known by now.
    pub const fn channels(&self) -> Channels {
        self.converter.channels()
    }

    /// When to poll if nothing comes in until then.
    pub fn poll_at(&self) -> Option<Instant> {
        let sessions = self.sessions.iter().filter_map(|session| session.poll_at());
        // What is over waits for its rivals, or for what goes on from it.
        let waiting = self.opinions.iter().map(Candidate::due).chain(self.may_go_on_until());
        let remains = self.remains.as_ref().and_then(|remains| remains.due(&self.numbers));
        let waiting = waiting.chain(remains);
        // Where that has been of no avail, only another note or a session's end settles it.
        sessions.chain(waiting.filter(|&due| due > self.latest && due < run_through::OPEN)).min()
    }

    /// The attempt that is over at `now`, if one is.
    pub fn poll(&mut self, now: Instant) -> Option<Finished<'a>> {
        self.latest = self.latest.max(now);
        self.ask(|session| session.poll(now));
        self.decide(false)
    }

    /// Ends the stream. Call until nothing more comes.
    pub fn finish(&mut self) -> Option<Finished<'a>> {
        self.ask(|session| session.finish());
        self.decide(true)
    }

    /// Forgets what is under way, and what was over and has not been handed out.
    pub fn discard(&mut self) {
        self.sessions.iter_mut().for_each(|session| session.discard());
        self.opinions.clear();
        self.line = RunThrough::default();
        if let Some(remains) = &mut self.remains {
            remains.forget(self.numbers.heard());
        }
    }

    /// A false start that was found, if one was. Ask after each poll, before what it gives is told.
    pub fn false_start(&mut self) -> Option<FalseStart> {
        self.queue.next_false_start()
    }

    /// The line broke: no session judges what is under way. What was over is still to be polled,
    /// before this and after it. Tells whether an attempt was under way.
    pub fn interrupt(&mut self) -> bool {
        self.wire.interrupt();
        let _ = self.converter.hear(&MidiMessage::Reset);
        // What waits was over before.
        if let Some(end) = self.remains.as_ref().and_then(Remainder::over) {
            self.read_remains(end, None, true);
        }
        if let Some(remains) = &mut self.remains {
            remains.forget(self.numbers.heard());
        }
        let sessions = self.sessions.iter_mut();
        sessions.fold(false, |under_way, session| session.interrupt() | under_way)
    }

    /// Note-ons that have come.
    pub const fn note_ons(&self) -> u32 {
        self.numbers.note_ons()
    }

    fn ask(&mut self, mut over: impl for<'s> FnMut(&'s mut Session) -> Option<Judged<'s>>) {
        let music = self.chunks.iter().chain(self.voices);
        for (index, (chunk, session)) in music.zip(&mut self.sessions).enumerate() {
            let Some(judged) = over(session) else { continue };
            let opinion = Candidate::new(index, chunk, &judged, &self.numbers);
            let is_voice = index >= self.chunks.len();
            if is_voice && !opinion.is_sound() {
                continue;
            }
            if self.chunks.len() == 1 && !is_voice || opinion.worth >= LEAST_WORTH {
                self.opinions.push(opinion);
            }
        }
    }

    /// What is said of an attempt, taken together with those before it.
    fn hand_out(&mut self, mut finished: Finished<'a>) -> Finished<'a> {
        if self.remains.is_some() {
            finished.false_starts = self.queue.false_starts_since();
        }
        let (pool, habits) = (&mut self.pool, &mut self.config.pickup.habits);
        let Pooled { verdict, attempts } =
            finished.material(|material| pool.add(material, &finished.verdict, habits));
        self.sessions.iter_mut().for_each(|session| session.learn(habits));
        finished.verdict = verdict;
        finished.together = attempts;
        finished
    }
}
