//! Keeps a sitting's attempts, whatever becomes of the disk meanwhile.

use super::store::{Entry, Store};
use super::{Attempt, Dispute, FILE, LogError, Sitting, Step};
use jiff::Timestamp;
use std::collections::VecDeque;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// How many entries wait at most for a log that cannot be written; beyond them the oldest are
/// given up. Our default: a day of looping, in some megabytes.
pub const MOST_WAITING: usize = 10_000;

/// How long to wait between two tries while nothing new comes. Our default.
const BETWEEN_TRIES: Duration = Duration::from_secs(5);

/// How the log is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State<'a> {
    /// Everything is written.
    Kept,
    /// It cannot be written, and this is why.
    NotKept(&'a LogError),
}

/// The log of a sitting.
///
/// Every call returns soon, whatever becomes of the file: what cannot be written waits in
/// memory and is tried again with the next attempt, and by [`retry`](Log::retry).
pub struct Log {
    file: Result<PathBuf, LogError>,
    sitting: Sitting,
    store: Option<Store>,
    waiting: VecDeque<Entry>,
    trouble: Option<LogError>,
    given_up: u32,
    steps: u32,
    has_entries: bool,
    next_try: Instant,
    /// Where the stream tells what day it is: when its last attempt began.
    told: Option<Timestamp>,
}

impl Log {
    /// Begins a sitting, in the log in `folder`. Nothing is written before its first attempt,
    /// but the log is opened, so that trouble is known from the beginning.
    pub fn begin(folder: Result<PathBuf, LogError>, sitting: Sitting) -> Self {
        let mut log = Self {
            file: folder.map(|folder| folder.join(FILE)),
            sitting,
            store: None,
            waiting: VecDeque::new(),
            trouble: None,
            given_up: 0,
            steps: 0,
            has_entries: false,
            next_try: Instant::now(),
            told: None,
        };
        log.trouble = log.open().err();
        log
    }

    /// The stream tells what day it is, and not the clock: what is written is dated by its attempts.
    pub const fn by_told_time(&mut self) {
        self.told = Some(self.sitting.began);
    }

    /// Keeps an attempt. When this returns and the state is [`State::Kept`], it is on the disk.
    pub fn keep(&mut self, attempt: Attempt) {
        self.take(Entry::Attempt(attempt));
        self.write();
    }

    /// Keeps a next step that was taken.
    pub fn keep_step(&mut self, step: Step) {
        self.take_step(step);
        self.write();
    }

    /// Keeps an attempt and the step that follows it, and waits for the disk but once.
    pub fn keep_both(&mut self, attempt: Attempt, step: Step) {
        self.take(Entry::Attempt(attempt));
        self.take_step(step);
        self.write();
    }

    /// Keeps that an attempt is disputed, and the step that follows, if one does.
    pub fn keep_dispute(&mut self, dispute: Dispute, step: Option<Step>) {
        self.take(Entry::Dispute(dispute));
        if let Some(step) = step {
            self.take_step(step);
        }
        self.write();
    }

    /// How the log is.
    pub const fn state(&self) -> State<'_> {
        match &self.trouble {
            Some(trouble) => State::NotKept(trouble),
            None => State::Kept,
        }
    }

    /// How many entries wait to be written, or were given up.
    pub fn unwritten(&self) -> u32 {
        self.given_up.saturating_add(self.waiting.len() as u32)
    }

    /// Where it is.
    pub fn place(&self) -> String {
        match &self.file {
            Ok(file) => file.display().to_string(),
            Err(_) => FILE.to_owned(),
        }
    }

    /// How long until [`retry`](Log::retry) is worth calling; none if nothing waits.
    pub fn retry_in(&self) -> Option<Duration> {
        let waits = !self.waiting.is_empty();
        waits.then(|| self.next_try.saturating_duration_since(Instant::now()))
    }

    /// Tries again to write what waits, if it is time for that.
    pub fn retry(&mut self) {
        if self.retry_in() == Some(Duration::ZERO) {
            self.write();
        }
    }

    /// Tries a last time to write what waits, and notes when the sitting ended. What is
    /// [unwritten](Log::unwritten) after it is lost.
    pub fn close(&mut self) {
        if !self.has_entries {
            return;
        }
        // Why it cannot be opened, the write says.
        let _ = self.open();
        if let Some(store) = &self.store {
            store.be_patient();
        }
        self.write();
    }

    fn take_step(&mut self, step: Step) {
        self.steps += 1;
        self.take(Entry::Step { number: self.steps, step });
    }

    fn take(&mut self, entry: Entry) {
        self.has_entries = true;
        if let (Some(told), Entry::Attempt(attempt)) = (&mut self.told, &entry) {
            *told = attempt.began;
        }
        self.waiting.push_back(entry);
        if self.waiting.len() > MOST_WAITING {
            self.waiting.pop_front();
            self.given_up = self.given_up.saturating_add(1);
        }
    }

    fn write(&mut self) {
        match self.try_to_write() {
            Ok(()) => {
                self.waiting.clear();
                self.trouble = None;
            }
            Err(trouble) => {
                // The file may be another one next time: put back from a backup, made anew.
                self.store = None;
                self.trouble = Some(trouble);
                self.next_try = Instant::now() + BETWEEN_TRIES;
            }
        }
    }

    fn try_to_write(&mut self) -> Result<(), LogError> {
        self.open()?;
        let Some(store) = &mut self.store else { return Err(LogError::NotOpened) };
        let now = self.told.unwrap_or_else(Timestamp::now);
        store.write(&self.sitting, now, self.waiting.iter())
    }

    fn open(&mut self) -> Result<(), LogError> {
        if self.store.is_none() {
            let file = self.file.as_ref().map_err(Clone::clone)?;
            self.store = Some(Store::open(file)?);
        }
        Ok(())
    }
}
