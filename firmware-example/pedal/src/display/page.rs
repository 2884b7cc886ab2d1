//! The page: two lines of what is to be played, a large word, two lines about it.

use super::line::Line;

/// What stands on the display.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Page {
    /// What is to be played, and how fast.
    pub top: [Line; 2],
    /// The state or the verdict, large: twelve characters at most.
    pub word: Line,
    /// Why, how much, or what the switches do.
    pub low: [Line; 2],
}

impl Page {
    /// An empty page.
    pub const fn new() -> Self {
        Self { top: [Line::new(), Line::new()], word: Line::new(), low: [Line::new(), Line::new()] }
    }
}
