//! Attempts that the player says were right: what is kept of one, and the file in which they travel to
//! whoever improves the judge. Specified in `docs/disputed.md`.

mod again;
mod bundle;
mod evidence;
mod kept;
mod music;

pub use again::{Case, NotRead, read};
pub use bundle::{head, line};
pub use evidence::evidence;
pub use kept::{Again, again, chunks};
pub use music::packed;

/// The version of the file's format.
pub const VERSION: u32 = 1;
