//! What a simulated player played, as a pickup would send it.

use super::Timed;
use evenhand_core::player::Performance;
use evenhand_core::units::{Instant, Offset};

/// Half a second before the first note: a recording never begins with it.
pub const LEAD_IN: u64 = 500_000;

/// A performance that begins after [`LEAD_IN`] from `from` on: a channel per string, channel 1 for
/// notes of no string.
pub fn messages(performance: &Performance, from: Instant) -> Vec<Timed> {
    let mut messages = Vec::new();
    for note in performance.notes() {
        let channel = note.string.map_or(0, |string| string.number() - 1);
        let at = from.plus(Offset::from_micros(LEAD_IN as i32)).plus(note.at);
        let pitch = note.pitch.number();
        let bytes = vec![0x90 | channel, pitch, note.velocity.value()];
        messages.push(Timed { at, bytes, begins: Some((channel, pitch)) });
        let bytes = vec![0x80 | channel, pitch, 64];
        messages.push(Timed { at: at.plus(note.lasts), bytes, begins: None });
    }
    // What ends comes before what begins at the same time.
    messages.sort_by_key(|message| (message.at, message.begins.is_some()));
    messages
}
