//! Takes of clean players that need work, slips that recur and are told in none of four takes or late, and
//! sessions in which a bad pickup is not named or a good one is, each in a line: where to look for what is
//! charged to a hand that was a converter's doing, and what is excused.

use std::fmt::Write as _;

use evenhand_core::verdict::{Outcome, Severity};
use rayon::prelude::*;

use super::hearing::hear;
use super::session::{Quality, Session};
use super::slip::Slip;
use super::stream::{Source, stream};
use super::told::told;

/// The lines, by session.
pub fn text(sessions: &[Session]) -> String {
    let clean: Vec<&Session> = sessions.iter().filter(|one| one.slip == Slip::Clean).collect();
    let late: Vec<&Session> = sessions
        .iter()
        .filter(|one| !one.places.is_empty() && one.quality != Quality::Bad)
        .collect();
    let failing: String = clean.par_iter().map(|session| of_session(session)).collect();
    let late: String = late.par_iter().filter_map(|session| of_slip(session)).collect();
    let extremes: Vec<&Session> =
        sessions.iter().filter(|one| one.quality != Quality::Mid).collect();
    let misnamed: String = extremes.par_iter().filter_map(|session| misnamed(session)).collect();
    failing + &late + &misnamed
}

/// A session whose pickup is bad and is not named, or is good and is: what came of each take.
fn misnamed(session: &Session) -> Option<String> {
    let told = told(session, Source::Converter);
    let is_named = told.iter().any(|take| take.pickup);
    if is_named == (session.quality == Quality::Bad) {
        return None;
    }
    let what = if is_named { "named" } else { "not named" };
    let takes: Vec<String> = told
        .iter()
        .map(|take| {
            take.outcome.map_or_else(|| "nothing".to_owned(), |outcome| outcome.to_string())
        })
        .collect();
    Some(format!("{}: the pickup is {what}; {}\n", session.id, takes.join(", ")))
}

/// A slip that is not told at its place in the first take: in which it is.
fn of_slip(session: &Session) -> Option<String> {
    let told = told(session, Source::Converter);
    let first = told.iter().position(|take| take.at_place);
    if first == Some(0) {
        return None;
    }
    let take = first.map_or_else(|| "never".to_owned(), |take| format!("in take {}", take + 1));
    let places = &session.places;
    Some(format!("{}: {} at {places:?} is told {take}\n", session.id, session.slip.name()))
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
