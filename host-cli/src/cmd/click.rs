//! `evenhand click`: a count-in and a click, then the cues, as they sound in practice.

use crate::args::{ClickArgs, OutputArgs};
use crate::fault::{Exit, Fault};
use crate::output::{Output, warn};
use crate::sitting::sounding;
use crate::sound::wav::{LONGEST, Piece, RATE};
use crate::sound::{ClickTrack, Sound};
use crate::{say, stop};
use evenhand_core::units::{Instant, Offset, Tempo};
use evenhand_core::verdict::Outcome;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;
use std::thread;
use std::time::Duration;

/// Time to look up before the count-in. Our default.
const BEFORE: Offset = Offset::from_millis(500);

/// Each cue has a second to itself. Our default.
const AFTER_CUE: Duration = Duration::from_secs(1);

/// How long the last click may take to die away. Our default, beyond its length.
const DYING: Duration = Duration::from_millis(100);

/// All cues, with their words.
const CUES: [(Outcome, &str); 3] = [
    (Outcome::Passed, "passed"),
    (Outcome::NeedsWork, "needs work"),
    (Outcome::Unclear, "unclear"),
];

/// Runs the command.
pub fn run(args: &ClickArgs) -> Result<Exit, Fault> {
    let tempo = Tempo::from_beats_per_minute(args.tempo, args.metre.beat()).ok_or_else(|| {
        Fault::new(Exit::Usage, format!("{} beats a minute cannot be clicked", args.tempo))
            .advise("A quarter note lasts 40 ms to 6 s.")
    })?;
    let click = ClickTrack::new(args.metre, tempo, args.count_in);
    let beats = click.beats_in_bar().saturating_mul(args.count_in.saturating_add(args.bars));
    match &args.write {
        Some(path) => write(args, path, click, beats),
        None => sound(args, click, beats),
    }
}

fn write(args: &ClickArgs, path: &Path, click: ClickTrack, beats: u32) -> Result<Exit, Fault> {
    let cues = if args.sound.no_cues { &[][..] } else { &CUES.map(|(outcome, _)| outcome) };
    let piece = Piece { click, beats, cues };
    if piece.frames() > LONGEST {
        let minutes = LONGEST / u64::from(RATE) / 60;
        return Err(Fault::new(Exit::Usage, format!("that is longer than {minutes} minutes"))
            .advise("Write fewer --bars."));
    }
    let fault = |error: io::Error| {
        let fault = Fault::new(Exit::Output, format!("cannot write {}: {error}", path.display()));
        match error.kind() {
            io::ErrorKind::AlreadyExists => fault.advise("Name another file, or add --replace."),
            _ => fault
                .advise("Check the folder, who may write there, and that the disk is not full."),
        }
    };
    let file = if args.replace { File::create(path) } else { File::create_new(path) };
    let mut out = BufWriter::new(file.map_err(fault)?);
    piece.write(&mut out).and_then(|()| out.flush()).map_err(fault)?;
    let seconds = piece.frames() as f64 / f64::from(RATE);
    output()?.say(&format!("{}: {beats} beats, {seconds:.1} s", path.display()))?;
    Ok(Exit::Done)
}

fn output() -> Result<Output, Fault> {
    Output::new(&OutputArgs { events: false, plain: false, exit_by_verdict: false })
}

fn sound(args: &ClickArgs, click: ClickTrack, beats: u32) -> Result<Exit, Fault> {
    let mut sound = sounding::open(&args.sound, std::time::Instant::now())?;
    let mut output = output()?;
    if let Some(line) = described(&sound) {
        output.say(&line)?;
    }
    stop::listen_for_it();
    let gaps = sound.gaps();
    let first = sound.soonest().plus(BEFORE);
    sound.start(click, first);
    let mut shown = Shown::default();
    for beat in 0..beats {
        while let Some(at) = sound.heard_at(beat).filter(|at| *at > sound.now()) {
            thread::sleep(until(&sound, at).min(stop::LOOK));
            mind(&mut sound);
            if stop::is_asked() {
                break;
            }
        }
        if stop::is_asked() || shown.beat(&click, beat).is_err() {
            break;
        }
    }
    if !stop::is_asked() {
        // The last one is on its way out, and the next, which would be one too many, is not yet.
        thread::sleep(Duration::from_micros(click.micros(1) / 2));
    }
    sound.stop();
    shown.end();
    thread::sleep(sound.latency().unwrap_or_default() + DYING);
    if !args.sound.no_cues && !sound.is_silent() {
        for (outcome, word) in CUES {
            if stop::is_asked() || output.is_closed() {
                break;
            }
            output.say(word)?;
            sound.cue(outcome);
            thread::sleep(AFTER_CUE);
            mind(&mut sound);
        }
    }
    match sound.gaps().saturating_sub(gaps) {
        0 => {}
        1 => output.say("The output ran dry once: beats after that were heard later.")?,
        many => output
            .say(&format!("The output ran dry {many} times: beats after each were heard later."))?,
    }
    if let Some(late) = sound.worst_delay() {
        let millis = late.as_secs_f64() * 1e3;
        output.say(&format!("Notes were sent at most {millis:.1} ms after they were due."))?;
    }
    Ok(Exit::Done)
}

fn described(sound: &Sound) -> Option<String> {
    let name = sound.output_name()?;
    Some(match sound.latency() {
        Some(latency) => {
            format!("Through “{name}”, heard {} ms after it is sent.", latency.as_millis())
        }
        None => format!("To “{name}”."),
    })
}

fn mind(sound: &mut Sound) {
    if let Some(change) = sound.change() {
        warn(&sounding::words(&change));
    }
}

fn until(sound: &Sound, at: Instant) -> Duration {
    Duration::from_micros(at.as_micros().saturating_sub(sound.now().as_micros()))
}

/// Beats as they are heard, a bar a line.
#[derive(Default)]
struct Shown {
    is_open: bool,
}

impl Shown {
    fn beat(&mut self, click: &ClickTrack, number: u32) -> io::Result<()> {
        let beat = click.beat(number);
        let mut out = say::out().lock();
        if beat.is_strong() || !self.is_open {
            let end = if self.is_open { "\n" } else { "" };
            let bar = number.saturating_sub(click.count_in()) / click.beats_in_bar() + 1;
            match beat.left {
                Some(_) => write!(out, "{end}{:<9}", "count-in")?,
                None => write!(out, "{end}bar {bar:<5}")?,
            }
            self.is_open = true;
        }
        write!(out, " {}", beat.in_bar)?;
        out.flush()
    }

    fn end(&self) {
        if self.is_open {
            // A closed pipe has been noticed before.
            let _ = writeln!(say::out().lock());
        }
    }
}
