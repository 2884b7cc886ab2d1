//! The second megabyte of the flash, for results and packs.

use core::slice;

use embassy_rp::Peri;
use embassy_rp::peripherals::FLASH;
use embedded_storage::nor_flash::{
    ErrorType, NorFlash, NorFlashErrorKind, ReadNorFlash, check_erase, check_read, check_write,
};
use evenhand_pedal::memory::MappedFlash;

use crate::flash_work::{self, PAGE, SECTOR};
use crate::watch;

/// Where flash can be read (RP2040 datasheet, 2.2.1; the same in the RP2350).
const MAPPED_AT: usize = 0x1000_0000;
/// The part that the program leaves, see the memory files for the linker.
const FROM: u32 = 1024 * 1024;
const BYTES: usize = 1024 * 1024;

/// That part of the flash.
pub struct Storage {
    /// Nobody else has it.
    _flash: Peri<'static, FLASH>,
}

impl Storage {
    /// The part that the program leaves, and a number that no other board has: of the flash, or of the processor
    /// where it has one.
    pub fn new(mut flash: Peri<'static, FLASH>) -> (Self, u64) {
        let number = unique_number(flash.reborrow());
        (Self { _flash: flash }, number)
    }
}

#[cfg(feature = "rp2040")]
fn unique_number(flash: Peri<'_, FLASH>) -> u64 {
    use embassy_rp::flash::{Blocking, Flash};
    const ALL: usize = FROM as usize + BYTES;
    let mut number = [0; 8];
    // A flash that does not tell has 0, as have all of its kind.
    let _ = Flash::<_, Blocking, ALL>::new_blocking(flash).blocking_unique_id(&mut number);
    u64::from_le_bytes(number)
}

#[cfg(not(feature = "rp2040"))]
fn unique_number(_flash: Peri<'_, FLASH>) -> u64 {
    embassy_rp::otp::get_chipid().unwrap_or(0)
}

impl ErrorType for Storage {
    type Error = NorFlashErrorKind;
}

impl ReadNorFlash for Storage {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), NorFlashErrorKind> {
        check_read(self, offset, bytes.len())?;
        let from = offset as usize;
        let there = self.mapped().get(from..from + bytes.len());
        bytes.copy_from_slice(there.ok_or(NorFlashErrorKind::OutOfBounds)?);
        Ok(())
    }

    fn capacity(&self) -> usize {
        BYTES
    }
}

impl NorFlash for Storage {
    const WRITE_SIZE: usize = 1;
    const ERASE_SIZE: usize = SECTOR;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), NorFlashErrorKind> {
        check_erase(self, from, to)?;
        for sector in (from..to).step_by(SECTOR) {
            // SAFETY: this part of the flash is ours, and nobody holds on to what is in it: `self` is borrowed.
            unsafe { flash_work::erase(FROM + sector) };
            watch::feed();
        }
        Ok(())
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), NorFlashErrorKind> {
        check_write(self, offset, bytes.len())?;
        let mut left = bytes;
        let mut at = offset as usize;
        while !left.is_empty() {
            let into = at % PAGE;
            let (now, later) = left.split_at(left.len().min(PAGE - into));
            // Ones leave what is there as it is.
            let mut page = [0xff; PAGE];
            page.iter_mut().skip(into).zip(now).for_each(|(place, byte)| *place = *byte);
            // SAFETY: as above.
            unsafe { flash_work::program(FROM + (at - into) as u32, &page) };
            (at, left) = (at + now.len(), later);
        }
        watch::feed();
        Ok(())
    }
}

impl MappedFlash for Storage {
    fn mapped(&self) -> &[u8] {
        // SAFETY: this part of the address space is the flash, which nobody changes but the
        // functions above, and they need `self` for themselves.
        unsafe { slice::from_raw_parts((MAPPED_AT + FROM as usize) as *const u8, BYTES) }
    }
}
