//! What goes wrong: the power, the processor.

use crate::emulated::TYPICAL;
use crate::pedal::{LEFT, Pedal, RIGHT};
use serde_json::json;

#[test]
fn both_switches_at_power_on_ask_for_another_firmware() {
    let pressed = json!({"pressed": [LEFT, RIGHT]});
    let mut pedal = Pedal::with(TYPICAL, &pressed);
    pedal.run(3.0);
    println!("trouble: with both switches down at power-on: {:?}", pedal.chip.stopped());
    assert_eq!(pedal.chip.stopped(), Some("usb-boot"));
}

#[test]
fn a_processor_that_breaks_down_is_silent_and_begins_anew() {
    let mut pedal = Pedal::new(TYPICAL);
    pedal.run(0.5);
    pedal.begin(0);
    while pedal.clicks(0.0).is_empty() {
        pedal.run(0.005);
    }
    let broke = pedal.now();
    pedal.chip.break_down();
    pedal.run(12.0);
    let sounds = pedal.deeds.iter().rev().find_map(|(at, deed)| match deed {
        crate::emulated::Deed::Sounder(on) => Some((*at, *on)),
        _ => None,
    });
    println!(
        "trouble: after a fault the sounder {sounds:?} from {broke}, stopped {:?}",
        pedal.chip.stopped()
    );
    assert!(sounds.is_some_and(|(at, on)| !on && at - broke < 20_000.0), "{sounds:?}");
    assert_eq!(pedal.chip.stopped(), Some("watchdog"));
    pedal.chip.restart();
    pedal.deeds.clear();
    pedal.run(1.0);
    let (said, code) = pedal.ask(&["list"]);
    println!("{said}");
    assert_eq!(code, 0, "{said}");
}

#[test]
fn pedals_are_told_apart() {
    let serial = |number: [u8; 8]| {
        let mut pedal = Pedal::with(TYPICAL, &json!({"number": number}));
        pedal.run(1.0);
        pedal.chip.serial()
    };
    let (one, other) = (serial([1; 8]), serial([2; 8]));
    println!("trouble: serial numbers {one:?} and {other:?}");
    assert!(one.is_some() && one != other, "{one:?}, {other:?}");
}
