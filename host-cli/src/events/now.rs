//! What now is in practice, and what is spoken.

use serde::Serialize;

/// What was said aloud, as a line of the stream.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(tag = "kind", rename = "spoken")]
pub struct SpokenRecord<'a> {
    /// The text.
    pub words: &'a str,
    /// When it began, from the start of the source.
    pub at_us: u64,
}

/// What the page says now is, as a line of the stream.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(tag = "kind", rename = "now")]
pub struct NowRecord {
    /// In a word.
    pub state: &'static str,
    /// Since when, from the start of the source.
    pub at_us: u64,
}
