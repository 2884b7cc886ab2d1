//! Standard MIDI Files: recordings to judge, and scores to judge them by.

mod check;
mod clock;
pub mod disk;
pub mod growing;
mod recording;
mod score;
pub mod sheet;
pub mod take;
pub mod write;

pub use recording::{Recording, Timed};
pub use score::Score;

use crate::fault::{Exit, Fault};
use crate::read;
use evenhand_core::units::Tempo;
use midly::{Format, MetaMessage, Smf, TrackEvent, TrackEventKind};
use std::path::Path;

/// An event of a file, all tracks together, in order of time.
struct Placed<'a> {
    tick: u64,
    kind: TrackEventKind<'a>,
}

/// Reads and checks a file, and hands its content to `with`.
fn open<T>(
    path: &Path,
    what: &str,
    with: impl FnOnce(&Smf<'_>) -> Result<T, Fault>,
) -> Result<T, Fault> {
    let content = read::bytes(path, read::LARGEST_SMF, what)?;
    parse(&content, &path.display().to_string(), with)
}

fn parse<T>(
    content: &[u8],
    name: &str,
    with: impl FnOnce(&Smf<'_>) -> Result<T, Fault>,
) -> Result<T, Fault> {
    let counted = check::whole(content).map_err(|damage| {
        Fault::new(Exit::Input, format!("{name} {damage}")).advise(damage.advice())
    })?;
    let smf = Smf::parse(content.get(..counted).unwrap_or(content)).map_err(|error| {
        Fault::new(Exit::Input, format!("{name} is a damaged Standard MIDI File: {error}"))
            .advise("Save or export it again.")
    })?;
    // The reader passes over the rest of a track from the first thing in it that is no event;
    // then the end, which every track must have, is gone, too.
    let is_end =
        |event: &TrackEvent<'_>| event.kind == TrackEventKind::Meta(MetaMessage::EndOfTrack);
    if let Some(track) = smf.tracks.iter().position(|track| !track.iter().any(is_end)) {
        return Err(Fault::new(
            Exit::Input,
            format!("{name} is damaged: track {} has no end, or holds what is no event", track + 1),
        )
        .advise("Save or export it again."));
    }
    if smf.header.format == Format::Sequential {
        return Err(Fault::new(
            Exit::Input,
            format!("{name} is a Standard MIDI File of format 2, a collection of separate pieces"),
        )
        .advise("Export it as format 0 or 1."));
    }
    with(&smf)
}

/// All events in order of time; those of one time in order of the tracks.
fn in_order<'a>(smf: &Smf<'a>) -> Vec<Placed<'a>> {
    let mut all = Vec::new();
    for track in &smf.tracks {
        let mut tick = 0;
        for event in track {
            tick += u64::from(event.delta.as_int());
            all.push(Placed { tick, kind: event.kind });
        }
    }
    all.sort_by_key(|event| event.tick);
    all
}

/// Whether so many microseconds a quarter are a tempo that can be practised.
fn check_tempo(micros: u32) -> bool {
    Tempo::from_micros_per_quarter(micros).is_some()
}
