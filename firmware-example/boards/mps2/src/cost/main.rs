//! What judging costs on the smallest processor, in instructions: a table on the first serial
//! port, which the tests compare with `tests/golden/cost.txt`.
#![no_std]
#![no_main]

mod counting;
mod music;

use core::fmt::Write as _;

use cortex_m_rt::entry;
use counting::{Counter, known_loop};
use evenhand_core::limits::EXPECTED_NOTES;
use evenhand_core::session::{Ends, Session, SessionConfig};
use evenhand_core::study::{Chunk, ExpectedNote};
use evenhand_core::units::{Instant, Offset, Pitch, Ticks};
use evenhand_mps2_board::device::Serial;
use evenhand_mps2_board::ending::{end, give_up};
use evenhand_mps2_board::figures::{paint_stack, stack_used};
use music::{Manner, Shape, TEMPO, performance};

/// The loop that shows that the counting is right takes so many instructions.
const KNOWN: usize = 20_000;

/// More notes than a session keeps, so that it has to make room.
const MANY: usize = 600;

/// The most instructions seen of each kind.
#[derive(Default)]
struct Worst {
    /// A byte that begins no note.
    byte: u32,
    /// A byte that is the first after a verdict, which makes room for the next attempt.
    again: u32,
    /// A byte that begins a note and completes no attempt.
    note: u32,
    /// A byte that begins a note while more is kept than there is room for.
    full: u32,
    /// Ending an attempt and judging it, where the caller ends it.
    verdict: u32,
    /// The same where attempts are cut out of a stream: the byte or the time that ends it, whether
    /// it turns out to be one or chance.
    cut_out: u32,
}

#[derive(Default)]
struct Stack {
    begin: usize,
    hear: usize,
    judge: usize,
}

struct Bench<'m> {
    counter: Counter,
    session: &'m mut Session,
    worst: Worst,
    stack: Stack,
    /// When the next performance begins, well after the last: time does not step back.
    next: Instant,
}

/// Longer than any performance.
const APART: Offset = Offset::from_millis(1_000_000);

#[entry]
fn main() -> ! {
    // Made before anything runs, because it is by far the largest thing there is: the stack never
    // has to hold it.
    static mut SESSION: Session = Session::idle();
    static mut NOTES: [ExpectedNote; EXPECTED_NOTES] =
        [ExpectedNote::plain(Ticks::ZERO, Ticks::ZERO, Pitch::new(60).unwrap()); EXPECTED_NOTES];

    let mut out = Serial::first();
    let counter = Counter::new();
    let known = counter.of(|| known_loop(KNOWN / 2)) - counter.of(|| known_loop(1)) + 2;
    let _ = writeln!(out, "a loop of {KNOWN} instructions counts as {known}");
    let mut bench = Bench {
        counter,
        session: SESSION,
        worst: Worst::default(),
        stack: Stack::default(),
        next: Instant::ZERO,
    };
    let _ = writeln!(out, "The most instructions, by the number of expected notes:");
    let _ = writeln!(out, "byte, note, after a verdict, in a full buffer, verdict, cut out");
    for (name, together) in [("single", 1), ("chords of four", 4)] {
        for notes in [16, 64, 256] {
            bench.worst = Worst::default();
            for repeated in [false, true] {
                let shape = Shape { notes, together, repeated };
                shape.write(NOTES);
                bench.shape(shape, NOTES.get(..notes).unwrap_or(NOTES));
            }
            let Worst { byte, note, again, full, verdict, cut_out } = bench.worst;
            let _ = writeln!(
                out,
                "{name} {notes}: {byte}, {note}, {again}, {full}, {verdict}, {cut_out}"
            );
        }
    }
    let Stack { begin, hear, judge } = bench.stack;
    let _ = writeln!(out, "session: {} bytes", size_of::<Session>());
    let _ = writeln!(out, "stack: {begin} to begin, {hear} to hear, {judge} to judge, bytes");
    end(true)
}

impl Bench<'_> {
    /// Everything that is measured with one chunk.
    fn shape(&mut self, shape: Shape, notes: &[ExpectedNote]) {
        let chunk = match Chunk::new(notes, TEMPO) {
            Ok(chunk) => chunk,
            Err(error) => give_up(format_args!("a chunk: {error}")),
        };
        let twice = (shape.notes * 2).min(500);
        for manner in [Manner::AsWritten, Manner::WithFaults] {
            for count in [shape.notes, twice] {
                self.as_one(chunk, shape, manner, count);
            }
            self.stream(chunk, shape, manner, twice);
        }
        let (byte, note) = (self.worst.byte, self.worst.note);
        self.stream(chunk, shape, Manner::SomethingElse, MANY);
        self.worst.full = self.worst.full.max(self.worst.note);
        (self.worst.byte, self.worst.note) = (byte, note);
    }

    /// All of it is one attempt, which the caller ends.
    #[inline(never)]
    fn as_one(&mut self, chunk: Chunk<'_>, shape: Shape, manner: Manner, count: usize) {
        paint_stack();
        self.next = self.next.plus(APART);
        let session = &mut *self.session;
        load(session, chunk, Ends::ByCaller);
        self.stack.begin = self.stack.begin.max(stack_used());
        paint_stack();
        hear(session, &self.counter, &mut self.worst, self.next, performance(shape, manner, count));
        self.stack.hear = self.stack.hear.max(stack_used());
        paint_stack();
        let mut is_judged = false;
        let judging = self.counter.of(|| is_judged = session.finish().is_some());
        self.stack.judge = self.stack.judge.max(stack_used());
        if !is_judged {
            give_up(format_args!("no verdict"));
        }
        self.worst.verdict = self.worst.verdict.max(judging);
    }

    /// Attempts are cut out of what is played.
    #[inline(never)]
    fn stream(&mut self, chunk: Chunk<'_>, shape: Shape, manner: Manner, count: usize) {
        self.next = self.next.plus(APART);
        let session = &mut *self.session;
        load(session, chunk, Ends::ByItself);
        hear(session, &self.counter, &mut self.worst, self.next, performance(shape, manner, count));
        if let Some(due) = session.poll_at() {
            let mut is_judged = false;
            let waiting = self.counter.of(|| is_judged = session.poll(due).is_some());
            if is_judged {
                self.worst.cut_out = self.worst.cut_out.max(waiting);
            }
        }
    }
}

fn load(session: &mut Session, chunk: Chunk<'_>, ends: Ends) {
    if let Err(error) = session.load(chunk, SessionConfig { ends, ..SessionConfig::default() }) {
        give_up(format_args!("a chunk: {error}"));
    }
}

/// Plays to the session, byte for byte, and asks after each as a pedal does.
fn hear(
    session: &mut Session,
    counter: &Counter,
    worst: &mut Worst,
    start: Instant,
    played: impl Iterator<Item = music::Played>,
) {
    let mut sounding = None;
    let mut is_first = false;
    for note in played {
        let at = Instant::from_micros(start.as_micros() + u64::from(note.at));
        let ending = sounding.map(|pitch| [0x80, pitch, 64]);
        let beginning = [0x90, note.pitch, note.velocity];
        for &byte in ending.iter().flatten().chain(&beginning) {
            let heard = session.notes_heard();
            let under_way = session.under_way_from().is_some();
            let mut is_judged = false;
            let instructions = counter.of(|| {
                session.feed(&[byte], at);
                is_judged = session.poll(at).is_some();
            });
            let is_note = session.notes_heard() > heard;
            let is_over = under_way && !is_note && session.under_way_from().is_none();
            let kind = if is_judged || is_over {
                &mut worst.cut_out
            } else if is_first {
                &mut worst.again
            } else if is_note {
                &mut worst.note
            } else {
                &mut worst.byte
            };
            *kind = (*kind).max(instructions);
            is_first = is_judged;
        }
        sounding = Some(note.pitch);
    }
}
