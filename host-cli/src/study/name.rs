//! Names that the writer chooses: titles, chunks, alternatives and voices.

/// The longest name, in characters: what fits a line of a report (our default).
pub(super) const LONGEST: usize = 80;

/// All the marks that open or close a quotation, straight or curly.
pub(super) const fn is_quote(c: char) -> bool {
    matches!(c, '"' | '“' | '”' | '„' | '‟')
}

/// The text with every run of spaces made one, and none at the ends.
pub(crate) fn tidy(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a character can stand in the name of a voice.
pub(super) fn is_voice_char(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '-' | '_')
}

/// Whether a text can stand between quotes and come back the same.
pub(crate) fn is_quotable(text: &str) -> bool {
    !text.is_empty()
        && text.chars().count() <= LONGEST
        && !text.chars().any(|c| is_quote(c) || c.is_control())
        && tidy(text) == text
}
