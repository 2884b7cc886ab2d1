//! What has come on the MIDI line and waits for the main loop: bytes with their times, and marks of what was
//! lost, in their order.
//!
//! The interrupt puts in and the main loop takes out, so no lock is needed, and none is there: interrupts that
//! cannot be held up by one are what this is for. Everything is inlined, since the interrupt runs while nothing
//! can be read from flash.

use core::cell::UnsafeCell;
use core::sync::atomic::{AtomicU32, Ordering};

/// Bytes that can wait. A MIDI line brings 3,125 a second at most (31,250 baud, ten bits a byte; IEC 63035), so
/// this is 2.6 seconds of a line that is never silent: longer than the longest verdict takes (0.6 s at 256 notes in
/// chords that were played clean, twice that with faults; `docs/chip-rig.md`), and several times as long as anybody's playing fills in that time. No
/// sector is erased meanwhile. What the judge cannot use takes no place. At four bytes each they have 32 KiB of the
/// RAM.
pub const WAITING: usize = 8_192;

/// A byte of undefined meaning (MIDI 1.0), which is never put in: it stands for what was lost.
const LOST: u8 = 0xf9;

/// The time is kept to so many bits, in microseconds: 16.7 seconds, and the watchdog is quicker than that.
const TIME_BITS: u32 = 24;

/// What came.
#[derive(Clone, Copy, Debug)]
pub enum Came {
    /// A byte, and when, in microseconds.
    Byte(u8, u64),
    /// Bytes were lost here.
    Lost,
}

/// A queue between an interrupt and the main loop.
pub struct Waiting {
    words: UnsafeCell<[u32; WAITING]>,
    /// How many words were put in and taken out; both go round.
    put: AtomicU32,
    taken: AtomicU32,
    /// The interrupt has to say that something is lost as soon as there is room.
    owes: UnsafeCell<bool>,
}

// SAFETY: `put` and `lose` are for one interrupt, `take` for the main loop. A word belongs to the interrupt until
// `put` counts it, and to the main loop from then until `taken` does.
unsafe impl Sync for Waiting {}

impl Waiting {
    /// Nothing waits.
    pub const fn new() -> Self {
        Self {
            words: UnsafeCell::new([0; WAITING]),
            put: AtomicU32::new(0),
            taken: AtomicU32::new(0),
            owes: UnsafeCell::new(false),
        }
    }

    /// Puts a byte in that came at this time, in microseconds, behind what is still to be said of losses.
    ///
    /// # Safety
    /// For one interrupt only.
    #[inline(always)]
    pub unsafe fn put(&self, byte: u8, at: u32) {
        let owes = self.owes.get();
        // SAFETY: the caller is the only one that looks at it.
        unsafe {
            if *owes {
                *owes = !self.push(LOST, at);
            }
            if *owes || !self.push(byte, at) {
                *owes = true;
            }
        }
    }

    /// Says that bytes were lost here.
    ///
    /// # Safety
    /// For the same interrupt only.
    #[inline(always)]
    pub unsafe fn lose(&self, at: u32) {
        // SAFETY: as above.
        unsafe { *self.owes.get() |= !self.push(LOST, at) };
    }

    /// Whether there was room.
    ///
    /// # Safety
    /// For the same interrupt only.
    #[inline(always)]
    unsafe fn push(&self, byte: u8, at: u32) -> bool {
        let put = self.put.load(Ordering::Relaxed);
        if put.wrapping_sub(self.taken.load(Ordering::Acquire)) >= WAITING as u32 {
            return false;
        }
        let word = u32::from(byte) << TIME_BITS | at & ((1 << TIME_BITS) - 1);
        // SAFETY: the place is within the words, and the main loop does not look at it yet.
        unsafe {
            let place = self.words.get().cast::<u32>().add(put as usize % WAITING);
            place.write_volatile(word);
        }
        self.put.store(put.wrapping_add(1), Ordering::Release);
        true
    }

    /// The next that came; `now` says what time it is, in microseconds.
    pub fn take(&self, now: impl FnOnce() -> u64) -> Option<Came> {
        let taken = self.taken.load(Ordering::Relaxed);
        if taken == self.put.load(Ordering::Acquire) {
            return None;
        }
        // SAFETY: the place is within the words, and the interrupt is done with it.
        let word =
            unsafe { self.words.get().cast::<u32>().add(taken as usize % WAITING).read_volatile() };
        self.taken.store(taken.wrapping_add(1), Ordering::Release);
        let byte = (word >> TIME_BITS) as u8;
        // Looked at after the byte was there: it came before.
        let now = now();
        let ago = (now as u32).wrapping_sub(word) & ((1 << TIME_BITS) - 1);
        Some(match byte {
            LOST => Came::Lost,
            byte => Came::Byte(byte, now.saturating_sub(ago.into())),
        })
    }
}
