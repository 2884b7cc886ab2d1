//! `evenhand demo`: the bundled study and recordings of it, with several outcomes.

use super::judge::judge;
use crate::args::{DemoArgs, HEALTH};
use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::report::StyledLine;
use crate::smf::Recording;
use crate::studies;
use evenhand_core::pickup::Pickup;
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::verdict::Pool;

/// What the demo shows.
const WHAT: &str =
    "Lantern Quay, a study in sixteen bars, and nine recordings of it by a simulated player.";

/// The bundled study.
const STUDY: &str = include_str!("../../../fixtures/studies/lantern-quay.study");

macro_rules! bundled {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_bytes!(concat!("../../../fixtures/performances/", $name, ".mid")))),*]
    };
}

/// The bundled recordings: name and content. What is in each, its own text says.
const RECORDINGS: &[(&str, &[u8])] = bundled![
    "lanterns-two-clean",
    "lanterns-one-weak-slurs",
    "shifts-hesitation",
    "last-steps-wrong-note",
    "barre-missing-note",
    "engine-spread-chord",
    "lanterns-three-rushing",
    "mooring-broken-off",
    "bells-one-clean",
];

/// Runs the command.
pub fn run(args: &DemoArgs) -> Result<Exit, Fault> {
    let chunks = studies::prepare(STUDY, "the bundled study")?;
    let mut output = Output::new(&args.output)?;
    output.paragraph(WHAT)?;
    output.say("")?;
    for (name, content) in RECORDINGS {
        let recording = Recording::from_bytes(content, name)?;
        let what = recording.text.as_deref().unwrap_or_default();
        for line in output.wrapped(&format!("{name}.mid: {what}"), "", "  ") {
            output.show(&StyledLine::faint(line))?;
        }
        let notes: Vec<(u8, u8)> = recording.notes().collect();
        let channels = crate::channels::ChannelChoice::Auto.settle(&notes);
        let pickup = Pickup::UNKNOWN.on(channels);
        let config = SessionConfig { pickup, click: None, ends: Ends::ByItself };
        judge(&chunks, &recording, config, name, &mut output, Pool::new())?;
        if output.is_closed() {
            return Ok(Exit::Done);
        }
    }
    output.paragraph(HEALTH)?;
    Ok(output.exit())
}
