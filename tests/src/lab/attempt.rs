//! One attempt: played by the simulated player, sent as bytes, judged.

use evenhand_core::pickup::{Channels, Pickup};
use evenhand_core::player::perform;
use evenhand_core::session::{Ends, Hearing, Judged, Session};
use evenhand_core::study::Chunk;

use super::plan::Plan;
use crate::performances::messages;

/// Plays `plan` and gives what the judge says to `with`.
///
/// # Panics
/// If the judge gives no verdict at all.
pub fn judged<T>(
    chunk: Chunk<'_>,
    plan: &Plan,
    seed: u64,
    with: impl FnOnce(&Judged<'_>) -> T,
) -> T {
    let performance = perform(&chunk, chunk.tempo(), plan.skill, &plan.faults, seed);
    let pickup = Pickup::UNKNOWN.on(Channels::PerString { first: 0 });
    let hearing = Hearing { pickup, click: None, ends: Ends::ByCaller };
    let mut session = Box::new(Session::new(chunk, hearing));
    for message in messages(&performance) {
        let mut bytes = message.bytes;
        if let (Some(velocity), Some(_)) = (plan.velocity, message.begins) {
            bytes[2] = velocity;
        }
        session.feed(&bytes, message.at);
    }
    with(&session.finish().expect("the caller ends the attempt"))
}
