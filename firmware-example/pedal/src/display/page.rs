//! The page: two lines of what is to be played, a large word, two lines about it.

use super::text_line::TextLine;

/// What stands on the display.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Page {
    /// What is to be played, and how fast.
    pub top: [TextLine; 2],
    /// The state or the verdict, large: twelve characters at most.
    pub word: TextLine,
    /// Why, how much, or what the switches do.
    pub low: [TextLine; 2],
}

impl Page {
    /// An empty page.
    pub const fn new() -> Self {
        Self {
            top: [TextLine::new(), TextLine::new()],
            word: TextLine::new(),
            low: [TextLine::new(), TextLine::new()],
        }
    }
}
