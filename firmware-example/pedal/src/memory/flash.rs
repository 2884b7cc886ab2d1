//! What a board's flash has to be.

use embedded_storage::nor_flash::NorFlash;

/// Flash that can be read where it lies, as on boards that run their program from it.
pub trait MappedFlash: NorFlash {
    /// All of the part that the pedal may use, from its offset 0 on.
    fn mapped(&self) -> &[u8];
}

/// What is written begins at a multiple of this, which suits every flash that writes words of up
/// to eight bytes.
pub(crate) const ALIGN: usize = 8;

/// What erased flash is made of (common to NOR flash; `embedded-storage` asks for it, too).
pub(crate) const ERASED: u8 = 0xff;

/// The flash failed, or does not keep what is written to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Failed;

/// Writes `bytes` at a multiple of [`ALIGN`], filled up to one, and looks whether they are there.
pub(crate) fn write<F: MappedFlash>(flash: &mut F, at: usize, bytes: &[u8]) -> Result<(), Failed> {
    const { assert!(ALIGN.is_multiple_of(F::WRITE_SIZE)) };
    let (whole, rest) = bytes.split_at(bytes.len() / ALIGN * ALIGN);
    let mut put = |at: usize, bytes: &[u8]| {
        let offset = u32::try_from(at).map_err(|_| Failed)?;
        flash.write(offset, bytes).map_err(|_| Failed)
    };
    if !whole.is_empty() {
        put(at, whole)?;
    }
    if !rest.is_empty() {
        let mut last = [ERASED; ALIGN];
        last.iter_mut().zip(rest).for_each(|(place, byte)| *place = *byte);
        put(at + whole.len(), &last)?;
    }
    if flash.mapped().get(at..at + bytes.len()) == Some(bytes) { Ok(()) } else { Err(Failed) }
}

/// Erases one sector.
pub(crate) fn erase<F: MappedFlash>(flash: &mut F, sector: usize) -> Result<(), Failed> {
    let from = sector * F::ERASE_SIZE;
    let offset = |at: usize| u32::try_from(at).map_err(|_| Failed);
    flash.erase(offset(from)?, offset(from + F::ERASE_SIZE)?).map_err(|_| Failed)
}

/// Erases one sector unless it is erased.
pub(crate) fn clear<F: MappedFlash>(flash: &mut F, sector: usize) -> Result<(), Failed> {
    if is_erased(sector_of(flash, sector)) { Ok(()) } else { erase(flash, sector) }
}

/// The bytes of a sector; none beyond the end.
pub(crate) fn sector_of<F: MappedFlash>(flash: &F, sector: usize) -> &[u8] {
    let from = sector * F::ERASE_SIZE;
    flash.mapped().get(from..from + F::ERASE_SIZE).unwrap_or_default()
}

pub(crate) fn is_erased(bytes: &[u8]) -> bool {
    bytes.iter().all(|byte| *byte == ERASED)
}

/// The four bytes at `at` as a number.
pub(crate) fn number(bytes: &[u8], at: usize) -> Option<u32> {
    let (four, _) = bytes.get(at..)?.split_first_chunk()?;
    Some(u32::from_le_bytes(*four))
}

/// Numbers, and their checksum behind them, into the first bytes of `out`. `out` has room.
pub(crate) fn sealed<const BYTES: usize>(magic: [u8; 4], numbers: &[u32]) -> [u8; BYTES] {
    let mut out = [ERASED; BYTES];
    let words = core::iter::once(magic).chain(numbers.iter().map(|number| number.to_le_bytes()));
    let length = 4 * (numbers.len() + 1);
    for (place, word) in out.chunks_exact_mut(4).zip(words) {
        place.copy_from_slice(&word);
    }
    let checksum = evenhand_core::pack::crc32(out.get(..length).unwrap_or_default());
    if let Some(place) = out.get_mut(length..length + 4) {
        place.copy_from_slice(&checksum.to_le_bytes());
    }
    out
}

/// The numbers that [`sealed`] wrote, if they are as it wrote them.
pub(crate) fn unsealed<const NUMBERS: usize>(
    bytes: &[u8],
    magic: [u8; 4],
) -> Option<[u32; NUMBERS]> {
    let length = 4 * (NUMBERS + 1);
    let checked = bytes.get(..length)?;
    let whole = checked.starts_with(&magic)
        && number(bytes, length)? == evenhand_core::pack::crc32(checked);
    if !whole {
        return None;
    }
    let mut numbers = [0; NUMBERS];
    for (index, place) in numbers.iter_mut().enumerate() {
        *place = number(bytes, 4 * (index + 1))?;
    }
    Some(numbers)
}
