//! A sitting: one run of listening, with what was practised and by whom.

use jiff::Timestamp;
use std::path::Path;

/// A study as a sitting practises it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StudyText {
    /// Where its file is.
    pub path: String,
    /// Its title, or the name of its file.
    pub name: String,
    /// Its text.
    pub text: String,
}

impl StudyText {
    /// The study of this file, whose title is `title`.
    pub fn new(path: &Path, title: Option<&str>, text: String) -> Self {
        // Where the program was started says nothing a year later.
        let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        let stem = || path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        Self {
            path: whole.display().to_string(),
            name: title.map_or_else(stem, str::to_owned),
            text,
        }
    }
}

/// A sitting.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sitting {
    /// When it began.
    pub began: Timestamp,
    /// Who plays, if that was said.
    pub who: Option<String>,
    /// What is practised.
    pub study: StudyText,
    /// The level that was asked for; none is the study's own.
    pub level: Option<String>,
    /// The tempo that was asked for, in beats a minute; none is the study's own.
    pub beats_a_minute: Option<u32>,
    /// How strings are spread over channels, in a word.
    pub channels: String,
    /// Where the notes come from.
    pub source: String,
    /// The profile of the pickup, its name and the hash of its text.
    pub pickup: Option<(String, String)>,
}

impl Sitting {
    /// What tells it from every other: its beginning, to the nanosecond, and the process.
    pub(super) fn key(&self) -> String {
        format!("{}-{}", self.began.as_nanosecond(), std::process::id())
    }
}

/// A text's hash in 16 hexadecimal digits: FNV-1a, 64 bits (Fowler, Noll and Vo; RFC 9923). It
/// tells versions of a file apart; it guards against nobody.
pub fn hash(text: &str) -> String {
    let hash = text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    format!("{hash:016x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The test vectors that were published with the function (FNV-1a, 64 bits).
    #[test]
    fn the_hash_is_the_published_one() {
        assert_eq!(hash(""), "cbf29ce484222325");
        assert_eq!(hash("a"), "af63dc4c8601ec8c");
        assert_eq!(hash("foobar"), "85944171f73967e8");
    }
}
