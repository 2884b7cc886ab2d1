//! When everything else has failed: nothing goes on, nothing sounds, and the outer lamps say so by turns until
//! the watchdog begins anew.

use core::panic::PanicInfo;

use cortex_m_rt::{ExceptionFrame, exception};
use embassy_rp::pac;
use evenhand_core::link::Stopped;
use evenhand_pedal::lights::View;

use crate::watch;

#[cfg(feature = "defmt")]
use defmt_rtt as _;

/// The pins of the lamps, left to right, as in `main`.
const LAMPS: [u32; 3] = [16, 17, 18];
/// The slice of the PWM that sounds.
const SOUNDER: usize = 2;

fn show_fault(stopped: Stopped) -> ! {
    cortex_m::interrupt::disable();
    // A level of 0 is silence.
    pac::PWM.ch(SOUNDER).cc().write_value(pac::pwm::regs::ChCc(0));
    watch::stop(stopped);
    let lights = View::Fault.lights();
    let began = embassy_time::Instant::now();
    loop {
        // The time goes on without interrupts.
        let micros = began.elapsed().as_micros();
        for (pin, light) in LAMPS.iter().zip(&lights) {
            let lit = light.is_lit(micros);
            let out = pac::SIO.gpio_out(0);
            if lit { out.value_set() } else { out.value_clr() }.write_value(1 << pin);
        }
    }
}

#[panic_handler]
fn panic(info: &PanicInfo<'_>) -> ! {
    #[cfg(feature = "defmt")]
    defmt::error!("{}", defmt::Display2Format(info));
    let _ = info;
    show_fault(Stopped::Panicked)
}

#[exception]
unsafe fn HardFault(_frame: &ExceptionFrame) -> ! {
    show_fault(Stopped::Faulted)
}
