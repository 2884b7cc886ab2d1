//! The name of a piece, for a screen.

use super::Pack;
use crate::practice::{Piece, Side};
use core::fmt;

/// The name of a piece: `Lanterns`, `Lanterns, first half`, `Lanterns to Mooring`, `Lanterns, notes 4 to
/// 8`.
#[derive(Clone, Copy, Debug)]
pub struct PieceName<'a> {
    pack: Pack<'a>,
    piece: Piece,
}

impl<'a> PieceName<'a> {
    pub(super) const fn new(pack: Pack<'a>, piece: Piece) -> Self {
        Self { pack, piece }
    }
}

/// Events are counted from 1 for people.
const fn number(event: u8) -> u16 {
    event as u16 + 1
}

impl fmt::Display for PieceName<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = |chunk: u8| self.pack.name(chunk).unwrap_or_default();
        match self.piece {
            Piece::Chunk(chunk) => f.write_str(name(chunk)),
            Piece::Half(chunk, Side::First) => write!(f, "{}, first half", name(chunk)),
            Piece::Half(chunk, Side::Second) => write!(f, "{}, second half", name(chunk)),
            Piece::Seam(chunk) => {
                write!(f, "{} into {}", name(chunk), name(chunk.saturating_add(1)))
            }
            Piece::Join { first, last, .. } if last == first.saturating_add(1) => {
                write!(f, "{} and {}", name(first), name(last))
            }
            Piece::Join { first, last, .. } => write!(f, "{} to {}", name(first), name(last)),
            Piece::Spot(spot) => {
                let whole = Self::new(self.pack, spot.piece());
                write!(f, "{whole}, notes {} to {}", number(spot.from), number(spot.to))
            }
        }
    }
}
