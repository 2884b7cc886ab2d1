//! Where results go, and what the exit code is in the end.

pub(crate) mod path;

use crate::args::OutputArgs;
use crate::events;
use crate::fault::{Exit, Fault};
use crate::listening::{FalseStart, Finished};
use crate::report::{self, Ink, StyledLine};
use crate::say;
use evenhand_core::verdict::Outcome;
use serde::Serialize;
use std::io::{self, BufWriter, ErrorKind, Stdout, Write};

/// The result, written as it comes.
pub(crate) struct Output {
    out: BufWriter<Stdout>,
    events: bool,
    plain: bool,
    exit_by_verdict: bool,
    ink: Ink,
    attempts: u32,
    worst: Exit,
    explained: bool,
    closed: bool,
}

impl Output {
    pub(crate) fn new(args: &OutputArgs) -> Result<Self, Fault> {
        let mut output = Self {
            out: BufWriter::new(say::out()),
            events: args.events,
            plain: args.plain,
            exit_by_verdict: args.exit_by_verdict,
            ink: Ink::for_stdout(),
            attempts: 0,
            worst: Exit::Done,
            explained: false,
            closed: false,
        };
        if args.events {
            // At once: whoever reads along knows by it that we have begun.
            let begun = events::begin(&mut output.out).and_then(|()| output.out.flush());
            output.check(begun)?;
        }
        Ok(output)
    }

    /// Writes an attempt, and flushes: whoever waits for a verdict has it now.
    pub(crate) fn attempt(&mut self, finished: &Finished<'_>, source: &str) -> Result<(), Fault> {
        self.attempts = self.attempts.saturating_add(1);
        self.worst = match (self.worst, finished.verdict.outcome) {
            (Exit::NeedsWork, _) | (_, Outcome::NeedsWork) => Exit::NeedsWork,
            (_, Outcome::Unclear) => Exit::Unclear,
            (worst, Outcome::Passed) => worst,
        };
        let written = if self.events {
            events::attempt(&mut self.out, finished, self.attempts, source)
        } else if self.plain {
            StyledLine::from(report::one_line(finished)).write(&mut self.out, Ink::Plain)
        } else {
            report::attempt(&mut self.out, finished, self.ink)
        };
        let flushed = written.and_then(|()| self.out.flush());
        self.check(flushed)?;
        // Once is enough, and one line has no marks to explain.
        if !self.plain && !std::mem::replace(&mut self.explained, true) {
            for line in report::legend() {
                self.show(&line)?;
            }
            self.say("")?;
        }
        Ok(())
    }

    /// Writes a false start; people are not bothered with it.
    pub(crate) fn false_start(&mut self, start: &FalseStart, source: &str) -> Result<(), Fault> {
        if !self.events {
            return Ok(());
        }
        let written = events::false_start(&mut self.out, start, source);
        let flushed = written.and_then(|()| self.out.flush());
        self.check(flushed)
    }

    /// Writes a line for people; nothing where events are asked for. What would act on a terminal
    /// is shown ([`crate::visible`]).
    pub(crate) fn say(&mut self, line: &str) -> Result<(), Fault> {
        self.show(&line.into())
    }

    /// Writes a line with accents for people; nothing where events are asked for.
    pub(crate) fn show(&mut self, line: &StyledLine) -> Result<(), Fault> {
        if self.events {
            return Ok(());
        }
        let written = line.write(&mut self.out, self.ink).and_then(|()| self.out.flush());
        self.check(written)
    }

    /// Writes a record; nothing where text is asked for.
    pub(crate) fn record(&mut self, record: &impl Serialize) -> Result<(), Fault> {
        if !self.events {
            return Ok(());
        }
        let written = events::line(&mut self.out, record).and_then(|()| self.out.flush());
        self.check(written)
    }

    /// Says that there was no attempt, though perhaps notes.
    pub(crate) fn nothing(&mut self, source: &str, notes: u32) -> Result<(), Fault> {
        if self.worst == Exit::Done {
            self.worst = Exit::Unclear;
        }
        if self.events {
            let written = events::nothing(&mut self.out, source, notes);
            let flushed = written.and_then(|()| self.out.flush());
            return self.check(flushed);
        }
        self.show(&StyledLine::strong("UNCLEAR").and(format!("  {source}")))?;
        for line in report::no_attempt(notes) {
            self.say(&line)?;
        }
        Ok(())
    }

    /// Whether the reader has closed the pipe: nobody wants more.
    pub(crate) const fn is_closed(&self) -> bool {
        self.closed
    }

    pub(crate) fn exit(&self) -> Exit {
        if self.exit_by_verdict { self.worst } else { Exit::Done }
    }

    fn check(&mut self, result: io::Result<()>) -> Result<(), Fault> {
        match result {
            Ok(()) => Ok(()),
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.closed = true;
                Ok(())
            }
            Err(error) => {
                Err(Fault::new(Exit::Output, format!("the result could not be written: {error}"))
                    .advise("Is the disk full?"))
            }
        }
    }
}

/// Tells the user what does not stop the program. Where nobody reads it, it goes unread.
pub(crate) fn warn(what: &str) {
    say::complain(&what);
}
