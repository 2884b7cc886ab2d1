//! What the player hears: the count-in and the click, and a short cue after a verdict.
//!
//! [`Beats`] says when, [`Voice`] what, [`Mixer`] puts both into samples to the frame. Nothing
//! here touches a sound card; where one is built in, `device` plays what the mixer makes.

mod beats;
mod mixer;
mod voice;

pub use beats::{Beat, Beats};
pub use mixer::Mixer;
pub use voice::Voice;

#[cfg(test)]
mod tests;
