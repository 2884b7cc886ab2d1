//! The loop of a live command: turns a source's byte stream into attempts, presses of a foot
//! switch and changes of the connection, and hands each to a [`SessionHandler`].

use crate::args::LiveArgs;
use crate::fault::{Exit, Fault};
use crate::listening::{FalseStart, Finished, Listener};
use crate::live::{Change, Source, SourceEvent};
use crate::output::warn;
use crate::sitting::connection;
use crate::sitting::last_messages::LastMessages;
use crate::sitting::recorder::Recorder;
use crate::sitting::unjudged::Unjudged;
use crate::stop;
use crate::switches::{Action, Said, Switches};
use evenhand_core::measure::timing::Click;
use evenhand_core::pickup::Channels;
use evenhand_core::practice::Choices;
use evenhand_core::units::{Instant, Pitch};
use evenhand_core::wire::Wire;
use std::sync::mpsc::RecvTimeoutError;
use std::time::Duration;
use wmidi::MidiMessage;

/// Whether to go on listening.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Flow {
    /// To the same.
    GoOn,
    /// No more, or to something else.
    Leave,
}

/// Why listening is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ended {
    /// The handler asked to leave.
    Left,
    /// The stream is over, or the user has asked for the end.
    Over,
}

/// What an attempt was heard by.
#[derive(Clone, Copy)]
pub(crate) struct HeardBy<'a> {
    /// Where it came from.
    pub(crate) source: &'a Source,
    /// What came last.
    pub(crate) messages: &'a LastMessages,
    /// How strings are spread over channels, as far as it was known.
    pub(crate) channels: Channels,
    /// The click that was played to.
    pub(crate) click: Option<Click>,
}

/// How far what is played has come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Progress {
    /// Nothing is under way.
    #[default]
    Nothing,
    /// An attempt may be.
    UnderWay,
    /// It has come to its end, and what may still belong to it is waited for.
    ToTheEnd,
}

/// What is heard at this moment.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct HeardNow {
    /// The last note that began.
    pub(crate) note: Option<Pitch>,
    /// How far it has come.
    pub(crate) progress: Progress,
}

/// What a command does about each thing that is heard.
pub(crate) trait SessionHandler {
    /// An attempt is over.
    fn attempt(&mut self, finished: &Finished<'_>, by: HeardBy<'_>) -> Result<Flow, Fault>;

    /// Whether the last attempt was taken back since this was last asked: after a press and a look.
    fn takes_back(&mut self) -> bool;

    /// A chunk was begun and broken off, too early to be judged.
    fn false_start(&mut self, _start: &FalseStart, _source: &Source) -> Result<(), Fault> {
        Ok(())
    }

    /// These notes were played, each with when it began, and no attempt was made of them.
    fn something_else(&mut self, _notes: &[(Pitch, Instant)]) -> Result<(), Fault> {
        Ok(())
    }

    /// A foot switch was pressed. What is under way is judged before, unless it is left.
    fn press(&mut self, action: Action) -> Result<Flow, Fault>;

    /// What is offered: what two switches mean depends on it.
    fn offered(&self) -> Choices {
        Choices::NONE
    }

    /// Something happened to the line, while an attempt was under way or not.
    fn change(&mut self, change: Change, under_way: bool, source: &Source) -> Result<(), Fault>;

    /// So much of what comes is the pickup's noise that nothing can be judged by it. Once until it is
    /// better.
    fn poor_hearing(&mut self, source: &Source) -> Result<(), Fault>;

    /// It was found out how strings are spread over channels.
    fn channels(&mut self, found: Channels) -> Result<(), Fault>;

    /// Whether what comes is passed over: the program itself plays, and what it plays may come back to it.
    fn is_deaf(&self) -> bool {
        false
    }

    /// What is heard at this moment, before each [look](Self::look).
    fn hears(&mut self, _heard: HeardNow) {}

    /// Whatever else is due. `quiet_since` is when the last note began, `under_way` whether an
    /// attempt may be going on.
    fn look(
        &mut self,
        now: Instant,
        quiet_since: Option<Instant>,
        under_way: bool,
    ) -> Result<Flow, Fault>;

    /// How long until something else is due.
    fn due_in(&self, source: &Source) -> Option<Duration>;
}

/// What is listened to.
pub(crate) struct LiveLoop {
    /// The guitar.
    pub(crate) source: Source,
    /// The foot switch, where it is plugged in by itself.
    beside: Option<Source>,
    switches: Switches,
    recorder: Option<Recorder>,
    wire: Wire,
    wire_beside: Wire,
    last_note: Option<Instant>,
    last_pitch: Option<Pitch>,
    /// The pickup is heard so badly that nothing can be judged by it, and that was said.
    is_poor: bool,
    messages: LastMessages,
    unjudged: Unjudged,
}

/// What ends a round.
enum Round {
    On,
    Left,
    Over,
}

impl LiveLoop {
    /// Opens what the command line asks for: the guitar, a foot switch where one is plugged in by
    /// itself, and a recording. A recording that cannot be made is refused before a port is opened.
    pub(crate) fn open(args: &LiveArgs, switches: Switches) -> Result<Self, Fault> {
        if let Some(path) = &args.record {
            Recorder::check(path, args.replace)?;
        }
        let source = connection::open(&args.source)?;
        let beside = connection::open_switch(args, &source)?;
        let recorder = args.record.as_deref().map(|path| Recorder::begin(path, args.replace));
        Ok(Self {
            source,
            beside,
            switches,
            recorder: recorder.transpose()?,
            wire: Wire::new(),
            wire_beside: Wire::new(),
            last_note: None,
            last_pitch: None,
            is_poor: false,
            messages: LastMessages::default(),
            unjudged: Unjudged::default(),
        })
    }

    /// Listens until the handler leaves, the stream is over, or the user has enough.
    pub(crate) fn listen(
        &mut self,
        listener: &mut Listener<'_>,
        room: &mut impl SessionHandler,
    ) -> Result<Ended, Fault> {
        let mut known = listener.channels();
        while !stop::is_asked() {
            match self.round(listener, room)? {
                Round::On => {}
                Round::Left => return Ok(Ended::Left),
                Round::Over => break,
            }
            let is_poor = listener.hears_poorly();
            if is_poor && !self.is_poor {
                room.poor_hearing(&self.source)?;
            }
            self.is_poor = is_poor;
            let found = listener.channels();
            if found != known {
                known = found;
                room.channels(found)?;
            }
        }
        self.finish(listener, room)?;
        Ok(Ended::Over)
    }

    /// Ends the recording, after all else has come to this.
    pub(crate) fn end(&mut self, so_far: Result<(), Fault>) -> Result<(), Fault> {
        match (so_far, self.recorder.as_mut().map_or(Ok(()), Recorder::end)) {
            (Err(before), Err(fault)) => {
                // The exit code is that of what came first, but where notes are kept must be said.
                warn(&fault.to_string());
                Err(before)
            }
            (so_far, recorded) => so_far.and(recorded),
        }
    }

    fn round(
        &mut self,
        listener: &mut Listener<'_>,
        room: &mut impl SessionHandler,
    ) -> Result<Round, Fault> {
        let until = listener.poll_at().map(|at| self.source.until(at));
        // That is due by this computer's clock, which is not that of a stream that tells the time.
        let recorder = self.recorder.as_ref().filter(|_| self.source.started().is_some());
        let recording = recorder.and_then(Recorder::due_in);
        let said = self.switches.poll_at().map(|at| self.source.until(at));
        // While something may be under way, that says when to look again.
        let unjudged = self.unjudged.due().filter(|_| until.is_none());
        let unjudged = unjudged.map(|at| self.source.until(at));
        let due = [until, recording, said, unjudged, room.due_in(&self.source)];
        let due = due.into_iter().flatten().min();
        let heard = self.source.next_due(due);
        // What was due before these bytes came is over before them.
        let now = match &heard {
            Ok(SourceEvent::Bytes { at, .. }) => *at,
            _ => self.source.now(),
        };
        if self.poll(listener, room, now)? == Flow::Leave {
            // What has come is the next listener's.
            if let Ok(heard) = heard {
                self.source.put_back(heard);
            }
            return Ok(Round::Left);
        }
        if let Some(said) = self.switches.poll(now)
            && self.press(said, listener, room)? == Flow::Leave
        {
            if let Ok(heard) = heard {
                self.source.put_back(heard);
            }
            return Ok(Round::Left);
        }
        match heard {
            Ok(SourceEvent::Bytes { bytes, at }) => {
                if let Some(recorder) = &mut self.recorder {
                    recorder.hear(&bytes, at)?;
                }
                if self.feed(&bytes, at, listener, room)? == Flow::Leave {
                    return Ok(Round::Left);
                }
            }
            Ok(SourceEvent::Changed(change)) => {
                self.wire.interrupt();
                let under_way = change != Change::Back && listener.interrupt();
                room.change(change, under_way, &self.source)?;
                // What was over, and only waited for what cannot come any more.
                if self.poll(listener, room, now)? == Flow::Leave {
                    return Ok(Round::Left);
                }
            }
            Ok(SourceEvent::Broke(error)) => {
                self.finish(listener, room)?;
                let name = &self.source.name;
                let advice = match self.source.started() {
                    Some(_) => "Check the cable, and start again; what was heard has been judged.",
                    None => "Put that line right; what was heard before it has been judged.",
                };
                return Err(
                    Fault::new(Exit::Live, format!("{name} broke off: {error}")).advise(advice)
                );
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return Ok(Round::Over),
        }
        if let Some(recorder) = &mut self.recorder {
            recorder.keep();
        }
        if self.pressed_beside(listener, room)? == Flow::Leave {
            return Ok(Round::Left);
        }
        let under_way = listener.poll_at().is_some();
        let progress = match (under_way, listener.has_reached_the_end()) {
            (false, _) => Progress::Nothing,
            (true, false) => Progress::UnderWay,
            (true, true) => Progress::ToTheEnd,
        };
        room.hears(HeardNow { note: self.last_pitch, progress });
        if let Some(notes) = self.unjudged.over(self.source.now(), under_way) {
            room.something_else(&notes)?;
        }
        let flow = room.look(self.source.now(), self.last_note, under_way)?;
        take_back(listener, room);
        Ok(if flow == Flow::Leave { Round::Left } else { Round::On })
    }

    /// What an attempt was heard by that this listener has found.
    fn heard_by(&self, listener: &Listener<'_>) -> HeardBy<'_> {
        let (channels, click) = (listener.channels(), listener.click());
        HeardBy { source: &self.source, messages: &self.messages, channels, click }
    }

    fn poll(
        &mut self,
        listener: &mut Listener<'_>,
        room: &mut impl SessionHandler,
        now: Instant,
    ) -> Result<Flow, Fault> {
        loop {
            let finished = listener.poll(now);
            self.false_starts(listener, room)?;
            let Some(finished) = finished else { return Ok(Flow::GoOn) };
            self.unjudged.clear();
            if room.attempt(&finished, self.heard_by(listener))? == Flow::Leave {
                return Ok(Flow::Leave);
            }
        }
    }

    /// All that is under way is over.
    fn finish(
        &mut self,
        listener: &mut Listener<'_>,
        room: &mut impl SessionHandler,
    ) -> Result<(), Fault> {
        loop {
            let finished = listener.finish();
            self.false_starts(listener, room)?;
            let Some(finished) = finished else { return Ok(()) };
            self.unjudged.clear();
            room.attempt(&finished, self.heard_by(listener))?;
        }
    }

    fn false_starts(
        &self,
        listener: &mut Listener<'_>,
        room: &mut impl SessionHandler,
    ) -> Result<(), Fault> {
        while let Some(start) = listener.false_start() {
            room.false_start(&start, &self.source)?;
        }
        Ok(())
    }

    fn feed(
        &mut self,
        bytes: &[u8],
        at: Instant,
        listener: &mut Listener<'_>,
        room: &mut impl SessionHandler,
    ) -> Result<Flow, Fault> {
        for (index, &byte) in bytes.iter().enumerate() {
            // Whole messages are handed on, so that a listener may begin anywhere in a stream
            // with running status, and a note that is a foot switch is no note of the guitar.
            let Some(message) = self.wire.push(byte) else { continue };
            let mut room_for_it = [0; 3];
            let length = message.copy_to_slice(&mut room_for_it).unwrap_or(0);
            let message_bytes = room_for_it.get(..length).unwrap_or_default();
            let rest = bytes.get(index + 1..).unwrap_or_default();
            let (said, own) = self.switches.hear(&message, at);
            let own = own || room.is_deaf();
            let begun = begun(&message).filter(|_| !own);
            let begins = begun.is_some();
            if self.poll(listener, room, at)? == Flow::Leave {
                self.source
                    .put_back(SourceEvent::Bytes { bytes: [message_bytes, rest].concat(), at });
                return Ok(Flow::Leave);
            }
            if begins {
                self.last_note = Some(at);
                self.last_pitch = begun.or(self.last_pitch);
                if let Some(pitch) = begun {
                    self.unjudged.hear(pitch, at);
                }
            }
            if !own {
                self.messages.hear(message_bytes, at);
                listener.feed(message_bytes, at, begins);
            }
            if let Some(said) = said
                && self.press(said, listener, room)? == Flow::Leave
            {
                self.source.put_back(SourceEvent::Bytes { bytes: rest.to_vec(), at });
                return Ok(Flow::Leave);
            }
        }
        Ok(Flow::GoOn)
    }

    /// Whether the foot switch that is plugged in by itself was pressed.
    fn pressed_beside(
        &mut self,
        listener: &mut Listener<'_>,
        room: &mut impl SessionHandler,
    ) -> Result<Flow, Fault> {
        let mut pressed = Vec::new();
        let Some(beside) = &self.beside else { return Ok(Flow::GoOn) };
        while let Ok(heard) = beside.next(Duration::ZERO) {
            match heard {
                SourceEvent::Bytes { bytes, .. } => {
                    let messages = bytes.iter().filter_map(|byte| self.wire_beside.push(*byte));
                    // By the guitar's clock, as all else.
                    let now = self.source.now();
                    let switches = &mut self.switches;
                    pressed.extend(messages.filter_map(|message| switches.press(&message, now)));
                }
                SourceEvent::Changed(_) | SourceEvent::Broke(_) => self.wire_beside.interrupt(),
            }
        }
        for said in pressed {
            if self.press(said, listener, room)? == Flow::Leave {
                return Ok(Flow::Leave);
            }
        }
        Ok(Flow::GoOn)
    }

    /// A switch ends the attempt under way, which is judged as far as it came. What is said of the last
    /// attempt ends none, and nothing is judged where it hurts.
    fn press(
        &mut self,
        said: Said,
        listener: &mut Listener<'_>,
        room: &mut impl SessionHandler,
    ) -> Result<Flow, Fault> {
        let Some(action) = said.action(room.offered()) else { return Ok(Flow::GoOn) };
        match action {
            Action::Again | Action::Call => {
                listener.discard();
                self.unjudged.clear();
            }
            Action::Misheard | Action::Choices | Action::Say | Action::Hurts => {}
            Action::Next | Action::Back | Action::Stop | Action::Choose(_) => {
                self.finish(listener, room)?;
            }
        }
        let flow = room.press(action)?;
        take_back(listener, room);
        Ok(flow)
    }
}

/// What attempts say together is without the last one, if it was taken back.
fn take_back(listener: &mut Listener<'_>, room: &mut impl SessionHandler) {
    if room.takes_back() {
        listener.take_back();
    }
}

/// The note that a message begins.
pub(crate) fn begun(message: &MidiMessage<'_>) -> Option<Pitch> {
    match message {
        MidiMessage::NoteOn(_, note, velocity) if u8::from(*velocity) > 0 => {
            Pitch::new(u8::from(*note))
        }
        _ => None,
    }
}
