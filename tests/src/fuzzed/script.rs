//! Bytes as instructions: a chunk, how to listen, and what happens then.

use evenhand::study::{Fingering, Prepared};
use evenhand_core::measure::timing::Click;
use evenhand_core::pickup::{Bends, Channels, Latency, Pickup};
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::study::{Attack, ExpectedNote, Marks, Metre};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{GuitarString, Instant, Level, Offset, Pitch, Tempo, Ticks};

/// The shortest written time between two notes.
const STEP: u32 = Ticks::PER_QUARTER / 8;

/// From this number on, a chunk has as many notes as it says.
const LARGE: u8 = 0xe0;

const MARKS: [Marks; 6] =
    [Marks::ROLLED, Marks::LANDING, Marks::SHIFT, Marks::ACCENT, Marks::HELD, Marks::STACCATO];

/// Something that happens to a session.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Step<'a> {
    /// So much time passes, in microseconds.
    Wait(u64),
    /// The clock is set back by so much, as clocks of operating systems sometimes are.
    SetBack(u64),
    /// These bytes come in.
    Bytes(&'a [u8]),
    /// The next so many expected notes are played, each so much later than written (256ths of
    /// the time since the one before), with loudness that varies by so much.
    Play { notes: u8, later: u8, loudness: u8 },
    /// One expected note is passed over.
    Skip,
    /// It starts again from the first expected note.
    Again,
    /// The session is asked now.
    Poll,
    /// The session is asked when it wanted to be.
    PollWhenDue,
    /// The session is told that the attempt is over.
    Finish,
    /// The session is told to forget the attempt.
    Discard,
}

/// A pickup of which more or less is known.
fn pickup(has: impl Fn(u8) -> bool, first: u8) -> Pickup {
    let known = Pickup::UNKNOWN.on(match (has(2), has(4)) {
        (true, _) => Channels::PerString { first },
        (false, true) => Channels::Auto,
        (false, false) => Channels::One,
    });
    if !has(5) {
        return known;
    }
    Pickup {
        bend_range: first,
        bends: if first & 1 == 0 { Bends::OnlyColour } else { Bends::MaySlur },
        latency: Latency {
            base: Offset::from_millis(i32::from(first) - 64),
            periods_percent: u16::from(first) * 3,
        },
        string_levels: [Level::from_hundredths(i16::from(first) * 9 - 1_000);
            GuitarString::MOST as usize],
        noise_percent: first,
        fixed_velocity: first & 2 == 0,
        ..known
    }
}

/// Bytes, taken off one by one.
pub(super) struct Bytes<'a>(&'a [u8]);

impl<'a> Bytes<'a> {
    pub(super) const fn new(bytes: &'a [u8]) -> Self {
        Self(bytes)
    }

    pub(super) fn two(&mut self) -> Option<[u8; 2]> {
        let (first, rest) = self.0.split_first_chunk()?;
        self.0 = rest;
        Some(*first)
    }

    pub(super) fn four(&mut self) -> Option<[u8; 4]> {
        let (first, rest) = self.0.split_first_chunk()?;
        self.0 = rest;
        Some(*first)
    }
}

/// Reads instructions.
pub(super) struct Script<'a>(&'a [u8]);

impl<'a> Script<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        Self(bytes)
    }

    fn byte(&mut self) -> Option<u8> {
        let (&first, rest) = self.0.split_first()?;
        self.0 = rest;
        Some(first)
    }

    /// How to listen, and a chunk whose notes are in order but need not be one that the judge
    /// takes. `None` if there are too few bytes.
    pub(super) fn head(&mut self) -> Option<(SessionConfig, Prepared)> {
        let [flags, first, tempo, metre, notes] =
            [self.byte()?, self.byte()?, self.byte()?, self.byte()?, self.byte()?];
        let has = |bit: u8| flags & (1 << bit) != 0;
        let config = SessionConfig {
            ends: if has(0) { Ends::ByCaller } else { Ends::ByItself },
            click: has(1).then_some(Click { start: Instant::from_micros(u64::from(tempo) << 12) }),
            pickup: pickup(has, first),
        };
        let level = match flags >> 6 {
            0 => PracticeLevel::First,
            1 => PracticeLevel::Performance,
            _ => PracticeLevel::Steady,
        };
        // From the fastest tempo to nearly the slowest.
        let tempo = Tempo::FASTEST.micros_per_quarter() + u32::from(tempo) * 23_300;
        // Most chunks are short, so that much is tried in little time.
        let most = if notes < LARGE { usize::from(notes & 0x1f) } else { usize::from(notes) };
        let notes = self.notes(most + 1);
        let prepared = Prepared {
            name: "fuzzed".to_owned(),
            hand: vec![Fingering::default(); notes.len()],
            notes,
            tempo: Tempo::from_micros_per_quarter(tempo).expect("it is within the range"),
            metre: Metre::new(metre & 31, 1 << (metre >> 5)).unwrap_or(Metre::FOUR_FOUR),
            first_bar: u16::from(metre),
            into_first_bar: Ticks::new(if has(3) { STEP * 3 } else { 0 }),
            tolerances: Tolerances::of(level),
            alternatives: Vec::new(),
            length: Ticks::new(STEP),
            voices: Vec::new(),
        };
        Some((config, prepared))
    }

    fn notes(&mut self, most: usize) -> Vec<ExpectedNote> {
        let mut onset = 0;
        let mut notes = Vec::new();
        while notes.len() < most {
            let (Some(time), Some(pitch), Some(string), Some(marks)) =
                (self.byte(), self.byte(), self.byte(), self.byte())
            else {
                break;
            };
            onset += u32::from(time & 0x1f) * STEP;
            let number = pitch & 0x7f;
            notes.push(ExpectedNote {
                onset: Ticks::new(onset),
                duration: Ticks::new(STEP << (time >> 5)),
                pitch: Pitch::new(number).expect("seven bits are a pitch"),
                string: GuitarString::new(string & 0x0f),
                attack: if string & 0x10 != 0 { Attack::Slurred } else { Attack::Plucked },
                trill: (pitch & 0x80 != 0).then(|| Pitch::new(number ^ 2)).flatten(),
                marks: (0..)
                    .zip(MARKS)
                    .filter(|(bit, _)| marks & (1 << bit) != 0)
                    .fold(Marks::NONE, |all, (_, mark)| all.with(mark)),
                voice: string >> 5,
            });
        }
        notes.sort_by_key(ExpectedNote::order);
        notes
    }

    /// The next thing that happens; `None` at the end.
    pub(super) fn step(&mut self) -> Option<Step<'a>> {
        let code = self.byte()?;
        let size = code >> 3;
        Some(match code & 7 {
            // Up to four seconds, the short times finer.
            0 => Step::Wait(u64::from(self.byte()?).pow(2) << 6),
            1 | 2 => {
                let (bytes, rest) = self.0.split_at(self.0.len().min(usize::from(size) + 1));
                self.0 = rest;
                Step::Bytes(bytes)
            }
            3 | 4 => Step::Play { notes: size + 1, later: self.byte()?, loudness: self.byte()? },
            5 => Step::PollWhenDue,
            6 => Step::Poll,
            _ => match size {
                0 => Step::Discard,
                1 => Step::Finish,
                2 => Step::Again,
                3 => Step::SetBack(u64::from(self.byte()?) << 14),
                4..8 => Step::Skip,
                // From a quarter of a millisecond to the end of the clock.
                _ => Step::Wait(1 << (2 * size)),
            },
        })
    }
}
