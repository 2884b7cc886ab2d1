//! USB: a serial port on which a computer loads studies and fetches results.

use embassy_executor::InterruptExecutor;
use embassy_futures::join::join3;
use embassy_rp::interrupt::{self, InterruptExt as _, Priority};
use embassy_rp::peripherals::USB;
use embassy_rp::usb::{Driver, InterruptHandler};
use embassy_rp::{Peri, bind_interrupts};
use embassy_sync::blocking_mutex::raw::CriticalSectionRawMutex;
use embassy_sync::pipe::Pipe;
use embassy_usb::class::cdc_acm::{CdcAcmClass, Receiver, Sender, State};
use embassy_usb::{Builder, Config};
use evenhand_core::link::FRAME;
use heapless::String as Text;
use static_cell::ConstStaticCell;

/// A number for trying things out, which pid.codes has set aside for that (1209:0001). Whoever
/// sells pedals needs one of their own.
const VENDOR: u16 = 0x1209;
const PRODUCT: u16 = 0x0001;

/// Bytes of a full-speed bulk packet (USB 2.0, 5.8.3).
const PACKET: usize = 64;

static INCOMING: Pipe<CriticalSectionRawMutex, FRAME> = Pipe::new();
static OUTGOING: Pipe<CriticalSectionRawMutex, { 2 * FRAME }> = Pipe::new();
static EXECUTOR: InterruptExecutor = InterruptExecutor::new();

bind_interrupts!(struct Interrupts {
    USBCTRL_IRQ => InterruptHandler<USB>;
});

#[embassy_rp::interrupt]
fn SWI_IRQ_0() {
    // SAFETY: called from the interrupt that the executor was started with.
    unsafe { EXECUTOR.on_interrupt() }
}

/// Begins to listen on USB.
/// The number is what computers tell this pedal from others by.
pub fn begin(usb: Peri<'static, USB>, device: u64) {
    // Under the MIDI line, over the main loop.
    interrupt::SWI_IRQ_0.set_priority(Priority::P2);
    interrupt::USBCTRL_IRQ.set_priority(Priority::P2);
    let spawner = EXECUTOR.start(interrupt::SWI_IRQ_0);
    // There is one task, and it is begun once, so there is room for it.
    if let Ok(task) = serve(Driver::new(usb, Interrupts), device) {
        spawner.spawn(task);
    }
}

/// The next byte from the computer.
pub fn next() -> Option<u8> {
    let mut byte = [0];
    INCOMING.try_read(&mut byte).ok().map(|_| byte[0])
}

/// Sends a frame; if the computer does not read, what finds no room is left out.
pub fn send(frame: &[u8]) {
    let mut left = frame;
    while let Ok(sent) = OUTGOING.try_write(left) {
        left = &left[sent.min(left.len())..];
        if left.is_empty() {
            return;
        }
    }
}

#[embassy_executor::task]
async fn serve(driver: Driver<'static, USB>, device: u64) {
    static DESCRIPTORS: ConstStaticCell<[u8; 256]> = ConstStaticCell::new([0; 256]);
    static BOS: ConstStaticCell<[u8; 64]> = ConstStaticCell::new([0; 64]);
    static CONTROL: ConstStaticCell<[u8; 64]> = ConstStaticCell::new([0; 64]);
    static SERIAL: static_cell::StaticCell<Text<16>> = static_cell::StaticCell::new();
    static STATE: static_cell::StaticCell<State<'static>> = static_cell::StaticCell::new();

    let mut config = Config::new(VENDOR, PRODUCT);
    config.manufacturer = Some("Evenhand");
    config.product = Some("Evenhand pedal");
    // The number as `evenhand pedal list` writes it.
    let mut digits = Text::<16>::new();
    // By hand: the library's formatting takes more than a kilobyte of flash, and nothing else here needs it.
    for place in (0..16).rev() {
        let digit = (device >> (4 * place)) as u32 & 0xf;
        let _ = digits.push(char::from_digit(digit, 16).unwrap_or('0'));
    }
    config.serial_number = Some(SERIAL.init(digits).as_str());
    config.max_packet_size_0 = PACKET as u8;
    let mut builder =
        Builder::new(driver, config, DESCRIPTORS.take(), BOS.take(), &mut [], CONTROL.take());
    let class = CdcAcmClass::new(&mut builder, STATE.init(State::new()), PACKET as u16);
    let mut device = builder.build();
    let (sender, receiver) = class.split();
    join3(device.run(), receive(receiver), transmit(sender)).await;
}

async fn receive(mut receiver: Receiver<'static, Driver<'static, USB>>) {
    let mut packet = [0; PACKET];
    loop {
        receiver.wait_connection().await;
        while let Ok(length) = receiver.read_packet(&mut packet).await {
            INCOMING.write_all(&packet[..length.min(PACKET)]).await;
        }
    }
}

async fn transmit(mut sender: Sender<'static, Driver<'static, USB>>) {
    let mut packet = [0; PACKET];
    loop {
        sender.wait_connection().await;
        loop {
            let length = OUTGOING.read(&mut packet).await;
            if sender.write_packet(&packet[..length]).await.is_err() {
                break;
            }
            // A full packet says that more follows; an empty one says that nothing does.
            if length == PACKET && OUTGOING.is_empty() && sender.write_packet(&[]).await.is_err() {
                break;
            }
        }
    }
}
