//! What an attempt was judged by, as it is kept.

use super::music::packed;
use crate::listening::Finished;
use crate::log::{Evidence, Message};
use crate::pickup;
use evenhand_core::measure::timing::Click;
use evenhand_core::pickup::Channels;

/// What an attempt was judged by. `channels` is what was known of them in the end, and `messages` what
/// came from its first note on.
pub fn evidence(
    finished: &Finished<'_>,
    channels: Channels,
    click: Option<Click>,
    messages: Vec<Message>,
) -> Evidence {
    let known = finished.pickup.on(channels);
    let micros = |at: u64| i64::try_from(at).unwrap_or(i64::MAX);
    let began = micros(finished.began.as_micros());
    Evidence {
        // What fits no pack is kept without; the notes that were played stand in the log all the same.
        music: packed(&finished.chunk).unwrap_or_default(),
        pickup: pickup::text(&known, &[], &[]),
        click_us: click.map(|click| micros(click.start.as_micros()).saturating_sub(began)),
        messages,
    }
}
