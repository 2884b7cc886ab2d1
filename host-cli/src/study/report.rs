//! Collects the problems of one text, in order, up to a bound.

use super::problem::{Problem, quote};
use super::span::Span;

/// How many problems are returned; a last one says how many more there are (our default:
/// nobody mends more in one go).
pub const MOST_PROBLEMS: usize = 50;

/// How many are kept until they are put in order. Both passes run nearly in the order of
/// the text, so the first fifty are among them.
const KEPT: usize = 1_000;

/// The problems found so far.
pub(super) struct Report<'t> {
    lines: Vec<&'t str>,
    kept: Vec<(Span, String, String)>,
    more: usize,
}

impl<'t> Report<'t> {
    /// No problems yet in this text, whose lines end in plain line feeds.
    pub(super) fn new(text: &'t str) -> Self {
        Self { lines: text.split('\n').collect(), kept: Vec::new(), more: 0 }
    }

    /// At `span` there is `found` where `right` would be right.
    pub(super) fn add(&mut self, span: Span, found: impl Into<String>, right: impl Into<String>) {
        if self.kept.len() < KEPT {
            self.kept.push((span, found.into(), right.into()));
        } else {
            self.more += 1;
        }
    }

    /// The same, where `found` is a piece of the text and is quoted.
    pub(super) fn word(&mut self, span: Span, found: &str, right: impl Into<String>) {
        self.add(span, quote(found), right);
    }

    /// How many problems there are so far.
    pub(super) fn count(&self) -> usize {
        self.kept.len() + self.more
    }

    /// All of them, in the order of the text; empty when there is none.
    pub(super) fn finish(mut self) -> Vec<Problem> {
        self.kept.sort_by_key(|(span, ..)| (span.line, span.column));
        let over = self.kept.len().saturating_sub(MOST_PROBLEMS) + self.more;
        let rest = self.kept.get(MOST_PROBLEMS).map_or_else(Span::default, |(span, ..)| *span);
        self.kept.truncate(MOST_PROBLEMS);
        if over > 0 {
            let s = if over == 1 { "" } else { "s" };
            let found = format!("{over} more problem{s} from here on");
            self.kept.push((rest, found, "mending those above first".into()));
        }
        let Self { lines, kept, .. } = self;
        kept.into_iter()
            .map(|(span, found, right)| Problem::new(span, &lines, found, right))
            .collect()
    }
}
