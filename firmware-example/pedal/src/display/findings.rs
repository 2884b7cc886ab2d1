//! What a finding is about, how much and where, each on a line, in the core's words. Sentences and
//! advice are the computer's; here is room for a glance.

use core::fmt::Write as _;

use evenhand_core::study::{Chunk, Place};
use evenhand_core::verdict::{Finding, SettledBy, Severity};

use super::text_line::{COLUMNS, TextLine};

/// A finding on two lines: what it is, and how much of it where, or what would settle it.
pub(super) fn finding(finding: &Finding, chunk: &Chunk<'_>) -> [TextLine; 2] {
    let Finding { kind, severity, size, settled_by, .. } = finding;
    let second = match (severity, settled_by) {
        (Severity::Advice | Severity::Fails, _) | (_, SettledBy::Nothing) => amount(finding, chunk),
        (Severity::Unsettled, settled_by) => TextLine::of(format_args!("{settled_by}")),
    };
    [kind.phrase(size.is_negative()).into(), second]
}

/// How much, and where as far as there is room.
fn amount(finding: &Finding, chunk: &Chunk<'_>) -> TextLine {
    let mut line = TextLine::of(format_args!("{}", finding.size));
    let note = finding.note.and_then(|note| chunk.notes().get(usize::from(note)));
    if let Some(note) = note {
        let Place { bar, beat, .. } = chunk.place(note.onset);
        let exact = TextLine::of(format_args!(", bar {bar} beat {beat}"));
        let fits = |more: &TextLine| line.as_str().len() + more.as_str().len() <= COLUMNS;
        let more = if fits(&exact) { exact } else { TextLine::of(format_args!(", bar {bar}")) };
        // It never fails.
        let _ = line.write_str(more.as_str());
    }
    line
}
