//! What would act on a terminal instead of standing there, made visible.
//!
//! Names of files, ports, studies and chunks, lines of settings and profiles, and whatever a log
//! holds may come from anybody. A terminal obeys control characters in them (it colours, erases,
//! moves, retitles itself), and a reader is deceived by characters that turn the direction of a
//! line. All that is written for people comes through here: lines of standard output in
//! [`StyledLine::write`](crate::report::StyledLine::write), standard error in
//! [`complain`](crate::say::complain), and the page in [`draw`](crate::screen::draw).

use std::borrow::Cow;

/// Whether a character acts instead of standing there: control characters (Unicode's category
/// Cc: C0, DELETE and C1 of ISO/IEC 6429), the directional formatting characters of Unicode
/// Standard Annex #9, and the two separators that break a line. A line feed is for the caller to
/// settle.
pub fn acts(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{61c}'
                | '\u{200e}'
                | '\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2066}'..='\u{2069}'
        )
}

/// The text with what would act written as its number, `\u{1b}`; lines stay lines.
pub fn visible(text: &str) -> Cow<'_, str> {
    let acts = |c: char| c != '\n' && acts(c);
    if !text.contains(acts) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if acts(c) {
            shown.extend(c.escape_unicode());
        } else {
            shown.push(c);
        }
    }
    Cow::Owned(shown)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_acts_is_shown_and_the_rest_stays() {
        assert_eq!(visible("\u{1b}[31mred\u{7}\u{7f}"), "\\u{1b}[31mred\\u{7}\\u{7f}");
        assert_eq!(visible("\u{9b}2J\r\t"), "\\u{9b}2J\\u{d}\\u{9}");
        assert_eq!(visible("a\u{202e}b\u{2066}c\u{2069}"), "a\\u{202e}b\\u{2066}c\\u{2069}");
        for text in ["", "Größe, 練習, e\u{301}", "two\nlines", "“\\u{1b}”", "👩\u{200d}🎤"]
        {
            assert!(matches!(visible(text), Cow::Borrowed(same) if same == text), "{text}");
        }
    }

    #[test]
    fn every_character_that_acts_is_named() {
        let all = (0..=0x1f).chain(0x7f..=0x9f).chain([0x61c, 0x200e, 0x200f, 0x2028, 0x2029]);
        for number in all.chain(0x202a..=0x202e).chain(0x2066..=0x2069) {
            let c = char::from_u32(number).unwrap();
            assert!(acts(c), "{number:x}");
            let shown = visible(c.encode_utf8(&mut [0; 4])).into_owned();
            assert_eq!(shown.chars().any(acts), c == '\n', "{number:x}");
        }
    }
}
