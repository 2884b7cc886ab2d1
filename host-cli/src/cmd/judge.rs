//! `evenhand judge`: recordings against a study, or one recording against a score.

use crate::args::JudgeArgs;
use crate::channels::ChannelChoice;
use crate::disputes;
use crate::fault::{Exit, Fault};
use crate::import::Choice;
use crate::listening::Listener;
use crate::output::{Output, warn};
use crate::read;
use crate::score::{self, LARGEST_FILE};
use crate::smf::{Recording, Score};
use crate::studies;
use crate::study::Prepared;
use evenhand_core::measure::timing::Click;
use evenhand_core::pickup::{Channels, Habits, Pickup};
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::Instant;
use evenhand_core::verdict::Pool;
use std::path::Path;

/// Runs the command.
pub fn run(args: &JudgeArgs) -> Result<Exit, Fault> {
    if let (Some(expected), Some(played)) = (&args.expected, &args.played) {
        return against_score(args, expected, played);
    }
    if let Some(disputed) = &args.disputed {
        return again(args, disputed);
    }
    let Some(study) = &args.study else {
        return Err(Fault::new(Exit::Usage, "a study and a recording are needed"));
    };
    let mut chunks = studies::choose(studies::read(study)?, &args.chunk)?;
    studies::adjust(&mut chunks, &args.hearing)?;
    let mut pickup = studies::pickup(&args.hearing)?;
    let mut output = Output::new(&args.output)?;
    let mut attempts = Pool::new();
    for path in &args.recordings {
        let recording = Recording::read(path)?;
        let source = path.display().to_string();
        if args.recordings.len() > 1 {
            output.one_of(&source)?;
        }
        let config = config(args, pickup, &recording, Ends::ByItself);
        (attempts, pickup.habits) =
            judge(&chunks, &recording, config, &source, &mut output, attempts)?;
        if output.is_closed() {
            break;
        }
    }
    Ok(output.exit())
}

fn against_score(args: &JudgeArgs, expected: &Path, played: &Path) -> Result<Exit, Fault> {
    let pickup = studies::pickup(&args.hearing)?;
    let recording = Recording::read(played)?;
    let mut chunks = self::expected(args, expected)?;
    studies::adjust(&mut chunks, &args.hearing)?;
    let mut output = Output::new(&args.output)?;
    // Of a score that is one chunk the whole recording is one attempt; of a longer one each chunk may have its own.
    let ends = if chunks.len() == 1 { Ends::ByCaller } else { Ends::ByItself };
    let config = config(args, pickup, &recording, ends);
    let source = played.display().to_string();
    judge(&chunks, &recording, config, &source, &mut output, Pool::new())?;
    Ok(output.exit())
}

/// What a score expects.
fn expected(args: &JudgeArgs, path: &Path) -> Result<Vec<Prepared>, Fault> {
    let content = read::bytes(path, LARGEST_FILE.min(read::LARGEST_SMF), "score")?;
    if score::is_one(&content) {
        return printed(args, path, &content);
    }
    if args.part.is_some() {
        return Err(Fault::new(
            Exit::Usage,
            format!("{} has no parts to choose from", path.display()),
        )
        .advise("--part is for a score in MusicXML."));
    }
    let score = Score::read(path, args.hearing.channels, Tolerances::default())?;
    Ok(vec![score.prepared])
}

/// The same of a score in MusicXML; what is not judged of it is said.
fn printed(args: &JudgeArgs, path: &Path, content: &[u8]) -> Result<Vec<Prepared>, Fault> {
    let name = path.file_stem().unwrap_or_default().to_string_lossy();
    let choice = Choice { part: args.part.clone(), whole: true, ..Choice::default() };
    let imported = super::study::imported(content, path, &choice, &name)?;
    for line in &imported.left_out {
        warn(&format!("{}, {line}", path.display()));
    }
    Ok(imported.chunks)
}

/// The largest file of disputed attempts: one has some ten kilobytes. Our default.
const LARGEST_DISPUTED: u64 = 64 * 1024 * 1024;

/// Disputed attempts, each judged again by itself.
fn again(args: &JudgeArgs, path: &Path) -> Result<Exit, Fault> {
    let text = read::text(path, LARGEST_DISPUTED, "file of disputed attempts")
        .map_err(|fault| Fault { exit: Exit::Input, ..fault })?;
    let cases = disputes::read(&text).map_err(|problem| {
        Fault::new(Exit::Input, format!("{} cannot be read: {problem}", path.display()))
            .advise("Is it a file that `evenhand history --disputed FILE` wrote?")
    })?;
    let mut output = Output::new(&args.output)?;
    for (number, case) in (1..).zip(&cases) {
        let told = match case.together {
            0 | 1 => case.verdict.clone(),
            more => format!("{}, by {more} attempts together", case.verdict),
        };
        let source = format!("disputed attempt {number}, told as {told}");
        output.one_of(&source)?;
        match case.again() {
            Some(finished) => output.attempt(&finished, &source)?,
            None => output.nothing(&source, case.notes())?,
        }
        if output.is_closed() {
            break;
        }
    }
    Ok(output.exit())
}

fn config(args: &JudgeArgs, pickup: Pickup, recording: &Recording, ends: Ends) -> SessionConfig {
    let channels = match (args.hearing.channels, pickup.channels) {
        // What the command line says comes before what a profile says, and that before a guess.
        (ChannelChoice::Auto, told) if told != Channels::Auto => told,
        (choice, _) => choice.settle(&recording.notes().collect::<Vec<_>>()),
    };
    SessionConfig {
        pickup: pickup.on(channels),
        click: args.click.then_some(Click { start: Instant::ZERO }),
        ends,
    }
}

/// Plays a recording to the judge and writes each attempt. `earlier` are the attempts before it;
/// they come back with those of this recording.
pub(super) fn judge(
    chunks: &[Prepared],
    recording: &Recording,
    config: SessionConfig,
    source: &str,
    output: &mut Output,
    earlier: Pool,
) -> Result<(Pool, Habits), Fault> {
    let mut listener = Listener::new(chunks, config).after(earlier);
    let mut attempts = 0;
    for message in &recording.messages {
        while let Some(finished) = listener.poll(message.at) {
            attempts += 1;
            output.attempt(&finished, source)?;
        }
        listener.feed(&message.bytes, message.at, message.begins.is_some());
    }
    while let Some(finished) = listener.finish() {
        attempts += 1;
        output.attempt(&finished, source)?;
        if config.ends == Ends::ByCaller {
            break;
        }
    }
    if attempts == 0 {
        output.nothing(source, listener.note_ons())?;
    }
    let habits = *listener.habits();
    Ok((listener.into_attempts(), habits))
}
