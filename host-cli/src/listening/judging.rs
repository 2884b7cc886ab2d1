//! Judges notes of the stream once more, as one attempt, without what was replaced.

use super::cut::Cut;
use super::note_history::NoteHistory;
use super::told::Finished;
use crate::study::Prepared;
use evenhand_core::align::Role;
use evenhand_core::session::{Ends, Session, SessionConfig};
use evenhand_core::verdict::{Finding, Kind, SettledBy, Severity, Size, Verdict};
use std::borrow::Cow;
use std::ops::Range;

/// A return weighs a little less than a slip: what was mended was a slip, and may have been only
/// one. Our default.
const WEIGHT: u16 = 3_900;

/// An attempt, and what it explains.
pub(super) struct Judged<'a> {
    pub(super) finished: Finished<'a>,
    pub(super) match_score: i32,
}

/// Judges the notes as one attempt at a chunk.
pub(super) fn judge<'a>(
    music: Cow<'a, Prepared>,
    notes: Range<u32>,
    cuts: &[Cut],
    config: SessionConfig,
    numbers: &NoteHistory,
) -> Option<Judged<'a>> {
    let config = SessionConfig { ends: Ends::ByCaller, ..config };
    let within = |cut: &&Cut| notes.start < cut.to && cut.to < notes.end;
    let cuts: Vec<Cut> = cuts.iter().filter(within).copied().collect();
    let chunk = music.checked(music.tempo).ok()?;
    let mut session = Box::new(Session::new(chunk, config));
    for (event, at) in numbers.events(notes.start, notes.end, &cuts)? {
        session.hear(event, at);
    }
    let judged = session.finish()?;
    let match_score = judged.match_score;
    let counts = |note: &u32| !cuts.iter().any(|cut| (cut.from..cut.to).contains(note));
    let kept: Vec<u32> = notes.clone().filter(counts).take(judged.played.len()).collect();
    let arrival = kept.iter().map(|&note| numbers.note_on(note)).collect();
    let mut finished = Finished::of(music, &judged, arrival);
    tell_returns(&mut finished, &cuts, &kept);
    Some(Judged { finished, match_score })
}

/// Adds what was played again to the verdict, at the place that the player had got to.
fn tell_returns(finished: &mut Finished<'_>, cuts: &[Cut], kept: &[u32]) {
    let returns: Vec<&Cut> = cuts.iter().filter(|cut| cut.back > 0).collect();
    let Some(first) = returns.first() else { return };
    // Of a pickup that errs so often, what looks like a return says nothing.
    if finished.verdict.finding(Kind::PoorHearing).is_some() {
        return;
    }
    let back = returns.iter().map(|cut| cut.back).max().unwrap_or(0);
    let note = place(finished, first, kept).and_then(|note| u16::try_from(note).ok());
    let size = |notes: usize| Size::Notes(u16::try_from(notes).unwrap_or(u16::MAX));
    let finding = Finding {
        kind: Kind::Return,
        severity: Severity::Fails,
        note,
        count: u16::try_from(returns.len()).unwrap_or(u16::MAX),
        size: size(back),
        limit: size(0),
        weight: WEIGHT,
        settled_by: SettledBy::Nothing,
    };
    let verdict = std::mem::replace(&mut finished.verdict, Verdict::EMPTY);
    finished.verdict = verdict.with(finding);
}

/// The expected note that a way had got to before it went back.
fn place(finished: &Finished<'_>, cut: &Cut, kept: &[u32]) -> Option<usize> {
    let by = kept.iter().position(|&note| note == cut.to)?;
    let notes = &finished.chunk.notes;
    let mut place = match finished.pairing.role(by) {
        Role::Note(note) | Role::Trill(note) => note,
        Role::Extra => return None,
    };
    for _ in 0..cut.ahead {
        let onset = notes.get(place)?.onset;
        match notes.iter().position(|note| note.onset > onset) {
            Some(next) => place = next,
            None => break,
        }
    }
    Some(place)
}
