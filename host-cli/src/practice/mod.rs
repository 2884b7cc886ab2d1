//! Practice on a study: what to play now, and after each attempt what comes next and why.
//!
//! The rules and the times are the core's ([`evenhand_core::practice`]); here are the pieces of
//! music that they speak of (halves, joins, other rhythms, other fingerings), and the sentences.
//! Nothing here reads a file or a clock.
//!
//! ```
//! use evenhand::practice::{Plan, Settings};
//! use evenhand_core::practice::{AttemptResult, EventResults};
//! use evenhand_core::units::{Instant, Seconds};
//!
//! let study = evenhand::study::parse(
//!     "evenhand study 1\ntempo 72\nchunk \"The climb\" at bar 1\n  \
//!      melody: 1/8 5:0 5:2 5:3 4:0 4:2 4:3 3:0 3:2 |\n",
//! )
//! .unwrap();
//! let mut plan = Plan::new(&study, &Settings::default()).unwrap();
//! let first = plan.begin(true, Instant::ZERO);
//! assert_eq!(
//!     first.sentences,
//!     ["“The climb”, slowly to begin with: 43 beats a minute; 72 is the goal."]
//! );
//! let playing = plan.current().unwrap();
//! assert_eq!(playing.chunk.notes.len(), 8);
//! // The chunk is at the tempo of practice; a session can listen for it as it is.
//! assert!(playing.chunk.tempo.is_slower_than(playing.goal));
//! let now = Instant::from_micros(10_000_000);
//! let next = plan.attempt(AttemptResult::Clean, None, Seconds::new(6), &EventResults::NONE, now);
//! assert_eq!(next.sentences, ["Clean at 43 straight away. On to 52 beats a minute."]);
//! ```

pub(crate) mod cut;
mod effects;
pub(crate) mod join;
mod packing;
mod pieces;
mod plan;
mod rhythm;
mod sentences;
#[cfg(test)]
mod tests;
pub mod trend;

pub use effects::Effect;
pub use join::can as can_join;
pub use packing::{NotPacked, pack};
pub use pieces::in_rhythm;
pub use plan::{Known, Next, Plan, Playing, Settings};
pub use sentences::HURTS;
