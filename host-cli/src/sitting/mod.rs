//! A sitting at `evenhand listen` or `evenhand practice`: what is kept of it, and what is said in
//! the end.

pub(crate) mod connection;
mod last_messages;
pub(crate) mod live_loop;
pub(crate) mod recorder;
pub(crate) mod sounding;
mod unjudged;

use crate::args::{HearingArgs, LiveArgs};
use crate::channels::ChannelChoice;
use crate::disputes;
use crate::events::{DisputedRecord, StepRecord};
use crate::fault::{Exit, Fault};
use crate::listening::Finished;
use crate::live::Source;
use crate::log::{self, Attempt, Dispute, Evidence, Log, State, StudyText, Summary};
use crate::output::{Output, warn};
use crate::practice::Next;
use crate::report::{self, StyledLine};
use crate::sitting::live_loop::HeardBy;
use crate::studies;
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::units::Instant;
use evenhand_core::verdict::Outcome;
use jiff::{SignedDuration, Timestamp};
use serde::Serialize;
use std::path::Path;
use std::time::Duration;

/// A sitting under way.
pub(crate) struct Sitting {
    /// None where nothing is to be kept.
    log: Option<Log>,
    /// Whether the user knows that the log is not kept.
    told: bool,
    attempts: u32,
    summary: Summary,
    /// The last attempt, as long as it may be taken back.
    last: LastAttempt,
    /// When the sitting began, by the calendar.
    began: Timestamp,
}

/// The attempt that was told last.
enum LastAttempt {
    /// None has been told.
    None,
    /// It counts, and is in no summary yet.
    Counts(Box<(Attempt, Evidence)>),
    /// It was taken back.
    TakenBack,
}

/// What became of an attempt that was to be taken back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Disputed {
    /// It is taken back.
    TakenBack {
        /// Its chunk.
        chunk: String,
        /// Its number.
        attempt: u32,
        /// Whether it is kept with its bytes.
        kept: bool,
    },
    /// There is nothing to take back, and this says why.
    Nothing(&'static str),
}

/// What follows where a dispute is kept.
pub(crate) const KEPT: &str = "It is kept for whoever improves the judge.";

/// Said where the player has gone on to something else.
pub(crate) const GONE_ON: &str = "Nothing to take back: you have gone on since.";

impl Disputed {
    /// The record of the event stream; none where there was nothing.
    pub(crate) const fn record(&self) -> Option<DisputedRecord> {
        match self {
            Self::TakenBack { attempt, kept, .. } => {
                Some(DisputedRecord { attempt: *attempt, kept: *kept })
            }
            Self::Nothing(_) => None,
        }
    }
}

/// The name and the hash of a profile that has been read.
fn profile(path: &Path) -> Option<(String, String)> {
    let text = std::fs::read_to_string(path).ok()?;
    Some((path.file_name()?.to_string_lossy().into_owned(), log::hash(&text)))
}

/// The log, in the event stream; see `docs/events.md`.
#[derive(Serialize)]
struct LogRecord {
    kind: &'static str,
    kept: bool,
    why: Option<String>,
    unwritten: u32,
}

/// What is kept about a sitting beside its attempts.
pub(crate) struct SittingDetails<'a> {
    /// Who plays, and where that is kept.
    pub(crate) live: &'a LiveArgs,
    /// What is listened for.
    pub(crate) hearing: &'a HearingArgs,
}

impl Sitting {
    /// Begins a sitting at this study, and says if the log cannot be kept.
    pub(crate) fn begin(
        args: &SittingDetails<'_>,
        study: StudyText,
        source: &str,
        output: &mut Output,
    ) -> Result<Self, Fault> {
        let began = Timestamp::now();
        let begin = || {
            let sitting = log::Sitting {
                began,
                who: args.live.who.clone(),
                study,
                level: args.hearing.level.map(PracticeLevel::from).map(level_word),
                beats_a_minute: args.hearing.tempo,
                channels: channels_word(args.hearing.channels).to_owned(),
                source: source.to_owned(),
                pickup: studies::profile(args.hearing)
                    .ok()
                    .flatten()
                    .and_then(|path| profile(&path)),
            };
            Log::begin(log::folder(args.live.log.data.as_deref()), sitting)
        };
        let log = (!args.live.no_log).then(begin);
        let mut sitting = Self {
            log,
            told: false,
            attempts: 0,
            summary: Summary::default(),
            last: LastAttempt::None,
            began,
        };
        sitting.tell(output)?;
        Ok(sitting)
    }

    /// Keeps an attempt, then writes it: what was seen was kept.
    pub(crate) fn attempt(
        &mut self,
        finished: &Finished<'_>,
        by: HeardBy<'_>,
        output: &mut Output,
    ) -> Result<(), Fault> {
        self.keep(finished, by);
        output.attempt(finished, &by.source.name)?;
        self.tell(output)
    }

    /// Keeps an attempt.
    fn keep(&mut self, finished: &Finished<'_>, by: HeardBy<'_>) {
        let attempt = self.counted(finished, by);
        if let Some(log) = &mut self.log {
            log.keep(attempt);
        }
    }

    /// Keeps an attempt and the step that follows it.
    pub(crate) fn keep_with_step(&mut self, finished: &Finished<'_>, by: HeardBy<'_>, next: &Next) {
        let attempt = self.counted(finished, by);
        let step = self.taken(next);
        if let Some(log) = &mut self.log {
            log.keep_both(attempt, step);
        }
    }

    /// Keeps the step that follows the last attempt.
    pub(crate) fn step(&mut self, next: &Next) {
        let step = self.taken(next);
        if let Some(log) = &mut self.log {
            log.keep_step(step);
        }
    }

    /// An attempt, with its number, as it is to be kept.
    fn counted(&mut self, finished: &Finished<'_>, by: HeardBy<'_>) -> Attempt {
        self.settle();
        self.attempts += 1;
        let began = self.calendar(by.source, finished.began);
        let attempt = Attempt::of(finished, self.attempts, began);
        let messages = by.messages.since(finished.began);
        let evidence = disputes::evidence(finished, by.channels, by.click, messages);
        self.last = LastAttempt::Counts(Box::new((attempt.clone(), evidence)));
        attempt
    }

    /// The last attempt is not taken back any more.
    fn settle(&mut self) {
        if let LastAttempt::Counts(last) = std::mem::replace(&mut self.last, LastAttempt::None) {
            self.summary.add(&last.0);
        }
    }

    /// Why there is no attempt to take back; none if there is one.
    pub(crate) fn nothing_to_take_back(&self) -> Option<&'static str> {
        match &self.last {
            LastAttempt::None => Some("Nothing to take back: no attempt has been told yet."),
            LastAttempt::TakenBack => Some("It is taken back already."),
            LastAttempt::Counts(last) if last.0.verdict == Outcome::Passed => {
                Some("Nothing to take back: it passed.")
            }
            LastAttempt::Counts(_) => None,
        }
    }

    /// The last attempt was right, says the player: it counts for nothing, and is kept with its bytes. A
    /// step that follows is kept with it. One that passed is none to take back.
    pub(crate) fn dispute(&mut self, next: Option<&Next>) -> Disputed {
        if let Some(why) = self.nothing_to_take_back() {
            return Disputed::Nothing(why);
        }
        let step = next.map(|next| self.taken(next));
        let last = std::mem::replace(&mut self.last, LastAttempt::TakenBack);
        let LastAttempt::Counts(last) = last else { return Disputed::Nothing(GONE_ON) };
        let (Attempt { number, chunk, .. }, evidence) = *last;
        if let Some(log) = &mut self.log {
            log.keep_dispute(Dispute { number, disputed: Timestamp::now(), evidence }, step);
        }
        Disputed::TakenBack { chunk, attempt: number, kept: self.log.is_some() }
    }

    /// When something was on a source's clock, by the calendar. Of a stream that tells its own
    /// time, the calendar knows only when it was begun; so what came later is later.
    fn calendar(&self, source: &Source, at: Instant) -> Timestamp {
        let micros =
            |micros: u64| SignedDuration::from_micros(i64::try_from(micros).unwrap_or(i64::MAX));
        let found = match source.started() {
            None => self.began.checked_add(micros(at.as_micros())),
            Some(_) => {
                let ago = source.now().as_micros().saturating_sub(at.as_micros());
                Timestamp::now().checked_sub(micros(ago))
            }
        };
        found.unwrap_or(self.began)
    }

    /// A step as it is to be kept.
    fn taken(&self, next: &Next) -> log::Step {
        let record = StepRecord::of(&next.step, &next.sentences);
        log::Step {
            taken: Timestamp::now(),
            after_attempt: Some(self.attempts),
            step: record.word(),
            details: serde_json::to_string(&record).unwrap_or_default(),
        }
    }

    /// Attempts so far.
    pub(crate) const fn attempts(&self) -> u32 {
        self.attempts
    }

    /// How long until [`go_on`](Sitting::go_on) has something to do, by the source's clock. Where a
    /// stream tells the time, nothing is due by it: the log is tried again whenever something comes.
    pub(crate) fn due_in(&self, source: &Source) -> Option<Duration> {
        self.log.as_ref().filter(|_| source.started().is_some()).and_then(Log::retry_in)
    }

    /// Does what is due while nobody plays.
    pub(crate) fn go_on(&mut self, output: &mut Output) -> Result<(), Fault> {
        if let Some(log) = &mut self.log {
            log.retry();
        }
        self.tell(output)
    }

    /// Ends the sitting: the last try at the log, and what became of each chunk.
    pub(crate) fn end(&mut self, output: &mut Output) -> Result<(), Fault> {
        let mut lost = None;
        if let Some(log) = &mut self.log {
            log.close();
            if let State::NotKept(trouble) = log.state()
                && log.unwritten() > 0
            {
                let attempts = match log.unwritten() {
                    1 => "one attempt".to_owned(),
                    more => format!("{more} attempts"),
                };
                let what =
                    format!("{attempts} could not be kept in the log {}: {trouble}", log.place());
                output.record(&record(log))?;
                lost = Some(Fault::new(Exit::Output, what).advise(trouble.advice()));
            }
        }
        self.tell(output)?;
        self.summarise(output)?;
        lost.map_or(Ok(()), Err)
    }

    fn summarise(&mut self, output: &mut Output) -> Result<(), Fault> {
        self.settle();
        if self.summary.chunks().is_empty() {
            return Ok(());
        }
        output.show(&StyledLine::strong("This sitting"))?;
        for chunk in self.summary.chunks() {
            output.set_in(&report::chunk_summary(chunk), "  ", "    ")?;
            output.record(&report::summary_record(chunk))?;
        }
        Ok(())
    }

    /// Says once that the log is not kept, and once that it is again.
    pub(crate) fn tell(&mut self, output: &mut Output) -> Result<(), Fault> {
        let Some(log) = &self.log else { return Ok(()) };
        match log.state() {
            State::NotKept(trouble) if !self.told => {
                self.told = true;
                warn(&format!(
                    "the log {} is not kept: {trouble}\n{} Practice goes on; attempts are kept in \
                     memory, and writing them is tried again.",
                    log.place(),
                    trouble.advice()
                ));
                output.record(&record(log))
            }
            State::Kept if self.told => {
                self.told = false;
                match log.unwritten() {
                    0 => warn("the log is kept again; no attempt is lost"),
                    lost => warn(&format!("the log is kept again; {lost} attempts are lost")),
                }
                output.record(&record(log))
            }
            _ => Ok(()),
        }
    }
}

fn record(log: &Log) -> LogRecord {
    let why = match log.state() {
        State::Kept => None,
        State::NotKept(trouble) => Some(trouble.to_string()),
    };
    LogRecord { kind: "log", kept: why.is_none(), why, unwritten: log.unwritten() }
}

fn level_word(level: PracticeLevel) -> String {
    log::level_word(level).to_owned()
}

/// The word that the command line uses.
const fn channels_word(choice: ChannelChoice) -> &'static str {
    match choice {
        ChannelChoice::Auto => "auto",
        ChannelChoice::String => "string",
        ChannelChoice::One => "one",
    }
}
