//! One attempt: played by the simulated player, sent as bytes, judged.

use evenhand_core::measure::timing::Click;
use evenhand_core::pickup::{Channels, Pickup};
use evenhand_core::player::perform;
use evenhand_core::session::{Ends, Hearing, Judged, Session};
use evenhand_core::study::Chunk;
use evenhand_core::units::{Instant, Tempo};

use super::plan::Plan;
use crate::performances::{LEAD_IN, messages};

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
    let practised = i64::from(chunk.tempo().micros_per_quarter());
    let played = practised + practised * i64::from(plan.slower_per_mille) / 1_000;
    let tempo = Tempo::from_micros_per_quarter(played as u32).expect("a tempo");
    let performance = perform(&chunk, tempo, plan.skill, &plan.faults, seed);
    let pickup = Pickup::UNKNOWN.on(Channels::PerString { first: 0 });
    let click = plan.click.then_some(Click { start: Instant::from_micros(LEAD_IN) });
    let hearing = Hearing { pickup, click, ends: Ends::ByCaller };
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
