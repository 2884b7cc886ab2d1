//! The MIDI line: a byte and when it came, stamped in the interrupt.

use core::sync::atomic::{AtomicBool, Ordering};

use embassy_rp::interrupt::{self, InterruptExt as _, Priority};
use embassy_rp::peripherals::{PIN_0, PIN_1, UART0};
use embassy_rp::uart::Config;
#[cfg(feature = "midi-click")]
use embassy_rp::uart::Uart;
#[cfg(not(feature = "midi-click"))]
use embassy_rp::uart::UartRx;
use embassy_rp::{Peri, pac};
use embassy_sync::blocking_mutex::raw::CriticalSectionRawMutex;
use embassy_sync::channel::Channel;

/// The speed of a MIDI line (IEC 63035).
const BAUD: u32 = 31_250;

/// Bytes that can wait while a verdict is reached or the flash is written to: a second of dense
/// playing takes some 200. Our default.
const WAITING: usize = 512;

/// Data and error bits of the UART's data register (Arm PL011 manual, 3.3.1).
const OVERRUN: u32 = 1 << 11;
const BROKEN: u32 = 0b111 << 8;

static BYTES: Channel<CriticalSectionRawMutex, (u8, u64), WAITING> = Channel::new();
static LOST: AtomicBool = AtomicBool::new(false);

/// Begins to listen on the second pin. The first one is the output, where there is one.
pub fn begin(
    uart: Peri<'static, UART0>,
    output: Peri<'static, PIN_0>,
    input: Peri<'static, PIN_1>,
) {
    let mut config = Config::default();
    config.baudrate = BAUD;
    // The driver sets pins and speed; everything else is done here, so it must not undo them.
    #[cfg(not(feature = "midi-click"))]
    {
        let _ = output;
        core::mem::forget(UartRx::new_blocking(uart, input, config));
    }
    #[cfg(feature = "midi-click")]
    {
        core::mem::forget(Uart::new_blocking(uart, output, input, config));
        // The line takes more than the 4 mA that a pin gives at first.
        pac::PADS_BANK0.gpio(0).modify(|pad| pad.set_drive(pac::pads::vals::Drive::_12M_A));
    }
    let uart = pac::UART0;
    // No FIFO: it would hold a lone byte back for the time of three more, and blur its stamp.
    uart.uartcr().modify(|control| control.set_uarten(false));
    uart.uartlcr_h().modify(|line| line.set_fen(false));
    uart.uartcr().modify(|control| control.set_uarten(true));
    uart.uartimsc().write(|mask| {
        mask.set_rxim(true);
        mask.set_oeim(true);
    });
    interrupt::UART0_IRQ.set_priority(Priority::P0);
    // SAFETY: the interrupt's function below is ready for it.
    unsafe { interrupt::UART0_IRQ.enable() };
}

/// The next byte and its time in microseconds.
pub fn next() -> Option<(u8, u64)> {
    BYTES.try_receive().ok()
}

/// Sends a byte if the line is free for it, and says whether it did. Never waits.
#[cfg(feature = "midi-click")]
pub fn send(byte: u8) -> bool {
    let uart = pac::UART0;
    let free = !uart.uartfr().read().txff();
    if free {
        uart.uartdr().write(|data| data.set_data(byte));
    }
    free
}

/// Whether bytes were lost since it was last asked.
pub fn lost() -> bool {
    // The RP2040 has no swap; the interrupt only ever sets it, so nothing is missed for long.
    let lost = LOST.load(Ordering::Relaxed);
    if lost {
        LOST.store(false, Ordering::Relaxed);
    }
    lost
}

#[embassy_rp::interrupt]
fn UART0_IRQ() {
    let at = embassy_time::Instant::now().as_micros();
    let uart = pac::UART0;
    while !uart.uartfr().read().rxfe() {
        let word = uart.uartdr().read().0;
        if word & OVERRUN != 0 {
            LOST.store(true, Ordering::Relaxed);
        }
        if word & BROKEN == 0 && BYTES.try_send((word as u8, at)).is_err() {
            LOST.store(true, Ordering::Relaxed);
        }
    }
    // All of the UART's interrupts are done with.
    uart.uarticr().write(|clear| clear.0 = 0x7ff);
}
