//! How much flash and RAM an image takes, read from the image itself (ELF32, little endian, as
//! every Cortex-M image is; layout after the System V ABI, chapter 4).

use std::fmt;

/// Flash and statically reserved RAM of an image, in bytes. The stack comes on top.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Footprint {
    /// Code, constants, and the first values of variables.
    pub flash: u64,
    /// Variables.
    pub ram: u64,
}

impl fmt::Display for Footprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "flash {} bytes, RAM {} bytes without the stack", self.flash, self.ram)
    }
}

/// The file is not an image of the expected kind, or is cut short.
#[derive(Debug, PartialEq, Eq)]
pub struct NotAnImage;

impl fmt::Display for NotAnImage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("not a 32-bit little-endian ELF image, or cut short")
    }
}

impl std::error::Error for NotAnImage {}

/// Section flags: is written to at run time; is in memory at run time.
const WRITE: u32 = 1;
const ALLOC: u32 = 2;
/// Section type: takes no room in the file.
const NOBITS: u32 = 8;

/// Adds up an image's sections.
pub fn footprint(file: &[u8]) -> Result<Footprint, NotAnImage> {
    let word = |at: usize| -> Option<u32> {
        Some(u32::from_le_bytes(file.get(at..at.checked_add(4)?)?.try_into().ok()?))
    };
    let half = |at: usize| -> Option<usize> {
        Some(usize::from(u16::from_le_bytes(file.get(at..at.checked_add(2)?)?.try_into().ok()?)))
    };
    if file.get(..6) != Some(b"\x7fELF\x01\x01") {
        return Err(NotAnImage);
    }
    let sections = || {
        let (table, size, count) = (word(32)? as usize, half(46)?, half(48)?);
        let mut sum = Footprint::default();
        for index in 0..count {
            let section = table.checked_add(size.checked_mul(index)?)?;
            let (kind, flags) = (word(section.checked_add(4)?)?, word(section.checked_add(8)?)?);
            let bytes = u64::from(word(section.checked_add(20)?)?);
            if flags & ALLOC != 0 && kind != NOBITS {
                sum.flash += bytes;
            }
            if flags & ALLOC != 0 && flags & WRITE != 0 {
                sum.ram += bytes;
            }
        }
        Some(sum)
    };
    sections().ok_or(NotAnImage)
}

/// Something in an image that has a name: a function, a constant or a variable.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// Its name, as the compiler wrote it: crates and modules are in it as words.
    pub name: String,
    /// How many bytes it takes.
    pub size: u64,
    /// Whether it is a variable.
    pub is_variable: bool,
}

/// The functions, constants and variables of an image. Together they take a little less than
/// the image: what stands between them has no name.
pub fn named(file: &[u8]) -> Result<Vec<Named>, NotAnImage> {
    footprint(file)?;
    symbols(file).ok_or(NotAnImage)
}

/// Section type: symbols; the section that holds their names is linked to it.
const SYMTAB: u32 = 2;
/// Bytes of a symbol, and the kinds that take room: objects and functions.
const SYMBOL: usize = 16;
const OBJECT: u8 = 1;
const FUNCTION: u8 = 2;

fn symbols(file: &[u8]) -> Option<Vec<Named>> {
    let word = |at: usize| -> Option<u32> {
        Some(u32::from_le_bytes(file.get(at..at.checked_add(4)?)?.try_into().ok()?))
    };
    let half = |at: usize| -> Option<u16> {
        Some(u16::from_le_bytes(file.get(at..at.checked_add(2)?)?.try_into().ok()?))
    };
    let (table, size, count) = (word(32)? as usize, half(46)?, half(48)?);
    let section = |index: u16| table.checked_add(usize::from(size) * usize::from(index));
    let field = |index: u16, at: usize| word(section(index)?.checked_add(at)?);
    let symbols = (0..count).find(|&index| field(index, 4) == Some(SYMTAB))?;
    let (start, length) = (field(symbols, 16)? as usize, field(symbols, 20)? as usize);
    let names = field(u16::try_from(field(symbols, 24)?).ok()?, 16)? as usize;
    let mut found = Vec::new();
    for at in (start..start.checked_add(length)?).step_by(SYMBOL) {
        let kind = file.get(at.checked_add(12)?)? & 0xf;
        let home = half(at.checked_add(14)?)?;
        // Undefined ones and plain numbers are in no section.
        if (kind != OBJECT && kind != FUNCTION) || home == 0 || home >= count {
            continue;
        }
        let name = file.get(names.checked_add(word(at)? as usize)?..)?;
        let name = name.split(|&byte| byte == 0).next()?;
        found.push(Named {
            name: String::from_utf8_lossy(name).into_owned(),
            size: word(at.checked_add(8)?)?.into(),
            is_variable: kind == OBJECT && field(home, 8)? & WRITE != 0,
        });
    }
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An image that consists of its header and a section table.
    fn image(sections: &[(u32, u32, u32)]) -> Vec<u8> {
        let mut file = vec![0; 52 + 40 * sections.len()];
        file[..6].copy_from_slice(b"\x7fELF\x01\x01");
        file[32..36].copy_from_slice(&52_u32.to_le_bytes());
        file[46..48].copy_from_slice(&40_u16.to_le_bytes());
        file[48..50].copy_from_slice(&(sections.len() as u16).to_le_bytes());
        for (index, (kind, flags, size)) in sections.iter().enumerate() {
            let at = 52 + 40 * index;
            file[at + 4..at + 8].copy_from_slice(&kind.to_le_bytes());
            file[at + 8..at + 12].copy_from_slice(&flags.to_le_bytes());
            file[at + 20..at + 24].copy_from_slice(&size.to_le_bytes());
        }
        file
    }

    #[test]
    fn first_values_count_twice_and_debug_sections_not_at_all() {
        let text = (1, ALLOC | 4, 1_000);
        let data = (1, ALLOC | WRITE, 20);
        let bss = (NOBITS, ALLOC | WRITE, 300);
        let debug = (1, 0, 9_999);
        let sum = footprint(&image(&[text, data, bss, debug]));
        assert_eq!(sum, Ok(Footprint { flash: 1_020, ram: 320 }));
    }

    #[test]
    fn a_cut_file_is_refused_wherever_it_is_cut() {
        let whole = image(&[(1, ALLOC, 8), (NOBITS, ALLOC | WRITE, 8)]);
        // The last section's fields end 16 bytes before the table's end.
        for end in 0..whole.len() - 16 {
            assert_eq!(footprint(&whole[..end]), Err(NotAnImage), "cut at {end}");
        }
    }
}
