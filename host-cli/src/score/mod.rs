//! Scores that were printed or typed elsewhere: bytes in, a plain model of the music out.
//!
//! ```text
//! bytes --archive, letters--> text --guard--> fit text --tree--> Score --unfold--> bars as they are played
//! ```
//!
//! What comes is not believed: its size, how deep it lies and what it declares are looked at before a tree is made of
//! it, and nothing here calls itself. What is not understood is kept as a remark with its bars ([`Remarks`]). A text of
//! MusicXML 4.0 (World Wide Web Consortium, 2021) is read, and of the versions before it.

mod archive;
mod attributes;
mod bar;
mod direction;
mod doubled;
mod guard;
mod letters;
mod model;
mod notations;
mod note;
mod part;
mod refusal;
mod sign;
mod ties;
mod time;
mod unfold;
mod xml;

pub use doubled::merged;
pub use model::{Bar, Frets, Note, Part, Remarks, Score, Signs, Slur, TempoMark};
pub use refusal::Refusal;
pub use time::Quarters;
pub use unfold::{MOST_BARS, unfolded};

/// The largest file. Our default: what [`read()`] unpacks is bounded, too.
pub const LARGEST_FILE: u64 = 12 * 1024 * 1024;

/// Whether a file begins as a score does, plain or packed: with an element, or as an archive.
pub fn is_one(content: &[u8]) -> bool {
    let begins = content.iter().copied().filter(|byte| !byte.is_ascii_whitespace() && *byte != 0);
    let mut begins = begins.skip_while(|byte| [0xef, 0xbb, 0xbf, 0xfe, 0xff].contains(byte));
    content.starts_with(archive::BEGINS) || begins.next() == Some(b'<')
}

/// Reads a score, plain or packed.
///
/// # Errors
/// Why it is not read.
pub fn read(content: &[u8]) -> Result<Score, Refusal> {
    let unpacked;
    let content = if content.starts_with(archive::BEGINS) {
        unpacked = archive::unpacked(content)?;
        unpacked.as_slice()
    } else {
        content
    };
    let text = guard::fit(&letters::text(content)?)?;
    if !text.trim_start_matches('\u{feff}').trim_start().starts_with('<') {
        return Err(Refusal::NotXml);
    }
    let tree = roxmltree::Document::parse(text.trim_start_matches('\u{feff}'))
        .map_err(|error| Refusal::Broken(error.to_string()))?;
    part::score(tree.root_element())
}
