//! The hand that plays, and the head that decides where.

use super::truth::truth;
use super::{PAUSE, Place, RUN, Rehearsal, Run, SILENCE, STEP, TEMPO, quantile};
use evenhand::study::Prepared;
use evenhand_core::notes::NoteEvent;
use evenhand_core::player::{Chance, Fault, Skill, perform};
use evenhand_core::units::{GuitarString, Instant, Pitch, Tempo, Ticks, Velocity};

/// A slip comes with this chance an event, in per mille: somebody who works at what is hard. Our
/// default.
const SLIPS: u32 = 12;

/// Some events are left out on the way in this share of runs, in per mille: skips are 4 % of
/// breaks.
const GAPS: u32 = 40;

struct Note {
    at: u64,
    lasts: u64,
    pitch: Pitch,
    velocity: Velocity,
    string: Option<GuitarString>,
    place: Option<Place>,
}

/// An event of the study.
pub(super) struct Event {
    pub(super) place: Place,
    onset: Ticks,
}

impl Event {
    pub(super) const fn onset(&self) -> Ticks {
        self.onset
    }
}

pub(super) struct Hand<'a> {
    chunks: &'a [Prepared],
    events: Vec<Event>,
    chance: Chance,
    now: u64,
    /// The share of the goal's tempo, in per mille.
    tempo: u32,
    with_strings: bool,
    notes: Vec<Note>,
    runs: Vec<Run>,
}

impl<'a> Hand<'a> {
    pub(super) fn new(chunks: &'a [Prepared], mut chance: Chance) -> Self {
        let events = chunks.iter().enumerate().flat_map(|(chunk, music)| {
            let mut onsets: Vec<Ticks> = music.notes.iter().map(|note| note.onset).collect();
            onsets.dedup();
            onsets.into_iter().enumerate().map(move |(event, onset)| {
                let place = Place { chunk, event };
                Event { place, onset }
            })
        });
        let with_strings = chance.below(2) == 0;
        let tempo = 600 + chance.below(500);
        Self {
            chunks,
            events: events.collect(),
            chance,
            now: 1_000_000,
            tempo,
            with_strings,
            notes: Vec::new(),
            runs: Vec::new(),
        }
    }

    pub(super) const fn now(&self) -> u64 {
        self.now
    }

    pub(super) fn chance(&mut self, per_mille: u32) -> bool {
        self.chance.below(1_000) < per_mille
    }

    fn first_of(&self, chunk: usize) -> usize {
        self.events.iter().position(|event| event.place.chunk == chunk).expect("a chunk")
    }

    pub(super) fn any_chunk(&mut self) -> usize {
        let chunk = self.chance.below(self.chunks.len() as u32) as usize;
        self.first_of(chunk)
    }

    fn tempo(&self, chunk: &Prepared) -> Tempo {
        let beat = chunk.metre.beat();
        let goal = chunk.tempo.hundredths_of_beats_per_minute(beat);
        let beats = (goal * self.tempo / 100_000).max(20);
        Tempo::from_beats_per_minute(beats, beat).expect("a tempo")
    }

    /// When an event is due after the beginning of the study, at the tempo of its chunks, in
    /// microseconds.
    fn written(&self, event: usize) -> u64 {
        let Some(here) = self.events.get(event) else {
            return self.chunks.iter().map(|chunk| self.lasting(chunk, chunk.length)).sum();
        };
        let chunk = here.place.chunk;
        let before: u64 =
            self.chunks[..chunk].iter().map(|chunk| self.lasting(chunk, chunk.length)).sum();
        before + self.lasting(&self.chunks[chunk], here.onset)
    }

    fn lasting(&self, chunk: &Prepared, ticks: Ticks) -> u64 {
        u64::from(self.tempo(chunk).lasting(ticks).as_micros().unsigned_abs())
    }

    fn bar(&self, event: usize) -> u64 {
        let chunk = self.events.get(event).map_or(0, |event| event.place.chunk);
        let chunk = &self.chunks[chunk];
        self.lasting(chunk, chunk.metre.bar())
    }

    fn beat(&self, event: usize) -> u64 {
        let chunk = self.events.get(event).map_or(0, |event| event.place.chunk);
        let chunk = &self.chunks[chunk];
        self.lasting(chunk, chunk.metre.beat())
    }

    /// How many events a run takes that begins with `start`.
    pub(super) fn run_length(&mut self, start: usize) -> usize {
        let lasts = u64::from(quantile(&RUN, self.chance.below(1_000))) * 1_000;
        let until = self.written(start) + lasts;
        let events = (start..self.events.len()).take_while(|&event| self.written(event) < until);
        events.count().max(1)
    }

    /// A place within a bar of another.
    pub(super) fn near(&mut self, place: usize, start: usize) -> usize {
        let bar = self.bar(place);
        let at = self.written(place);
        let near: Vec<usize> = (start + 1..=self.events.len())
            .filter(|&event| self.written(event).abs_diff(at) <= bar)
            .collect();
        let any = self.chance.below(near.len().max(1) as u32) as usize;
        near.get(any).copied().unwrap_or(start + 1)
    }

    /// Where it goes on after a break before the event `to`: half of all runs begin where the last
    /// one began; else it goes back at most a beat, a bar, two, four or further (16, 18, 16, 15,
    /// 19 %), stops and goes on (11 %), or leaps ahead (4 %). With it the pause, and the tempo of
    /// what comes next.
    pub(super) fn next_start(&mut self, start: usize, to: usize) -> usize {
        let mut pause = u64::from(quantile(&PAUSE, self.chance.below(1_000))) * 1_000;
        let (beat, bar) = (self.beat(to.saturating_sub(1)), self.bar(to.saturating_sub(1)));
        let at_end = to >= self.events.len();
        let next = if self.chance(470) {
            start
        } else {
            match self.chance.below(99) {
                0..16 => self.back(to, 0, beat),
                16..34 => self.back(to, beat, bar),
                34..50 => self.back(to, bar, 2 * bar),
                50..65 => self.back(to, 2 * bar, 4 * bar),
                65..84 => self.any_chunk(),
                84..95 if !at_end => {
                    // 2.9 s in the median.
                    pause = SILENCE + u64::from(self.chance.below(1_800)) * 1_000;
                    to
                }
                95.. if to + STEP + 2 < self.events.len() => {
                    to + STEP + 2 + self.chance.below(8) as usize
                }
                _ => self.any_chunk(),
            }
        };
        // What is written until the next event passes, too.
        self.now += pause;
        let change = quantile(&TEMPO, self.chance.below(1_000));
        let change = if self.chance(500) { 1_000 + change } else { 1_000_000 / (1_000 + change) };
        self.tempo = (self.tempo * change / 1_000).clamp(450, 1_250);
        next.min(self.events.len() - 1)
    }

    /// An event so much before another; from a beat on it is the beginning of a chunk as often as
    /// not: the structure of the music is where people begin.
    fn back(&mut self, to: usize, least: u64, most: u64) -> usize {
        let at = self.written(to);
        let there: Vec<usize> = (0..to)
            .filter(|&event| {
                let back = at - self.written(event);
                back > least && back <= most
            })
            .collect();
        let begins: Vec<usize> =
            there.iter().copied().filter(|&event| self.events[event].place.event == 0).collect();
        let of = if least > 0 && !begins.is_empty() && self.chance(500) { begins } else { there };
        let any = self.chance.below(of.len().max(1) as u32) as usize;
        of.get(any).copied().unwrap_or(to.saturating_sub(1))
    }

    /// Plays the events from one to another, with slips, and perhaps leaves some out. Where it
    /// broke off.
    pub(super) fn play(&mut self, from: usize, to: usize) -> usize {
        let to = to.clamp(from + 1, self.events.len());
        let begins = self.written(from);
        let origin = self.now;
        let mut run =
            Run { from, to, left_out: None, slips: Vec::new(), began: u64::MAX, ended: 0 };
        if to - from > 3 * STEP && self.chance(GAPS) {
            let count = 2 + self.chance.below(STEP as u32 - 1) as usize;
            let first = from + STEP + self.chance.below((to - from - 2 * STEP) as u32) as usize;
            run.left_out = Some((first, (first + count).min(to - 1)));
        }
        let saved = run
            .left_out
            .map_or(0, |(first, next)| self.written(next).saturating_sub(self.written(first)));
        let chunks = self.events[from].place.chunk..=self.events[to - 1].place.chunk;
        for chunk in chunks {
            let music = &self.chunks[chunk];
            let first = self.first_of(chunk);
            let count = self.events.iter().filter(|event| event.place.chunk == chunk).count();
            let mut faults = Vec::new();
            for event in first.max(from)..(first + count).min(to) {
                let is_left_out =
                    run.left_out.is_some_and(|(first, next)| (first..next).contains(&event));
                if is_left_out || !self.chance(SLIPS) {
                    continue;
                }
                let onset = self.events[event].onset;
                let note = music.notes.iter().position(|note| note.onset == onset);
                let note = note.expect("an event has notes") as u16;
                let semitones = [-2, -1, 1, 2][self.chance.below(4) as usize];
                faults.push(match self.chance.below(3) {
                    0 => Fault::Wrong { note, semitones },
                    1 => Fault::Missing(note),
                    _ => Fault::Extra { after: note, semitones },
                });
                run.slips.push(event);
            }
            let tempo = self.tempo(music);
            let seed = self.chance.bits();
            let performance = perform(&music.at_tempo(tempo), tempo, Skill::SKILLED, &faults, seed);
            let start = self.written(first);
            for sounded in performance.notes() {
                let onset = match sounded.meant {
                    Some(meant) => music.notes[usize::from(meant)].onset,
                    // One too many belongs to the event before it.
                    None => self.event_before(chunk, sounded.at.as_micros()),
                };
                let index = self.events[first..].iter().position(|event| event.onset == onset);
                let event = first + index.expect("an event");
                let is_left_out =
                    run.left_out.is_some_and(|(first, next)| (first..next).contains(&event));
                if !(from..to).contains(&event) || is_left_out {
                    continue;
                }
                let sooner = match run.left_out {
                    Some((first, _)) if event >= first => saved,
                    _ => 0,
                };
                let at = start.saturating_add_signed(sounded.at.as_micros().into());
                let at = (origin + at).saturating_sub(begins + sooner);
                let lasts = u64::from(sounded.lasts.as_micros().unsigned_abs());
                (run.began, run.ended) = (run.began.min(at), run.ended.max(at));
                self.notes.push(Note {
                    at,
                    lasts,
                    pitch: sounded.pitch,
                    velocity: sounded.velocity,
                    string: sounded.string.filter(|_| self.with_strings),
                    place: sounded.meant.map(|_| self.events[event].place),
                });
            }
        }
        if run.ended > 0 {
            // The next note comes when this one has had its length, and after the pause.
            let last = self.written(to) - self.written(to - 1);
            self.now = run.ended + last.min(self.beat(to - 1));
            self.runs.push(run);
        }
        to
    }

    /// The event of a chunk that is due last before a time.
    fn event_before(&self, chunk: usize, at: i32) -> Ticks {
        let music = &self.chunks[chunk];
        let tempo = self.tempo(music);
        let own = self.events.iter().filter(|event| event.place.chunk == chunk);
        own.map(|event| event.onset)
            .take_while(|onset| tempo.lasting(*onset).as_micros() <= at)
            .last()
            .unwrap_or_default()
    }

    pub(super) fn finish(mut self) -> Rehearsal {
        self.notes.sort_by_key(|note| note.at);
        let mut events = Vec::new();
        for note in &self.notes {
            let Note { pitch, velocity, string, .. } = *note;
            let begun = NoteEvent::Begun { pitch, velocity, string };
            events.push((Instant::from_micros(note.at), begun));
            let ended = NoteEvent::Ended { pitch, string };
            events.push((Instant::from_micros(note.at + note.lasts), ended));
        }
        // A note that begins when another ends comes after it, as from a pickup.
        events.sort_by_key(|(at, event)| (*at, matches!(event, NoteEvent::Begun { .. })));
        let places: Vec<(u64, Option<Place>)> =
            self.notes.iter().map(|note| (note.at, note.place)).collect();
        let (traversals, false_starts) = truth(self.chunks, &self.events, &self.runs, &places);
        Rehearsal {
            events,
            notes: places.into_iter().map(|(_, place)| place).collect(),
            traversals,
            false_starts,
            length: Instant::from_micros(self.now + 20_000_000),
        }
    }
}
