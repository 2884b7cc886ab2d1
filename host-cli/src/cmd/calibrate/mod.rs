//! `evenhand calibrate`: finds out about a pickup by what is played on it, and writes its profile.

mod found;

use crate::args::{CalibrateArgs, OutputArgs};
use crate::calibrate::{self, GRIPS, PINCHES, Slurs, Take};
use crate::fault::{Exit, Fault};
use crate::live::{Source, SourceEvent};
use crate::output::{Output, warn};
use crate::pickup;
use crate::sitting::connection;
use crate::{private, settings, stop};
use found::{Found, open};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::io::ErrorKind;
use std::path::Path;
use std::sync::mpsc::RecvTimeoutError;

/// Plucks of one string that are asked for. Our default: one more than is needed.
const PLUCKS: usize = 5;

/// With fewer notes of its own a string is not heard. Our default.
const FEWEST_HEARD: usize = 3;

/// Slurs that are asked for. Our default: one more than is needed.
const SLURS: usize = 4;

/// When nothing has come for so long, the next thing is asked for; in microseconds. Our default.
const PATIENCE: u64 = 20_000_000;

/// So long after the last note is waited for what a converter sends late; in microseconds. Our
/// default.
const AFTERWARDS: u64 = 700_000;

/// The strings from the lowest: number, name, and standard tuning (MIDI note numbers).
const STRINGS: [(u8, &str, u8); 6] = [
    (6, "the low E", 40),
    (5, "A", 45),
    (4, "D", 50),
    (3, "G", 55),
    (2, "B", 59),
    (1, "the high E", 64),
];

/// Runs the command.
pub fn run(args: &CalibrateArgs) -> Result<Exit, Fault> {
    stop::listen_for_it();
    let place = match &args.out {
        Some(path) => path.clone(),
        None => settings::profile_place()?,
    };
    let source = connection::open(&args.source)?;
    let output = Output::new(&OutputArgs { events: false, plain: false, exit_by_verdict: false })?;
    let mut room = SessionHandler { source, output, over: false };
    room.say(&format!(
        "Calibrating {}. Standard tuning, no capo. Play as loud as you practise; it takes about \
         three minutes. Ctrl-C leaves everything as it was.",
        room.source.name
    ))?;
    let strings = room.strings()?;
    let pinches = room.pinches(&strings)?;
    let grips = [room.grip(&strings, 4)?, room.grip(&strings, 6)?];
    let hammered = room.hammer_ons(&strings)?;
    if stop::is_asked() {
        return Err(Fault::new(Exit::Live, "stopped before the end; nothing has been written"));
    }
    let found = room.findings(&strings, &pinches, &grips, &hammered)?;
    if found.remarks.is_empty() {
        return Err(Fault::new(Exit::Live, "nothing was found out about the pickup").advise(
            "Is it the right input? `evenhand ports` lists them, `evenhand doctor` looks for what \
             may be wrong.",
        ));
    }
    let date = TimeZone::system().to_datetime(Timestamp::now()).date();
    let head = format!("Found out by playing, {date}, on {}.", room.source.name);
    keep(&place, &pickup::text(&found.pickup, &[head], &found.remarks))?;
    room.say(&format!("Written to {}.", place.display()))?;
    if args.out.is_none() {
        room.say("`practice`, `listen` and `judge` use it from now on; --no-pickup does without.")?;
    }
    Ok(Exit::Done)
}

struct SessionHandler {
    source: Source,
    output: Output,
    /// The stream is over.
    over: bool,
}

impl SessionHandler {
    fn say(&mut self, text: &str) -> Result<(), Fault> {
        self.output.paragraph(text)
    }

    /// Each string by itself; the highest is the first of what is given.
    fn strings(&mut self) -> Result<Vec<Take>, Fault> {
        let mut takes = Vec::new();
        for (number, name, _) in STRINGS {
            self.output.say("")?;
            self.say(&format!(
                "String {number}, {name}: pluck it open, {PLUCKS} times, evenly, about once a \
                 second."
            ))?;
            let mut take = self.take(|take| take.main().len() >= PLUCKS)?;
            if let Some(other) = another_string(&take, number) {
                self.say(&format!(
                    "  That was string {other}. Pluck string {number}, {name}, {PLUCKS} times. (If \
                     it is tuned to this note, pluck it once more all the same.)"
                ))?;
                let again = self.take(|take| take.main().len() >= PLUCKS)?;
                take = if again.main().is_empty() { take } else { again };
            }
            let came = take.main().len();
            self.output.say(&format!("  {came} of {PLUCKS} notes came."))?;
            takes.push(take);
        }
        takes.reverse();
        Ok(takes)
    }

    /// The two outer strings at once.
    fn pinches(&mut self, strings: &[Take]) -> Result<Take, Fault> {
        self.output.say("")?;
        self.say(&format!(
            "Now strings 6 and 1 together, open, with thumb and finger: {} times, about once a \
             second.",
            PINCHES + 2
        ))?;
        let (low, high) = (open(strings, 6), open(strings, 1));
        self.take(|take| {
            let of = |pitch: u8| take.notes.iter().filter(|note| note.pitch == pitch).count();
            of(low).min(of(high)) >= PINCHES + 2
        })
    }

    /// Four neighbouring strings at once, the lowest being `lowest`.
    fn grip(&mut self, strings: &[Take], lowest: u8) -> Result<Take, Fault> {
        self.output.say("")?;
        self.say(&format!(
            "Strings {lowest} to {} together, open, with thumb and three fingers: {} times, about \
             once a second.",
            lowest - 3,
            GRIPS + 2
        ))?;
        let open: Vec<u8> = (lowest - 3..=lowest).map(|string| open(strings, string)).collect();
        self.take(|take| {
            let of = |pitch: u8| take.notes.iter().filter(|note| note.pitch == pitch).count();
            open.iter().map(|pitch| of(*pitch)).min() >= Some(GRIPS + 2)
        })
    }

    /// Slurs on the second string.
    fn hammer_ons(&mut self, strings: &[Take]) -> Result<Take, Fault> {
        self.output.say("")?;
        self.say(&format!(
            "Last: pluck string 2 open and let a finger of the left hand fall on fret {} without \
             plucking again, {SLURS} times.",
            calibrate::SEMITONES
        ))?;
        let string = open(strings, 2);
        self.take(|take| {
            let plucked = take.notes.iter().filter(|note| note.pitch == string).count();
            plucked >= SLURS && !matches!(calibrate::slurs(take, string), Slurs::TooFew(_))
        })
    }

    /// Listens until it is enough, or nothing comes for a while.
    fn take(&mut self, enough: impl Fn(&Take) -> bool) -> Result<Take, Fault> {
        let mut take = Take::default();
        let mut last = self.source.now().as_micros();
        while !self.over && !stop::is_asked() {
            match self.source.next(stop::LOOK) {
                Ok(SourceEvent::Bytes { bytes, at }) => {
                    let before = take.notes.len();
                    take.hear(&bytes, at.as_micros());
                    if take.notes.len() > before {
                        last = at.as_micros();
                    }
                }
                Ok(SourceEvent::Changed(change)) => {
                    warn(&connection::words(change, &self.source.name, false));
                }
                Ok(SourceEvent::Broke(error)) => {
                    let what = format!("{} broke off: {error}", self.source.name);
                    return Err(Fault::new(Exit::Live, what)
                        .advise("Check the cable, and start again; nothing has been written."));
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => self.over = true,
            }
            let quiet = self.source.now().as_micros().saturating_sub(last);
            if quiet >= PATIENCE || (quiet >= AFTERWARDS && enough(&take)) {
                break;
            }
        }
        Ok(take)
    }

    /// What all of it comes to; said as it is found.
    fn findings(
        &mut self,
        strings: &[Take],
        pinches: &Take,
        grips: &[Take; 2],
        hammered: &Take,
    ) -> Result<Found, Fault> {
        let mut found = Found::default();
        self.output.say("")?;
        for ((number, name, standard), take) in STRINGS.iter().rev().zip(strings) {
            let main = take.main();
            if main.len() < FEWEST_HEARD {
                self.say(&format!("The pickup does not hear string {number}, {name}."))?;
            } else if let Some(note) = main.first()
                && note.pitch != *standard
            {
                self.say(&format!(
                    "String {number}, {name}, came as note {} instead of {standard}: is it tuned \
                     otherwise, or was it another string?",
                    note.pitch
                ))?;
            }
        }
        let said = [
            found.channels(strings),
            found.levels(strings),
            found.noise(strings),
            found.latency(strings, pinches),
            found.lateness(strings, pinches, grips),
            found.slurs(strings, hammered),
        ];
        for line in said {
            self.say(&line)?;
        }
        Ok(found)
    }
}

/// The string that was plucked in place of `asked`, if the notes are another open string's.
fn another_string(take: &Take, asked: u8) -> Option<u8> {
    let main = take.main();
    let pitch = main.first().filter(|_| main.len() >= FEWEST_HEARD)?.pitch;
    let open = STRINGS.iter().find(|(_, _, open)| *open == pitch)?;
    (open.0 != asked).then_some(open.0)
}

/// Writes the profile; the one before it stays beside it. At every moment there is a whole one in
/// its place.
fn keep(place: &Path, text: &str) -> Result<(), Fault> {
    let before = place.with_extension("before.txt");
    let kept = match std::fs::read(place) {
        Ok(old) => private::replace(&before, &old),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        Err(error) => Err(error),
    };
    kept.and_then(|()| private::replace(place, text.as_bytes())).map_err(|error| {
        Fault::new(Exit::Output, format!("{} cannot be written: {error}", place.display()))
            .advise("Name another file with --out, or see who may write there.")
    })
}
