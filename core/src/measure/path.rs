//! The path over the strings that was actually taken.
//!
//! Of the right notes whose string is known on both sides, the share that was played on another
//! string than written. Unit: notes, of notes. Where the pickup does not tell strings, or the
//! study does not, nothing is known. The fret follows from string and pitch.

use super::Material;
use crate::units::GuitarString;

/// A path compared with a written one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Path {
    /// Right notes whose string is known on both sides.
    pub known: u16,
    /// Those on another string than written.
    pub elsewhere: u16,
    /// The first of them.
    pub first: Option<usize>,
}

impl Path {
    /// Notes on another string, in per mille of those known; `None` where none is known.
    pub fn elsewhere_per_mille(&self) -> Option<u16> {
        let share = (u32::from(self.elsewhere) * 1_000).checked_div(u32::from(self.known))?;
        Some(share as u16)
    }
}

/// Compares the path that was taken with the chunk's.
pub fn path(material: Material<'_>) -> Path {
    compare(material, material.chunk.notes().iter().map(|wanted| wanted.string))
}

/// Which of several paths was taken: the one with the fewest notes elsewhere, the first of
/// equal ones, and how it compares. A path is a list of strings parallel to the chunk's notes;
/// `None` if there is no path, or of none any note is known.
pub fn nearest<'s>(
    material: Material<'_>,
    paths: impl IntoIterator<Item = &'s [Option<GuitarString>]>,
) -> Option<(usize, Path)> {
    paths
        .into_iter()
        .map(|strings| compare(material, strings.iter().copied()))
        .enumerate()
        .filter(|(_, path)| path.known > 0)
        .min_by_key(|(_, path)| path.elsewhere_per_mille())
}

fn compare(material: Material<'_>, strings: impl Iterator<Item = Option<GuitarString>>) -> Path {
    let mut path = Path::default();
    for (index, written) in strings.enumerate() {
        let (Some(written), Some(note)) = (written, material.right(index)) else { continue };
        let Some(played) = note.string else { continue };
        path.known += 1;
        if played != written {
            path.elsewhere += 1;
            path.first = path.first.or(Some(index));
        }
    }
    path
}
