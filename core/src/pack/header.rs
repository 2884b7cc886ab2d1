//! The first bytes of a pack: what it is, and whether it is whole.

use super::crc::crc32_of;
use super::problem::{PackProblem, Wrong};
use crate::limits;

/// What a pack begins with.
pub const MAGIC: [u8; 4] = *b"EvhP";

/// The version of the format that is written here, and the newest that can be read.
pub const VERSION: u16 = 1;

/// Bytes of the header: the magic, the checksum of everything after it, the version, two bytes
/// that are 0, and the length of the whole pack.
pub const HEADER: usize = 16;

const CHECKSUM: usize = 4;
const CHECKED_FROM: usize = 8;
const LENGTH: usize = 12;

/// The length of the pack that begins here, as its header says it. `None` if it is no pack, or
/// the header is not complete. The header is not checked for damage.
pub fn total(bytes: &[u8]) -> Option<u32> {
    if !bytes.starts_with(&MAGIC) {
        return None;
    }
    number(bytes, LENGTH)
}

/// The checksum in the header.
pub(super) fn checksum(bytes: &[u8]) -> Option<u32> {
    number(bytes, CHECKSUM)
}

/// The pack at the beginning of these bytes, if it is whole and of a version that can be read.
pub(super) fn check(bytes: &[u8]) -> Result<&[u8], PackProblem> {
    let begins = bytes.iter().zip(&MAGIC).all(|(byte, of)| byte == of);
    if bytes.is_empty() || !begins {
        return Err(PackProblem::NotAPack);
    }
    let cut = |wanted| PackProblem::Cut { wanted, there: bytes.len() };
    let length = total(bytes).ok_or(cut(HEADER))? as usize;
    if length < HEADER {
        return Err(PackProblem::Damaged);
    }
    if length > limits::PACK_BYTES {
        return Err(PackProblem::TooLong(length));
    }
    let bytes = bytes.get(..length).ok_or(cut(length))?;
    let checked = bytes.get(CHECKED_FROM..).unwrap_or_default();
    if checksum(bytes) != Some(crc32_of([checked])) {
        return Err(PackProblem::Damaged);
    }
    // Only what is whole is believed in its version.
    match (short(bytes, 8), short(bytes, 10)) {
        (Some(VERSION), Some(0)) => Ok(bytes),
        (Some(found), _) if found > VERSION => Err(PackProblem::TooNew { found }),
        _ => Err(PackProblem::Wrong(Wrong::Header)),
    }
}

/// Writes the header of the pack that fills these bytes.
pub(super) fn write(bytes: &mut [u8]) -> Option<()> {
    let length = u32::try_from(bytes.len()).ok()?;
    bytes.get_mut(..4)?.copy_from_slice(&MAGIC);
    bytes.get_mut(8..10)?.copy_from_slice(&VERSION.to_le_bytes());
    bytes.get_mut(10..LENGTH)?.copy_from_slice(&[0, 0]);
    bytes.get_mut(LENGTH..HEADER)?.copy_from_slice(&length.to_le_bytes());
    let checksum = crc32_of([bytes.get(CHECKED_FROM..)?]);
    bytes.get_mut(CHECKSUM..CHECKED_FROM)?.copy_from_slice(&checksum.to_le_bytes());
    Some(())
}

/// The four bytes at `at`, as a number.
pub(super) fn number(bytes: &[u8], at: usize) -> Option<u32> {
    let (four, _) = bytes.get(at..)?.split_first_chunk()?;
    Some(u32::from_le_bytes(*four))
}

/// The two bytes at `at`, as a number.
pub(super) fn short(bytes: &[u8], at: usize) -> Option<u16> {
    let (two, _) = bytes.get(at..)?.split_first_chunk()?;
    Some(u16::from_le_bytes(*two))
}
