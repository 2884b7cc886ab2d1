//! What the player sees: the page on a terminal, or lines.

use crate::args::{HEALTH, OutputArgs};
use crate::fault::{Exit, Fault};
use crate::listening::Finished;
use crate::output::{Output, warn};
use crate::practice::{Next, Playing};
use crate::report::{self, StyledLine};
use crate::say;
use crate::screen::{self, Key, Page, PracticeState, Terminal, TerminalStyle};
use evenhand_core::practice::Reason;
use evenhand_core::verdict::Outcome;
use std::time::Duration;

/// What the keys do.
const KEYS: &str = "h it hurts   q stop   space again   right next   left back   m misheard";

/// The page, or lines where there is no terminal or none is wanted.
pub(super) struct View {
    terminal: Option<Terminal>,
    page: Page,
    plain: bool,
    /// The tempo that practice leads to, in whole beats a minute.
    goal: Option<u32>,
    /// The last verdict that stands on the page.
    judged: Option<Outcome>,
    /// What comes next, while the verdict on something else is still read.
    waiting: Option<Heading>,
    /// Another study, of which it is part.
    study: Option<String>,
}

/// What is played, as the page has it.
struct Heading {
    piece: String,
    tempo: Option<u32>,
    goal: String,
    progress: String,
    /// Its tablature, where it is another piece.
    tablature: Option<Vec<String>>,
}

impl View {
    /// Opens what fits: the page on a terminal, unless lines or events are asked for.
    pub(super) fn open(study: &str, args: &OutputArgs) -> Result<Self, Fault> {
        let mut page = Page::of(study);
        page.keys = KEYS.to_owned();
        page.notice = Some(HEALTH.to_owned());
        let wanted = !args.plain && !args.events && say::is_seen();
        let terminal = wanted.then(|| Terminal::open(TerminalStyle::of_environment())).transpose();
        let terminal = terminal.map_err(|error| {
            Fault::new(Exit::Output, format!("the terminal cannot be used: {error}"))
                .advise("Try --plain.")
        })?;
        Ok(Self {
            terminal,
            page,
            plain: !args.events,
            goal: None,
            judged: None,
            waiting: None,
            study: None,
        })
    }

    /// Whether there is a page on a terminal.
    pub(super) const fn is_page(&self) -> bool {
        self.terminal.is_some()
    }

    /// Before the first note: what everybody should know who repeats something often.
    pub(super) fn begin(&mut self, output: &mut Output) -> Result<(), Fault> {
        if self.terminal.is_some() {
            return Ok(());
        }
        output.paragraph(HEALTH)
    }

    /// An attempt has been judged.
    pub(super) fn attempt(
        &mut self,
        finished: &Finished<'_>,
        output: &mut Output,
        source: &str,
    ) -> Result<(), Fault> {
        self.turn_to_next();
        let page = &mut self.page;
        self.judged = Some(finished.verdict.outcome);
        page.standing = PracticeState::Judged(finished.verdict.outcome);
        page.tablature = report::tablature(finished).iter().map(StyledLine::text).collect();
        page.sentences = report::sentences(finished);
        // It has been seen.
        page.notice = None;
        if self.terminal.is_some() {
            return Ok(());
        }
        if self.plain {
            output.say(&report::one_line(finished, self.goal))
        } else {
            output.attempt(finished, source)
        }
    }

    /// What comes next, and why. With `free` the player chooses the tempo.
    pub(super) fn next(
        &mut self,
        playing: Option<&Playing>,
        free: bool,
        next: &Next,
        output: &mut Output,
    ) -> Result<(), Fault> {
        if let Some(playing) = playing {
            let beat = playing.chunk.metre.beat();
            let whole = |tempo: evenhand_core::units::Tempo| {
                (tempo.hundredths_of_beats_per_minute(beat) + 50) / 100
            };
            self.goal = Some(whole(playing.goal));
            let other = self.page.piece != playing.chunk.name;
            let heading = Heading {
                piece: playing.chunk.name.clone(),
                tempo: (!free).then(|| whole(playing.chunk.tempo)),
                goal: format!("(goal {})", whole(playing.goal)),
                progress: match next.step.reason {
                    Reason::Clean { clean, of } | Reason::Variation { clean, of } => {
                        format!("clean {clean} of {of}")
                    }
                    _ => String::new(),
                },
                tablature: other
                    .then(|| report::bare(&playing.chunk).iter().map(StyledLine::text).collect()),
            };
            // A verdict does not stand beside what it is not about: first it is read.
            let is_about_it = !other && heading.tempo == self.page.tempo;
            self.waiting = Some(heading);
            if self.judged.is_none() || is_about_it || free {
                self.put_heading();
            }
        }
        let mut sentences = std::mem::take(&mut self.page.sentences);
        // What was said of the attempt stays above; of an earlier step nothing does.
        if self.judged.is_none() {
            sentences.clear();
        }
        sentences.extend(next.sentences.iter().cloned());
        if next.step.rest.is_some() {
            self.page.standing = PracticeState::Rest;
        }
        self.page.sentences = sentences;
        if self.terminal.is_some() {
            return self.show();
        }
        if self.plain {
            output.say(&format!("  {}", next.sentences.join(" ")))?;
        }
        Ok(())
    }

    /// What can be asked for now, and how.
    pub(super) fn ways(&mut self, ways: String) {
        self.page.ways = ways;
    }

    /// Something was played that is not judged: that is said in place of what was said before.
    pub(super) fn aside(&mut self, what: &str, output: &mut Output) -> Result<(), Fault> {
        self.turn_page();
        self.page.sentences = vec![what.to_owned()];
        if self.terminal.is_some() {
            return self.show();
        }
        if self.plain { output.say(&format!("  {what}")) } else { Ok(()) }
    }

    /// The player has asked for that.
    pub(super) fn ask(&mut self, ways: &str, output: &mut Output) -> Result<(), Fault> {
        self.page.ways = ways.to_owned();
        if self.terminal.is_some() {
            return self.show();
        }
        if self.plain { output.say(&format!("  {ways}")) } else { Ok(()) }
    }

    /// Puts what is played now at the head of the page.
    fn put_heading(&mut self) {
        let Some(heading) = self.waiting.take() else { return };
        let page = &mut self.page;
        if let Some(study) = self.study.take() {
            page.study = study;
        }
        (page.piece, page.tempo) = (heading.piece, heading.tempo);
        (page.goal, page.progress) = (heading.goal, heading.progress);
        if let Some(tablature) = heading.tablature {
            page.tablature = tablature;
            if !matches!(page.standing, PracticeState::Judged(_)) {
                page.standing = PracticeState::Play;
            }
        }
    }

    /// Something else than what was judged is played from here on.
    fn turn_to_next(&mut self) {
        if self.waiting.is_some() {
            self.judged = None;
            self.put_heading();
        }
    }

    /// A beat of the count-in.
    pub(super) fn count(&mut self, beat: u8) -> Result<(), Fault> {
        self.turn_to_next();
        self.page.standing = PracticeState::CountIn(beat);
        self.show()
    }

    /// The count-in is over. What was said last stays until there is something new to say.
    pub(super) fn play(&mut self) -> Result<(), Fault> {
        self.turn_to_next();
        self.page.standing = self.judged.map_or(PracticeState::Play, PracticeState::Judged);
        self.show()
    }

    /// The player went elsewhere: what was said of the last attempt has been read.
    pub(super) fn turn_page(&mut self) {
        self.judged = None;
        self.put_heading();
        self.page.standing = PracticeState::Play;
        self.page.sentences.clear();
    }

    /// What comes next is of another study. A verdict that is still read stays beside its own.
    pub(super) fn turn_to(&mut self, study: &str) {
        self.study = Some(study.to_owned());
    }

    /// Something about the machine.
    pub(super) fn notice(&mut self, what: &str) {
        self.page.notice = Some(what.to_owned());
        if self.terminal.is_some() {
            // Whatever is wrong with the terminal is noticed with the next attempt.
            let _ = self.show();
        } else {
            warn(what);
        }
    }

    /// The same before the first note, when there is already something to read.
    pub(super) fn notice_at_the_beginning(&mut self, what: &str) {
        if self.terminal.is_some() {
            self.page.notice = Some(format!("{what} {HEALTH}"));
        } else {
            warn(what);
        }
    }

    /// Whether there is sound: why there is none, and whether it is counted in without. It stays
    /// on the page as long as it is so.
    pub(super) fn sound(&mut self, missing: Option<&str>, counts: bool) {
        let shown = if counts { ", counted on the screen only" } else { "" };
        self.page.missing = missing.map(|why| format!("no sound: {why}{shown}"));
    }

    /// The key that was pressed, if one was.
    pub(super) fn key(&mut self) -> Option<Key> {
        let terminal = self.terminal.as_mut()?;
        let key = screen::key(Duration::ZERO).ok().flatten()?;
        if key == Key::Resized {
            terminal.forget();
            let _ = self.show();
            return None;
        }
        Some(key)
    }

    /// Gives the terminal back.
    pub(super) fn close(&mut self) {
        self.terminal = None;
    }

    fn show(&mut self) -> Result<(), Fault> {
        let Some(terminal) = &mut self.terminal else { return Ok(()) };
        terminal.show(&self.page).map_err(|error| {
            Fault::new(Exit::Output, format!("the terminal cannot be written to: {error}"))
        })
    }
}
