//! How a program on the emulated board ends, well or not.

use core::fmt::Write as _;
use core::panic::PanicInfo;

use cortex_m_rt::{ExceptionFrame, exception};
use cortex_m_semihosting::debug::{EXIT_FAILURE, EXIT_SUCCESS, exit};

use crate::device::Serial;

/// Ends the emulator; its exit code tells how it went.
pub fn end(well: bool) -> ! {
    loop {
        exit(if well { EXIT_SUCCESS } else { EXIT_FAILURE });
    }
}

/// Says why on the first port, where the comparison shows it, and ends with failure.
pub fn give_up(why: core::fmt::Arguments<'_>) -> ! {
    let _ = writeln!(Serial::first(), "gave up: {why}");
    end(false)
}

#[panic_handler]
fn panic(info: &PanicInfo<'_>) -> ! {
    give_up(format_args!("{info}"))
}

#[exception]
unsafe fn HardFault(_frame: &ExceptionFrame) -> ! {
    give_up(format_args!("hard fault"))
}
