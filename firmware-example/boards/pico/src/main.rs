//! The pedal on a Raspberry Pi Pico (RP2040) or Pico 2 (RP2350).
//!
//! Wiring is in `docs/pedal-build.md`. The judge runs in the main loop; MIDI bytes are stamped in
//! the UART's interrupt, and USB runs in an interrupt of its own, so neither waits for a verdict.
#![no_std]
#![no_main]

mod board;
#[cfg(feature = "display")]
mod display;
mod fault;
mod flash_work;
mod link;
mod midi;
#[cfg(feature = "midi-click")]
mod notes;
mod storage;
mod vectors;
mod waiting;
mod watch;

use cortex_m_rt::entry;
use embassy_rp::gpio::{Input, Level, Output, Pull};
use evenhand_core::practice::Engine;
use evenhand_core::session::{Session, SessionConfig};
use evenhand_core::units::{Instant, Offset};
use evenhand_pedal::controls::Panel;
use evenhand_pedal::memory::{Identity, Memory, SECTORS};
use evenhand_pedal::pedal::PIECES;
use evenhand_pedal::{Pedal, Unit};

use board::PicoBoard;
use storage::Storage;

/// Both switches have to be held for so long after the power has come, and are looked at after this. Our defaults.
const HELD: Offset = Offset::from_millis(500);
const SETTLED: Offset = Offset::from_millis(2);

/// The pedal of this board.
type PicoUnit = Unit<'static, PicoPanel, Storage, PIECES>;
type PicoPanel = Panel<Contact, Contact, Light, Light, Light>;
type Contact = Input<'static>;
type Light = Output<'static>;

#[entry]
fn main() -> ! {
    static mut SESSION: Session = Session::idle();
    static mut ENGINE: Engine<PIECES> = Engine::new();

    // Left together: apart, the pedal would stand on the stack once more.
    let mut all = power_on(SESSION, ENGINE);
    loop {
        all.0.turn(&mut all.1);
    }
}

/// Everything that the power coming on begins.
// Not inlined: the pedal's parts are moved into it, and stand twice on the stack until then.
#[inline(never)]
fn power_on(
    session: &'static mut Session,
    engine: &'static mut Engine<PIECES>,
) -> (PicoUnit, PicoBoard) {
    let p = embassy_rp::init(embassy_rp::config::Config::default());
    let lamps = [
        Output::new(p.PIN_16, Level::Low),
        Output::new(p.PIN_17, Level::Low),
        Output::new(p.PIN_18, Level::Low),
    ];
    let [left, middle, right] = lamps;
    let (left_foot, right_foot) = (Input::new(p.PIN_14, Pull::Up), Input::new(p.PIN_15, Pull::Up));
    ask_for_firmware(&left_foot, &right_foot);
    let panel = Panel::new(left_foot, right_foot, (left, middle, right));

    let stopped = watch::begin(p.WATCHDOG);
    let (storage, device) = Storage::new(p.FLASH);
    midi::begin(p.UART0, p.PIN_0, p.PIN_1);
    #[cfg(feature = "display")]
    display::begin(p.I2C0, p.PIN_4, p.PIN_5);
    link::begin(p.USB, device);
    let identity = Identity {
        board: if cfg!(feature = "rp2350") { "pico2" } else { "pico" },
        device,
        // How long the start took differs from time to time, and pedals differ in their flash.
        chance: device as u32 ^ board::now().as_micros() as u32,
    };
    let memory = Memory::open(storage, SECTORS, identity);
    let pedal = Pedal::new(engine, session, SessionConfig::default(), &memory, Instant::ZERO);
    let mut unit = Unit::new(pedal, panel, memory);
    unit.has_stopped(stopped);
    (unit, PicoBoard::new(p.PWM_SLICE2, p.PIN_20))
}

/// Where both switches are held while the power comes, a computer may load another firmware, as if the board's own
/// button had been held: no case has to be opened for that.
fn ask_for_firmware(left: &Contact, right: &Contact) {
    let began = board::now();
    // The pull-ups need a moment, and a foot that only rests there is not meant.
    while board::now() < began.plus(HELD) {
        if began.plus(SETTLED) < board::now() && (left.is_high() || right.is_high()) {
            return;
        }
    }
    embassy_rp::rom_data::reset_to_usb_boot(0, 0);
}
