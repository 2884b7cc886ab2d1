//! Takes of clean players that need work, each in a line: where to look for what is charged to a hand that
//! was a converter's doing.

use std::fmt::Write as _;

use evenhand_core::verdict::{Outcome, Severity};
use rayon::prelude::*;

use super::hearing::hear;
use super::session::Session;
use super::slip::Slip;
use super::stream::{Source, stream};

/// The lines, by session.
pub fn text(sessions: &[Session]) -> String {
    let clean: Vec<&Session> = sessions.iter().filter(|one| one.slip == Slip::Clean).collect();
    clean.par_iter().map(|session| of_session(session)).collect()
}

fn of_session(session: &Session) -> String {
    let mut text = String::new();
    let stream = stream(session, Source::Converter);
    hear(session, &stream, |take, finished| {
        if finished.verdict.outcome != Outcome::NeedsWork {
            return;
        }
        let findings = finished.verdict.findings.iter();
        let told: Vec<String> = findings
            .filter(|finding| finding.severity == Severity::Fails)
            .map(|finding| {
                let note = finding.note.map_or_else(String::new, |note| format!(" at {note}"));
                format!("{}{note} ({finding})", finding.kind.name())
            })
            .collect();
        let take = take.map_or_else(|| "-".to_owned(), |take| (take + 1).to_string());
        let _ = writeln!(text, "{} take {take}: {}", session.id, told.join("; "));
    });
    text
}
