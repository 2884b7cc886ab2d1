//! What an attempt was judged by, as it is kept.

use super::music::packed;
use crate::listening::Finished;
use crate::log::{Evidence, Message};
use crate::pickup;
use evenhand_core::measure::timing::Click;
use evenhand_core::pickup::{Channels, Habits, StringHabits};

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
        learnt: serde_json::to_string(&learnt(&known.habits)).unwrap_or_default(),
        click_us: click.map(|click| micros(click.start.as_micros()).saturating_sub(began)),
        messages,
    }
}

/// What has been learnt of a pickup, for each string and for notes without one: how many notes, then how
/// often it made each mistake, in sixteenths.
pub fn learnt(habits: &Habits) -> Vec<Vec<u16>> {
    let row = |string: &StringHabits| [string.notes].into_iter().chain(string.errors).collect();
    habits.all().map(row).collect()
}
