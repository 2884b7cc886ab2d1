//! Where a pedal keeps packs and results: its flash, or a test's memory.

use super::message::{PackId, Refusal, Troubles};
use crate::units::Seconds;

/// What a store says of its pedal. Names longer than [`NAME`](super::NAME) bytes are cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PedalInfo<'a> {
    /// The firmware's version.
    pub firmware: &'a str,
    /// The board.
    pub board: &'a str,
    /// A number that no other pedal has, such as that of its flash.
    pub device: u64,
    /// A number that changes when the memory is made anew and results are numbered from 1
    /// again. The time since start when that was done will do.
    pub memory: u32,
    /// The number of the sitting since it was switched on.
    pub sitting: u32,
}

/// Why a store cannot do something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum StoreProblem {
    /// There is no room.
    NoRoom,
    /// The pack is being practised.
    InUse,
    /// The memory failed.
    Failed,
}

impl From<StoreProblem> for Refusal {
    fn from(problem: StoreProblem) -> Self {
        match problem {
            StoreProblem::NoRoom => Self::NoRoom,
            StoreProblem::InUse => Self::InUse,
            StoreProblem::Failed => Self::Memory,
        }
    }
}

/// Packs and results, as the link needs them.
///
/// Everything can be read where it lies, as flash can. One pack at a time comes in. What a store
/// says that it has kept must be there after the power was cut.
pub trait Store {
    /// Who the pedal is.
    fn about(&self) -> PedalInfo<'_>;

    /// What has gone wrong since it was switched on.
    fn troubles(&self) -> Troubles {
        Troubles::default()
    }

    /// The longest pack that [`begin`](Store::begin) would take now.
    fn free(&self) -> u32;

    /// How many packs are stored.
    fn packs(&self) -> u16;

    /// The bytes of a stored pack, counted from 0. More may follow behind the pack.
    fn pack(&self, index: u16) -> Option<&[u8]>;

    /// Makes room for a pack. One that was coming in and is not whole is thrown away.
    ///
    /// # Errors
    ///
    /// If there is no room, or the memory failed.
    fn begin(&mut self, pack: PackId) -> Result<(), StoreProblem>;

    /// The pack that is coming in, if one is. It may be forgotten when the pedal is switched
    /// off; then the computer begins again.
    fn incoming(&self) -> Option<PackId>;

    /// What has come in of it so far.
    fn received(&self) -> &[u8];

    /// Puts a piece behind what has come in: [`DATA`](super::DATA) bytes, or fewer at the end of
    /// the pack. Never more than the length that was begun with.
    ///
    /// # Errors
    ///
    /// If the memory failed; what has come in is as it was.
    fn put(&mut self, bytes: &[u8]) -> Result<(), StoreProblem>;

    /// Makes what has come in a stored pack, in one step that is done or not done if the power
    /// is cut. Only whole packs that were opened come here.
    ///
    /// # Errors
    ///
    /// If the memory failed.
    fn keep(&mut self) -> Result<(), StoreProblem>;

    /// Throws away what has come in.
    fn drop_incoming(&mut self);

    /// Removes a stored pack. Those behind it move up.
    ///
    /// # Errors
    ///
    /// If it is in use, or the memory failed.
    fn remove(&mut self, index: u16) -> Result<(), StoreProblem>;

    /// The number of the oldest result that is kept; equal to [`next`](Store::next) if none is.
    fn oldest(&self) -> u32;

    /// The number that the next result will have.
    fn next(&self) -> u32;

    /// The bytes of the result with this number, as
    /// [`ResultRecord::encode`](crate::pack::ResultRecord::encode) wrote them. `None` if it is
    /// not kept or was damaged in the memory.
    fn result(&self, number: u32) -> Option<&[u8]>;

    /// Forgets the results up to this number.
    ///
    /// # Errors
    ///
    /// If the memory failed.
    fn forget(&mut self, up_to: u32) -> Result<(), StoreProblem>;

    /// A computer says that it is `clock` seconds since 1970-01-01 00:00 UTC, `now` being the
    /// time since the pedal's start. Kept until it is switched off, if at all.
    fn set_clock(&mut self, clock: u32, now: Seconds) {
        let _ = (clock, now);
    }
}
