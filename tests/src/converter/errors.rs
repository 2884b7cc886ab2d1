//! What the converter did: notes that it lost and errors that it sent, by its setting.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::session::{MATCH, PLAYED, Quality, Session};

/// What was sent with a setting.
#[derive(Default)]
struct Sent<'a> {
    expected: usize,
    lost: usize,
    errors: BTreeMap<&'a str, usize>,
}

/// The table, in errors for a hundred expected notes.
pub fn text(sessions: &[Session]) -> String {
    let mut settings: BTreeMap<Quality, Sent<'_>> = BTreeMap::new();
    // On one channel the same is sent.
    for session in sessions.iter().filter(|session| !session.one_channel) {
        let sent = settings.entry(session.quality).or_default();
        for take in &session.takes {
            sent.expected += session.chunk.notes.len();
            sent.lost += take.lost;
            let errors = take.played.iter().map(|note| note.truth.as_str());
            for truth in errors.filter(|truth| ![MATCH, PLAYED].contains(truth)) {
                *sent.errors.entry(truth).or_default() += 1;
            }
        }
    }
    let mut text = String::from("What the converter did, for a hundred expected notes\n");
    for (quality, sent) in &settings {
        let rate = |count: usize| 100.0 * count as f64 / sent.expected.max(1) as f64;
        let mut errors: Vec<_> = sent.errors.iter().collect();
        errors.sort_by_key(|(truth, count)| (std::cmp::Reverse(**count), **truth));
        let named = errors.iter().map(|(truth, count)| format!("{truth} {:.1}", rate(**count)));
        let _ = writeln!(
            text,
            "{:5} lost {:.1}, errors {:.1}: {}",
            quality.name(),
            rate(sent.lost),
            rate(sent.errors.values().sum()),
            named.collect::<Vec<_>>().join(", ")
        );
    }
    text
}
