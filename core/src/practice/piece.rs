//! What is practised: chunks, their halves, and what joins them.

use super::rules::Rules;
use crate::units::{Tempo, Ticks};

/// Which half.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "lowercase"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Side {
    /// The first half.
    First,
    /// The second half.
    Second,
}

/// A piece of practice. Chunks are numbered in the order of the study, from 0.
// The first is all zero bytes, so that what holds none yet takes no room in a board's flash.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[repr(u8)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "lowercase"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Piece {
    /// A chunk.
    Chunk(u8) = 0,
    /// Half of a chunk.
    Half(u8, Side),
    /// The second half of a chunk and the first half of the next one: the notes around the
    /// seam.
    Seam(u8),
    /// Chunks in one.
    Join {
        /// The first chunk.
        first: u8,
        /// The chunk before the seam that is new in it.
        seam: u8,
        /// The last chunk.
        last: u8,
    },
    /// A few events around a hard place, whole slurs, with the arrival on the next event.
    Spot(Spot),
}

/// Which events of which piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Spot {
    /// The first chunk of the piece that it is in.
    pub first: u8,
    /// The last chunk of that piece.
    pub last: u8,
    /// The piece is this half of the chunk.
    pub half: Option<Side>,
    /// The first event, counted from 0 in that piece.
    pub from: u8,
    /// The last event.
    pub to: u8,
}

impl Spot {
    /// In a piece; `None` for one in which no spots are looked for.
    pub const fn of(piece: Piece, from: u8, to: u8) -> Option<Self> {
        let (first, last, half) = match piece {
            Piece::Chunk(chunk) => (chunk, chunk, None),
            Piece::Half(chunk, side) => (chunk, chunk, Some(side)),
            Piece::Join { first, last, .. } => (first, last, None),
            Piece::Seam(_) | Piece::Spot(_) => return None,
        };
        Some(Self { first, last, half, from, to })
    }

    /// The piece that it is in. Of a join, the seam that was new in it is not known any more.
    pub const fn piece(self) -> Piece {
        match self.half {
            Some(side) => Piece::Half(self.first, side),
            None if self.first == self.last => Piece::Chunk(self.first),
            None => Piece::Join { first: self.first, seam: self.first, last: self.last },
        }
    }

    /// Whether it is in this piece.
    pub(super) const fn is_in(self, piece: Piece) -> bool {
        match Self::of(piece, self.from, self.to) {
            Some(own) => {
                let half = match (own.half, self.half) {
                    (None, None) => true,
                    (Some(own), Some(half)) => own as u8 == half as u8,
                    _ => false,
                };
                half && own.first == self.first && own.last == self.last
            }
            None => false,
        }
    }
}

impl Piece {
    /// The chunks that are played whole, first and last.
    pub const fn chunks(self) -> Option<(u8, u8)> {
        match self {
            Self::Chunk(chunk) => Some((chunk, chunk)),
            Self::Join { first, last, .. } => Some((first, last)),
            Self::Half(..) | Self::Seam(_) | Self::Spot(_) => None,
        }
    }

    /// The chunks that it has notes of, first and last.
    pub const fn span(self) -> (u8, u8) {
        match self {
            Self::Chunk(chunk) | Self::Half(chunk, _) => (chunk, chunk),
            Self::Seam(chunk) => (chunk, chunk.saturating_add(1)),
            Self::Join { first, last, .. } | Self::Spot(Spot { first, last, .. }) => (first, last),
        }
    }

    /// Whether all of `part` is in this piece and this piece is more.
    pub(super) fn holds(self, part: Self) -> bool {
        let Some((first, last)) = self.chunks() else { return false };
        let inside = |from: u8, to: u8| first <= from && to <= last;
        match part {
            Self::Chunk(chunk) => first != last && inside(chunk, chunk),
            Self::Half(chunk, _) => inside(chunk, chunk),
            Self::Seam(chunk) => inside(chunk, chunk.saturating_add(1)),
            Self::Join { first: from, last: to, .. } => {
                inside(from, to) && (first, last) != (from, to)
            }
            Self::Spot(spot) => inside(spot.first, spot.last),
        }
    }
}

/// What is known of a piece from earlier days.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Earlier {
    /// There is no record: what is clean today may be joined today, to try it.
    #[default]
    Unknown,
    /// There is a record, and it was not passed before today: it is joined another day.
    NotPassed,
    /// It passed on an earlier day.
    Passed,
    /// It did, and its tempo rises from day to day for certain: nothing is changed by itself.
    Improving,
    /// It did, and has not been played for so many whole weeks: it begins lower.
    Away {
        /// So many, at least one.
        weeks: u8,
    },
}

impl Earlier {
    /// Whether it passed on an earlier day.
    pub const fn has_passed(self) -> bool {
        matches!(self, Self::Passed | Self::Improving | Self::Away { .. })
    }

    /// For how many whole weeks it has not been played; 0 where that is less, or not known.
    pub const fn weeks_away(self) -> u8 {
        match self {
            Self::Away { weeks } => weeks,
            Self::Unknown | Self::NotPassed | Self::Passed | Self::Improving => 0,
        }
    }
}

/// What practice has to know of a chunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ChunkFacts {
    /// The tempo to reach.
    pub goal: Tempo,
    /// The beat in which tempi are counted.
    pub beat: Ticks,
    /// When the tempo changes.
    pub rules: Rules,
    /// The fastest tempo at which it was clean before.
    pub fastest_clean: Option<Tempo>,
    /// What is known from earlier days.
    pub earlier: Earlier,
    /// Expected notes, the landing's included.
    pub notes: u16,
    /// How long it lasts, the landing included.
    pub length: Ticks,
    /// It can be cut into halves.
    pub splits: bool,
    /// It can be played in another rhythm.
    pub varies: bool,
    /// The next chunk follows it without a gap and can be played with it in one.
    pub joins_next: bool,
    /// How many other fingerings there are.
    pub fingerings: u8,
}
