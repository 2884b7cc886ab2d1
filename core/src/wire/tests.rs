use super::*;
extern crate std;
use std::vec::Vec;
use wmidi::{Channel, Note, U7};

fn messages(bytes: &[u8]) -> Vec<MidiMessage<'static>> {
    let mut wire = Wire::new();
    bytes.iter().filter_map(|&byte| wire.push(byte)).collect()
}

fn on(note: Note, velocity: u8) -> MidiMessage<'static> {
    MidiMessage::NoteOn(Channel::Ch1, note, U7::from_u8_lossy(velocity))
}

#[test]
fn running_status_carries_on() {
    assert_eq!(messages(&[0x90, 60, 1, 62, 2]), [on(Note::C4, 1), on(Note::D4, 2)]);
}

#[test]
fn velocity_zero_ends_a_note() {
    let heard = messages(&[0x90, 60, 0]);
    assert!(matches!(heard.as_slice(), [MidiMessage::NoteOff(Channel::Ch1, Note::C4, _)]));
}

#[test]
fn real_time_bytes_leave_everything_as_it_is() {
    let heard = messages(&[0x90, 0xf8, 60, 0xfe, 1, 0xfa, 62, 2]);
    let notes: Vec<_> =
        heard.iter().filter(|m| matches!(m, MidiMessage::NoteOn(..))).cloned().collect();
    assert_eq!(notes, [on(Note::C4, 1), on(Note::D4, 2)]);
    assert_eq!(heard.len(), 5);
}

#[test]
fn system_common_ends_running_status() {
    let heard = messages(&[0x90, 60, 1, 0xf3, 5, 62, 2]);
    assert_eq!(heard.len(), 2, "the note after song select has no status: {heard:?}");
    let heard = messages(&[0x90, 60, 1, 0xf6, 62, 2]);
    assert_eq!(heard, [on(Note::C4, 1), MidiMessage::TuneRequest]);
}

#[test]
fn sysex_is_passed_over_and_ends_at_any_status() {
    assert_eq!(messages(&[0xf0, 1, 2, 60, 3, 0xf7, 60, 1]), []);
    assert_eq!(messages(&[0xf0, 1, 2, 0x90, 60, 1]), [on(Note::C4, 1)]);
    // A clock inside SysEx is heard and does not end it.
    assert_eq!(messages(&[0xf0, 1, 0xf8, 2, 60, 0xf7]), [MidiMessage::TimingClock]);
}

#[test]
fn an_unfinished_message_is_dropped() {
    assert_eq!(messages(&[0x90, 60, 0x90, 62, 2]), [on(Note::D4, 2)]);
}

#[test]
fn bytes_without_a_status_are_counted() {
    let mut wire = Wire::new();
    assert!([1, 2, 3].iter().all(|&byte| wire.push(byte).is_none()));
    assert_eq!(wire.passed_over(), 3);
}
