//! The second megabyte of the flash, for results and packs.

use core::slice;

use embassy_rp::Peri;
use embassy_rp::flash::{Blocking, ERASE_SIZE, Error, Flash};
use embassy_rp::peripherals::FLASH;
use embedded_storage::nor_flash::{ErrorType, NorFlash, ReadNorFlash};
use evenhand_pedal::memory::MappedFlash;

/// Where flash can be read (RP2040 datasheet, 2.2.1; the same in the RP2350).
const MAPPED_AT: usize = 0x1000_0000;
/// The part that the program leaves, see the memory files for the linker.
const FROM: u32 = 1024 * 1024;
const BYTES: usize = 1024 * 1024;
const ALL: usize = FROM as usize + BYTES;

/// That part of the flash.
pub struct Storage {
    flash: Flash<'static, FLASH, Blocking, ALL>,
}

impl Storage {
    /// The part that the program leaves.
    pub fn new(flash: Peri<'static, FLASH>) -> Self {
        Self { flash: Flash::new_blocking(flash) }
    }

    /// A number that no other board has: of the flash, or of the processor where it has one.
    pub fn unique_number(&mut self) -> u64 {
        #[cfg(feature = "rp2040")]
        {
            let mut number = [0; 8];
            // A flash that does not tell has 0, as have all of its kind.
            let _ = self.flash.blocking_unique_id(&mut number);
            u64::from_le_bytes(number)
        }
        #[cfg(not(feature = "rp2040"))]
        {
            embassy_rp::otp::get_chipid().unwrap_or(0)
        }
    }
}

impl ErrorType for Storage {
    type Error = Error;
}

impl ReadNorFlash for Storage {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Error> {
        self.flash.blocking_read(FROM.saturating_add(offset), bytes)
    }

    fn capacity(&self) -> usize {
        BYTES
    }
}

impl NorFlash for Storage {
    const WRITE_SIZE: usize = 1;
    const ERASE_SIZE: usize = ERASE_SIZE;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), Error> {
        self.flash.blocking_erase(FROM.saturating_add(from), FROM.saturating_add(to))
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Error> {
        self.flash.blocking_write(FROM.saturating_add(offset), bytes)
    }
}

impl MappedFlash for Storage {
    fn mapped(&self) -> &[u8] {
        // SAFETY: this part of the address space is the flash, which nobody changes but the
        // functions above, and they need `self` for themselves.
        unsafe { slice::from_raw_parts((MAPPED_AT + FROM as usize) as *const u8, BYTES) }
    }
}
