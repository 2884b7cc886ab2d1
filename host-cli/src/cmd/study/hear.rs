//! `evenhand study hear`: a passage as plucked tones, at its tempo.

use crate::args::HearArgs;
use crate::fault::{Exit, Fault};
use crate::output::{Output, path, warn};
use crate::sitting::sounding;
use crate::sound::wav::{self, LONGEST, RATE};
use crate::sound::{Passage, Sound};
use crate::study::Prepared;
use crate::{stop, studies};
use evenhand_core::units::{Instant, Offset};
use std::path::Path;
use std::thread;
use std::time::Duration;

/// Time to listen up before the first note, and between one chunk and the next. Our defaults.
const BEFORE: Offset = Offset::from_millis(500);
const BETWEEN: Offset = Offset::from_millis(1_000);

pub(super) fn run(args: &HearArgs, output: &mut Output) -> Result<Exit, Fault> {
    let mut chunks = studies::choose(studies::read(&args.study)?, &args.chunk)?;
    studies::at_tempo(&mut chunks, args.tempo)?;
    match &args.write {
        Some(file) => {
            path::spare(&args.study, file, "Name another file for what is to be heard.")?;
            write(args, file, &chunks, output)
        }
        None => sound(args, &chunks, output),
    }
}

/// What is played, in words.
fn words(chunk: &Prepared) -> String {
    let beat = chunk.metre.beat();
    let tempo = (chunk.tempo.hundredths_of_beats_per_minute(beat) + 50) / 100;
    format!("{}, {tempo} beats a minute", chunk.name)
}

fn write(
    args: &HearArgs,
    file: &Path,
    chunks: &[Prepared],
    output: &mut Output,
) -> Result<Exit, Fault> {
    let mut samples: Vec<f32> = Vec::new();
    for chunk in chunks {
        if !samples.is_empty() {
            let rest = BETWEEN.as_micros().unsigned_abs() / 1_000 * (RATE / 1_000);
            samples.resize(samples.len() + rest as usize, 0.0);
        }
        samples.extend(Passage::of_chunk(chunk).samples(RATE));
        if samples.len() as u64 > LONGEST {
            return Err(Fault::new(Exit::Usage, "that is longer than an hour")
                .advise("Choose fewer chunks with --chunk."));
        }
    }
    let seconds = samples.len() as f64 / f64::from(RATE);
    let mut content = Vec::new();
    wav::write_samples(&mut content, samples).map_err(|error| {
        Fault::new(Exit::Output, format!("cannot write {}: {error}", file.display()))
            .advise("Choose fewer chunks with --chunk.")
    })?;
    path::put(file, &content, args.replace)?;
    for chunk in chunks {
        output.say(&words(chunk))?;
    }
    output.say(&format!("{}: {seconds:.1} s", file.display()))?;
    Ok(Exit::Done)
}

fn sound(args: &HearArgs, chunks: &[Prepared], output: &mut Output) -> Result<Exit, Fault> {
    let mut sound = sounding::open(&args.sound, std::time::Instant::now())?;
    stop::listen_for_it();
    for chunk in chunks {
        if stop::is_asked() || output.is_closed() {
            break;
        }
        let from = sound.soonest().plus(BEFORE);
        let Some((_, end)) = sound.play(&Passage::of_chunk(chunk), from) else {
            // It was said why there is none, unless none was wished for.
            output.say("Nothing sounds. Write it as a file with --write FILE.wav.")?;
            return Ok(Exit::Done);
        };
        output.say(&words(chunk))?;
        if !wait(&mut sound, end) {
            break;
        }
    }
    sound.hush();
    thread::sleep(sound.latency().unwrap_or_default() + Duration::from_millis(50));
    Ok(Exit::Done)
}

/// Waits for the end of what is heard. Whether it came to it.
fn wait(sound: &mut Sound, end: Instant) -> bool {
    while sound.now() < end {
        let left = Duration::from_micros(end.as_micros().saturating_sub(sound.now().as_micros()));
        thread::sleep(left.min(stop::LOOK));
        if let Some(change) = sound.change() {
            warn(&sounding::words(&change));
            if sound.is_silent() {
                return false;
            }
        }
        if stop::is_asked() {
            return false;
        }
    }
    true
}
