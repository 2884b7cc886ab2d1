//! What is spoken between attempts, and when: only where nobody plays and no click sounds.

use crate::speech::{Speech, SpeechProblem, SpokenAttempts, verdict};
use evenhand_core::units::{Instant, Offset};
use evenhand_core::verdict::Outcome;
use std::time::Duration;

/// Two or three words take 0.6 to 0.9 s (espeak-ng, measured); a voice that takes longer than this is ended. Our
/// default.
const LONGEST_WORDS: Duration = Duration::from_secs(3);

/// A whole reason takes 4.6 s (measured), with the next step twice that. Our default.
const LONGEST_SENTENCES: Duration = Duration::from_secs(20);

/// After the last word it is quiet for so long before somebody is counted in; longer than it takes to look again. Our
/// default.
const QUIET_AFTER: Offset = Offset::from_millis(300);

/// For so long nobody is counted in where a stream tells the time, which says nothing of a voice. Our default: two or
/// three words.
const TOLD_WORDS: Offset = Offset::from_millis(1_000);

/// What is spoken.
pub(super) struct Spoken {
    /// Looked for when it is first needed.
    speech: Option<Speech>,
    after: Option<SpokenAttempts>,
    attempts: u32,
    waiting: Option<String>,
    /// When the last note before it began, where something is being said.
    since: Option<Instant>,
    /// A stream tells the time.
    is_told: bool,
}

impl Spoken {
    pub(super) fn new(after: Option<SpokenAttempts>, is_told: bool) -> Self {
        Self { speech: None, after, attempts: 0, waiting: None, since: None, is_told }
    }

    /// Why nothing will be said though something should be: before the first attempt.
    pub(super) fn problem(&mut self) -> Option<SpeechProblem> {
        let is_asked_for = self.after.is_some();
        (is_asked_for && !self.speech().has_voice()).then(|| {
            // Once is enough.
            self.after = None;
            SpeechProblem::NoVoice
        })
    }

    fn speech(&mut self) -> &mut Speech {
        self.speech.get_or_insert_with(Speech::new)
    }

    /// An attempt is over; `next` is the tempo that comes next, where it is another one.
    pub(super) fn attempt(&mut self, outcome: Outcome, next: Option<u32>) {
        self.attempts += 1;
        let passed = outcome == Outcome::Passed;
        let is_said = self.after.is_some_and(|after| after.has(self.attempts, passed));
        self.waiting = is_said.then(|| verdict(outcome, next));
    }

    /// The words that wait, if there is time for them. There is none where somebody plays on.
    pub(super) fn words(&mut self, under_way: bool) -> Option<String> {
        self.waiting.take().filter(|_| !under_way)
    }

    /// Begins to say a verdict, or sentences.
    pub(super) fn say(
        &mut self,
        text: &str,
        is_long: bool,
        last_note: Instant,
    ) -> Result<(), SpeechProblem> {
        let longest = if is_long { LONGEST_SENTENCES } else { LONGEST_WORDS };
        let said = self.speech().say(text, longest);
        match &said {
            Ok(()) => self.since = Some(last_note),
            Err(_) => self.after = None,
        }
        said
    }

    /// How long nobody is to be counted in from now on, if something is being said. Whoever plays, has no need to
    /// hear it to its end.
    pub(super) fn goes_on(&mut self, last_note: Instant) -> Option<Offset> {
        let since = self.since?;
        let speech = self.speech.as_mut()?;
        if self.is_told {
            // The clock of the stream stands still.
            speech.finish();
            self.since = None;
            return Some(TOLD_WORDS);
        }
        if last_note > since {
            speech.stop();
        }
        let goes_on = speech.is_speaking();
        if !goes_on {
            self.since = None;
        }
        goes_on.then_some(QUIET_AFTER)
    }
}
