//! What a session is told before it listens.

use crate::measure::timing::Click;
use crate::pickup::Pickup;

/// How a session listens.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SessionConfig {
    /// The pickup that the notes come from.
    pub pickup: Pickup,
    /// The click that the player hears, if there is one.
    pub click: Option<Click>,
    /// What ends an attempt.
    pub ends: Ends,
}

impl SessionConfig {
    /// Nothing is known of the pickup, there is no click, and attempts end by themselves.
    pub const PLAIN: Self = Self { pickup: Pickup::UNKNOWN, click: None, ends: Ends::ByItself };
}

/// What ends an attempt.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Ends {
    /// The chunk's last note (and the landing, where one follows), the next attempt, or silence.
    /// Attempts are cut out of the stream: false starts are counted and not judged, and notes
    /// that belong to no attempt are passed over.
    #[default]
    ByItself,
    /// Only [`Session::finish`](super::Session::finish): everything that is fed is one attempt.
    ByCaller,
}
