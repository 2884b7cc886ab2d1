//! Where something stands in the text, kept beside what it says.

use std::ops::Deref;
use std::sync::Arc;

/// A place in the text of a study. Line 0 means that there is no text: the study was built
/// in memory.
#[derive(Clone, Copy, Debug, Default)]
pub struct Span {
    /// The line, from 1.
    pub line: u32,
    /// The first character, from 1.
    pub column: u32,
    /// How many characters it covers, at least 1.
    pub width: u32,
}

impl Span {
    /// The place from the start of `self` to the end of `last`, which stands on the same line.
    pub(super) fn to(self, last: Self) -> Self {
        let end = last.column.saturating_add(last.width);
        Self { width: end.saturating_sub(self.column).max(1), ..self }
    }
}

/// A value with its place in the text. Two of them are equal when their values are: where
/// something was typed makes no difference to what it says.
#[derive(Clone, Copy, Debug, Default)]
pub struct Spanned<T> {
    /// What the text says.
    pub value: T,
    /// Where it says so.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// A value found at `span`.
    pub const fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }
}

impl<T> From<T> for Spanned<T> {
    /// A value that comes from no text.
    fn from(value: T) -> Self {
        Self { value, span: Span::default() }
    }
}

impl<T> Deref for Spanned<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

impl<T: PartialEq> PartialEq for Spanned<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

impl<T: Eq> Eq for Spanned<T> {}

/// The text a study was read from, for messages. All sources are equal, for the same reason
/// as with [`Spanned`].
#[derive(Clone, Debug, Default)]
pub(super) struct Source(Option<Arc<str>>);

impl Source {
    /// The source with this text, its line ends already plain.
    pub(super) fn new(text: &str) -> Self {
        Self(Some(text.into()))
    }

    /// The text; empty when the study was built in memory.
    pub(super) fn text(&self) -> &str {
        self.0.as_deref().unwrap_or_default()
    }
}

impl PartialEq for Source {
    fn eq(&self, _other: &Self) -> bool {
        true
    }
}
