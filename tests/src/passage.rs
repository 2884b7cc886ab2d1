//! A player who plays chunks of a study, whole or from the middle, one after another.

use evenhand::listening::{Finished, Listener};
use evenhand::study::{Prepared, parse};
use evenhand_core::notes::NoteEvent;
use evenhand_core::player::{Fault, Skill, perform};
use evenhand_core::session::SessionConfig;
use evenhand_core::study::Marks;
use evenhand_core::units::{Instant, Offset, Tempo, Ticks};

/// What was played, with the time.
#[derive(Clone, Debug)]
pub struct Passage {
    now: Instant,
    events: Vec<(Instant, NoteEvent)>,
    with_strings: bool,
}

/// The tempo at which a chunk is played here: a little under its goal.
///
/// # Panics
/// If that is no tempo.
pub fn tempo(chunk: &Prepared) -> Tempo {
    let beat = chunk.metre.beat();
    let goal = chunk.tempo.hundredths_of_beats_per_minute(beat) / 100;
    Tempo::from_beats_per_minute(goal * 9 / 10, beat).expect("a tempo")
}

impl Passage {
    /// Nothing yet, a second after the beginning of time.
    pub fn new(with_strings: bool) -> Self {
        Self { now: Instant::from_micros(1_000_000), events: Vec::new(), with_strings }
    }

    /// Plays a chunk without its landing. Its next begins exactly at its written end.
    pub fn play(&mut self, chunk: &Prepared, faults: &[Fault], seed: u64) {
        self.play_part(chunk, 0..usize::MAX, tempo(chunk), faults, seed);
    }

    /// Plays those events of a chunk (chords count as one), at a tempo, without its landing. The
    /// time begins with the first of them, and goes on to the chunk's written end if it holds
    /// the last.
    ///
    /// # Panics
    /// If the chunk cannot be played.
    pub fn play_part(
        &mut self,
        chunk: &Prepared,
        part: std::ops::Range<usize>,
        tempo: Tempo,
        faults: &[Fault],
        seed: u64,
    ) {
        let performance = perform(&chunk.at_tempo(tempo), tempo, Skill::SKILLED, faults, seed);
        let proper = chunk.notes.iter().filter(|note| !note.marks.has(Marks::LANDING));
        let mut onsets: Vec<Ticks> = proper.map(|note| note.onset).collect();
        onsets.dedup();
        let from = onsets[part.start];
        let until = onsets.get(part.end).copied().unwrap_or(chunk.length);
        let from = if part.start == 0 { Ticks::ZERO } else { from };
        let at = |ticks: Ticks| tempo.lasting(ticks).as_micros();
        // What the hands add to the written time.
        let slack = 60_000;
        for note in performance.notes() {
            let landing = note
                .meant
                .is_some_and(|meant| chunk.notes[usize::from(meant)].marks.has(Marks::LANDING));
            let written = note
                .meant
                .map_or(note.at.as_micros(), |meant| at(chunk.notes[usize::from(meant)].onset));
            let within = written >= at(from) && written < at(until) - slack.min(at(until) / 8);
            if landing
                || (note.meant.is_some() && !(at(from)..at(until)).contains(&written))
                || (note.meant.is_none() && !within)
            {
                continue;
            }
            let begun = self.now.plus(Offset::from_micros((note.at.as_micros() - at(from)).max(0)));
            let string = note.string.filter(|_| self.with_strings);
            let (pitch, velocity) = (note.pitch, note.velocity);
            self.events.push((begun, NoteEvent::Begun { pitch, velocity, string }));
            self.events.push((begun.plus(note.lasts), NoteEvent::Ended { pitch, string }));
        }
        self.now = self.now.plus(Offset::from_micros(at(until) - at(from)));
    }

    /// Rests.
    pub fn rest(&mut self, millis: u32) {
        self.now = self.now.plus(Offset::from_micros(millis as i32 * 1_000));
    }

    /// The time, on paper.
    pub const fn now(&self) -> Instant {
        self.now
    }

    /// What came, in order of time.
    pub fn events(&self) -> Vec<(Instant, NoteEvent)> {
        let mut events = self.events.clone();
        // A note that begins when another ends comes after it, as from a pickup.
        events.sort_by_key(|(at, event)| (*at, matches!(event, NoteEvent::Begun { .. })));
        events
    }

    /// What a listener says of it, with the time when it says so.
    pub fn heard_at<'a>(&self, chunks: &'a [Prepared]) -> Vec<(Instant, Finished<'a>)> {
        let mut listener = Listener::new(chunks, SessionConfig::default());
        let mut heard = Vec::new();
        let mut poll = |listener: &mut Listener<'a>, at: Instant| {
            while let Some(finished) = listener.poll(at) {
                heard.push((at, finished));
            }
        };
        for (at, event) in self.events() {
            // As a program does: it polls when it is told to, and before a note.
            while let Some(due) = listener.poll_at().filter(|due| *due < at) {
                poll(&mut listener, due);
            }
            poll(&mut listener, at);
            listener.hear(event, at);
        }
        while let Some(due) = listener.poll_at() {
            poll(&mut listener, due);
        }
        heard
    }

    /// The same without the time.
    pub fn heard<'a>(&self, chunks: &'a [Prepared]) -> Vec<Finished<'a>> {
        self.heard_at(chunks).into_iter().map(|(_, finished)| finished).collect()
    }
}

/// The chunks of a study.
///
/// # Panics
/// If it is none.
pub fn study(text: &str) -> Vec<Prepared> {
    parse(text).and_then(|study| study.prepare()).expect("a study")
}
