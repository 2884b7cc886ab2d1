//! The few devices that are used, at the addresses of Arm's Application Note AN386
//! (MPS2 with Cortex-M4), registers after the CMSDK UART's and FPGAIO's descriptions there.

use core::fmt;
use core::ptr::{read_volatile, write_volatile};

const UART_STATE: usize = 0x04;
const UART_CONTROL: usize = 0x08;
const UART_DIVIDER: usize = 0x10;
const TRANSMIT_FULL: u32 = 1;
const TRANSMIT_ON: u32 = 1;
/// The smallest divider that the UART takes; an emulated line has no speed.
const DIVIDER: u32 = 16;
/// The free-running counter of the FPGAIO block; it counts at 25 MHz.
const COUNTER: usize = 0x4002_8018;

/// A serial port that only sends.
pub struct Serial {
    base: usize,
}

impl Serial {
    /// The first port: what the pedal has to say.
    pub fn first() -> Self {
        Self::open(0x4000_4000)
    }

    /// The second port: figures about the run.
    pub fn second() -> Self {
        Self::open(0x4000_5000)
    }

    fn open(base: usize) -> Self {
        let port = Self { base };
        port.set(UART_DIVIDER, DIVIDER);
        port.set(UART_CONTROL, TRANSMIT_ON);
        port
    }

    fn get(&self, register: usize) -> u32 {
        // SAFETY: `base` is one of the two UARTs above, whose registers can be read at any time.
        unsafe { read_volatile((self.base + register) as *const u32) }
    }

    fn set(&self, register: usize, value: u32) {
        // SAFETY: as for `get`; what is written only starts the port or sends a byte.
        unsafe { write_volatile((self.base + register) as *mut u32, value) }
    }
}

impl fmt::Write for Serial {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        for byte in text.bytes() {
            while self.get(UART_STATE) & TRANSMIT_FULL != 0 {}
            self.set(0, u32::from(byte));
        }
        Ok(())
    }
}

/// The board's clock, which counts and starts again every 171 s.
pub fn clock() -> u32 {
    // SAFETY: the counter can be read at any time, and reading changes nothing.
    unsafe { read_volatile(COUNTER as *const u32) }
}
