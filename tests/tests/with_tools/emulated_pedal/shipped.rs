//! The program as it is shipped, practising on the same bytes at the same times: what its log keeps.

use evenhand::log::{Attempt, Filter, Reader};
use evenhand_core::units::Instant;
use evenhand_tests::run::{CONFIG, Folder, Run, command};
use jiff::SignedDuration;
use std::fmt::Write as _;
use std::path::Path;

/// The switch that asks for the next chunk, and how it is pressed.
const SETTINGS: &str = "evenhand settings 1\nswitch-next = control 80 on channel 1\n";
const NEXT: &str = "b0 50 7f";

/// One sitting: how often the player goes on to the next chunk, and what is played.
pub(crate) struct Sitting<'s> {
    pub(crate) study: &'s str,
    /// When the switch is pressed.
    pub(crate) next: &'s [Instant],
    pub(crate) bytes: &'s [(Instant, u8)],
    /// When it is over.
    pub(crate) end: Instant,
    /// How the strings are spread over channels, for `--channels`.
    pub(crate) channels: &'s str,
}

/// An attempt as it is kept, and how many seconds after the beginning it began.
pub(crate) type Kept = (Attempt, u32);

/// Practises, and reads what was kept.
pub(crate) fn practised(sitting: &Sitting<'_>) -> Vec<Kept> {
    let folder = Folder::new();
    folder.write("settings.txt", SETTINGS);
    let study = folder.write("quay.study", sitting.study);
    let played = folder.write("played.txt", stream(sitting));
    let data = folder.path("data");
    let config = folder.path("");
    let words = [
        "practice",
        &study,
        "--timed",
        &played,
        "--data",
        &data,
        "--channels",
        sitting.channels,
        "--plain",
    ];
    Run::of(command(&words).env(CONFIG, config), Vec::new()).done();
    kept(Path::new(&data))
}

/// What a log keeps, in the order in which it was played.
pub(crate) fn kept(data: &Path) -> Vec<Kept> {
    let Some(reader) = Reader::open(data).expect("the log opens") else {
        return Vec::new();
    };
    let sittings = reader.read(&Filter::default()).expect("the log can be read");
    let kept = sittings.into_iter().flat_map(|sitting| {
        let since = move |attempt: &Attempt| {
            let since: SignedDuration = attempt.began.duration_since(sitting.began);
            u32::try_from(since.as_secs()).expect("attempts come later")
        };
        sitting.attempts.into_iter().map(move |attempt| {
            let since = since(&attempt);
            (attempt, since)
        })
    });
    kept.collect()
}

/// What is played, as lines with times.
fn stream(sitting: &Sitting<'_>) -> String {
    let mut lines: Vec<(Instant, String)> = Vec::new();
    lines.extend(sitting.next.iter().map(|at| (*at, NEXT.to_owned())));
    lines.extend(sitting.bytes.iter().map(|(at, byte)| (*at, format!("{byte:02x}"))));
    lines.push((sitting.end, String::new()));
    let mut text = String::new();
    for (at, bytes) in lines {
        // Nothing is written to text that fails.
        let _ = writeln!(text, "{} {bytes}", at.as_micros());
    }
    text
}
