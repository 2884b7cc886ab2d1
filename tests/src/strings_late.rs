//! Sittings on a pickup whose strings come late, each by its own time, which nobody told the judge.

use evenhand_core::pickup::{Channels, Habits, Late, Latency, Lateness, Pickup};
use evenhand_core::player::{Artefacts, Fault, Performance, Skill, perform, transmit};
use evenhand_core::session::{Session, SessionConfig};
use evenhand_core::study::{Chunk, ExpectedNote};
use evenhand_core::units::{GuitarString, Instant, Offset, Pitch, Tempo, Ticks};
use evenhand_core::verdict::{Kind, Outcome, Pool, Verdict};

/// How late a pickup's notes truly come.
#[derive(Clone, Copy, Debug)]
pub struct Rig {
    /// What it is called in messages.
    pub name: &'static str,
    /// Milliseconds by string, string 1 first.
    pub late: [i16; 6],
    /// Periods beside that, in per cent.
    pub periods: u16,
}

/// Two periods of each note, the same on all strings.
pub const TWO_PERIODS: Rig = Rig { name: "two periods", late: [4; 6], periods: 200 };

/// A step of 60 ms in the middle.
pub const STEP: Rig = Rig { name: "a step of 60 ms", late: [0, 0, 0, 60, 60, 60], periods: 100 };

/// As a pitch tracker had it.
pub const TRACKER: Rig =
    Rig { name: "53 to 110 ms", late: [53, 53, 53, 104, 107, 110], periods: 0 };

impl Rig {
    /// The pickup as it truly is.
    pub fn pickup(&self) -> Pickup {
        let mut habits = Habits::NONE;
        for (string, late) in (1..).map_while(GuitarString::new).zip(self.late) {
            let known = Lateness { by: late * 100, scatter: 0, notes: 1 };
            habits.string_mut(Some(string)).late = Late { known, ..Late::default() };
        }
        let latency = Latency { base: Offset::from_millis(3), periods_percent: self.periods };
        Pickup { latency, habits, ..Pickup::UNKNOWN.on(Channels::PerString { first: 0 }) }
    }
}

/// Music, note by note: when in eighths, string and fret.
pub struct Music {
    notes: Vec<ExpectedNote>,
    tempo: Tempo,
}

const OPEN: [u8; 6] = [64, 59, 55, 50, 45, 40];

impl Music {
    /// Events of an eighth each, at so many eighths a minute; each event some (string, fret).
    pub fn new(eighths_a_minute: u32, events: &[&[(u8, u8)]]) -> Self {
        let eighth = Ticks::PER_QUARTER / 2;
        let mut notes = Vec::new();
        for (event, together) in (0..).zip(events) {
            for &(string, fret) in *together {
                let pitch = Pitch::new(OPEN[usize::from(string) - 1] + fret).expect("a pitch");
                let onset = Ticks::new(event * eighth);
                let mut note = ExpectedNote::plain(onset, Ticks::new(eighth), pitch);
                note.string = GuitarString::new(string);
                notes.push(note);
            }
        }
        notes.sort_by_key(ExpectedNote::order);
        let tempo = Tempo::from_beats_per_minute(eighths_a_minute, Ticks::new(eighth));
        Self { notes, tempo: tempo.expect("a tempo") }
    }

    /// The chunk.
    pub fn chunk(&self) -> Chunk<'_> {
        Chunk::new(&self.notes, self.tempo).expect("the music is right")
    }

    /// How many notes begin with each event.
    fn lasts(&self) -> u64 {
        let end = self.notes.last().map_or(Ticks::ZERO, |note| note.onset.plus(note.duration));
        u64::from(self.tempo.lasting(end).as_micros().unsigned_abs())
    }
}

/// A scale of three notes a string, up and down.
pub fn scale() -> Music {
    let up: Vec<(u8, u8)> = (1..=6).rev().flat_map(|s| [(s, 5), (s, 7), (s, 8)]).collect();
    let all: Vec<(u8, u8)> = up.iter().chain(up.iter().rev().skip(1)).copied().collect();
    let events: Vec<&[(u8, u8)]> = all.iter().map(std::slice::from_ref).collect();
    Music::new(200, &events)
}

/// Broken chords, up and down.
pub fn arpeggio() -> Music {
    let figure = |bass: u8| [(bass, 3), (4, 2), (3, 2), (2, 3), (1, 3), (2, 3), (3, 2), (4, 2)];
    let all: Vec<(u8, u8)> = [5, 6, 5, 6].into_iter().flat_map(figure).collect();
    let events: Vec<&[(u8, u8)]> = all.iter().map(std::slice::from_ref).collect();
    Music::new(180, &events)
}

const SHAPES: [[(u8, u8); 4]; 4] = [
    [(5, 3), (4, 2), (3, 0), (2, 1)],
    [(6, 3), (4, 0), (3, 0), (2, 3)],
    [(5, 0), (4, 2), (3, 2), (2, 1)],
    [(6, 1), (3, 2), (2, 1), (1, 1)],
];

/// Two bars of block chords, four notes each.
pub fn chords() -> Music {
    let events: Vec<&[(u8, u8)]> = (0..16).map(|event| &SHAPES[event / 2 % 4][..]).collect();
    Music::new(120, &events)
}

/// A run, a broken chord and chords, in turn.
pub fn mixed() -> Music {
    let run: [(u8, u8); 8] = [(6, 3), (5, 2), (4, 0), (4, 2), (3, 0), (3, 2), (2, 1), (1, 0)];
    let broken = [(6, 1), (4, 3), (3, 2), (2, 1), (1, 1), (2, 1), (3, 2), (4, 3)];
    let mut events: Vec<&[(u8, u8)]> = Vec::new();
    events.extend(run.iter().map(std::slice::from_ref));
    events.extend(SHAPES.iter().map(|shape| &shape[..]));
    events.extend(broken.iter().map(std::slice::from_ref));
    events.extend(SHAPES.iter().map(|shape| &shape[..]));
    Music::new(160, &events)
}

/// Two bars of chords on all six strings, or on five.
pub fn swept() -> Music {
    let six: [(u8, u8); 6] = [(6, 3), (5, 2), (4, 0), (3, 0), (2, 0), (1, 3)];
    let five: [(u8, u8); 5] = [(5, 3), (4, 2), (3, 0), (2, 1), (1, 0)];
    let events: Vec<&[(u8, u8)]> =
        (0..8).map(|event| if event % 2 == 0 { &six[..] } else { &five[..] }).collect();
    Music::new(120, &events)
}

/// Ordinary hands: the notes of a chord of four are 12 to 14 ms apart in the middle, as in chords of
/// five real takes (GuitarSet: 11.4 ms).
pub const HANDS: Skill = Skill { hands: Offset::from_micros(6_500), ..Skill::SKILLED };

/// How the notes of a performance are moved before they are sent: what a hand does.
pub type Habit<'a> = &'a dyn Fn(&Performance, usize) -> i32;

/// A hand without a habit.
pub const NO_HABIT: Habit<'static> = &|_, _| 0;

/// Somebody who plays, and what has been learnt of the pickup.
pub struct Sitting<'a> {
    /// The pickup as it truly is.
    pub rig: Rig,
    /// Whether the judge learns.
    pub learns: bool,
    /// The hand.
    pub habit: Habit<'a>,
    /// What has been learnt.
    pub habits: Habits,
    /// Microseconds that were played.
    pub played: u64,
}

impl<'a> Sitting<'a> {
    /// Nothing has been played.
    pub fn new(rig: Rig, learns: bool, habit: Habit<'a>) -> Self {
        Self { rig, learns, habit, habits: Habits::NONE, played: 0 }
    }

    /// Plays once, and gives what is told.
    pub fn attempt(
        &mut self,
        music: &Music,
        pool: &mut Pool,
        faults: &[Fault],
        seed: u64,
    ) -> Option<Verdict> {
        self.played += music.lasts();
        self.attempt_at(&music.chunk(), pool, faults, seed)
    }

    /// The same of any chunk.
    pub fn attempt_at(
        &mut self,
        chunk: &Chunk<'_>,
        pool: &mut Pool,
        faults: &[Fault],
        seed: u64,
    ) -> Option<Verdict> {
        let performance = perform(chunk, chunk.tempo(), HANDS, faults, seed);
        let artefacts = Artefacts { pickup: self.rig.pickup(), ..Artefacts::NONE };
        let sent = transmit(&performance, &artefacts, seed ^ 0x5eed);
        let mut messages: Vec<(u64, [u8; 3])> = Vec::new();
        for message in sent.messages() {
            let on = message.bytes[0] & 0xf0 == 0x90 && message.bytes[2] > 0;
            let string = GuitarString::new((message.bytes[0] & 0xf) + 1);
            // The note that it begins: the one of its string and pitch that was played last.
            let index = performance.notes().iter().rposition(|note| {
                note.string == string
                    && note.pitch.number() == message.bytes[1]
                    && note.at.as_micros() <= message.at.as_micros() + 1_000
            });
            let moved = index.filter(|_| on).map_or(0, |index| (self.habit)(&performance, index));
            let at = message.at.as_micros() + moved;
            messages.push(((2_000_000 + i64::from(at)) as u64, message.bytes));
        }
        messages.sort_by_key(|(at, bytes)| (*at, bytes[0] & 0xf0 == 0x90 && bytes[2] > 0));
        let pickup = Pickup::UNKNOWN.on(Channels::PerString { first: 0 });
        let pickup = Pickup { habits: self.habits, ..pickup };
        let config = SessionConfig { pickup, ..SessionConfig::default() };
        let mut session = Box::new(Session::new(*chunk, config));
        for (at, bytes) in &messages {
            session.feed(bytes, Instant::from_micros(*at));
        }
        let judged = session.finish()?;
        let mut learnt = self.habits;
        let pooled = pool.add(judged.material(), judged.verdict, &mut learnt);
        if self.learns {
            self.habits = learnt;
        }
        Some(pooled.verdict)
    }

    /// Plays pieces in turn until so many seconds of playing are over.
    pub fn practise(&mut self, pieces: &[Music], seconds: u64, seed: u64) -> Vec<Verdict> {
        let mut pools: Vec<Pool> = pieces.iter().map(|_| Pool::new()).collect();
        let mut all = Vec::new();
        let until = self.played + seconds * 1_000_000;
        let mut attempt = 0;
        while self.played < until {
            let at = attempt as usize % pieces.len();
            all.extend(self.attempt(&pieces[at], &mut pools[at], &[], seed * 1_000 + attempt));
            attempt += 1;
        }
        all
    }
}

/// Whether it fails by time.
pub fn fails_by_time(verdict: &Verdict) -> bool {
    let time = [
        Kind::Unsteady,
        Kind::OffBeat,
        Kind::Hesitation,
        Kind::HesitationAtShift,
        Kind::Drift,
        Kind::OffPace,
        Kind::SpreadChords,
    ];
    verdict.outcome == Outcome::NeedsWork
        && verdict.findings.iter().any(|finding| time.contains(&finding.kind))
}

/// Notes within this time, in microseconds, were struck together.
const TOGETHER: i32 = 60_000;

/// A hand that strikes a string `by` so many microseconds later than it means to: in chords, and in
/// lines where it comes from another string, or at each note.
pub fn late_on(
    string: u8,
    in_chords: i32,
    in_lines: i32,
    only_changes: bool,
) -> impl Fn(&Performance, usize) -> i32 {
    move |performance, index| {
        let notes = performance.notes();
        let own = &notes[index];
        if own.string != GuitarString::new(string) {
            return 0;
        }
        let near = |note: &&evenhand_core::player::Sounded| {
            (note.at.as_micros() - own.at.as_micros()).abs() <= TOGETHER
        };
        if notes.iter().filter(near).count() > 1 {
            return in_chords;
        }
        let is_change =
            index.checked_sub(1).is_none_or(|before| notes[before].string != own.string);
        if is_change || !only_changes { in_lines } else { 0 }
    }
}

/// A string that the pickup scatters: evenly to both sides, up to so many microseconds.
pub fn scattered_on(string: u8, by: i32) -> impl Fn(&Performance, usize) -> i32 {
    move |performance, index| {
        let own = &performance.notes()[index];
        // A number that follows from the note alone, as good as chance.
        let chance = (own.at.as_micros() as u32).wrapping_mul(2_654_435_761) >> 8;
        let off = ((i64::from(chance) * i64::from(2 * by)) >> 24) as i32 - by;
        if own.string == GuitarString::new(string) { off } else { 0 }
    }
}
