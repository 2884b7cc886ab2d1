//! Tests of everything that needs no device. Those of whole files are in the package for what
//! crosses crates.

mod beats;
mod frames;
mod handle;
mod mixer;
mod percussion;
mod upkeep;

use super::ClickTrack;
use evenhand_core::study::Metre;
use evenhand_core::units::Tempo;

const RATE: u32 = 48_000;

fn click(beats: u32, metre: (u8, u8), count_in_bars: u32) -> ClickTrack {
    let metre = Metre::new(metre.0, metre.1).unwrap();
    ClickTrack::new(
        metre,
        Tempo::from_beats_per_minute(beats, metre.beat()).unwrap(),
        count_in_bars,
    )
}
