//! Studies from files, as commands need them.

mod chosen;

pub(crate) use chosen::choose;

use crate::args::HearingArgs;
use crate::channels::ChannelChoice;
use crate::fault::{Exit, Fault};
use crate::log::StudyText;
use crate::output::warn;
use crate::settings::learnt;
use crate::study::{self, LARGEST_TEXT, Prepared, Problem};
use crate::{read, settings};
use evenhand_core::pickup::{Habits, Pickup};
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::Tempo;
use std::path::{Path, PathBuf};

/// Reads a study and makes its chunks ready.
pub(crate) fn read(path: &Path) -> Result<Vec<Prepared>, Fault> {
    let text = read::text(path, LARGEST_TEXT as u64, "study")?;
    prepare(&text, &path.display().to_string())
}

/// The same with the text and the title, for the log.
pub(crate) fn read_whole(path: &Path) -> Result<(Vec<Prepared>, StudyText), Fault> {
    let text = read::text(path, LARGEST_TEXT as u64, "study")?;
    let chunks = prepare(&text, &path.display().to_string())?;
    let title = study::parse(&text).ok().and_then(|study| study.title);
    Ok((chunks, StudyText::new(path, title.as_deref(), text)))
}

/// The same from memory; `name` is used in errors.
pub(crate) fn prepare(text: &str, name: &str) -> Result<Vec<Prepared>, Fault> {
    study::parse(text)
        .and_then(|study| study.prepare())
        .map_err(|problems| in_words(name, &problems))
}

pub(crate) fn in_words(name: &str, problems: &[Problem]) -> Fault {
    let count = match problems.len() {
        1 => "one problem".to_owned(),
        many => format!("{many} problems"),
    };
    let list: Vec<String> = problems.iter().map(ToString::to_string).collect();
    Fault::new(Exit::Study, format!("{name}: {count}\n{}", list.join("\n")))
}

/// The profile of the pickup: the one that is named, else the user's own.
pub(crate) fn profile(args: &HearingArgs) -> Result<Option<PathBuf>, Fault> {
    match &args.pickup {
        Some(path) => Ok(Some(path.clone())),
        None if args.no_pickup => Ok(None),
        None => settings::own_profile(),
    }
}

/// What is known of the pickup. Whoever named no profile is told that there is one.
pub(crate) fn pickup(args: &HearingArgs) -> Result<Pickup, Fault> {
    let mut pickup = match profile(args)? {
        Some(path) => {
            if args.pickup.is_none() {
                warn(&format!("the pickup is as {} says", path.display()));
            }
            crate::pickup::read(&path)?
        }
        None => Pickup::UNKNOWN,
    };
    if is_own(args)
        && let Some(warning) = learnt::add(&mut pickup)
    {
        warn(&warning);
    }
    Ok(pickup)
}

/// Whether it is the user's own pickup that is listened to.
fn is_own(args: &HearingArgs) -> bool {
    args.pickup.is_none() && !args.no_pickup
}

/// Keeps what was learnt of the user's own pickup while it was listened to live.
pub(crate) fn keep_learnt(args: &HearingArgs, before: &Habits, habits: &Habits, is_live: bool) {
    if !is_own(args) || !is_live {
        return;
    }
    if let Some(remark) = learnt::changed(before, habits) {
        warn(&remark);
    }
    if let Err(fault) = learnt::keep(habits) {
        warn(&fault.what);
    }
}

/// What is known of the pickup that is listened to live.
pub(crate) fn live_pickup(args: &HearingArgs) -> Result<Pickup, Fault> {
    let mut pickup = pickup(args)?;
    if args.channels != ChannelChoice::Auto {
        pickup.channels = args.channels.live();
    }
    Ok(pickup)
}

/// Applies what the command line says about level and tempo.
pub(crate) fn adjust(chunks: &mut [Prepared], args: &HearingArgs) -> Result<(), Fault> {
    for chunk in &mut *chunks {
        if let Some(level) = args.level {
            chunk.tolerances = Tolerances::of(level.into());
        }
    }
    at_tempo(chunks, args.tempo)
}

/// Applies a tempo that was asked for.
pub(crate) fn at_tempo(chunks: &mut [Prepared], beats: Option<u32>) -> Result<(), Fault> {
    for chunk in chunks {
        if let Some(beats) = beats {
            let tempo = Tempo::from_beats_per_minute(beats, chunk.metre.beat());
            chunk.tempo = tempo.ok_or_else(|| {
                let beat = chunk.metre.beat();
                let hundredths = |tempo: Tempo| tempo.hundredths_of_beats_per_minute(beat);
                Fault::new(
                    Exit::Usage,
                    format!("{beats} beats a minute is no tempo to practise at"),
                )
                .advise(format!(
                    "Choose one from {} to {}.",
                    hundredths(Tempo::SLOWEST).div_ceil(100),
                    hundredths(Tempo::FASTEST) / 100
                ))
            })?;
        }
    }
    Ok(())
}
