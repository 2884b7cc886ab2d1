//! The judge of Evenhand: what comes from a MIDI guitar pickup against what a chunk of
//! music expects.
//!
//! ```text
//! bytes → messages → note events → attempt → alignment → classes → measures → verdict → next step
//! wire    notes                    attempt   align       classify  measure    verdict   practice
//! ```
//!
//! [`session::Session`] joins the stages; start there. Each stage has its own type and
//! imports only what stands before it, so that a stage cannot be skipped by accident and
//! each can be used on its own.
//!
//! # First steps
//!
//! ```
//! use evenhand_core::session::{SessionConfig, Session};
//! use evenhand_core::study::{Chunk, ExpectedNote};
//! use evenhand_core::units::{Instant, Pitch, Tempo, Ticks};
//!
//! // What is to be played: four quarter notes up from C, at 120 a minute.
//! let quarter = Ticks::new(Ticks::PER_QUARTER);
//! let note = |number: u32, pitch: u8| {
//!     let onset = Ticks::new(number * Ticks::PER_QUARTER);
//!     ExpectedNote::plain(onset, quarter, Pitch::new(pitch).unwrap())
//! };
//! let notes = [note(0, 60), note(1, 62), note(2, 64), note(3, 65)];
//! let tempo = Tempo::from_beats_per_minute(120, quarter).unwrap();
//! let mut session: Session = Session::idle();
//! session.load(Chunk::new(&notes, tempo).unwrap(), SessionConfig::default()).unwrap();
//!
//! // Bytes as they come from a UART, each with the time of its arrival: the D is missing.
//! let line = [(0, [0x90, 60, 84]), (1_000, [0x90, 64, 88]), (1_500, [0x90, 65, 81])];
//! for (millis, bytes) in line {
//!     let now = Instant::from_micros(millis * 1_000);
//!     session.feed(&bytes, now);
//!     assert!(session.poll(now).is_none());
//! }
//! // Nothing more comes: `poll_at` says when to ask, and that is all the timing there is.
//! let due = session.poll_at().unwrap();
//! let judged = session.poll(due).unwrap();
//! assert_eq!(judged.verdict.outcome.word(), "needs work");
//! assert_eq!(judged.pairing.played(1), None);
//! ```
//!
//! On a board the session is a `static`, all zero bytes until it gets its first chunk, and never on
//! the stack. What to play next is [`practice::Practice`]'s to say; it takes verdicts and never sees
//! a note.
//!
//! # What never happens
//!
//! No allocation, no floating point, no clock, no `unsafe`, no recursion, no panic on any input:
//! any bytes at any times. A full buffer is an ordinary result, which is counted and told.
//!
//! # What it takes
//!
//! Measured on the smallest processor there is, a Cortex-M0+ (thumbv6m, `opt-level = "z"`), by
//! counting instructions in an emulator. A test compares what is counted with this table.
//!
//! | the most instructions for | 16 notes | 64 notes | 256 notes |
//! |---|---|---|---|
//! | a byte that begins no note | 1,500 | 1,500 | 1,500 |
//! | the last byte of a note, single notes expected | 15,000 | 40,000 | 21.6 million |
//! | the same, chords of four expected | 71,000 | 154,000 | 17.7 million |
//! | a verdict | 2.53 million | 20.3 million | 248 million |
//!
//! Those are worst cases: every expected note the same pitch, and twice as many notes played as
//! expected. A note that shows that what was under way is no attempt has it judged, and what came
//! after it heard once more, which shows at 256; any other takes 150,000. At 64 single notes the
//! worst note is worked off within the 320 µs of a MIDI byte at 125 MHz. The verdict comes once an
//! attempt, when the player has stopped or begins again; bytes that come meanwhile wait in whatever
//! buffer the board has, with the times of their arrival.
//!
//! | RAM for | bytes |
//! |---|---|
//! | a [`session::Session`] | 30,840 |
//! | of that, for each expected note that it has room for | 82 |
//! | of that, for each played note that it has room for | 14 |
//! | [`practice::Practice`], for each piece of practice | 60 |
//! | stack to judge | 15,500 |
//!
//! The most that there can be of everything stands in [`limits`], in one table. A session that has
//! less to hear takes smaller capacities as parameters: see [`session::Session`] for what it takes
//! then. The stack that judging takes is the same whatever the capacities.
//!
//! # Features
//!
//! None is on by default. `serde` lets verdicts and units be written, `defmt` lets firmware
//! log them, `player` brings a seeded simulated player for tests and demos, `embedded-hal` brings
//! foot switches and lamps, `pack` writes and reads studies and results as bytes, `link` carries
//! them between a computer and a pedal.
//!
//! # Versions
//!
//! Rust 1.88 or later; a newer one is asked for only with a new minor version. Before version 1.0 a
//! new minor version may change anything here, and what is written to packs, links and logs
//! carries versions of its own.

#![no_std]
#![cfg_attr(docsrs, feature(doc_cfg))]

pub mod align;
mod arithmetic;
pub mod attempt;
#[cfg(feature = "embedded-hal")]
pub mod board;
pub mod classify;
pub mod feet;
pub mod limits;
#[cfg(feature = "link")]
pub mod link;
pub mod measure;
pub mod notes;
#[cfg(feature = "pack")]
pub mod pack;
pub mod pickup;
#[cfg(feature = "player")]
pub mod player;
pub mod practice;
pub mod session;
mod sort;
pub mod study;
pub mod tolerance;
pub mod units;
pub mod verdict;
pub mod wire;
mod zeroed_option;

/// Types of this crate are part of the interface: take them from here, and versions agree. A newer one
/// comes only with a new minor version of this crate.
pub use heapless;
pub use pickup::Pickup;
pub use practice::{Engine, Practice};
pub use session::{Ends, Judged, LoadError, Session, SessionConfig};
pub use study::{Chunk, ExpectedNote};
pub use tolerance::{PracticeLevel, Tolerances};
pub use units::{Instant, Offset, Pitch, Seconds, Tempo, Ticks, Velocity};
pub use verdict::{Finding, Kind, Outcome, Severity, Size, Verdict};
/// As [`heapless`]: messages of a MIDI stream, see [`wire`].
pub use wmidi;

/// The examples of the README are run like all others.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
