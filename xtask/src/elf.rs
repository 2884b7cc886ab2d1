//! How much flash and RAM an image takes, read from the image itself: ELF32, little endian, as every
//! Cortex-M image is.

use object::elf::{PT_LOAD, SHF_ALLOC, SHF_WRITE, SHT_NOBITS, STT_FUNC, STT_OBJECT};
use object::read::elf::{ElfFile32, ProgramHeader, SectionHeader};
use object::{Endianness, Object, ObjectSection, ObjectSymbol};
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

fn image(file: &[u8]) -> Result<ElfFile32<'_, Endianness>, NotAnImage> {
    let image = ElfFile32::parse(file).ok();
    image.filter(ElfFile32::is_little_endian).ok_or(NotAnImage)
}

/// Adds up an image's sections.
pub fn footprint(file: &[u8]) -> Result<Footprint, NotAnImage> {
    let image = image(file)?;
    let mut sum = Footprint::default();
    for section in image.sections() {
        let header = section.elf_section_header();
        let flags = header.sh_flags(image.endian());
        let bytes = section.size();
        if flags.contains(SHF_ALLOC) && header.sh_type(image.endian()) != SHT_NOBITS {
            sum.flash += bytes;
        }
        if flags.contains(SHF_ALLOC | SHF_WRITE) {
            sum.ram += bytes;
        }
    }
    Ok(sum)
}

/// What is to be loaded, and where it is in flash: by its physical address.
pub(crate) fn loaded(file: &[u8]) -> Result<Vec<(u32, &[u8])>, NotAnImage> {
    let image = image(file)?;
    let endian = image.endian();
    let parts = image.elf_program_headers().iter().filter(|part| part.p_type(endian) == PT_LOAD);
    let mut loaded = Vec::new();
    for part in parts {
        let (to, bytes) = (part.p_paddr(endian), part.data(endian, file).map_err(|()| NotAnImage)?);
        let length = u32::try_from(bytes.len()).ok();
        length.and_then(|length| to.checked_add(length)).ok_or(NotAnImage)?;
        if !bytes.is_empty() {
            loaded.push((to, bytes));
        }
    }
    Ok(loaded)
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
    let image = image(file)?;
    let mut found = Vec::new();
    for symbol in image.symbols() {
        let kind = symbol.elf_symbol().st_type();
        // Undefined ones and plain numbers are in no section.
        let Some(home) = symbol.section_index() else { continue };
        if kind != STT_OBJECT && kind != STT_FUNC {
            continue;
        }
        let home = image.section_by_index(home).map_err(|_| NotAnImage)?;
        let flags = home.elf_section_header().sh_flags(image.endian());
        found.push(Named {
            name: String::from_utf8_lossy(symbol.name_bytes().map_err(|_| NotAnImage)?)
                .into_owned(),
            size: symbol.size(),
            is_variable: kind == STT_OBJECT && flags.contains(SHF_WRITE),
        });
    }
    Ok(found)
}

/// A function of an image.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Function {
    /// Its name, as the compiler wrote it.
    pub name: String,
    /// Where it runs, without the bit that says Thumb.
    pub address: u32,
    /// Its code, with the constants in it.
    pub bytes: Vec<u8>,
}

/// The functions of an image, those too that a linker puts between others.
pub fn functions(file: &[u8]) -> Result<Vec<Function>, NotAnImage> {
    let image = image(file)?;
    let mut found = Vec::new();
    for symbol in image.symbols() {
        let Some(home) = symbol.section_index() else { continue };
        if symbol.elf_symbol().st_type() != STT_FUNC || symbol.size() == 0 {
            continue;
        }
        let home = image.section_by_index(home).map_err(|_| NotAnImage)?;
        let address = symbol.address() & !1;
        let bytes = home.data_range(address, symbol.size()).map_err(|_| NotAnImage)?;
        found.push(Function {
            name: String::from_utf8_lossy(symbol.name_bytes().map_err(|_| NotAnImage)?)
                .into_owned(),
            address: u32::try_from(address).map_err(|_| NotAnImage)?,
            bytes: bytes.ok_or(NotAnImage)?.to_vec(),
        });
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use object::elf::{SHT_NULL, SHT_PROGBITS, SHT_STRTAB, SectionFlags, SectionType};

    /// An image that consists of its header and a section table.
    fn image(sections: &[(SectionType, SectionFlags, u32)]) -> Vec<u8> {
        // The first section of a table is none, and one holds the names of all, here of nothing.
        let [none, names] = [SHT_NULL, SHT_STRTAB].map(|kind| [(kind, SectionFlags(0), 0)]);
        let sections = [&none, sections, &names].concat();
        let mut file = vec![0; 52 + 40 * sections.len()];
        file[..7].copy_from_slice(b"\x7fELF\x01\x01\x01");
        file[32..36].copy_from_slice(&52_u32.to_le_bytes());
        file[46..48].copy_from_slice(&40_u16.to_le_bytes());
        file[48..50].copy_from_slice(&(sections.len() as u16).to_le_bytes());
        file[50..52].copy_from_slice(&(sections.len() as u16 - 1).to_le_bytes());
        for (index, (kind, flags, size)) in sections.iter().enumerate() {
            let at = 52 + 40 * index;
            file[at + 4..at + 8].copy_from_slice(&kind.0.to_le_bytes());
            file[at + 8..at + 12].copy_from_slice(&(flags.0 as u32).to_le_bytes());
            file[at + 20..at + 24].copy_from_slice(&size.to_le_bytes());
        }
        file
    }

    #[test]
    fn first_values_count_twice_and_debug_sections_not_at_all() {
        let text = (SHT_PROGBITS, SHF_ALLOC, 1_000);
        let data = (SHT_PROGBITS, SHF_ALLOC | SHF_WRITE, 20);
        let bss = (SHT_NOBITS, SHF_ALLOC | SHF_WRITE, 300);
        let debug = (SHT_PROGBITS, SectionFlags(0), 9_999);
        let sum = footprint(&image(&[text, data, bss, debug]));
        assert_eq!(sum, Ok(Footprint { flash: 1_020, ram: 320 }));
    }

    #[test]
    fn a_cut_file_is_refused_wherever_it_is_cut() {
        let whole = image(&[(SHT_PROGBITS, SHF_ALLOC, 8), (SHT_NOBITS, SHF_ALLOC | SHF_WRITE, 8)]);
        for end in 0..whole.len() {
            assert_eq!(footprint(&whole[..end]), Err(NotAnImage), "cut at {end}");
        }
    }
}
