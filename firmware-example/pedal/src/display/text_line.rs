//! A line of text that is as long as the display is wide.

use core::fmt;

use heapless::String;

/// Characters of the small font that stand beside each other on 128 points: each takes six.
pub const COLUMNS: usize = 21;

/// A line. What does not fit is left out, so that writing never fails.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TextLine {
    // Titles may have letters beyond ASCII; those that the font has take two bytes at most.
    text: String<{ 2 * COLUMNS }>,
}

impl TextLine {
    /// An empty line.
    pub const fn new() -> Self {
        Self { text: String::new() }
    }

    /// A line of this.
    pub fn of(text: fmt::Arguments<'_>) -> Self {
        let mut line = Self::new();
        // It never fails.
        let _ = fmt::Write::write_fmt(&mut line, text);
        line
    }

    /// What stands on it.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// Whether nothing stands on it.
    pub fn is_empty(&self) -> bool {
        self.text.is_empty()
    }
}

impl From<&str> for TextLine {
    fn from(text: &str) -> Self {
        Self::of(format_args!("{text}"))
    }
}

impl fmt::Write for TextLine {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        let room = COLUMNS.saturating_sub(self.text.chars().count());
        for letter in text.chars().take(room) {
            if self.text.push(letter).is_err() {
                break;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_fit_is_left_out_at_a_whole_letter() {
        assert_eq!(TextLine::from("a line that is far too long").as_str(), "a line that is far to");
        let sharp = "\u{fc}".repeat(30);
        assert_eq!(TextLine::from(sharp.as_str()).as_str(), "\u{fc}".repeat(21));
        let three_bytes = "\u{266f}".repeat(30);
        assert_eq!(TextLine::from(three_bytes.as_str()).as_str(), "\u{266f}".repeat(14));
    }
}
