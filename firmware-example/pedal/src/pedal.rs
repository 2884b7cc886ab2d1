//! The pedal: feet and notes in, lamps, clicks and results out. No pin, no clock, no memory of
//! its own but what it is given.

use evenhand_core::next_step::{Piece, Practice, Step, Task};
use evenhand_core::session::Hearing;
use evenhand_core::units::{Instant, Offset, Seconds};
use evenhand_core::verdict::Pool;

use crate::desk::Desk;
use crate::lights::View;
use crate::music::Music;
use crate::room::Room;
use crate::state::{After, State};

/// Pieces that a pedal has room for: a study of 40 chunks with all that may become of them. Our
/// default; where there is less room, halves and joins are left out.
pub const PIECES: usize = 200;

/// A pedal.
pub struct Pedal<'p, const N: usize = PIECES> {
    pub(crate) practice: &'p mut Practice<N>,
    pub(crate) desk: Desk,
    pub(crate) hearing: Hearing,
    pub(crate) pool: Pool,
    pub(crate) state: State,
    pub(crate) since: Instant,
    pub(crate) task: Option<Task>,
    /// Notes that had been heard when the state began.
    pub(crate) heard: u32,
    /// The player has chosen this study.
    pub(crate) study: Option<u8>,
}

/// A time as practice counts it.
pub(crate) fn seconds(at: Instant) -> Seconds {
    Seconds::new(u32::try_from(at.as_micros() / 1_000_000).unwrap_or(u32::MAX))
}

impl<'p, const N: usize> Pedal<'p, N> {
    /// A pedal for this study, at its first chunk.
    pub fn new(
        practice: &'p mut Practice<N>,
        desk: Desk,
        hearing: Hearing,
        music: &impl Music,
        now: Instant,
    ) -> Self {
        let mut pedal = Self {
            practice,
            desk,
            hearing,
            pool: Pool::new(),
            state: State::NoStudy,
            since: now,
            task: None,
            heard: 0,
            study: None,
        };
        pedal.choose_from(music, 0, now);
        pedal
    }

    /// The study is another one: nothing is under way any more.
    pub fn restart(&mut self, music: &impl Music, now: Instant) {
        self.choose_from(music, 0, now);
    }

    /// Takes a byte of the MIDI line. Poll before and after.
    pub fn hear(&mut self, byte: u8, at: Instant) {
        self.desk.feed(byte, at);
    }

    /// Bytes were lost, or the line broke: what is under way is not judged.
    pub fn interrupt(&mut self) {
        self.desk.interrupt();
    }

    /// Whether somebody plays right now, so that nothing else may take time.
    pub fn is_played(&self) -> bool {
        self.desk.is_played()
    }

    /// Whether nothing is practised: a study may be changed now.
    pub fn is_idle(&self) -> bool {
        matches!(
            self.state,
            State::NoStudy | State::Studies { .. } | State::Choosing { .. } | State::Over { .. }
        )
    }

    /// The study, counted from 0, that the player has chosen since this was last asked. Whoever
    /// has it takes it up and [restarts](Self::restart); until then nothing else happens.
    pub const fn study_chosen(&mut self) -> Option<u8> {
        self.study.take()
    }

    /// What is to be played, if anything is.
    pub fn task(&self) -> Option<Task> {
        self.task
    }

    /// What there is to see, and since when.
    pub fn view(&self) -> (View, Instant) {
        (self.state.view(self.beat(), self.desk.is_played()), self.since)
    }

    /// The next practice begins anew.
    pub fn forget_practice(&mut self) {
        self.practice.clear();
    }

    /// When to poll if nothing comes in until then. Lamps have times of their own.
    pub fn poll_at(&self) -> Option<Instant> {
        let state = self.state.poll_at(self.since, self.beat());
        // While nothing is to be played nothing is judged, whatever is heard.
        let desk = self.desk.poll_at().filter(|_| self.task.is_some());
        [desk, state].into_iter().flatten().min()
    }

    /// Goes on to `now`.
    pub fn poll(&mut self, now: Instant, music: &impl Music, room: &mut impl Room) {
        self.judge(now, music, room);
        self.go_on(now, room);
    }

    /// The beat of what is to be played, at its tempo.
    pub(crate) fn beat(&self) -> Offset {
        let chunk = self.desk.chunk();
        chunk.tempo().lasting(chunk.metre().beat())
    }

    pub(crate) fn enter(&mut self, state: State, now: Instant) {
        self.state = state;
        self.since = now;
        self.heard = self.desk.notes_heard();
    }

    /// Shows this chunk for choosing, or the first if there is no such chunk.
    pub(crate) fn choose_from(&mut self, music: &impl Music, chunk: u8, now: Instant) {
        self.desk.put_away();
        self.task = None;
        let there = |chunk: u8| music.facts(chunk).is_some();
        let state = match () {
            () if there(chunk) => State::Choosing { chunk },
            () if there(0) => State::Choosing { chunk: 0 },
            () => State::NoStudy,
        };
        self.enter(state, now);
    }

    /// Begins practice at a chunk; goes on with the practice that there is, unless it is over.
    pub(crate) fn begin(
        &mut self,
        chunk: u8,
        now: Instant,
        music: &impl Music,
        room: &mut impl Room,
    ) {
        if self.practice.pieces().next().is_none()
            || self.practice.begin(seconds(now)).task.is_none()
        {
            self.new_practice(music);
        }
        let step = self.practice.begin(seconds(now));
        let wanted = Piece::Chunk(chunk);
        let step = match step.task {
            Some(task) if task.piece == wanted => step,
            _ => self.practice.go_to(wanted, seconds(now)).unwrap_or(step),
        };
        self.put_up(&step, now, music, room);
    }

    /// All of the study, as if nothing had been played today.
    fn new_practice(&mut self, music: &impl Music) {
        self.practice.clear();
        let mut chunk = 0;
        while let Some(facts) = music.facts(chunk) {
            // What finds no room is not practised on this pedal.
            if self.practice.add(facts).is_err() {
                break;
            }
            let Some(next) = chunk.checked_add(1) else { break };
            chunk = next;
        }
    }

    /// Puts up what a step asks for, counts in, or ends.
    pub(crate) fn put_up(
        &mut self,
        step: &Step,
        now: Instant,
        music: &impl Music,
        room: &mut impl Room,
    ) {
        room.next(step, now);
        let after = self.load(step, music, room);
        self.follow(after, now);
    }

    /// Changes the desk to what a step asks for, if that is something else. Says what follows.
    pub(crate) fn load(&mut self, step: &Step, music: &impl Music, room: &mut impl Room) -> After {
        let mut after = After { changed: step.task != self.task, ..After::of(step) };
        let Some(task) = step.task else {
            self.desk.put_away();
            self.task = None;
            return after;
        };
        if after.changed {
            self.pool = Pool::new();
            let practice = &*self.practice;
            let changed = self.desk.change(self.hearing, |notes| {
                music.music(task, &|chunk| practice.fingering(chunk), notes)
            });
            self.task = Some(task);
            // A study that says one thing and has another is not to be practised with.
            after.broken = !changed;
            if changed {
                room.put_up(&task, &self.desk.chunk());
            }
        }
        after
    }

    /// Enters what follows a step.
    pub(crate) fn follow(&mut self, after: After, now: Instant) {
        match after {
            After { broken: true, .. } => self.enter(State::Broken, now),
            After { over: Some(reason), .. } => self.enter(State::Over { reason }, now),
            After { rest: true, .. } => self.enter(State::Rest, now),
            After { offer, .. } if !offer.is_empty() => self.enter(State::Offer(offer), now),
            After { changed: true, .. } => self.count_in(now),
            _ => self.enter(State::Listening, now),
        }
    }

    pub(crate) fn count_in(&mut self, now: Instant) {
        let metre = self.desk.chunk().metre();
        let beats = metre.bar().get() / metre.beat().get().max(1);
        // One bar; two of a bar of one beat, and eight beats of a longer one. Our default.
        let beats = match beats {
            0 | 1 => 2,
            beats => beats.min(8) as u8,
        };
        self.enter(State::CountIn { beats, told: 0 }, now);
    }
}
