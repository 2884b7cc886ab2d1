//! Cuts a line of a study into words, quoted names and signs.
//!
//! A line is cut by spaces and by the signs `( ) [ ] | + ^ ,`. A `#` begins a comment only
//! at the start of a line or after a space, so that F#4 stays a pitch.

use super::name::is_quote;
use super::span::Span;

/// What a token is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Letters, digits and whatever is neither space nor sign.
    Word,
    /// A text between quotes; the quotes are not part of it.
    Quoted {
        /// Whether the closing quote is there.
        closed: bool,
    },
    /// One of the signs.
    Sign(char),
}

/// A piece of a line.
#[derive(Clone, Copy, Debug)]
pub(super) struct Token<'t> {
    pub(super) kind: Kind,
    pub(super) text: &'t str,
    pub(super) span: Span,
}

impl Token<'_> {
    /// Whether it is this sign.
    pub(super) fn is_sign(&self, sign: char) -> bool {
        self.kind == Kind::Sign(sign)
    }

    /// Whether it is this word, in small or capital letters.
    pub(super) fn is_word(&self, word: &str) -> bool {
        self.kind == Kind::Word && self.text.eq_ignore_ascii_case(word)
    }
}

const fn is_sign(c: char) -> bool {
    matches!(c, '(' | ')' | '[' | ']' | '|' | '+' | '^' | ',')
}

/// The tokens of `line` from byte `from` on; `number` is the number of the line.
pub(super) fn lex(line: &str, from: usize, number: u32) -> Vec<Token<'_>> {
    let mut tokens = Vec::new();
    let mut column = to_u32(line[..from].chars().count()) + 1;
    let mut rest = &line[from..];
    let mut after_space = line[..from].chars().next_back().is_none_or(char::is_whitespace);
    while let Some(first) = rest.chars().next() {
        if first.is_whitespace() {
            after_space = true;
            column += 1;
            rest = &rest[first.len_utf8()..];
            continue;
        }
        if first == '#' && after_space {
            break;
        }
        let (kind, text, taken) = if is_sign(first) {
            (Kind::Sign(first), &rest[..first.len_utf8()], first.len_utf8())
        } else if is_quote(first) {
            quoted(rest, first)
        } else {
            let end = rest
                .find(|c: char| c.is_whitespace() || is_sign(c) || is_quote(c))
                .unwrap_or(rest.len());
            (Kind::Word, &rest[..end], end)
        };
        let width = to_u32(rest[..taken].chars().count());
        tokens.push(Token { kind, text, span: Span { line: number, column, width } });
        column += width;
        rest = &rest[taken..];
        after_space = false;
    }
    tokens
}

/// The text up to the closing quote, or to the end of the line.
fn quoted(rest: &str, first: char) -> (Kind, &str, usize) {
    let open = first.len_utf8();
    match rest[open..].char_indices().find(|(_, c)| is_quote(*c)) {
        Some((at, close)) => {
            let text = &rest[open..open + at];
            (Kind::Quoted { closed: true }, text, open + at + close.len_utf8())
        }
        None => (Kind::Quoted { closed: false }, &rest[open..], rest.len()),
    }
}

/// Texts are at most a mebibyte, so the cast never loses anything; it is held all the same.
fn to_u32(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(line: &str) -> Vec<String> {
        lex(line, 0, 1).iter().map(|t| format!("{}@{}", t.text, t.span.column)).collect()
    }

    #[test]
    fn signs_need_no_spaces() {
        assert_eq!(
            cut("1/8 5:3(3 p)^5:5"),
            ["1/8@1", "5:3@5", "(@8", "3@9", "p@11", ")@12", "^@13", "5:5@14"]
        );
        assert_eq!(cut("3in2[2:1]|"), ["3in2@1", "[@5", "2:1@6", "]@9", "|@10"]);
    }

    #[test]
    fn a_sharp_is_no_comment() {
        assert_eq!(cut("F#4 # C#4"), ["F#4@1"]);
        assert_eq!(cut("#F"), Vec::<String>::new());
        assert_eq!(cut("(#"), ["(@1", "#@2"]);
    }

    #[test]
    fn quotes_may_be_curly_and_hold_a_comment_sign() {
        assert_eq!(cut("chunk “Étude # 3” at"), ["chunk@1", "Étude # 3@7", "at@19"]);
        let open = lex("\"The climb", 0, 1);
        assert_eq!(open[0].kind, Kind::Quoted { closed: false });
    }
}
