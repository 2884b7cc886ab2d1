//! Messages to note events: which string, where a note begins and ends, and what bends mean.

mod channel_state;
mod converter;
mod event;
mod layout;
mod level;
mod zones;

pub use crate::pickup::Channels;
pub use converter::Converter;
pub use event::NoteEvent;
pub use layout::Layout;
pub use level::level_of;

#[cfg(test)]
mod tests;
