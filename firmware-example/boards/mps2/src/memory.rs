//! Memory beyond what a cheap board has: where the emulator puts a table, and what stands for a
//! board's flash.

use core::slice;
use core::sync::atomic::{AtomicBool, Ordering};

/// Where a table may be, and how long at most. See `memory.x`, which ends before it.
const TABLE: (usize, usize) = (0x2010_0000, 0x0020_0000);
/// What stands for flash: sectors of 4 KiB.
const FLASH: (usize, usize) = (0x2030_0000, 0x0008_0000);

/// The bytes where a table may be.
pub fn table() -> &'static [u8] {
    // SAFETY: the board has 4 MB of RAM from 0x2000_0000 on; nothing of this program lies in this
    // part, and nothing writes to it.
    unsafe { slice::from_raw_parts(TABLE.0 as *const u8, TABLE.1) }
}

/// What stands for flash; `None` if somebody has it already.
pub fn flash() -> Option<&'static mut [u8]> {
    static TAKEN: AtomicBool = AtomicBool::new(false);
    if TAKEN.load(Ordering::Relaxed) {
        return None;
    }
    // There is one thread, and no interrupt that calls this.
    TAKEN.store(true, Ordering::Relaxed);
    // SAFETY: as above, and nobody else has it.
    Some(unsafe { slice::from_raw_parts_mut(FLASH.0 as *mut u8, FLASH.1) })
}
