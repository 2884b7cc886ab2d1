//! Texts in lines that fit.

use std::borrow::Cow;
use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// Breaks a text into lines of `width` columns, the first of them after `lead`, the others after
/// `set_in`. A word that is longer than a line stands alone: names of files are copied from here.
pub(crate) fn wrap(text: &str, width: usize, lead: &str, set_in: &str) -> Vec<String> {
    let options = Options::new(width)
        .initial_indent(lead)
        .subsequent_indent(set_in)
        .break_words(false)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit);
    // A line break in a name is no more than a space here.
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    textwrap::wrap(&text, options).into_iter().map(Cow::into_owned).collect()
}
