//! Writing elements, one a line.

use std::fmt::Write as _;

/// A text of elements.
#[derive(Debug, Default)]
pub(super) struct Xml {
    text: String,
    depth: usize,
}

impl Xml {
    pub(super) fn line(&mut self, line: &str) {
        let _ = writeln!(self.text, "{:depth$}{line}", "", depth = self.depth * 2);
    }

    /// An element with others in it; `tag` may have attributes.
    pub(super) fn within(&mut self, tag: &str, inside: impl FnOnce(&mut Self)) {
        self.line(&format!("<{tag}>"));
        self.depth += 1;
        inside(self);
        self.depth -= 1;
        let name = tag.split(' ').next().unwrap_or(tag);
        self.line(&format!("</{name}>"));
    }

    /// An element with a text in it.
    pub(super) fn text(&mut self, name: &str, text: &str) {
        self.line(&format!("<{name}>{}</{name}>", escaped(text)));
    }

    pub(super) fn finish(self) -> String {
        self.text
    }
}

/// A text in which nothing acts. What XML 1.0 cannot hold at all is left out.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}
