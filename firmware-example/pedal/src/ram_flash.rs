//! Flash that is not there: memory that behaves like NOR flash, only stricter, and whose power
//! can be cut. For emulated boards and tests.

use embedded_storage::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};

use crate::memory::MappedFlash;

/// Bytes that are written at once: the largest word that the memory is made for.
const WORD: usize = 8;
/// Bytes that are erased at once, as on common serial flash.
pub const SECTOR: usize = 4_096;

/// Why it refuses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    /// Not at a multiple of what is written or erased at once.
    Crooked,
    /// Beyond its end.
    Beyond,
    /// A bit would have to rise: it was not erased.
    NotErased,
    /// The power was cut.
    NoPower,
}

impl NorFlashError for Refused {
    fn kind(&self) -> NorFlashErrorKind {
        match self {
            Self::Crooked => NorFlashErrorKind::NotAligned,
            Self::Beyond => NorFlashErrorKind::OutOfBounds,
            Self::NotErased | Self::NoPower => NorFlashErrorKind::Other,
        }
    }
}

/// Memory as flash. A word is written once after it was erased, and may then be cleared to zeros.
#[derive(Debug)]
pub struct RamFlash<'a> {
    bytes: &'a mut [u8],
    /// Words and halves of sectors until the power is cut; `None` is for ever.
    left: Option<u32>,
    /// The write or erase, counted from 1, in whose middle the power is cut.
    cut_in: Option<u32>,
    operations: u32,
    done: u32,
    erased: u32,
    off: bool,
}

impl<'a> RamFlash<'a> {
    /// Flash of these bytes, as they are.
    pub const fn new(bytes: &'a mut [u8]) -> Self {
        Self { bytes, left: None, cut_in: None, operations: 0, done: 0, erased: 0, off: false }
    }

    /// The power is cut after so many more steps: words written, halves of sectors erased.
    #[must_use]
    pub const fn cut_after(mut self, steps: u32) -> Self {
        self.left = Some(steps);
        self
    }

    /// The power is cut in the middle of this write or erase, counted from 1.
    #[must_use]
    pub const fn cut_in(mut self, operation: u32) -> Self {
        self.cut_in = Some(operation);
        self
    }

    /// Writes and erases that were begun.
    pub const fn operations(&self) -> u32 {
        self.operations
    }

    /// Begins a write or an erase of so many steps.
    fn begin(&mut self, steps: usize) {
        self.operations += 1;
        if self.cut_in == Some(self.operations) {
            self.left = Some(steps as u32 / 2);
        }
    }

    /// Steps that were done.
    pub const fn done(&self) -> u32 {
        self.done
    }

    /// Sectors that were erased.
    pub const fn erased(&self) -> u32 {
        self.erased
    }

    /// Whether the power was cut.
    pub const fn is_off(&self) -> bool {
        self.off
    }

    /// Whether a step is done as a whole; if not, the power is cut in the middle of it.
    fn step(&mut self) -> Result<bool, Refused> {
        if self.off {
            return Err(Refused::NoPower);
        }
        match &mut self.left {
            Some(0) => {
                self.off = true;
                return Ok(false);
            }
            Some(left) => *left -= 1,
            None => {}
        }
        self.done += 1;
        Ok(true)
    }

    fn range(
        &self,
        from: u32,
        length: usize,
        unit: usize,
    ) -> Result<core::ops::Range<usize>, Refused> {
        let from = from as usize;
        if !from.is_multiple_of(unit) || !length.is_multiple_of(unit) {
            return Err(Refused::Crooked);
        }
        let end = from.checked_add(length).filter(|end| *end <= self.bytes.len());
        Ok(from..end.ok_or(Refused::Beyond)?)
    }
}

impl ErrorType for RamFlash<'_> {
    type Error = Refused;
}

impl ReadNorFlash for RamFlash<'_> {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Refused> {
        let range = self.range(offset, bytes.len(), 1)?;
        bytes.copy_from_slice(self.bytes.get(range).ok_or(Refused::Beyond)?);
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.bytes.len()
    }
}

impl NorFlash for RamFlash<'_> {
    const WRITE_SIZE: usize = WORD;
    const ERASE_SIZE: usize = SECTOR;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), Refused> {
        let range = self.range(from, to.saturating_sub(from) as usize, SECTOR)?;
        self.begin(range.len() / (SECTOR / 2));
        for half in range.step_by(SECTOR / 2) {
            let whole = self.step()?;
            let half = self.bytes.get_mut(half..half + SECTOR / 2).ok_or(Refused::Beyond)?;
            if !whole {
                // Half-erased cells read as anything.
                half.iter_mut().step_by(3).for_each(|byte| *byte = 0xff);
                return Err(Refused::NoPower);
            }
            half.fill(0xff);
        }
        self.erased += (to.saturating_sub(from) as usize / SECTOR) as u32;
        Ok(())
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Refused> {
        let range = self.range(offset, bytes.len(), WORD)?;
        self.begin(bytes.len() / WORD);
        for (at, word) in range.step_by(WORD).zip(bytes.chunks(WORD)) {
            let whole = self.step()?;
            let place = self.bytes.get_mut(at..at + WORD).ok_or(Refused::Beyond)?;
            let erased = place.iter().all(|byte| *byte == 0xff);
            if !erased && word.iter().any(|byte| *byte != 0) {
                return Err(Refused::NotErased);
            }
            let written = if whole { WORD } else { WORD / 2 };
            for (place, byte) in place.iter_mut().zip(word).take(written) {
                *place = *byte;
            }
            if !whole {
                return Err(Refused::NoPower);
            }
        }
        Ok(())
    }
}

impl MappedFlash for RamFlash<'_> {
    fn mapped(&self) -> &[u8] {
        self.bytes
    }
}
