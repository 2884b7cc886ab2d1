//! `evenhand practice`: hands-free practice of a study, from the first chunk to the joins.
//!
//! It listens, judges each attempt, says what comes next and why, and goes on by itself. The
//! rules are the plan's ([`crate::practice`]); here are the stream, the log, and what the player
//! sees.

mod view;

use super::output::Output;
use super::sitting::{About, Sitting};
use super::{line, listen, studies};
use crate::args::PracticeArgs;
use crate::channels::ChannelChoice;
use crate::events::StepRecord;
use crate::fault::{Exit, Fault};
use crate::listening::{Finished, Listener};
use crate::live::{Heard, Source};
use crate::practice::{Next, Plan, Playing, Settings};
use crate::report;
use crate::screen::Key;
use crate::stop;
use evenhand_core::next_step::{Attempt, Heard as Outcome, Piece, Reason};
use evenhand_core::session::{Ends, Hearing};
use evenhand_core::units::Seconds;
use evenhand_core::wire::Wire;
use std::sync::mpsc::RecvTimeoutError;
use std::time::Instant;
use view::View;
use wmidi::MidiMessage;

/// Runs the command.
pub fn run(args: &PracticeArgs) -> Result<Exit, Fault> {
    stop::listen_for_it();
    let (chunks, study) = studies::read_whole(&args.study)?;
    let mut chunks = studies::choose(chunks, args.chunk.as_deref())?;
    studies::adjust(&mut chunks, &args.hearing)?;
    let mut pickup = studies::pickup(&args.hearing)?;
    if args.hearing.channels != ChannelChoice::Auto {
        pickup.channels = args.hearing.channels.live();
    }
    let hearing = Hearing { pickup, click: None, ends: Ends::ByItself };
    #[cfg(feature = "live")]
    let source = listen::open(args.raw.as_deref(), args.port.as_deref())?;
    #[cfg(not(feature = "live"))]
    let source = listen::open(args.raw.as_deref(), None)?;
    let mut output = Output::new(&args.output)?;
    line::say_what_is_heard(&source, &mut output)?;
    let about = About {
        who: args.who.as_deref(),
        hearing: &args.hearing,
        log: &args.log,
        no_log: args.no_log,
    };
    let name = study.name.clone();
    let mut sitting = Sitting::begin(&about, study, &source.name, &mut output)?;
    let mut room = Room {
        plan: Plan::of_chunks(chunks, &Settings::default()),
        source,
        hearing,
        started: Instant::now(),
        view: View::open(&name, &args.output)?,
    };
    let practised = room.practise(&mut sitting, &mut output);
    // The terminal is the shell's again before the summary is written.
    drop(room);
    let ended = sitting.end(&mut output);
    practised.and(ended)?;
    Ok(output.exit())
}

/// All that there is in a practice room.
struct Room {
    plan: Plan,
    source: Source,
    hearing: Hearing,
    started: Instant,
    view: View,
}

/// Why a piece is left.
enum Left {
    /// Something else comes next.
    Next,
    /// The stream is over, or the player has enough.
    End,
}

impl Room {
    fn now(&self) -> Seconds {
        Seconds::new(u32::try_from(self.started.elapsed().as_secs()).unwrap_or(u32::MAX))
    }

    fn practise(&mut self, sitting: &mut Sitting, output: &mut Output) -> Result<(), Fault> {
        self.view.begin(output)?;
        let next = self.plan.begin(self.now());
        self.tell(&next, output)?;
        while let Some(playing) = self.plan.current().cloned() {
            match self.play(&playing, sitting, output)? {
                Left::Next => {}
                Left::End => return Ok(()),
            }
        }
        Ok(())
    }

    /// Says what comes next.
    fn tell(&mut self, next: &Next, output: &mut Output) -> Result<(), Fault> {
        output.record(&StepRecord::of(&next.step, &next.sentences))?;
        self.view.next(self.plan.current(), next, output)
    }

    /// Listens for attempts at one piece until another one has its turn.
    fn play(
        &mut self,
        playing: &Playing,
        sitting: &mut Sitting,
        output: &mut Output,
    ) -> Result<Left, Fault> {
        let chunks = [playing.chunk.clone()];
        let mut listener = Listener::new(&chunks, self.hearing);
        let mut wire = Wire::new();
        while !stop::is_asked() {
            let due = listener.poll_at().map(|at| self.source.until(at));
            let due = [due, sitting.due_in()].into_iter().flatten().min();
            let heard = self.source.next(due.unwrap_or(stop::LOOK).min(stop::LOOK));
            let now = match &heard {
                Ok(Heard::Bytes { at, .. }) => *at,
                _ => self.source.now(),
            };
            while let Some(finished) = listener.poll(now) {
                if self.judged(&finished, playing, sitting, output)? {
                    return Ok(Left::Next);
                }
            }
            match heard {
                Ok(Heard::Bytes { bytes, at }) => {
                    for byte in bytes {
                        let begins = wire.push(byte).is_some_and(|message| {
                            matches!(message, MidiMessage::NoteOn(_, _, velocity) if u8::from(velocity) > 0)
                        });
                        while let Some(finished) = listener.poll(at) {
                            if self.judged(&finished, playing, sitting, output)? {
                                return Ok(Left::Next);
                            }
                        }
                        listener.feed(&[byte], at, begins);
                    }
                }
                Ok(Heard::Changed(change)) => {
                    wire.interrupt();
                    listener.interrupt();
                    self.view.notice(&line::words(change, &self.source.name, ""));
                }
                Ok(Heard::Broke(error)) => {
                    return Err(Fault::new(
                        Exit::Live,
                        format!("{} broke off: {error}", self.source.name),
                    )
                    .advise("Check the cable, and start again; the attempts are in the log."));
                }
                Err(RecvTimeoutError::Timeout) => sitting.go_on(output)?,
                Err(RecvTimeoutError::Disconnected) => {
                    while let Some(finished) = listener.finish() {
                        if self.judged(&finished, playing, sitting, output)? {
                            break;
                        }
                    }
                    return Ok(Left::End);
                }
            }
            if output.is_closed() {
                return Ok(Left::End);
            }
            if let Some(left) = self.key(playing, output)? {
                return Ok(left);
            }
        }
        Ok(Left::End)
    }

    /// An attempt is judged. Whether something else comes next.
    fn judged(
        &mut self,
        finished: &Finished<'_>,
        playing: &Playing,
        sitting: &mut Sitting,
        output: &mut Output,
    ) -> Result<bool, Fault> {
        sitting.keep(finished, &self.source);
        let first = finished.played.first().map_or(0, |note| note.at.as_micros());
        let last = finished.played.last().map_or(0, |note| note.at.as_micros());
        let seconds = u32::try_from(last.saturating_sub(first) / 1_000_000).unwrap_or(0);
        let next = self.plan.attempt(Attempt {
            heard: Outcome::of(&finished.verdict),
            tempo: report::tempo_heard(finished),
            lasted: Seconds::new(seconds),
            ended: self.now(),
        });
        sitting.step(&next);
        self.view.attempt(finished, output, &self.source.name)?;
        self.tell(&next, output)?;
        sitting.tell(output)?;
        Ok(next.step.task != Some(playing.task))
    }

    /// Does what a key asks for.
    fn key(&mut self, playing: &Playing, output: &mut Output) -> Result<Option<Left>, Fault> {
        let now = self.now();
        let Some(key) = self.view.key() else { return Ok(None) };
        let next = match key {
            Key::Char('h') => self.plan.hurts(),
            Key::Char('q') | Key::Interrupt => return Ok(Some(Left::End)),
            Key::Named("space") => return Ok(Some(Left::Next)),
            Key::Named("right" | "page down") => match self.beside(playing, true) {
                Some(piece) => self.plan.go_to(piece, now).unwrap_or_else(|_| self.plan.begin(now)),
                None => return Ok(None),
            },
            Key::Named("left" | "page up") => match self.beside(playing, false) {
                Some(piece) => self.plan.go_to(piece, now).unwrap_or_else(|_| self.plan.begin(now)),
                None => return Ok(None),
            },
            Key::Char(digit @ '1'..='5') => {
                let index = digit as usize - '1' as usize;
                let Some(choice) = self.plan.choices().iter().nth(index) else { return Ok(None) };
                match self.plan.choose(choice, now) {
                    Ok(next) => next,
                    Err(_) => return Ok(None),
                }
            }
            _ => return Ok(None),
        };
        let hurts = next.step.reason == Reason::Hurts;
        self.view.turn_page();
        self.tell(&next, output)?;
        if hurts {
            self.view.close();
            for sentence in &next.sentences {
                for line in report::wrapped(sentence) {
                    output.say(&line)?;
                }
            }
        }
        Ok(Some(Left::Next))
    }

    /// The chunk after this piece, or the one before it.
    fn beside(&self, playing: &Playing, after: bool) -> Option<Piece> {
        let here = match playing.task.piece {
            Piece::Chunk(chunk) | Piece::Half(chunk, _) | Piece::Seam(chunk) => chunk,
            Piece::Join { first, .. } => first,
        };
        let wanted = Piece::Chunk(if after { here.checked_add(1)? } else { here.checked_sub(1)? });
        self.plan.pieces().any(|(piece, ..)| piece == wanted).then_some(wanted)
    }
}
