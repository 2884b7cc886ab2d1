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
    /// What there was before the last attempt.
    worst_before: Exit,
    /// The recording that is judged, where there are several.
    one_of: Option<String>,
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
            worst_before: Exit::Done,
            explained: false,
            closed: false,
            one_of: None,
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
        self.worst_before = self.worst;
        self.worst = match (self.worst, finished.verdict.outcome) {
            (Exit::NeedsWork, _) | (_, Outcome::NeedsWork) => Exit::NeedsWork,
            (_, Outcome::Unclear) => Exit::Unclear,
            (worst, Outcome::Passed) => worst,
        };
        let written = if self.events {
            events::attempt(&mut self.out, finished, self.attempts, source)
        } else if self.plain {
            let line = self.named(report::one_line(finished, None));
            StyledLine::from(line).write(&mut self.out, Ink::Plain)
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

    /// The exit code does not tell of the last attempt.
    pub(crate) const fn take_back(&mut self) {
        self.worst = self.worst_before;
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

    /// From here on this recording is judged, one of several.
    pub(crate) fn one_of(&mut self, source: &str) -> Result<(), Fault> {
        self.one_of = Some(source.to_owned());
        if self.plain { Ok(()) } else { self.say(&format!("{source}\n")) }
    }

    /// A plain line, with the recording's name where there are several.
    fn named(&self, line: String) -> String {
        match &self.one_of {
            Some(source) => format!("{source}: {line}"),
            None => line,
        }
    }

    /// Writes a text for people in lines that fit, or as one line where plain lines are asked for.
    pub(crate) fn paragraph(&mut self, text: &str) -> Result<(), Fault> {
        self.set_in(text, "", "  ")
    }

    /// The same with all lines set in.
    pub(crate) fn set_in(&mut self, text: &str, lead: &str, more: &str) -> Result<(), Fault> {
        self.wrapped(text, lead, more).iter().try_for_each(|line| self.say(line))
    }

    /// The lines of such a text.
    pub(crate) fn wrapped(&self, text: &str, lead: &str, more: &str) -> Vec<String> {
        if self.plain {
            return vec![format!("{lead}{text}")];
        }
        report::wrapped(text, lead, more)
    }

    /// Writes a line for people; nothing where events are asked for. What would act on a terminal
    /// is shown ([`crate::visible`]).
    pub(crate) fn say(&mut self, line: &str) -> Result<(), Fault> {
        // In plain lines nothing is set apart by an empty one.
        self.show(&if self.plain { line.trim_end() } else { line }.into())
    }

    /// Writes a line with accents for people; nothing where events are asked for.
    pub(crate) fn show(&mut self, line: &StyledLine) -> Result<(), Fault> {
        // Plain lines are read aloud: an empty one says nothing.
        if self.events || (self.plain && line.text().is_empty()) {
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
        let why = report::no_attempt(notes);
        if self.plain {
            return self.say(&format!("{source}, unclear: {why}"));
        }
        self.show(&StyledLine::strong("UNCLEAR").and(format!("  {source}")))?;
        self.set_in(&why, "  ", "    ")
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
