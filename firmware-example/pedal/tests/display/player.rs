//! Somebody who steps and plays, and a display that is told what happens.

use evenhand_core::feet::Gesture;
use evenhand_core::pack::Pack;
use evenhand_core::player::{Fault, Skill, perform};
use evenhand_core::practice::{Engine, Step, Task};
use evenhand_core::session::Session;
use evenhand_core::study::Chunk;
use evenhand_core::units::Instant;
use evenhand_pedal::Pedal;
use evenhand_pedal::display::{Page, PageWriter};
use evenhand_pedal::lights::View;
use evenhand_pedal::music::Notes;
use evenhand_pedal::observer::{Judgement, Observer};
use evenhand_pedal::study::BUILT_IN;
use evenhand_pedal::study::session_config;

/// A byte on a MIDI line (IEC 63035), in microseconds.
const BYTE: u64 = 320;

struct Told(PageWriter);

impl Observer for Told {
    fn click(&mut self, strong: bool, _at: Instant) {
        self.0.click(strong);
    }
    fn judged(&mut self, judgement: &Judgement<'_>) {
        self.0.judged(judgement);
    }
    fn next(&mut self, step: &Step, _at: Instant) {
        self.0.next(step);
    }
    fn show_task(&mut self, task: &Task, chunk: &Chunk<'_>) {
        self.0.show_task(task, chunk);
    }
}

pub(crate) struct Player {
    pedal: Pedal<'static, 20>,
    told: Told,
    now: u64,
    seed: u64,
    /// Every page there was.
    pub(crate) pages: Vec<Page>,
}

impl Player {
    pub(crate) fn new() -> Self {
        let session = Box::leak(Box::new(Session::idle()));
        let practice: &'static mut Engine<20> = Box::leak(Box::new(Engine::new()));
        let pedal = Pedal::new(
            practice,
            session,
            session_config(),
            &Pack::open(BUILT_IN).unwrap(),
            Instant::ZERO,
        );
        let mut page_writer = PageWriter::new();
        page_writer.study(0, 1, "Built-in study");
        let mut player =
            Self { pedal, told: Told(page_writer), now: 0, seed: 0, pages: Vec::new() };
        player.look();
        player
    }

    pub(crate) fn view(&self) -> View {
        self.pedal.view().0
    }

    pub(crate) fn page(&self) -> Page {
        self.told.0.page().clone()
    }

    fn look(&mut self) {
        if self.told.0.look(self.pedal.view().0) {
            self.pages.push(self.page());
        }
    }

    pub(crate) fn does(&mut self, gesture: Gesture) -> Page {
        self.now += 100_000;
        let now = Instant::from_micros(self.now);
        self.pedal.press(gesture, now, &Pack::open(BUILT_IN).unwrap(), &mut self.told);
        self.pedal.poll(now, &Pack::open(BUILT_IN).unwrap(), &mut self.told);
        self.look();
        self.page()
    }

    fn waits_until(&mut self, end: u64) {
        while self.now < end {
            let due = self.pedal.poll_at().map_or(end, |due| due.as_micros().min(end));
            self.now = due.max(self.now);
            self.pedal.poll(
                Instant::from_micros(self.now),
                &Pack::open(BUILT_IN).unwrap(),
                &mut self.told,
            );
            self.look();
        }
    }

    pub(crate) fn waits(&mut self, millis: u64) -> Page {
        self.waits_until(self.now + millis * 1_000);
        self.page()
    }

    /// Plays what is asked for, the first `notes` notes of it, and stops when the verdict is there.
    pub(crate) fn plays(&mut self, faults: &[Fault], notes: usize) -> Page {
        self.seed += 1;
        let task = self.pedal.task().expect("something is asked for");
        let mut room = Notes::new();
        let chunk = Pack::open(BUILT_IN)
            .unwrap()
            .music(task, |_| 0, &mut room)
            .expect("there is such a piece");
        let performance = perform(&chunk, task.tempo, Skill::SKILLED, faults, self.seed);
        let from = self.now + 500_000;
        let mut messages: Vec<(u64, [u8; 3])> = Vec::new();
        for note in performance.notes().iter().take(notes) {
            let at = from.saturating_add_signed(note.at.as_micros().into());
            let channel = note.string.map_or(0, |string| string.number() - 1);
            let end = at + u64::from(note.lasts.as_micros().unsigned_abs());
            messages.push((at, [0x90 | channel, note.pitch.number(), note.velocity.value()]));
            messages.push((end, [0x90 | channel, note.pitch.number(), 0]));
        }
        messages.sort_by_key(|(at, bytes)| (*at, bytes[2]));
        for (at, bytes) in messages {
            for byte in bytes {
                self.waits_until((self.now + BYTE).max(at));
                self.pedal.hear(byte, Instant::from_micros(self.now));
            }
        }
        let end = self.now + 12_000_000;
        while !matches!(self.view(), View::Verdict(_)) && self.now < end {
            self.waits(10);
        }
        self.page()
    }

    /// A pickup that sends so many notes twice, none of which is asked for.
    pub(crate) fn hears_noise(&mut self, notes: usize) {
        for _ in 0..notes {
            for (velocity, then) in [(80, 30), (40, 170)] {
                for byte in [0x90, 30, velocity] {
                    self.waits_until(self.now + BYTE);
                    self.pedal.hear(byte, Instant::from_micros(self.now));
                }
                self.waits(then);
            }
        }
    }

    /// Waits until the verdict has been seen.
    pub(crate) fn sees(&mut self) -> Page {
        while matches!(self.view(), View::Verdict(_) | View::Finding(_)) {
            self.waits(10);
        }
        self.page()
    }
}
