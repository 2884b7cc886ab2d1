//! The log: every attempt with its notes, kept across a year of studies.
//!
//! One SQLite file in the user's data folder; its tables are specified in
//! `docs/log-schema.md`. Practice never waits for the log: what cannot be written is kept in
//! memory and tried again, and the user is told why.

mod attempt;
mod dispute;
mod error;
mod fetched;
mod keeper;
mod migrate;
mod notes;
mod place;
mod read;
mod sitting;
mod store;
mod summary;

pub(crate) use attempt::level_word;
pub use attempt::{Attempt, Finding, Step};
pub use dispute::{Dispute, Evidence, Message};
pub use error::LogError;
pub use fetched::{ImportCount, PedalSitting, bring, remember_study, study_text};
pub use keeper::{Log, MOST_WAITING, State};
pub use migrate::VERSION;
pub use notes::{BeganBy, RawNote, pack, unpack};
pub use place::{FILE, VARIABLE, folder};
pub use read::{Filter, Reader, StoredSitting};
pub use sitting::{Sitting, StudyText, hash};
pub use summary::{ChunkSummary, Summary};

use jiff::Timestamp;

/// A time as the log writes it: UTC, RFC 3339, always to the millisecond, so that texts sort as
/// times do.
pub(crate) fn written(time: Timestamp) -> String {
    format!("{time:.3}")
}
