//! The MIDI line: a byte and when it came, stamped in the interrupt.
//!
//! The interrupt, and all that it calls, is in RAM, with the table that the processor finds it in: so it goes on
//! while the flash is written to or erased, see `flash_work.rs`. With `midi-click` there is an output, too: what comes
//! in goes out again, and the clicks between its messages.

use core::cell::UnsafeCell;
#[cfg(feature = "midi-click")]
use core::sync::atomic::{AtomicU32, Ordering};

use embassy_rp::interrupt::{self, InterruptExt as _, Priority};
use embassy_rp::peripherals::{PIN_0, PIN_1, UART0};
use embassy_rp::uart::Config;
#[cfg(feature = "midi-click")]
use embassy_rp::uart::Uart;
#[cfg(not(feature = "midi-click"))]
use embassy_rp::uart::UartRx;
use embassy_rp::{Peri, pac};
use evenhand_pedal::thinning::Thinning;
#[cfg(feature = "midi-click")]
use evenhand_pedal::through::{Click, Through};

use crate::vectors;
use crate::waiting::{Came, Waiting};

/// The speed of a MIDI line (IEC 63035).
const BAUD: u32 = 31_250;

/// Bits of the UART's data register, and of its flags: nothing has come (Arm PL011 manual, 3.3.1 and 3.3.3).
const OVERRUN: u32 = 1 << 11;
const BROKEN: u32 = 0b111 << 8;
const EMPTY: u32 = 1 << 4;
/// What is to be sent finds no room.
#[cfg(feature = "midi-click")]
const FULL: u32 = 1 << 5;
/// Where its flags are, and where its interrupts are cleared (3.3.3, 3.3.13), in words.
const FLAGS: usize = 0x18 / 4;
const CLEAR: usize = 0x44 / 4;
/// Where the lower half of the time is (RP2040 datasheet, 4.6.5; RP2350 datasheet, 12.8.5), in words.
const TIME: usize = 0x28 / 4;
#[cfg(feature = "rp2040")]
const TIMER: *mut u32 = pac::TIMER.as_ptr().cast();
#[cfg(not(feature = "rp2040"))]
const TIMER: *mut u32 = pac::TIMER0.as_ptr().cast();

static WAITING: Waiting = Waiting::new();

/// What the interrupt alone looks at.
struct Own<T>(UnsafeCell<T>);

// SAFETY: one interrupt has it.
unsafe impl<T> Sync for Own<T> {}

static THINNING: Own<Thinning> = Own(UnsafeCell::new(Thinning::new()));

#[cfg(feature = "midi-click")]
static THROUGH: Own<Through> = Own(UnsafeCell::new(Through::new()));

/// The click that the interrupt is to send, its first byte lowest; 0 for none. The main loop writes where there is
/// none, and the interrupt takes it out, so no lock is needed.
#[cfg(feature = "midi-click")]
static CLICK: AtomicU32 = AtomicU32::new(0);

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
        mask.set_txim(cfg!(feature = "midi-click"));
    });
    // SAFETY: the function is for this interrupt, and in RAM.
    unsafe { vectors::take_over(interrupt::UART0_IRQ, on_byte) };
    interrupt::UART0_IRQ.set_priority(Priority::P0);
    // SAFETY: its function is ready for it.
    unsafe { interrupt::UART0_IRQ.enable() };
}

/// What came next.
pub fn next() -> Option<Came> {
    WAITING.take(|| embassy_time::Instant::now().as_micros())
}

/// Sends a click as soon as it can stand between two messages, and says whether it will: not where another one
/// waits. Never waits.
#[cfg(feature = "midi-click")]
pub fn send([status, key, velocity]: Click) -> bool {
    let is_free = CLICK.load(Ordering::Acquire) == 0;
    if is_free {
        CLICK.store(u32::from_le_bytes([status, key, velocity, 0]), Ordering::Release);
        interrupt::UART0_IRQ.pend();
    }
    is_free
}

/// The click that waits.
#[cfg(feature = "midi-click")]
#[inline(always)]
fn click() -> Option<Click> {
    let [status, key, velocity, _] = CLICK.load(Ordering::Acquire).to_le_bytes();
    if status == 0 {
        return None;
    }
    CLICK.store(0, Ordering::Release);
    Some([status, key, velocity])
}

/// Takes what has come, and sends what is to go. Nothing of it may be in flash, see above: addresses instead of drivers, no table, no
/// call but what is inlined.
///
/// # Safety
/// For the UART's interrupt only.
#[unsafe(link_section = ".data.ram_func")]
unsafe extern "C" fn on_byte() {
    const UART: *mut u32 = pac::UART0.as_ptr().cast();
    // SAFETY: these are registers of the chip; the rest is for this interrupt alone.
    unsafe {
        // All of the UART's interrupts are done with. First: what comes from now on is another one.
        UART.add(CLEAR).write_volatile(0x7ff);
        let at = TIMER.add(TIME).read_volatile();
        let thinning = &mut *THINNING.0.get();
        #[cfg(feature = "midi-click")]
        let through = &mut *THROUGH.0.get();
        while UART.add(FLAGS).read_volatile() & EMPTY == 0 {
            let word = UART.read_volatile();
            if word & BROKEN == 0 {
                #[cfg(feature = "midi-click")]
                through.come(word as u8);
                let (before, own) = thinning.push(word as u8);
                if let Some(before) = before {
                    WAITING.put(before, at);
                }
                if let Some(own) = own {
                    WAITING.put(own, at);
                }
            }
            // What could not be read, or what came behind this byte and found no place. What comes now may
            // be the rest of a message that nobody has seen begin.
            if word & (BROKEN | OVERRUN) != 0 {
                *thinning = Thinning::new();
                #[cfg(feature = "midi-click")]
                through.lose();
                WAITING.lose(at);
            }
        }
        #[cfg(feature = "midi-click")]
        while UART.add(FLAGS).read_volatile() & FULL == 0
            && let Some(byte) = through.next(click)
        {
            UART.write_volatile(byte.into());
        }
    }
}
