//! A small display, 128 by 64 points, on I2C. It is drawn and sent in an interrupt under all
//! others, a row at a time: no byte, no click and no verdict waits for it, and a display that is
//! not there, or hangs, stops nothing.
//!
//! A row of text is at most three bands of 128 bytes, nine bits each: 9 ms of the bus at 400 kHz. A
//! page on which all rows differ takes 32 ms. Drawing all of it takes some 600,000 instructions, the
//! large word 100,000, counted on the emulated board.

use embassy_executor::InterruptExecutor;
use embassy_rp::i2c::{Async, Config, I2c, InterruptHandler};
use embassy_rp::interrupt::{self, InterruptExt as _, Priority};
use embassy_rp::peripherals::{I2C0, PIN_4, PIN_5};
use embassy_rp::{Peri, bind_interrupts};
use embassy_sync::blocking_mutex::raw::CriticalSectionRawMutex;
use embassy_sync::signal::Signal;
use embassy_time::{Duration, TimeoutError, Timer, with_timeout};
use evenhand_pedal::display::Page;
use ssd1306::mode::DisplayConfigAsync as _;
use ssd1306::prelude::{DisplayRotation, DisplaySize128x64};
use ssd1306::{I2CDisplayInterface, Ssd1306Async};

/// Fast mode of the bus (NXP UM10204), which displays of this kind take.
const HERTZ: u32 = 400_000;
/// Something that takes longer than this hangs: ten times what a row takes. Our default.
const PATIENCE: Duration = Duration::from_millis(100);
/// So long after a failure the display is looked for again. Our default.
const AGAIN: Duration = Duration::from_secs(2);

static WANTED: Signal<CriticalSectionRawMutex, Page> = Signal::new();
static EXECUTOR: InterruptExecutor = InterruptExecutor::new();

bind_interrupts!(struct Interrupts {
    I2C0_IRQ => InterruptHandler<I2C0>;
});

type Bus = I2c<'static, I2C0, Async>;

#[embassy_rp::interrupt]
fn SWI_IRQ_1() {
    // SAFETY: called from the interrupt that the executor was started with.
    unsafe { EXECUTOR.on_interrupt() }
}

/// Begins to look for a display: data on the first pin, clock on the second.
pub fn begin(i2c: Peri<'static, I2C0>, data: Peri<'static, PIN_4>, clock: Peri<'static, PIN_5>) {
    // Under everything else that has an interrupt.
    interrupt::SWI_IRQ_1.set_priority(Priority::P3);
    interrupt::I2C0_IRQ.set_priority(Priority::P3);
    let mut config = Config::default();
    config.frequency = HERTZ;
    let bus = I2c::new_async(i2c, clock, data, Interrupts, config);
    let spawner = EXECUTOR.start(interrupt::SWI_IRQ_1);
    // There is one task, and it is begun once, so there is room for it.
    if let Ok(task) = serve(bus) {
        spawner.spawn(task);
    }
}

/// Shows this page as soon as the display has shown the one before it.
pub fn show(page: &Page) {
    WANTED.signal(page.clone());
}

#[embassy_executor::task]
async fn serve(mut bus: Bus) {
    let mut page = Page::new();
    loop {
        // It ends when the display fails. It is looked for again, and drawn anew as a whole.
        let _ = serve_until_it_fails(&mut bus, &mut page).await;
        Timer::after(AGAIN).await;
    }
}

/// The display failed or hangs.
struct Failed;

impl From<TimeoutError> for Failed {
    fn from(_: TimeoutError) -> Self {
        Self
    }
}

/// Shows `page`, and what is wanted from then on, which is `page` then.
async fn serve_until_it_fails(bus: &mut Bus, page: &mut Page) -> Result<(), Failed> {
    let interface = I2CDisplayInterface::new(bus);
    let mut display = Ssd1306Async::new(interface, DisplaySize128x64, DisplayRotation::Rotate0)
        .into_buffered_graphics_mode();
    with_timeout(PATIENCE, display.init()).await?.map_err(|_| Failed)?;
    let mut shown: Option<Page> = None;
    loop {
        if let Some(newer) = WANTED.try_take() {
            *page = newer;
        }
        let mut row = 0;
        while page.draw_row(row, shown.as_ref(), &mut display).map_err(|_| Failed)? {
            with_timeout(PATIENCE, display.flush()).await?.map_err(|_| Failed)?;
            row += 1;
        }
        shown = Some(page.clone());
        *page = WANTED.wait().await;
    }
}
