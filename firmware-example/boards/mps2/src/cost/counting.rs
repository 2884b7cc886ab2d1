//! Counting instructions.
//!
//! The emulator is told that an instruction takes 256 ns (`-icount shift=8`), and the board's
//! counter counts every 40 ns, so the counter tells instructions to a sixth of one.

use core::hint::black_box;

use evenhand_mps2_board::device::clock;

/// What the emulator is told, see `xtask/src/emulator.rs`.
const INSTRUCTION_NANOS: u64 = 256;
/// The counter runs at 25 MHz.
const COUNT_NANOS: u64 = 40;

/// Counts the instructions of some work.
pub(crate) struct Counter {
    /// Counts that an empty work takes.
    nothing: u32,
}

impl Counter {
    pub(crate) fn new() -> Self {
        let mut counter = Self { nothing: 0 };
        counter.nothing = (0..4).map(|_| counter.counts(|| black_box(()))).min().unwrap_or(0);
        counter
    }

    /// The instructions of `work`. It must not take more than 600 million, for then the
    /// counter starts again.
    ///
    /// Not inlined, so that nothing of its surroundings is moved to between the two readings.
    #[inline(never)]
    pub(crate) fn of(&self, work: impl FnOnce()) -> u32 {
        let counts = self.counts(work).saturating_sub(self.nothing);
        let instructions =
            (u64::from(counts) * COUNT_NANOS + INSTRUCTION_NANOS / 2) / INSTRUCTION_NANOS;
        u32::try_from(instructions).unwrap_or(u32::MAX)
    }

    fn counts(&self, work: impl FnOnce()) -> u32 {
        let before = clock();
        work();
        clock().wrapping_sub(before)
    }
}

/// A loop of `2 * rounds` instructions.
#[inline(never)]
pub(crate) fn known_loop(rounds: usize) {
    // SAFETY: only the register that is given is changed, and the flags, which is the default.
    unsafe {
        core::arch::asm!("2:", "subs {0}, #1", "bne 2b", inout(reg) rounds => _);
    }
}
