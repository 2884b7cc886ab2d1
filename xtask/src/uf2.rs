//! Images as UF2 files, which a board in its boot mode takes like a file on a stick.
//!
//! The format is Microsoft's open specification “USB Flashing Format (UF2)”: blocks of 512 bytes,
//! each with 256 bytes of payload and where they belong (<https://github.com/microsoft/uf2>, its
//! README; family numbers after `utils/uf2families.json` there).

use crate::elf::{self, NotAnImage};
use std::collections::BTreeMap;
use std::fmt;

/// Bytes of a block, and of its payload.
const BLOCK: usize = 512;
const PAYLOAD: u32 = 256;
const MAGIC: (u32, u32, u32) = (0x0a32_4655, 0x9e5d_5157, 0x0ab1_6f30);
/// What the specification fills blocks with.
const FILLING: u8 = 0xff;
/// The block says for which family of processors it is.
const FAMILY_GIVEN: u32 = 0x0000_2000;

/// The RP2040.
pub const RP2040: u32 = 0xe48b_ff56;
/// The RP2350's Arm processors, in their secure state, which is how they start.
pub const RP2350: u32 = 0xe48b_ff59;

/// Why an image cannot be written as UF2.
#[derive(Debug, PartialEq, Eq)]
pub enum Unfit {
    /// It is no image.
    NotAnImage(NotAnImage),
    /// There is nothing to load in it.
    Empty,
    /// Two parts of it want the same address.
    Twice(u32),
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAnImage(error) => error.fmt(f),
            Self::Empty => f.write_str("nothing in the image is to be loaded"),
            Self::Twice(at) => write!(f, "two parts of the image want address {at:#010x}"),
        }
    }
}

impl std::error::Error for Unfit {}

impl From<NotAnImage> for Unfit {
    fn from(error: NotAnImage) -> Self {
        Self::NotAnImage(error)
    }
}

/// An ELF image as UF2. Gaps inside a page are filled as erased flash is.
pub fn of_image(file: &[u8], family: u32) -> Result<Vec<u8>, Unfit> {
    let mut pages: BTreeMap<u32, [Option<u8>; PAYLOAD as usize]> = BTreeMap::new();
    for (from, bytes) in elf::loaded(file)? {
        for (at, byte) in (from..).zip(bytes) {
            let page = pages.entry(at - at % PAYLOAD).or_insert([None; PAYLOAD as usize]);
            let place = &mut page[(at % PAYLOAD) as usize];
            if place.is_some() {
                return Err(Unfit::Twice(at));
            }
            *place = Some(*byte);
        }
    }
    if pages.is_empty() {
        return Err(Unfit::Empty);
    }
    let count = u32::try_from(pages.len()).map_err(|_| NotAnImage)?;
    let mut out = Vec::with_capacity(pages.len() * BLOCK);
    for (number, (at, page)) in (0..).zip(&pages) {
        let begin = out.len();
        for word in [MAGIC.0, MAGIC.1, FAMILY_GIVEN, *at, PAYLOAD, number, count, family] {
            out.extend(word.to_le_bytes());
        }
        out.extend(page.iter().map(|byte| byte.unwrap_or(FILLING)));
        out.resize(begin + BLOCK - 4, FILLING);
        out.extend(MAGIC.2.to_le_bytes());
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An image with these parts.
    fn image(parts: &[(u32, &[u8])]) -> Vec<u8> {
        let mut file = vec![0; 52 + 32 * parts.len()];
        file[..7].copy_from_slice(b"\x7fELF\x01\x01\x01");
        file[28..32].copy_from_slice(&52_u32.to_le_bytes());
        file[42..44].copy_from_slice(&32_u16.to_le_bytes());
        file[44..46].copy_from_slice(&(parts.len() as u16).to_le_bytes());
        for (index, (at, bytes)) in parts.iter().enumerate() {
            let offset = file.len() as u32;
            // The address while it runs is another one, as for first values of variables.
            for (field, value) in
                [1, offset, 0x2000_0000, *at, bytes.len() as u32].iter().enumerate()
            {
                let place = 52 + 32 * index + 4 * field;
                file[place..place + 4].copy_from_slice(&value.to_le_bytes());
            }
            file.extend_from_slice(bytes);
        }
        file
    }

    fn words(block: &[u8]) -> Vec<u32> {
        block.chunks(4).map(|four| u32::from_le_bytes(four.try_into().unwrap())).collect()
    }

    #[test]
    fn a_block_is_as_the_specification_says() {
        let long: Vec<u8> = (0..300_u32).map(|n| n as u8).collect();
        let uf2 = of_image(&image(&[(0x1000_0100, &long), (0x1000_0240, &[7])]), RP2040).unwrap();
        assert_eq!(uf2.len(), 2 * BLOCK);
        let first = words(&uf2[..BLOCK]);
        assert_eq!(
            first[..8],
            [0x0a32_4655, 0x9e5d_5157, 0x2000, 0x1000_0100, 256, 0, 2, 0xe48b_ff56]
        );
        assert_eq!(uf2[32..288], long[..256]);
        assert_eq!(first[127], 0x0ab1_6f30);
        let second = words(&uf2[BLOCK..]);
        assert_eq!((second[3], second[5]), (0x1000_0200, 1));
        assert_eq!(uf2[BLOCK + 32..BLOCK + 32 + 44], long[256..]);
        // The gap is filled, and what stands in the same page is in the same block.
        assert_eq!(uf2[BLOCK + 32 + 44..BLOCK + 32 + 66], [&[0xff; 20][..], &[7, 0xff]].concat());
    }

    #[test]
    fn what_cannot_be_loaded_is_refused() {
        assert_eq!(of_image(&image(&[]), RP2040), Err(Unfit::Empty));
        let twice = image(&[(0x1000_0000, &[1, 2]), (0x1000_0001, &[3])]);
        assert_eq!(of_image(&twice, RP2040), Err(Unfit::Twice(0x1000_0001)));
        let whole = image(&[(0x1000_0000, &[1, 2, 3])]);
        for end in 0..whole.len() {
            assert_eq!(of_image(&whole[..end], RP2040), Err(NotAnImage.into()), "cut at {end}");
        }
    }
}
