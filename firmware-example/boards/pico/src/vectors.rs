//! The table in which the processor finds what to do at an interrupt, in RAM: an interrupt whose function is in
//! RAM, too, is taken while nothing can be read from flash.

use core::cell::UnsafeCell;

use cortex_m::peripheral::{NVIC, SCB};
use embassy_rp::interrupt::Interrupt;

/// The processor's own exceptions, and the chip's interrupts with those that only programs set off (RP2040
/// datasheet, 2.3.2; RP2350 datasheet, 3.2); rp-pac has as many.
const EXCEPTIONS: usize = 16;
#[cfg(feature = "rp2040")]
const INTERRUPTS: usize = 32;
#[cfg(not(feature = "rp2040"))]
const INTERRUPTS: usize = 52;
const ENTRIES: usize = EXCEPTIONS + INTERRUPTS;
/// Words of the interrupt controller's registers, a bit for each interrupt.
const WORDS: usize = INTERRUPTS.div_ceil(32);

/// It begins at a multiple of the next power of two beyond its length (Armv8-M architecture reference manual,
/// VTOR; on Armv6-M at a multiple of 256).
#[repr(C, align(512))]
struct Table(UnsafeCell<[u32; ENTRIES]>);

const _: () = assert!(size_of::<[u32; ENTRIES]>() <= 512);

// SAFETY: it is written to before the interrupts that read it are on.
unsafe impl Sync for Table {}

static TABLE: Table = Table(UnsafeCell::new([0; ENTRIES]));

unsafe extern "C" {
    /// The table in flash (cortex-m-rt).
    static __vector_table: u32;
}

/// Moves the table into RAM, with another function for one of its interrupts. Only once, and before that
/// interrupt is on.
///
/// # Safety
/// The function has to be one for that interrupt.
pub unsafe fn take_over(interrupt: Interrupt, function: unsafe extern "C" fn()) {
    let table = TABLE.0.get().cast::<u32>();
    // SAFETY: both tables are so long. What is there now is as good as what was before, for every interrupt.
    unsafe {
        table.copy_from_nonoverlapping(&raw const __vector_table, ENTRIES);
        table.add(EXCEPTIONS + interrupt as usize).write(function as usize as u32);
        cortex_m::asm::dmb();
        (*SCB::PTR).vtor.write(table as u32);
        cortex_m::asm::dsb();
    }
}

/// Does something while no interrupt is taken but this one.
pub fn alone<T>(but: Interrupt, act: impl FnOnce() -> T) -> T {
    let mut on = [0; WORDS];
    for (word, on) in on.iter_mut().enumerate() {
        // SAFETY: what is turned off here is turned on again below, and nothing else is.
        unsafe {
            *on = (*NVIC::PTR).iser[word].read();
            let own = if but as usize / 32 == word { 1 << (but as usize % 32) } else { 0 };
            (*NVIC::PTR).icer[word].write(!own);
        }
    }
    cortex_m::asm::dsb();
    cortex_m::asm::isb();
    let done = act();
    for (word, on) in on.iter().enumerate() {
        // SAFETY: as above.
        unsafe { (*NVIC::PTR).iser[word].write(*on) };
    }
    done
}
