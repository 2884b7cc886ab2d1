//! `evenhand calibrate`: finds out about a pickup by what is played on it, and writes its profile.

mod found;
mod learnt;
mod view;

use crate::args::CalibrateArgs;
use crate::calibrate::{self, GRIPS, PINCHES, Slurs, Take};
use crate::fault::{Exit, Fault};
use crate::live::{Source, SourceEvent};
use crate::output::Output;
use crate::pickup;
use crate::sitting::connection;
use crate::{private, settings, stop};
use found::{Found, open};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::io::ErrorKind;
use std::path::Path;
use std::sync::mpsc::RecvTimeoutError;
use view::{Asked, View};

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

/// What is asked for in large letters, string 1 first.
const LARGE: [&str; 6] = ["string 1", "string 2", "string 3", "string 4", "string 5", "string 6"];

/// Runs the command.
pub fn run(args: &CalibrateArgs) -> Result<Exit, Fault> {
    stop::listen_for_it();
    let place = match &args.out {
        Some(path) => path.clone(),
        None => settings::profile_place()?,
    };
    let source = connection::open(&args.source)?;
    let view = View::open(&source.name, args.plain)?;
    let mut room = SessionHandler { source, view, over: false, stopped: false };
    let begin = format!(
        "Calibrating {}. Standard tuning, no capo. Play as loud as you practise; it takes about \
         three minutes. Ctrl-C leaves everything as it was.",
        room.source.name
    );
    room.view.begin(&begin)?;
    let strings = room.strings()?;
    let pinches = room.pinches(&strings)?;
    let grips = [room.grip(&strings, 4)?, room.grip(&strings, 6)?];
    let hammered = room.hammer_ons(&strings)?;
    if room.stopped || stop::is_asked() {
        return Err(Fault::new(Exit::Live, "stopped before the end; nothing has been written"));
    }
    let (found, said) = findings(&strings, &pinches, &grips, &hammered);
    if found.remarks.is_empty() {
        say_all(room.view.close(), &said)?;
        return Err(Fault::new(Exit::Live, "nothing was found out about the pickup").advise(
            "Is it the right input? `evenhand ports` lists them, `evenhand doctor --listen` looks for \
             what may be wrong.",
        ));
    }
    let date = TimeZone::system().to_datetime(Timestamp::now()).date();
    let head = format!("Found out by playing, {date}, on {}.", room.source.name);
    let kept = keep(&place, &pickup::text(&found.pickup, &[head], &found.remarks));
    if kept.is_ok() {
        let mut shown = learnt::by_string(&found, &strings);
        shown.extend(said.iter().filter(|line| !shown.contains(line)).cloned().collect::<Vec<_>>());
        shown.push(format!("Written to {}.", place.display()));
        room.view.learnt(&shown)?;
    }
    let output = room.view.close();
    say_all(output, &said)?;
    kept?;
    output.paragraph(&format!("Written to {}.", place.display()))?;
    if args.out.is_none() {
        output.paragraph(
            "`practice`, `listen` and `judge` use it from now on; --no-pickup does without.",
        )?;
    }
    Ok(Exit::Done)
}

fn say_all(output: &mut Output, said: &[String]) -> Result<(), Fault> {
    output.say("")?;
    said.iter().try_for_each(|line| output.paragraph(line))
}

struct SessionHandler {
    source: Source,
    view: View,
    /// The stream is over.
    over: bool,
    /// The player has stopped it.
    stopped: bool,
}

impl SessionHandler {
    /// Each string by itself; the highest is the first of what is given.
    fn strings(&mut self) -> Result<Vec<Take>, Fault> {
        let mut takes = Vec::new();
        for (number, name, _) in STRINGS {
            self.view.ask(Asked {
                word: LARGE[usize::from(number) - 1],
                what: format!("String {number}, {name}"),
                sentence: format!(
                    "String {number}, {name}: pluck it open, {PLUCKS} times, evenly, about once a \
                     second."
                ),
                times: PLUCKS,
            })?;
            let plucks = |take: &Take| take.main().len();
            let mut take = self.take(plucks, |take| plucks(take) >= PLUCKS)?;
            if let Some(other) = another_string(&take, number) {
                self.view.ask_again(&format!(
                    "That was string {other}. Pluck string {number}, {name}, {PLUCKS} times. (If \
                     it is tuned to this note, pluck it once more all the same.)"
                ))?;
                let again = self.take(plucks, |take| plucks(take) >= PLUCKS)?;
                take = if again.main().is_empty() { take } else { again };
            }
            let came = take.main().len();
            self.view.line(&format!("  {came} of {PLUCKS} notes came."))?;
            takes.push(take);
        }
        takes.reverse();
        Ok(takes)
    }

    /// The two outer strings at once.
    fn pinches(&mut self, strings: &[Take]) -> Result<Take, Fault> {
        self.view.ask(Asked {
            word: "6 and 1",
            what: "Strings 6 and 1 together".to_owned(),
            sentence: format!(
                "Now strings 6 and 1 together, open, with thumb and finger: {} times, about once a \
                 second.",
                PINCHES + 2
            ),
            times: PINCHES + 2,
        })?;
        let both = [open(strings, 6), open(strings, 1)];
        let came = |take: &Take| together(take, &both);
        self.take(came, |take| came(take) >= PINCHES + 2)
    }

    /// Four neighbouring strings at once, the lowest being `lowest`.
    fn grip(&mut self, strings: &[Take], lowest: u8) -> Result<Take, Fault> {
        self.view.ask(Asked {
            word: if lowest == 4 { "4 to 1" } else { "6 to 3" },
            what: format!("Strings {lowest} to {} together", lowest - 3),
            sentence: format!(
                "Strings {lowest} to {} together, open, with thumb and three fingers: {} times, about \
                 once a second.",
                lowest - 3,
                GRIPS + 2
            ),
            times: GRIPS + 2,
        })?;
        let open: Vec<u8> = (lowest - 3..=lowest).map(|string| open(strings, string)).collect();
        let came = |take: &Take| together(take, &open);
        self.take(came, |take| came(take) >= GRIPS + 2)
    }

    /// Slurs on the second string.
    fn hammer_ons(&mut self, strings: &[Take]) -> Result<Take, Fault> {
        self.view.ask(Asked {
            word: "slur",
            what: "Hammer-ons on string 2".to_owned(),
            sentence: format!(
                "Last: pluck string 2 open and let a finger of the left hand fall on fret {} without \
                 plucking again, {SLURS} times.",
                calibrate::SEMITONES
            ),
            times: SLURS,
        })?;
        let string = open(strings, 2);
        let plucked = |take: &Take| take.notes.iter().filter(|note| note.pitch == string).count();
        self.take(plucked, |take| {
            plucked(take) >= SLURS && !matches!(calibrate::slurs(take, string), Slurs::TooFew(_))
        })
    }

    /// Listens until it is enough, or nothing comes for a while.
    fn take(
        &mut self,
        came: impl Fn(&Take) -> usize,
        enough: impl Fn(&Take) -> bool,
    ) -> Result<Take, Fault> {
        let mut take = Take::default();
        let mut last = self.source.now().as_micros();
        while !self.over && !self.stopped {
            match self.source.next(stop::LOOK) {
                Ok(SourceEvent::Bytes { bytes, at }) => {
                    let before = take.notes.len();
                    take.hear(&bytes, at.as_micros());
                    if take.notes.len() > before {
                        last = at.as_micros();
                        self.view.came(came(&take))?;
                    }
                }
                Ok(SourceEvent::Changed(change)) => {
                    self.view.notice(&connection::words(change, &self.source, false));
                }
                Ok(SourceEvent::Broke(error)) => {
                    let what = format!("{} broke off: {error}", self.source.name);
                    return Err(Fault::new(Exit::Live, what)
                        .advise("Check the cable, and start again; nothing has been written."));
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => self.over = true,
            }
            self.stopped |= self.view.is_stopped();
            let quiet = self.source.now().as_micros().saturating_sub(last);
            if quiet >= PATIENCE || (quiet >= AFTERWARDS && enough(&take)) {
                break;
            }
        }
        Ok(take)
    }
}

/// How often all of these notes came.
fn together(take: &Take, pitches: &[u8]) -> usize {
    let of = |pitch: &u8| take.notes.iter().filter(|note| note.pitch == *pitch).count();
    pitches.iter().map(of).min().unwrap_or(0)
}

/// What all of it comes to, and what there is to say of it.
fn findings(
    strings: &[Take],
    pinches: &Take,
    grips: &[Take; 2],
    hammered: &Take,
) -> (Found, Vec<String>) {
    let mut found = Found::default();
    let mut said = Vec::new();
    for ((number, name, standard), take) in STRINGS.iter().rev().zip(strings) {
        let main = take.main();
        if main.len() < FEWEST_HEARD {
            said.push(format!("The pickup does not hear string {number}, {name}."));
        } else if let Some(note) = main.first()
            && note.pitch != *standard
        {
            said.push(format!(
                "String {number}, {name}, came as note {} instead of {standard}: is it tuned \
                 otherwise, or was it another string?",
                note.pitch
            ));
        }
    }
    said.extend([found.channels(strings), found.levels(strings), found.noise(strings)]);
    let periods = found.latency(strings, pinches);
    let lateness = found.lateness(strings, pinches, grips);
    // Where strings are late by times of their own, periods were no more than a first guess.
    let is_by_string = found.remarks.iter().any(|(setting, _)| *setting == "late-ms");
    said.extend((!is_by_string).then_some(periods));
    said.extend([lateness, found.slurs(strings, hammered)]);
    said.extend(learnt::by_string(&found, strings));
    (found, said)
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
