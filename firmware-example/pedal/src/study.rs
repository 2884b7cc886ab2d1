//! A study of two chunks that is built in: for the first minute with a new board, and for the
//! emulated one. Made up for this purpose.

use evenhand_core::pickup::{Channels, Pickup};
use evenhand_core::session::SessionConfig;

/// The built-in study, a pack as a computer would send it: broken chords of A minor and of E, a bar
/// of eighths each. A test has its notes, and writes it.
pub const BUILT_IN: &[u8] = include_bytes!("built-in.pack");

/// How to listen to a player who sends each string on a channel of its own, from the first on.
pub fn session_config() -> SessionConfig {
    let pickup = Pickup::UNKNOWN.on(Channels::PerString { first: 0 });
    SessionConfig { pickup, ..SessionConfig::default() }
}
