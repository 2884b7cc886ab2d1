//! Erasing and writing flash, while the MIDI line goes on being heard.
//!
//! The program lies in the same flash, so none of it can run meanwhile: what works here is in RAM, and calls only
//! the boot ROM. Every interrupt is held up but the MIDI line's, whose function and table are in RAM, too. (The
//! driver of embassy-rp holds up all of them, and then a UART with room for one byte loses the next: a page takes
//! ten bytes' time at worst, a sector more than a thousand.)

use embassy_rp::interrupt::Interrupt;
use embassy_rp::rom_data;

use crate::vectors;

/// Bytes that are written at once, and erased at once (RP2040 datasheet, 2.8.3.1.3; the same in the RP2350).
pub const PAGE: usize = 256;
pub const SECTOR: usize = 4_096;

/// A block that the boot ROM may erase in one go, and how: larger than what is ever erased here, so never.
const BLOCK: u32 = 1 << 31;
const BLOCK_COMMAND: u8 = 0;

/// What makes flash readable again as it was: second-stage boot code, which is this long.
const SETUP_WORDS: usize = 64;
#[cfg(feature = "rp2040")]
const SETUP: *const u32 = 0x1000_0000 as *const u32;
/// The RP2350's boot ROM leaves what it did itself at the beginning of its boot RAM.
#[cfg(not(feature = "rp2040"))]
const SETUP: *const u32 = 0x400e_0000 as *const u32;

type Plain = unsafe extern "C" fn();
type Erase = unsafe extern "C" fn(u32, usize, u32, u8);
type Program = unsafe extern "C" fn(u32, *const u8, usize);

/// All that is called, and with what: looked up before, since the look-up is in flash.
struct Work {
    connect: Plain,
    leave: Plain,
    erase: Erase,
    program: Program,
    flush: Plain,
    enter: Plain,
    /// From the beginning of the flash.
    offset: u32,
    /// What is written; null to erase a sector.
    page: *const u8,
}

/// Erases the sector at a multiple of its length.
///
/// # Safety
/// Nobody may need what is there.
pub unsafe fn erase(offset: u32) {
    // SAFETY: the caller's.
    unsafe { work(offset, core::ptr::null()) };
}

/// Writes a page at a multiple of its length: clears bits.
///
/// # Safety
/// As above.
pub unsafe fn program(offset: u32, page: &[u8; PAGE]) {
    // SAFETY: the caller's.
    unsafe { work(offset, page.as_ptr()) };
}

unsafe fn work(offset: u32, page: *const u8) {
    let mut setup = [0_u32; SETUP_WORDS];
    for (word, place) in setup.iter_mut().enumerate() {
        // SAFETY: the setup is so long.
        *place = unsafe { SETUP.add(word).read_volatile() };
    }
    let enter = setup.as_ptr() as usize | 1;
    let work = Work {
        connect: rom_data::connect_internal_flash::ptr(),
        leave: rom_data::flash_exit_xip::ptr(),
        erase: rom_data::flash_range_erase::ptr(),
        program: rom_data::flash_range_program::ptr(),
        flush: rom_data::flash_flush_cache::ptr(),
        // SAFETY: it is Thumb code that stands wherever it is copied to, and returns to whoever calls it.
        enter: unsafe { core::mem::transmute::<usize, Plain>(enter) },
        offset,
        page,
    };
    core::sync::atomic::compiler_fence(core::sync::atomic::Ordering::SeqCst);
    // SAFETY: all that may run meanwhile is in RAM.
    vectors::alone(Interrupt::UART0_IRQ, || unsafe { in_ram(&work) });
    core::hint::black_box(&setup);
}

/// # Safety
/// Nothing may read flash meanwhile.
#[inline(never)]
#[unsafe(link_section = ".data.ram_func")]
unsafe extern "C" fn in_ram(work: &Work) {
    // SAFETY: the boot ROM's functions, in the order that its documentation gives (RP2040 datasheet, 2.8.3.1.3).
    unsafe {
        (work.connect)();
        (work.leave)();
        if work.page.is_null() {
            (work.erase)(work.offset, SECTOR, BLOCK, BLOCK_COMMAND);
        } else {
            (work.program)(work.offset, work.page, PAGE);
        }
        (work.flush)();
        (work.enter)();
    }
}
