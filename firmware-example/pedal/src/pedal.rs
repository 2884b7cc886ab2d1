//! The pedal: feet and notes in, lamps, clicks and results out. No pin, no clock, no memory of
//! its own but what it is given.

use evenhand_core::pickup::Habits;
use evenhand_core::practice::{
    Choices, Due, Earlier, Engine, Pacing, Piece, Reason, Stage, Step, Task,
};
use evenhand_core::session::{Session, SessionConfig};
use evenhand_core::units::{Instant, Offset, Tempo, Ticks};
use evenhand_core::verdict::Pool;

use crate::lights::View;
use crate::mode::{Mode, Shown};
use crate::music::{Known, Music, Notes};
use crate::observer::Observer;

/// Pieces that a pedal has room for: a study of 35 chunks with all that may become of them, and a spot. Our
/// default; where there is less room, halves and joins are left out.
pub const PIECES: usize = 176;

/// A pedal.
pub struct Pedal<'p, const N: usize = PIECES> {
    pub(crate) engine: &'p mut Engine<N>,
    pub(crate) session: &'p mut Session,
    pub(crate) config: SessionConfig,
    pub(crate) pool: Pool,
    pub(crate) mode: Mode,
    /// When this mode began.
    pub(crate) since: Instant,
    pub(crate) shown: Shown,
    /// What the last step offered, until something is counted in.
    pub(crate) offer: Choices,
    /// What is to be played.
    pub(crate) task: Option<Task>,
    /// Notes that have been heard.
    heard: u32,
    /// The player has chosen this study.
    pub(crate) study: Option<u8>,
    /// Something was judged since what was learnt was last kept.
    has_learnt: bool,
}

impl<'p, const N: usize> Pedal<'p, N> {
    /// A pedal for this study, at its first chunk.
    pub fn new(
        engine: &'p mut Engine<N>,
        session: &'p mut Session,
        config: SessionConfig,
        music: &impl Music,
        now: Instant,
    ) -> Self {
        let mut pedal = Self {
            engine,
            session,
            config,
            pool: Pool::new(),
            mode: Mode::NoStudy,
            since: now,
            shown: Shown::Nothing,
            offer: Choices::NONE,
            task: None,
            heard: 0,
            study: None,
            has_learnt: false,
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
        self.session.feed(&[byte], at);
    }

    /// Bytes were lost, or the line broke: what is under way is not judged.
    pub fn interrupt(&mut self) {
        self.session.interrupt();
    }

    /// Whether somebody plays right now, so that nothing else may take time.
    pub fn is_played(&self) -> bool {
        self.session.under_way_from().is_some()
    }

    /// What was learnt of the pickup in earlier sittings, from where it was kept.
    pub(crate) const fn remember(&mut self, habits: Habits) {
        self.config.pickup.habits = habits;
    }

    /// What has been learnt of the pickup since it was last kept; only while nothing is practised, or at a
    /// rest, so that the flash is not worn by every attempt.
    pub(crate) fn learnt(&self) -> Option<&Habits> {
        (self.has_learnt && self.rests() && !self.is_played()).then_some(&self.config.pickup.habits)
    }

    /// It has been kept, or cannot be.
    pub(crate) const fn is_kept(&mut self) {
        self.has_learnt = false;
    }

    /// Something was judged.
    pub(crate) const fn has_judged(&mut self) {
        self.has_learnt = true;
    }

    /// Whether nothing is to be played now: nothing is practised, or a rest is due.
    pub fn rests(&self) -> bool {
        self.is_idle() || matches!(self.engine.stage(), Stage::Resting { .. })
    }

    /// How many notes have been heard; it begins anew where other music is put up.
    pub fn notes_heard(&self) -> u32 {
        self.session.notes_heard()
    }

    /// Whether nothing is practised: a study may be changed now.
    pub const fn is_idle(&self) -> bool {
        !matches!(self.mode, Mode::Practising | Mode::Tempo | Mode::Broken)
    }

    /// The study, counted from 0, that the player has chosen since this was last asked. Whoever
    /// has it takes it up and [restarts](Self::restart); until then nothing else happens.
    pub const fn study_chosen(&mut self) -> Option<u8> {
        self.study.take()
    }

    /// What is to be played, if anything is.
    pub const fn task(&self) -> Option<Task> {
        self.task
    }

    /// The next practice begins anew.
    pub fn forget_practice(&mut self) {
        self.engine.clear();
    }

    /// What there is to see, and since when.
    pub fn view(&self) -> (View, Instant) {
        let shown = match self.shown {
            Shown::Verdict { outcome, since, .. } => Some((View::Verdict(outcome), since)),
            Shown::Finding { about, since } => Some((View::Finding(about), since)),
            Shown::TakenBack { since } => Some((View::TakenBack, since)),
            Shown::Nothing => None,
        };
        let own = match self.mode {
            Mode::NoStudy => View::NoStudy,
            Mode::Studies { study } => View::Studies(study),
            Mode::Choosing { chunk } => View::Choosing(chunk),
            Mode::Tempo => View::Tempo(self.beat()),
            Mode::Broken => View::Fault,
            Mode::Over { reason: Reason::Hurts } => View::Hurts,
            Mode::Over { .. } => return shown.unwrap_or((View::AtGoal, self.since)),
            Mode::Practising => return shown.unwrap_or_else(|| self.practising()),
        };
        (own, self.since)
    }

    /// What there is to see of practice.
    fn practising(&self) -> (View, Instant) {
        let ready = match (self.is_played(), self.session.hears_poorly()) {
            (true, false) => View::Playing,
            (false, false) => View::Ready(self.beat()),
            // A verdict that is there has been shown before.
            (true, true) => View::HeardPoorly(None),
            (false, true) => View::HeardPoorly(Some(self.beat())),
        };
        // The lamp goes on with the count.
        let since = self.engine.click().map_or(self.since, |click| click.begins);
        match self.engine.stage() {
            Stage::Resting { since } => (View::Rest, since),
            _ if self.is_offering() => (View::Offer, self.since),
            // Who plays before the count is over is heard.
            Stage::CountIn { .. } if !self.is_played() => (self.counted(), since),
            _ => (ready, since),
        }
    }

    /// The count-in as lamps show it.
    fn counted(&self) -> View {
        let count = self.engine.click().map_or(0, |beats| beats.click.count_in());
        let strong = self.engine.click().map_or(0, |beats| beats.click.first_strong());
        View::CountIn {
            beats: u8::try_from(count).unwrap_or(u8::MAX),
            strong: u8::try_from(strong).unwrap_or(0),
            beat: self.beat(),
        }
    }

    /// Whether something can be chosen with a short step.
    pub(crate) fn is_offering(&self) -> bool {
        let is_read = matches!(self.engine.stage(), Stage::Reading { .. });
        is_read && !self.offer.is_empty() && self.shown == Shown::Nothing
    }

    /// When to poll if nothing comes in until then. Lamps have times of their own.
    pub fn poll_at(&self) -> Option<Instant> {
        // While nothing is to be played nothing is judged, whatever is heard.
        let (session, engine) = match self.task {
            Some(_) => (self.session.poll_at(), self.engine.poll_at()),
            None => (None, None),
        };
        [session, engine, self.shown.until()].into_iter().flatten().min()
    }

    /// Goes on to `now`.
    pub fn poll(&mut self, now: Instant, music: &impl Music, observer: &mut impl Observer) {
        self.judge(now, music, observer);
        if self.shown.until().is_some_and(|until| until <= now) {
            self.shown = self.shown.next(now);
            self.since = now;
        }
        let heard = self.session.notes_heard();
        if heard != self.heard {
            self.heard = heard;
            self.engine.note(now);
            // Who plays is done with the tempo.
            if self.mode == Mode::Tempo {
                self.enter(Mode::Practising, now);
            }
        }
        while self.task.is_some() {
            let under_way = self.session.poll_at().is_some();
            match self.engine.poll(now, &self.session.chunk(), under_way) {
                None => break,
                Some(Due::CountIn(_)) => self.enter(Mode::Practising, now),
                Some(Due::Beat { in_bar, at }) => observer.click(in_bar == 1, at),
                Some(Due::Play) => {}
            }
        }
    }

    /// The beat of what is to be played, at its tempo.
    fn beat(&self) -> Offset {
        let chunk = self.session.chunk();
        chunk.tempo().lasting(chunk.metre().beat())
    }

    /// Another mode, with nothing left to be seen of an attempt or an offer.
    pub(crate) fn enter(&mut self, mode: Mode, now: Instant) {
        (self.mode, self.since) = (mode, now);
        self.shown = Shown::Nothing;
        self.offer = Choices::NONE;
    }

    /// Shows this chunk for choosing, or the first if there is no such chunk.
    pub(crate) fn choose_from(&mut self, music: &impl Music, chunk: u8, now: Instant) {
        self.session.unload();
        self.task = None;
        let there = |chunk: u8| music.facts(chunk).is_some();
        let mode = match () {
            () if there(chunk) => Mode::Choosing { chunk },
            () if there(0) => Mode::Choosing { chunk: 0 },
            () => Mode::NoStudy,
        };
        self.enter(mode, now);
    }

    /// Begins practice at a chunk; goes on with the practice that there is, unless it is over.
    pub(crate) fn begin(
        &mut self,
        chunk: u8,
        now: Instant,
        music: &impl Music,
        observer: &mut impl Observer,
    ) {
        if self.engine.practice().chunks() == 0 || self.engine.practice().is_over() {
            self.new_practice(music);
        }
        let step = self.engine.begin(Pacing::LAMPS, true, now);
        let wanted = Piece::Chunk(chunk);
        let step = match step.task {
            Some(task) if task.piece == wanted => step,
            _ => self.engine.go_to(wanted, now).unwrap_or(step),
        };
        self.enter(Mode::Practising, now);
        self.follow(&step, now, music, observer);
    }

    /// All of the study, with what is known of it, as if nothing had been played today.
    // Not inlined: what it takes of the stack is not needed while an attempt is judged.
    #[inline(never)]
    fn new_practice(&mut self, music: &impl Music) {
        self.engine.clear();
        let mut known = Known::new();
        music.known(&mut known);
        let mut chunk = 0;
        while let Some(mut facts) = music.facts(chunk) {
            facts.fastest_clean = tempo(known.chunk(chunk), facts.beat);
            // What finds no room is not practised on this pedal.
            if self.engine.add(facts).is_err() {
                break;
            }
            let Some(next) = chunk.checked_add(1) else { break };
            chunk = next;
        }
        for (join, fastest) in known.joins() {
            let Some(facts) = music.facts(join.span().0) else { continue };
            let fastest = tempo(fastest, facts.beat);
            // Refused is what finds no room, and what the study no longer has.
            let _refused = self.engine.practice_mut().recall(join, fastest, Earlier::Unknown);
        }
    }

    /// Tells a step, and changes the session to what it asks for if that is something else.
    pub(crate) fn follow(
        &mut self,
        step: &Step,
        now: Instant,
        music: &impl Music,
        observer: &mut impl Observer,
    ) {
        observer.next(step, now);
        self.offer = step.offer;
        let Some(task) = step.task else {
            self.session.unload();
            self.task = None;
            self.mode = Mode::Over { reason: step.reason };
            self.since = now;
            return;
        };
        if self.task == Some(task) {
            return;
        }
        self.pool.begin_anew();
        self.task = Some(task);
        let loaded = self.load(task, music);
        self.heard = self.session.notes_heard();
        if loaded {
            observer.show_task(&task, &self.session.chunk());
        } else {
            // A study that says one thing and has another is not to be practised with.
            self.task = None;
            self.enter(Mode::Broken, now);
        }
    }

    /// Loads other music into the session. `false`, and nothing is listened for, if there is none.
    // Not inlined: what it takes of the stack is not needed while an attempt is judged.
    #[inline(never)]
    fn load(&mut self, task: Task, music: &impl Music) -> bool {
        let practice = self.engine.practice();
        let mut notes = Notes::new();
        let chunk = music.music(task, &|chunk| practice.fingering(chunk), &mut notes);
        let loaded = chunk.is_some_and(|chunk| self.session.load(chunk, self.config).is_ok());
        if !loaded {
            self.session.unload();
        }
        loaded
    }
}

/// So many beats a minute.
fn tempo(beats: Option<u16>, beat: Ticks) -> Option<Tempo> {
    Tempo::from_beats_per_minute(beats?.into(), beat)
}
