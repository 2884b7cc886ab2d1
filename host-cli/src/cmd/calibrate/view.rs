//! What whoever calibrates sees: a page to be read from two metres away, or lines.

use crate::args::OutputArgs;
use crate::fault::{Exit, Fault};
use crate::output::{Output, warn};
use crate::screen::{self, Key, Page, PracticeState, Terminal, TerminalStyle};
use crate::{say, stop};
use std::time::{Duration, Instant};

/// What the page says of its keys.
const KEYS: &str = "q stop, everything stays as it was";

/// ... and at the end.
const LAST_KEYS: &str = "any key ends it";

/// So long the page of what was learnt stays if nobody presses a key: hands are on the guitar. Our
/// default.
const READING: Duration = Duration::from_secs(120);

/// Something that is asked for.
pub(super) struct Asked {
    /// In large letters.
    pub(super) word: &'static str,
    /// In a word or two.
    pub(super) what: String,
    /// In a sentence.
    pub(super) sentence: String,
    /// How often.
    pub(super) times: usize,
}

/// The page on a terminal, or lines.
pub(super) struct View {
    terminal: Option<Terminal>,
    page: Page,
    output: Output,
    asked: usize,
}

impl View {
    /// Opens what fits: the page on a terminal, unless lines are asked for.
    pub(super) fn open(source: &str, plain: bool) -> Result<Self, Fault> {
        let args = OutputArgs { events: false, plain, exit_by_verdict: false };
        let output = Output::new(&args)?;
        let wanted = !plain && say::is_seen();
        let terminal = wanted.then(|| Terminal::open(TerminalStyle::of_environment())).transpose();
        let terminal = terminal.map_err(|error| {
            Fault::new(Exit::Output, format!("the terminal cannot be used: {error}"))
                .advise("Try --plain.")
        })?;
        let mut page = Page::of(&format!("Calibrating {source}"));
        page.keys = KEYS.to_owned();
        page.unit = "more";
        Ok(Self { terminal, page, output, asked: 0 })
    }

    /// Whether there is a page on a terminal.
    pub(super) const fn is_page(&self) -> bool {
        self.terminal.is_some()
    }

    /// Before the first thing that is asked for.
    pub(super) fn begin(&mut self, text: &str) -> Result<(), Fault> {
        if self.is_page() {
            self.page.notice = Some(text.to_owned());
            return Ok(());
        }
        self.output.paragraph(text)
    }

    /// The next thing is asked for.
    pub(super) fn ask(&mut self, asked: Asked) -> Result<(), Fault> {
        if !self.is_page() {
            self.output.say("")?;
            return self.output.paragraph(&asked.sentence);
        }
        self.asked = asked.times;
        self.page.standing = PracticeState::Asked(asked.word);
        self.page.piece = asked.what;
        self.page.sentences = vec![asked.sentence];
        self.came(0)
    }

    /// The same is asked for once more, since something else came.
    pub(super) fn ask_again(&mut self, sentence: &str) -> Result<(), Fault> {
        if !self.is_page() {
            return self.output.paragraph(&format!("  {sentence}"));
        }
        self.page.sentences = vec![sentence.to_owned()];
        self.came(0)
    }

    /// So many of it came so far.
    pub(super) fn came(&mut self, times: usize) -> Result<(), Fault> {
        let left = self.asked.saturating_sub(times);
        self.page.tempo = u32::try_from(left).ok();
        self.page.progress = format!("{} of {}", times.min(self.asked), self.asked);
        // It has been read when somebody plays.
        if times > 0 {
            self.page.notice = None;
        }
        self.show()
    }

    /// A line below what was asked for; on a page the number has said it.
    pub(super) fn line(&mut self, text: &str) -> Result<(), Fault> {
        if self.is_page() { Ok(()) } else { self.output.say(text) }
    }

    /// Something about the machine.
    pub(super) fn notice(&mut self, what: &str) {
        if self.is_page() {
            self.page.notice = Some(what.to_owned());
            // Whatever is wrong with the terminal is noticed with the next note.
            let _ = self.show();
        } else {
            warn(what);
        }
    }

    /// Whether the player stops it by a key.
    pub(super) fn is_stopped(&mut self) -> bool {
        stop::is_asked()
            || matches!(
                self.key(Duration::ZERO),
                Some(Key::Interrupt | Key::Char('q') | Key::Named("escape"))
            )
    }

    /// Shows what was learnt until a key is pressed.
    pub(super) fn learnt(&mut self, sentences: &[String]) -> Result<(), Fault> {
        if !self.is_page() {
            return Ok(());
        }
        let page = &mut self.page;
        page.standing = PracticeState::Asked("done");
        (page.tempo, page.notice) = (None, None);
        (page.piece, page.progress) = (String::new(), String::new());
        page.sentences = sentences.to_vec();
        page.keys = LAST_KEYS.to_owned();
        self.show()?;
        let until = Instant::now() + READING;
        while Instant::now() < until && !stop::is_asked() {
            if self.key(stop::LOOK).is_some() {
                break;
            }
        }
        Ok(())
    }

    /// Gives the terminal back, and what comes from now on is lines.
    pub(super) fn close(&mut self) -> &mut Output {
        self.terminal = None;
        &mut self.output
    }

    fn key(&mut self, wait: Duration) -> Option<Key> {
        let terminal = self.terminal.as_mut()?;
        let key = screen::key(wait).ok().flatten()?;
        if key == Key::Resized {
            terminal.forget();
            let _ = self.show();
            return None;
        }
        Some(key)
    }

    fn show(&mut self) -> Result<(), Fault> {
        let Some(terminal) = &mut self.terminal else { return Ok(()) };
        terminal.show(&self.page).map_err(|error| {
            Fault::new(Exit::Output, format!("the terminal cannot be written to: {error}"))
        })
    }
}
