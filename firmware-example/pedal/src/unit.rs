//! The whole pedal: feet, judge, memory and link, in the loop that every board runs.

use evenhand_core::link::{Device, Stopped, Store};
use evenhand_core::practice::{Step, Task};
use evenhand_core::study::Chunk;
use evenhand_core::units::{Instant, Offset, Seconds};

use crate::board::{Board, BoardEvent};
use crate::controls::Controls;
use crate::lights::View;
use crate::memory::{MappedFlash, Memory};
use crate::music::Music as _;
use crate::observer::{Judgement, Observer};
use crate::pedal::Pedal;
use crate::result_queue::{QUIET, ResultQueue};

/// So long after the last byte from a computer the lamps still show the link. Our default.
const LINK_SHOWN: Offset = Offset::from_millis(1_000);

/// So long the lamps say what has gone wrong, where they have nothing else to say. Our default: two rounds of
/// its pattern.
const NOTICE_SHOWN: Offset = Offset::from_millis(6_000);

/// A pedal with all its parts.
pub struct Unit<'p, P, F, const N: usize> {
    pedal: Pedal<'p, N>,
    panel: P,
    memory: Memory<F>,
    queue: ResultQueue,
    device: Device,
    now: Instant,
    /// When the last note was heard. A clock and other bytes are no playing.
    played: Instant,
    /// How many notes had been heard then.
    heard: u32,
    /// Something has gone wrong, at that time.
    notice: Option<(View, Instant)>,
    /// When the last byte from a computer came.
    linked: Option<Instant>,
    /// Which study was practised when it was last looked at, in how many packs.
    study: (u64, u16),
    /// The board was told of this study.
    told: Option<u8>,
}

impl<'p, P: Controls, F: MappedFlash, const N: usize> Unit<'p, P, F, N> {
    /// Puts the parts together.
    pub fn new(mut pedal: Pedal<'p, N>, panel: P, memory: Memory<F>) -> Self {
        if let Some(habits) = memory.learnt() {
            pedal.remember(habits);
        }
        let study = (memory.study_hash(), memory.packs());
        Self {
            pedal,
            panel,
            memory,
            queue: ResultQueue::new(),
            device: Device::new(),
            now: Instant::ZERO,
            played: Instant::ZERO,
            heard: 0,
            notice: None,
            linked: None,
            study,
            told: None,
        }
    }

    /// The pedal has begun anew without its power going: says so, on the lamps and to a computer.
    pub const fn has_stopped(&mut self, stopped: Stopped) {
        if !matches!(stopped, Stopped::Not) {
            self.memory.set_stopped(stopped);
            self.notice = Some((View::BegunAnew, Instant::ZERO));
        }
    }

    /// The memory.
    pub const fn memory(&self) -> &Memory<F> {
        &self.memory
    }

    /// The memory, when the pedal is taken apart. What waited to be written is lost, as it is
    /// when the power is cut.
    pub fn into_memory(self) -> Memory<F> {
        self.memory
    }

    /// Results that could not be kept.
    pub const fn lost(&self) -> u32 {
        self.queue.lost()
    }

    /// One turn: waits for what comes, and does what is to be done. `false` at the end.
    pub fn turn(&mut self, board: &mut impl Board) -> bool {
        let came = board.wait(self.poll_at());
        match came {
            BoardEvent::Midi { byte, at } => {
                self.now = at.max(self.now);
                self.poll(board);
                self.pedal.hear(byte, self.now);
            }
            BoardEvent::Lost { at } => {
                self.now = at.max(self.now);
                self.pedal.interrupt();
            }
            BoardEvent::Link { byte, at } => {
                self.now = at.max(self.now);
                self.link(byte, board);
            }
            BoardEvent::Nothing { at } => self.now = at.max(self.now),
            BoardEvent::End => return false,
        }
        if let Some(gesture) = self.panel.gesture(self.pedal.is_offering(), self.now) {
            let Self { pedal, memory, queue, now, .. } = self;
            let mut room = Keeping { memory, queue, board };
            pedal.press(gesture, *now, memory, &mut room);
            if let Some(study) = self.pedal.study_chosen() {
                self.take_up(study);
            }
        }
        self.poll(board);
        self.listen();
        self.keep();
        let view = self.view();
        self.tell(view.0, board);
        self.panel.show(view.0.lights().map(|lamp| lamp.is_lit_at(view.1, self.now)));
        board.look(view.0, self.now);
        true
    }

    /// What there is to see, and since when.
    pub fn view(&self) -> (View, Instant) {
        match self.linked {
            Some(at) if self.pedal.is_idle() && self.now < at.plus(LINK_SHOWN) => {
                (View::Link, Instant::ZERO)
            }
            _ => self.notice().unwrap_or_else(|| self.pedal.view()),
        }
    }

    /// What has gone wrong, while there is nothing else to see.
    fn notice(&self) -> Option<(View, Instant)> {
        let notice = self.notice.filter(|(_, since)| self.now < since.plus(NOTICE_SHOWN))?;
        let waits = matches!(self.pedal.view().0, View::Choosing(_) | View::Ready(_) | View::Rest);
        waits.then_some(notice)
    }

    fn poll_at(&self) -> Option<Instant> {
        let (view, since) = self.view();
        let lamps = view.lights().into_iter().filter_map(|lamp| lamp.poll_at(since, self.now));
        let to_write =
            self.queue.is_waiting() || self.wants_preparing() || self.pedal.learnt().is_some();
        let quiet = to_write.then(|| self.played.plus(QUIET).max(self.now));
        let linked = self.linked.map(|at| at.plus(LINK_SHOWN)).filter(|at| *at > self.now);
        let notice = self.notice.map(|(_, at)| at.plus(NOTICE_SHOWN)).filter(|at| *at > self.now);
        [self.pedal.poll_at(), self.panel.poll_at(), lamps.min(), quiet, linked, notice]
            .into_iter()
            .flatten()
            .min()
    }

    fn poll(&mut self, board: &mut impl Board) {
        let Self { pedal, memory, queue, now, .. } = self;
        let mut room = Keeping { memory, queue, board };
        pedal.poll(*now, memory, &mut room);
        self.memory.set_in_use(!self.pedal.is_idle());
    }

    fn link(&mut self, byte: u8, board: &mut impl Board) {
        self.linked = Some(self.now);
        let seconds = Seconds::new((self.now.as_micros() / 1_000_000) as u32);
        if let Some(frame) = self.device.push(byte, &mut self.memory, seconds) {
            board.send(frame);
            let study = (self.memory.study_hash(), self.memory.packs());
            if study != self.study && self.pedal.is_idle() {
                self.study = study;
                self.told = None;
                self.pedal.forget_practice();
                self.pedal.restart(&self.memory, self.now);
            }
        }
    }

    /// The player has chosen a study.
    fn take_up(&mut self, study: u8) {
        if study != self.memory.study() {
            // What cannot be remembered is practised all the same.
            let _ = self.memory.choose_study(study);
            self.study = (self.memory.study_hash(), self.memory.packs());
            self.pedal.forget_practice();
        }
        self.pedal.restart(&self.memory, self.now);
    }

    /// Tells the board which study there is to see, if that is another one.
    fn tell(&mut self, view: View, board: &mut impl Board) {
        let study = match view {
            View::Studies(study) => study,
            _ => self.memory.study(),
        };
        if self.told != Some(study) {
            self.told = Some(study);
            board.study(study, self.memory.studies(), self.memory.title(study));
        }
    }

    fn wants_preparing(&self) -> bool {
        self.pedal.rests() && self.memory.wants_preparing()
    }

    /// Takes notice of notes that have begun.
    fn listen(&mut self) {
        let heard = self.pedal.notes_heard();
        if heard != self.heard {
            (self.heard, self.played) = (heard, self.now);
        }
    }

    /// Whether what waits is written now: nobody plays, or it cannot wait.
    fn writes(&self) -> bool {
        let is_quiet = self.now >= self.played.plus(QUIET);
        self.queue.is_waiting() && (is_quiet || self.pedal.is_idle() || self.queue.is_nearly_full())
    }

    /// Writes to the flash if nobody is held up by it, or if it cannot wait.
    fn keep(&mut self) {
        if self.writes() {
            self.queue.write(&mut self.memory);
        }
        if self.queue.lost() != self.memory.lost() {
            self.memory.set_lost(self.queue.lost());
            self.notice = Some((View::NotKept, self.now));
        }
        if self.queue.is_waiting() || self.now < self.played.plus(QUIET) {
            return;
        }
        if let Some(habits) = self.pedal.learnt() {
            // What cannot be kept is learnt again.
            let _ = self.memory.keep_learnt(habits);
            self.pedal.is_kept();
        } else if self.wants_preparing() {
            // A sector that cannot be erased shows when it is written to.
            let _ = self.memory.prepare();
        }
    }
}

/// Keeps what is judged, and passes everything on to the board.
struct Keeping<'a, F, B> {
    memory: &'a Memory<F>,
    queue: &'a mut ResultQueue,
    board: &'a mut B,
}

impl<F: MappedFlash, B: Board> Observer for Keeping<'_, F, B> {
    fn click(&mut self, strong: bool, at: Instant) {
        self.board.click(strong, at);
    }

    fn judged(&mut self, judgement: &Judgement<'_>) {
        self.queue.take(judgement, self.memory);
        self.board.judged(judgement);
    }

    fn next(&mut self, step: &Step, at: Instant) {
        self.board.next(step, at);
    }

    fn show_task(&mut self, task: &Task, chunk: &Chunk<'_>) {
        self.board.show_task(task, chunk);
    }
}
