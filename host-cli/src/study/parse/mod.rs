//! Text to [`Study`]: what each line is, and where its parts go.
//!
//! Every line is read whatever is wrong with the others, so that one run shows all there is
//! to mend.

mod again;
mod allow;
mod chunk;
mod cursor;
mod line;
mod music;
mod part;
mod place;
mod setting;
mod sound;
mod voice;
mod words;

use super::model::Study;
use super::problem::Problem;
use super::report::Report;
use super::span::Span;
use evenhand_core::limits;
use line::Parser;
use std::borrow::Cow;

/// The largest text that is read, in bytes: a mebibyte, our default. A study of 200 full
/// chunks has about 400 kB.
pub const LARGEST_TEXT: usize = 1 << 20;

/// The most chunks in a study: as many as can be practised.
pub const MOST_CHUNKS: usize = limits::CHUNKS;

/// Reads a study.
///
/// # Errors
///
/// All problems of the text in its order, up to [`MOST_PROBLEMS`](super::MOST_PROBLEMS); a
/// last one then says how many more there are.
///
/// ```
/// let study = evenhand::study::parse(
///     "evenhand study 1\nchunk \"Two notes\"\n  melody: 1/4 5:3 ^5:5\n",
/// ).unwrap();
/// assert_eq!(study.chunks.len(), 1);
///
/// let problems = evenhand::study::parse("evenhand study 1\nchunk \"A\"\n  melody: 1/9 5:3")
///     .unwrap_err();
/// assert_eq!((problems[0].line, problems[0].column), (3, 11));
/// ```
pub fn parse(text: &str) -> Result<Study, Vec<Problem>> {
    if text.len() > LARGEST_TEXT {
        let mut report = Report::new("");
        let start = Span { line: 1, column: 1, width: 1 };
        let right = format!("at most {LARGEST_TEXT}");
        report.add(start, format!("a text of {} bytes", text.len()), right);
        return Err(report.finish());
    }
    let text = plain_line_ends(text.strip_prefix('\u{feff}').unwrap_or(text));
    let mut parser = Parser::new(&text);
    for (index, line) in text.split('\n').enumerate() {
        // A text of a mebibyte has no more lines than 32 bits count.
        parser.line(line, u32::try_from(index + 1).unwrap_or(u32::MAX));
        if parser.is_full() {
            break;
        }
    }
    parser.finish()
}

/// The text with every line ended by a line feed alone.
fn plain_line_ends(text: &str) -> Cow<'_, str> {
    if text.contains('\r') {
        Cow::Owned(text.replace("\r\n", "\n").replace('\r', "\n"))
    } else {
        Cow::Borrowed(text)
    }
}
