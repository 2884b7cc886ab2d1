//! What failed a take, and what the converter did there.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use evenhand::listening::Finished;
use evenhand_core::align::Origin;
use evenhand_core::verdict::{Kind, Severity};

use super::stream::Stream;

/// A finding that fails, and in truth what the notes were that led to it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cause {
    /// The kind of finding.
    pub kind: &'static str,
    /// What a note was in truth; `lost` where nothing was sent; none where the finding is not about
    /// single notes.
    pub truth: Option<String>,
}

/// The causes of what fails in an attempt: one for each of the slips, one for each other finding.
pub fn causes(finished: &Finished<'_>, stream: &Stream<'_>) -> Vec<Cause> {
    let truth = |played: usize| {
        let number = finished.arrival(played)? as usize;
        stream.notes.get(number).map(|(_, sent)| sent.truth.clone())
    };
    let fails = |severity: Severity| severity == Severity::Fails;
    let failing = finished.verdict.findings.iter().filter(|finding| fails(finding.severity));
    let causes = failing.flat_map(|finding| {
        let notes: Vec<Option<String>> = finished.material(|material| {
            let slip = |by: usize| material.pairing.class(by).origin() == Origin::Slip;
            let expected = 0..material.chunk.notes().len();
            match finding.kind {
                Kind::WrongNotes => expected
                    .filter_map(|note| material.pairing.played(note))
                    .filter(|by| slip(*by))
                    .map(truth)
                    .collect(),
                Kind::MissingNotes => expected
                    .filter(|note| material.pairing.played(*note).is_none())
                    .map(|_| Some("lost".to_owned()))
                    .collect(),
                Kind::ExtraNotes => {
                    material.extras().map(|(by, _)| by).filter(|by| slip(*by)).map(truth).collect()
                }
                _ => Vec::new(),
            }
        });
        let notes = if notes.is_empty() { vec![None] } else { notes };
        notes.into_iter().map(|truth| Cause { kind: finding.kind.name(), truth })
    });
    causes.collect()
}

/// How often each cause is among those of so many takes.
pub fn table(takes: &[Vec<Cause>]) -> String {
    let mut kinds: BTreeMap<&str, (u32, BTreeMap<&str, u32>)> = BTreeMap::new();
    for causes in takes {
        let mut seen: Vec<&str> = Vec::new();
        for cause in causes {
            let (takes, truths) = kinds.entry(cause.kind).or_default();
            if !seen.contains(&cause.kind) {
                seen.push(cause.kind);
                *takes += 1;
            }
            if let Some(truth) = &cause.truth {
                *truths.entry(truth).or_default() += 1;
            }
        }
    }
    let mut rows: Vec<_> = kinds.into_iter().collect();
    rows.sort_by_key(|(kind, (takes, _))| (std::cmp::Reverse(*takes), *kind));
    let mut text = String::new();
    for (kind, (takes, truths)) in rows {
        let mut truths: Vec<_> = truths.into_iter().collect();
        truths.sort_by_key(|(truth, count)| (std::cmp::Reverse(*count), *truth));
        let notes: Vec<String> = truths.iter().map(|(t, count)| format!("{t} {count}")).collect();
        let notes = if notes.is_empty() { String::new() } else { notes.join(", ") };
        let _ = writeln!(text, "{}", format!("  {kind:24} {takes:4} takes  {notes}").trim_end());
    }
    text
}
