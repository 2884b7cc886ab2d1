//! `evenhand listen`: judges a live stream, attempt by attempt.

use crate::args::ListenArgs;
use crate::events::OtherwiseRecord;
use crate::fault::{Exit, Fault};
use crate::listening::{FalseStart, Finished, Listener, Otherwise, otherwise, voices};
use crate::live::{Change, Source};
use crate::output::{Output, warn};
use crate::practice::HURTS;
use crate::screen::Typed;
use crate::sitting::connection;
use crate::sitting::live_loop::{Flow, HeardBy, LiveLoop, SessionHandler};
use crate::sitting::{Disputed, KEPT, Sitting, SittingDetails, origin};
use crate::studies;
use crate::study::Prepared;
use crate::switches::Action;
use crate::{settings, stop};
use evenhand_core::pickup::Channels;
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::units::{Instant, Pitch};
use std::time::Duration;

/// Runs the command.
pub fn run(args: &ListenArgs) -> Result<Exit, Fault> {
    stop::listen_for_it();
    let (chunks, study) = studies::read_whole(&args.study)?;
    let mut chunks = studies::choose(chunks, &args.chunk)?;
    studies::adjust(&mut chunks, &args.hearing)?;
    let pickup = studies::live_pickup(&args.hearing)?;
    let config = SessionConfig { pickup, click: None, ends: Ends::ByItself };
    let mut live = LiveLoop::open(&args.live, settings::switches()?)?;
    let mut output = Output::new(&args.output)?;
    connection::say_what_is_heard(&live.source, &mut output)?;
    let origin = origin(&args.live)?;
    let about = SittingDetails { live: &args.live, hearing: &args.hearing, origin };
    let sitting = Sitting::begin(&about, study, &live.source, &mut output)?;
    let voices = voices(&chunks);
    let mut listener = Listener::new(&chunks, config).with_voices(&voices);
    let source = &args.live.source;
    let is_taken = [&source.raw, &source.timed].into_iter().flatten().any(|path| path == "-");
    let typed = Typed::new(is_taken);
    if typed.is_on() {
        output.say("If it was right and the pickup misheard it, type m and Return.\n")?;
    }
    let mut lesson = Lesson { sitting, output, typed, takes_back: false, chunks: &chunks };
    let heard = live.listen(&mut listener, &mut lesson).map(|_| ());
    let Lesson { mut sitting, mut output, .. } = lesson;
    let nothing = if heard.is_ok() && sitting.attempts() == 0 && !output.is_closed() {
        output.nothing(&live.source.name, listener.note_ons())
    } else {
        Ok(())
    };
    let ended = sitting.end(&mut output);
    let is_live = live.source.started().is_some();
    studies::keep_learnt(&args.hearing, &pickup.habits, listener.habits(), is_live);
    live.end(heard.and(nothing).and(ended))?;
    Ok(output.exit())
}

/// Anything from the study is played; each attempt is judged and written.
struct Lesson<'a> {
    sitting: Sitting,
    output: Output,
    /// What the player types.
    typed: Typed,
    /// The last attempt was taken back just now.
    takes_back: bool,
    chunks: &'a [Prepared],
}

impl Lesson<'_> {
    /// The last attempt was right, says the player.
    fn misheard(&mut self) -> Result<(), Fault> {
        let disputed = self.sitting.dispute(None);
        match &disputed {
            Disputed::TakenBack { chunk, kept, .. } => {
                self.takes_back = true;
                self.output.take_back();
                let kept = if *kept { format!(" {KEPT}") } else { String::new() };
                self.output.paragraph(&format!("{chunk}, taken back: it does not count.{kept}"))?;
                self.output.say("")?;
            }
            Disputed::Nothing(why) => warn(why),
        }
        if let Some(record) = disputed.record() {
            self.output.record(&record)?;
        }
        self.sitting.tell(&mut self.output)
    }

    fn say_otherwise(&mut self, other: Otherwise<'_>) -> Result<(), Fault> {
        // What is as written, and was passed over, was no attempt for a reason of its own.
        if other.semitones == 0 {
            return Ok(());
        }
        let sentence = other.sentence(None);
        let (chunk, semitones) = (other.chunk, other.semitones);
        self.output.record(&OtherwiseRecord { chunk, semitones, sentence: &sentence })?;
        self.output.paragraph(&sentence)?;
        self.output.say("")
    }

    fn flow(&self) -> Flow {
        // Nobody reads what is written any more.
        if self.output.is_closed() { Flow::Leave } else { Flow::GoOn }
    }
}

impl SessionHandler for Lesson<'_> {
    fn attempt(&mut self, finished: &Finished<'_>, by: HeardBy<'_>) -> Result<Flow, Fault> {
        self.sitting.attempt(finished, by, &mut self.output)?;
        if let Some(other) = finished.otherwise(self.chunks) {
            self.say_otherwise(other)?;
        }
        Ok(self.flow())
    }

    fn something_else(&mut self, notes: &[(Pitch, Instant)]) -> Result<(), Fault> {
        match otherwise(notes, None, self.chunks) {
            Some(other) => self.say_otherwise(other),
            None => Ok(()),
        }
    }

    fn takes_back(&mut self) -> bool {
        std::mem::take(&mut self.takes_back)
    }

    fn false_start(&mut self, start: &FalseStart, source: &Source) -> Result<(), Fault> {
        self.output.false_start(start, &source.name)
    }

    fn press(&mut self, action: Action) -> Result<Flow, Fault> {
        match action {
            Action::Misheard => self.misheard()?,
            Action::Hurts => self.output.paragraph(HURTS)?,
            _ => {}
        }
        let leaves = matches!(action, Action::Stop | Action::Hurts);
        Ok(if leaves { Flow::Leave } else { Flow::GoOn })
    }

    fn change(&mut self, change: Change, under_way: bool, source: &Source) -> Result<(), Fault> {
        warn(&connection::words(change, source, under_way));
        connection::record(change, under_way, &mut self.output, source)
    }

    fn poor_hearing(&mut self, source: &Source) -> Result<(), Fault> {
        connection::record_poor_hearing(&mut self.output, source)?;
        self.output.say(&format!("{}\n", connection::POOR_HEARING))
    }

    fn channels(&mut self, found: Channels) -> Result<(), Fault> {
        self.output.say(&format!("{}\n", heard_on(found)))
    }

    fn look(
        &mut self,
        _now: Instant,
        _quiet_since: Option<Instant>,
        _under_way: bool,
    ) -> Result<Flow, Fault> {
        self.sitting.go_on(&mut self.output)?;
        while let Some(word) = self.typed.word() {
            if word == "m" {
                self.misheard()?;
            }
        }
        Ok(self.flow())
    }

    fn due_in(&self, source: &Source) -> Option<Duration> {
        self.sitting.due_in(source)
    }
}

/// What was found out about the channels, for people.
fn heard_on(channels: Channels) -> String {
    match channels {
        Channels::Auto => "It is open again which string is on which channel.".to_owned(),
        Channels::One => {
            "All strings are heard as one: the channels do not tell them apart.".to_owned()
        }
        Channels::Zone => "An MPE zone: the channels do not tell the strings apart.".to_owned(),
        Channels::PerString { first } => format!(
            "A channel per string is heard: string 1 on channel {}, and so on.",
            u32::from(first) + 1
        ),
    }
}
