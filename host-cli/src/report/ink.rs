//! Colours, where the terminal has them. Nothing is told by colour alone.

use std::io::IsTerminal;

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
        if !unwanted && std::io::stdout().is_terminal() { Self::Accents } else { Self::Plain }
    }

    /// Something that is as it should be.
    pub fn cool(self, text: &str) -> String {
        self.wrap("1;34", text)
    }

    /// Something to work on.
    pub fn warm(self, text: &str) -> String {
        self.wrap("1;33", text)
    }

    /// Something to notice.
    pub fn strong(self, text: &str) -> String {
        self.wrap("1", text)
    }

    /// Something that should not be in the way.
    pub fn faint(self, text: &str) -> String {
        self.wrap("2", text)
    }

    fn wrap(self, code: &str, text: &str) -> String {
        match self {
            Self::Plain => text.to_owned(),
            Self::Accents => format!("\x1b[{code}m{text}\x1b[0m"),
        }
    }
}
