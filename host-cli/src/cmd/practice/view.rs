//! What the player sees: the page on a terminal, or lines.

use crate::args::{HEALTH, OutputArgs};
use crate::fault::{Exit, Fault};
use crate::listening::Finished;
use crate::output::{Output, warn};
use crate::practice::{Next, Playing};
use crate::report::{self, Picture};
use crate::say;
use crate::screen::{self, Key, Page, PracticeState, SeenBeat, Terminal, TerminalStyle};
use crate::sitting::live_loop::{HeardNow, Progress};
use crate::study::pitch_name;
use evenhand_core::practice::{PracticeVariant, Reason};
use evenhand_core::units::{Instant, Offset};
use evenhand_core::verdict::Outcome;
use std::time::Duration;

/// What the keys do.
const KEYS: &str = "h it hurts   q stop   space again   right next   left back   m misheard   s say it   p hear it   o hear yourself";

/// What stands where the last note will.
const NOTHING_YET: &str = "hears nothing yet";

/// The note that is heard is shown anew so often at most. Our default: nobody reads faster, and the page
/// stays still.
const NOTES_APART: Offset = Offset::from_millis(100);

/// A verdict stands large for so long at least, even if the next attempt has begun. Our default: time to look
/// up and read a word.
const VERDICT_STANDS: Offset = Offset::from_millis(2_000);

/// What is asked of the player.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Asks {
    /// To read what comes next.
    Read,
    /// To count along.
    Count,
    /// To begin.
    Begin,
}

/// The page, or lines where there is no terminal or none is wanted.
pub(super) struct View {
    terminal: Option<Terminal>,
    page: Page,
    plain: bool,
    /// The tempo that practice leads to, in whole beats a minute.
    goal: Option<u32>,
    /// The last verdict that stands on the page.
    judged: Option<Outcome>,
    /// When that was said; none once it does not stand large any more.
    said_at: Option<Instant>,
    /// What is drawn of the chunk, and the columns for which the page has it.
    picture: Option<Picture>,
    drawn_for: Option<usize>,
    /// What is played is in another rhythm than the written one.
    is_bent: bool,
    /// The heaviest reason of the last attempt, from the longest to the shortest way to say it.
    reasons: Vec<String>,
    /// When the note that is heard was last shown anew.
    heard_at: Instant,
    /// A rest goes on after what is being listened to.
    rests: bool,
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
    /// What is drawn of it, where it is another piece or another rhythm.
    picture: Option<Picture>,
    is_bent: bool,
}

impl View {
    /// Opens what fits: the page on a terminal, unless lines or events are asked for.
    pub(super) fn open(study: &str, args: &OutputArgs) -> Result<Self, Fault> {
        let mut page = Page::of(study);
        page.keys = KEYS.to_owned();
        page.notice = Some(HEALTH.to_owned());
        NOTHING_YET.clone_into(&mut page.hears);
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
            said_at: None,
            picture: None,
            drawn_for: None,
            is_bent: false,
            reasons: Vec::new(),
            heard_at: Instant::ZERO,
            rests: false,
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
        now: Instant,
        output: &mut Output,
        source: &str,
    ) -> Result<(), Fault> {
        self.turn_to_next();
        self.draw(Picture::of_attempt(finished, self.is_bent));
        let page = &mut self.page;
        self.judged = Some(finished.verdict.outcome);
        self.said_at = Some(now);
        page.standing = PracticeState::Judged(finished.verdict.outcome);
        page.last.clear();
        page.sentences = report::sentences(finished);
        self.reasons = report::brief(finished);
        if self.reasons.is_empty() {
            self.reasons.extend(page.sentences.first().cloned());
        }
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
            let is_bent =
                matches!(playing.task.way, PracticeVariant::LongShort | PracticeVariant::ShortLong);
            let other = self.page.piece != playing.chunk.name || self.is_bent != is_bent;
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
                picture: other.then(|| Picture::of_chunk(&playing.chunk, is_bent)),
                is_bent,
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
            self.reasons.clear();
        }
        sentences.extend(next.sentences.iter().cloned());
        let step = next.sentences.first();
        let brief = |reason: Option<&String>| reason.into_iter().chain(step).cloned().collect();
        self.page.brief = self.reasons.iter().map(|reason| brief(Some(reason))).collect();
        if self.reasons.is_empty() {
            self.page.brief.push(brief(None));
        }
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
        self.is_bent = heading.is_bent;
        if let Some(picture) = heading.picture {
            self.draw(picture);
            if self.said_at.is_none() {
                self.page.standing = PracticeState::Ready;
            }
        }
    }

    /// This is drawn from here on.
    fn draw(&mut self, picture: Picture) {
        self.picture = Some(picture);
        self.drawn_for = None;
    }

    /// Something else than what was judged is played from here on.
    fn turn_to_next(&mut self) {
        if self.waiting.is_some() {
            (self.judged, self.said_at) = (None, None);
            self.put_heading();
        }
    }

    /// Something else stands large than the last verdict, which is said in small letters as long as it is
    /// about what is played.
    fn stand(&mut self, state: PracticeState) {
        self.turn_to_next();
        self.said_at = None;
        self.page.standing = state;
        let last = self.judged.map(|judged| format!("last: {judged}"));
        self.page.last = last.unwrap_or_default();
    }

    /// A beat of the count-in.
    pub(super) fn count(&mut self, beat: u8) -> Result<(), Fault> {
        self.stand(PracticeState::CountIn(beat));
        self.show()
    }

    /// The count-in is over. What was said last stays until there is something new to say.
    pub(super) fn play(&mut self) -> Result<(), Fault> {
        self.stand(PracticeState::Play);
        self.show()
    }

    /// What now is, by what is heard and what is asked for.
    pub(super) fn now(
        &mut self,
        heard: HeardNow,
        asks: Asks,
        beat: Option<SeenBeat>,
        now: Instant,
    ) -> Result<(), Fault> {
        if let Some(note) = heard.note {
            let hears = format!("hears {}", pitch_name(note));
            if hears != self.page.hears && now >= self.heard_at.plus(NOTES_APART) {
                (self.page.hears, self.heard_at) = (hears, now);
            }
        }
        self.page.beat = beat;
        let is_read = self.said_at.is_some_and(|said| now < said.plus(VERDICT_STANDS));
        match (self.page.standing, heard.progress) {
            (PracticeState::CountIn(_), _) if asks == Asks::Count => {}
            (PracticeState::Listen | PracticeState::Asked(_), _) => {}
            (_, Progress::UnderWay | Progress::ToTheEnd) if is_read => {}
            (_, Progress::UnderWay) => self.stand(PracticeState::Playing),
            (_, Progress::ToTheEnd) => self.stand(PracticeState::Heard),
            (PracticeState::Rest | PracticeState::Judged(_), Progress::Nothing) => {}
            (_, Progress::Nothing) if asks == Asks::Begin => {
                self.page.standing = PracticeState::Play;
            }
            (_, Progress::Nothing) => self.page.standing = PracticeState::Ready,
        }
        self.show()
    }

    /// The program plays something to be listened to.
    pub(super) fn listen(&mut self) -> Result<(), Fault> {
        let rests = self.page.standing == PracticeState::Rest;
        self.stand(PracticeState::Listen);
        self.rests = rests;
        self.show()
    }

    /// That is over.
    pub(super) fn listened(&mut self) {
        let rests = std::mem::take(&mut self.rests);
        self.page.standing = if rests { PracticeState::Rest } else { PracticeState::Ready };
    }

    /// What is said of the last attempt, the heaviest reason, and what comes next.
    pub(super) fn said(&self) -> String {
        let sentences = &self.page.sentences;
        let last = sentences.last().filter(|_| sentences.len() > 1);
        sentences.first().into_iter().chain(last).map(String::as_str).collect::<Vec<_>>().join(" ")
    }

    /// What now is, as the events call it.
    pub(super) const fn state(&self) -> &'static str {
        self.page.standing.name()
    }

    /// The player went elsewhere: what was said of the last attempt has been read.
    pub(super) fn turn_page(&mut self) {
        (self.judged, self.said_at) = (None, None);
        self.put_heading();
        self.page.standing = PracticeState::Ready;
        self.page.last.clear();
        self.page.sentences.clear();
        self.page.brief.clear();
        self.reasons.clear();
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
        let columns = terminal.columns();
        if self.drawn_for != Some(columns) {
            self.drawn_for = Some(columns);
            self.page.pictures = self.picture.as_ref().map_or(Vec::new(), |p| p.ways(columns));
        }
        terminal.show(&self.page).map_err(|error| {
            Fault::new(Exit::Output, format!("the terminal cannot be written to: {error}"))
        })
    }
}
