//! A watchdog that begins anew where nothing goes on, and what it is told of the reason: its registers keep that
//! over the new beginning.

use embassy_rp::Peri;
use embassy_rp::peripherals::WATCHDOG;
use embassy_rp::watchdog::Watchdog;
use embassy_time::Duration;
use evenhand_core::link::Stopped;

/// So long nothing may go on: the longest that the RP2040 can count (8.3 s, its datasheet, 4.7 and erratum E1). A
/// verdict takes up to a second or some (`docs/chip-rig.md`), and erasing and writing feed the watchdog
/// themselves.
const PATIENCE: Duration = Duration::from_millis(8_000);
/// So long the lamps show a fault before it begins anew. Our default.
const SHOWN: Duration = Duration::from_millis(4_000);

/// In front of what is kept in the register; the boot ROM has others for itself (RP2040 datasheet, 2.8.1.1).
const KEPT: u32 = 0x4576_6800;
const REGISTER: usize = 0;

fn watchdog() -> Watchdog {
    // SAFETY: its registers are written to whole, and whoever writes last is right.
    Watchdog::new(unsafe { WATCHDOG::steal() })
}

/// Begins to watch. Says why there was a new beginning, if this is one.
pub fn begin(own: Peri<'static, WATCHDOG>) -> Stopped {
    let mut watchdog = Watchdog::new(own);
    let kept = watchdog.get_scratch(REGISTER);
    // Loading another firmware ends with a reset by the watchdog, too, but leaves nothing of ours.
    let is_ours = watchdog.reset_reason().is_some() && kept & !0xff == KEPT;
    let stopped = if is_ours { Stopped::of(kept as u8) } else { Stopped::Not };
    // Whatever else ends this, says so before.
    watchdog.set_scratch(REGISTER, KEPT | u32::from(Stopped::Hung.code()));
    watchdog.pause_on_debug(true);
    watchdog.start(PATIENCE);
    stopped
}

/// It goes on.
pub fn feed() {
    watchdog().feed(PATIENCE);
}

/// It does not go on, for this reason; it begins anew soon.
pub fn stop(stopped: Stopped) {
    let mut watchdog = watchdog();
    watchdog.set_scratch(REGISTER, KEPT | u32::from(stopped.code()));
    watchdog.start(SHOWN);
}
