//! The judge of Evenhand: what comes from a MIDI guitar pickup against what a chunk of
//! music expects.
//!
//! ```text
//! bytes → messages → note events → attempt → alignment → conditioning → measures → verdict → next step
//! wire    notes                    attempt   align       condition      measure    verdict   next_step
//! ```
//!
//! [`session::Session`] joins the stages; start there. Each stage has its own type and
//! imports only what stands before it, so that a stage cannot be skipped by accident and
//! each can be used on its own.
//!
//! What never happens here: no allocation, no floating point, no clock, no `unsafe`, no
//! panic on any input. Work is bounded for every byte. All capacities are in [`limits`].
//!
//! # Features
//!
//! None is on by default. `serde` lets verdicts and units be written, `defmt` lets firmware
//! log them, `player` brings a seeded simulated player for tests and demos, `embedded-hal` brings
//! foot switches and lamps, `pack` writes and reads studies and results as bytes, `link` carries
//! them between a computer and a pedal.

#![no_std]

pub mod align;
pub mod attempt;
#[cfg(feature = "embedded-hal")]
pub mod board;
pub mod condition;
mod later;
pub mod limits;
#[cfg(feature = "link")]
pub mod link;
pub mod measure;
pub mod next_step;
pub mod notes;
#[cfg(feature = "pack")]
pub mod pack;
pub mod pickup;
#[cfg(feature = "player")]
pub mod player;
pub mod session;
pub mod study;
pub mod tolerance;
pub mod units;
pub mod verdict;
pub mod wire;
