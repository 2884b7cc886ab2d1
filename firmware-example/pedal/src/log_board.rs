//! What happens at the pedal, as lines of plain text: for the emulated board, where a line shows
//! what somebody would see and hear.

use core::fmt::{self, Write};

use evenhand_core::practice::{PracticeVariant, Step, Task};
use evenhand_core::study::Metre;
use evenhand_core::units::Instant;

use crate::board::{Board, BoardEvent};
use crate::contacts::Contacts;
use crate::lights::View;
use crate::observer::{Judgement, Observer};
use crate::report;

/// A board that writes down what it is told. Nothing comes from it.
pub struct LogBoard<'a, W> {
    contacts: &'a Contacts,
    out: W,
    attempts: u32,
    view: Option<View>,
    now: Instant,
    /// What the writer said when it could not go on.
    failed: bool,
}

impl<'a, W: Write> LogBoard<'a, W> {
    /// Writes to `out` what is told, and the lamps among `contacts`.
    pub const fn new(contacts: &'a Contacts, out: W) -> Self {
        Self { contacts, out, attempts: 0, view: None, now: Instant::ZERO, failed: false }
    }

    /// Whether something could not be written.
    pub const fn failed(&self) -> bool {
        self.failed
    }

    /// How many attempts were judged.
    pub const fn attempts(&self) -> u32 {
        self.attempts
    }

    /// Writes a line with the time before it.
    pub fn line(&mut self, line: fmt::Arguments<'_>) {
        let millis = self.now.as_micros() / 1_000;
        let written = writeln!(self.out, "{:4}.{:03} s {line}", millis / 1_000, millis % 1_000);
        self.failed |= written.is_err();
    }

    /// Where it writes to.
    pub const fn out(&mut self) -> &mut W {
        &mut self.out
    }
}

impl<W: Write> Observer for LogBoard<'_, W> {
    fn click(&mut self, strong: bool, at: Instant) {
        self.now = at;
        self.line(format_args!("  click{}", if strong { ", strong" } else { "" }));
    }

    fn judged(&mut self, judgement: &Judgement<'_>) {
        self.attempts += 1;
        let attempts = self.attempts;
        let chunk = judgement.judged.chunk;
        let written = report::attempt(attempts, &chunk, judgement.verdict, &mut self.out);
        self.failed |= written.is_err();
    }

    fn next(&mut self, step: &Step, at: Instant) {
        self.now = at;
        match step.task {
            Some(task) => self.line(format_args!("{}: {:?}", Asked(task), step.reason)),
            None => self.line(format_args!("over: {:?}", step.reason)),
        }
    }
}

impl<W: Write> Board for LogBoard<'_, W> {
    fn wait(&mut self, _until: Option<Instant>) -> BoardEvent {
        BoardEvent::End
    }

    /// A new view is written, with the lamps as they are.
    fn look(&mut self, view: View, now: Instant) {
        self.now = now;
        if self.view == Some(view) {
            return;
        }
        self.view = Some(view);
        let [left, middle, right] = self.contacts.row();
        self.line(format_args!("  [{left} {middle} {right}] {}", Named(view)));
    }
}

/// A view with the number that it shows.
struct Named(View);

impl fmt::Display for Named {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            View::Studies(study) => write!(f, "choosing study {}", u16::from(study) + 1),
            View::Choosing(chunk) => write!(f, "choosing chunk {}", u16::from(chunk) + 1),
            view => f.write_str(view.name()),
        }
    }
}

/// What is asked for, as `chunk 1 at 54 a minute`; pieces are written as they are named in code.
struct Asked(Task);

impl fmt::Display for Asked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Task { piece, way, tempo } = self.0;
        let beats = tempo.hundredths_of_beats_per_minute(Metre::FOUR_FOUR.beat());
        write!(f, "{piece:?} at {}.{:02} quarters a minute", beats / 100, beats % 100)?;
        if way != PracticeVariant::AsWritten {
            write!(f, ", {way:?}")?;
        }
        Ok(())
    }
}
