//! The only ways to the streams that people read.
//!
//! Clippy refuses `println!` and the like everywhere in this crate, and the bare streams everywhere
//! but here and where the page takes the terminal, so that nothing is written without
//! [`visible`].
#![expect(clippy::disallowed_methods, reason = "here is where the bare streams are opened")]

use crate::visible::visible;
use std::borrow::Cow;
use std::fmt::Display;
use std::io::{self, IsTerminal, Stdout, Write};

/// Tells the user what went wrong, or what they should know, on standard error. Where nobody
/// reads it, it goes unread.
pub fn complain(what: &impl Display) {
    let _ = writeln!(io::stderr(), "evenhand: {}", visible(&what.to_string()));
}

/// Tells what is wrong with a command line. Its colours go where something has to be shown.
pub fn misunderstood(error: &clap::Error) {
    let said = error.render().to_string();
    match visible(&said) {
        Cow::Borrowed(_) => drop(error.print()),
        Cow::Owned(shown) => drop(write!(io::stderr(), "{shown}")),
    }
}

/// Whether a person sees standard output as it comes.
pub fn is_seen() -> bool {
    io::stdout().is_terminal()
}

/// Standard output, for those who write records, or lines through
/// [`StyledLine::write`](crate::report::StyledLine::write).
pub(crate) fn out() -> Stdout {
    io::stdout()
}
