//! Lines for people, with colours where the terminal has them. Nothing is told by colour alone.

use crate::say;
use crate::visible::visible;
use std::io::{self, Write};

/// How to write on what is written on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Letters only.
    Plain,
    /// One warm and one cool accent: yellow and blue, which colour-blind readers can tell
    /// apart, from the terminal's own palette, so that both light and dark ones work.
    Accents,
}

impl Ink {
    /// Accents on a terminal, unless `NO_COLOR` is set to anything or `TERM` is `dumb`.
    pub fn for_stdout() -> Self {
        let unwanted = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
            || std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        if !unwanted && say::is_seen() { Self::Accents } else { Self::Plain }
    }
}

/// How a piece of a line stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Accent {
    None,
    Cool,
    Warm,
    Strong,
    Faint,
}

impl Accent {
    /// Select Graphic Rendition (ECMA-48).
    const fn code(self) -> Option<&'static str> {
        match self {
            Self::None => None,
            Self::Cool => Some("1;34"),
            Self::Warm => Some("1;33"),
            Self::Strong => Some("1"),
            Self::Faint => Some("2"),
        }
    }
}

/// A line for people. Its accents are apart from its letters, so that no letter, wherever it is
/// from, can be taken for one.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StyledLine(Vec<(Accent, String)>);

impl StyledLine {
    /// Something that is as it should be.
    pub fn cool(text: impl Into<String>) -> Self {
        Self(vec![(Accent::Cool, text.into())])
    }

    /// Something to work on.
    pub fn warm(text: impl Into<String>) -> Self {
        Self(vec![(Accent::Warm, text.into())])
    }

    /// Something to notice.
    pub fn strong(text: impl Into<String>) -> Self {
        Self(vec![(Accent::Strong, text.into())])
    }

    /// Something that should not be in the way.
    pub fn faint(text: impl Into<String>) -> Self {
        Self(vec![(Accent::Faint, text.into())])
    }

    /// The same with more behind it.
    #[must_use]
    pub fn and(mut self, more: impl Into<Self>) -> Self {
        self.0.extend(more.into().0);
        self
    }

    /// Its letters.
    pub fn text(&self) -> String {
        self.0.iter().map(|(_, text)| text.as_str()).collect()
    }

    /// Writes it, and ends it. What would act on a terminal is shown instead.
    ///
    /// # Errors
    ///
    /// Those of `out`.
    pub fn write(&self, out: &mut dyn Write, ink: Ink) -> io::Result<()> {
        for (accent, text) in &self.0 {
            match accent.code().filter(|_| ink == Ink::Accents) {
                Some(code) => write!(out, "\x1b[{code}m{}\x1b[0m", visible(text))?,
                None => out.write_all(visible(text).as_bytes())?,
            }
        }
        writeln!(out)
    }
}

impl From<String> for StyledLine {
    fn from(text: String) -> Self {
        Self(vec![(Accent::None, text)])
    }
}

impl From<&str> for StyledLine {
    fn from(text: &str) -> Self {
        text.to_owned().into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(line: &StyledLine, ink: Ink) -> String {
        let mut out = Vec::new();
        line.write(&mut out, ink).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn our_colours_are_written_and_nobody_elses() {
        let line = StyledLine::warm("\x1b[31mNEEDS WORK").and("  \x1b[0mname");
        assert_eq!(
            written(&line, Ink::Accents),
            "\x1b[1;33m\\u{1b}[31mNEEDS WORK\x1b[0m  \\u{1b}[0mname\n"
        );
        assert_eq!(written(&line, Ink::Plain), "\\u{1b}[31mNEEDS WORK  \\u{1b}[0mname\n");
        assert_eq!(line.text(), "\x1b[31mNEEDS WORK  \x1b[0mname");
    }
}
