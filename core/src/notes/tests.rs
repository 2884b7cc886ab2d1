extern crate std;
use super::*;
use crate::pickup::{Bends, Pickup};
use crate::units::{GuitarString, Pitch, Velocity};
use crate::wire::Wire;
use std::vec::Vec;

/// What a pickup's bytes mean.
fn heard(converter: &mut Converter, bytes: &[u8]) -> Vec<NoteEvent> {
    let mut wire = Wire::new();
    let messages = bytes.iter().filter_map(|&byte| wire.push(byte));
    messages.filter_map(|message| converter.hear(&message)).collect()
}

fn per_string(first: u8) -> Pickup {
    Pickup::UNKNOWN.on(Channels::PerString { first })
}

fn pitch(number: u8) -> Pitch {
    Pitch::new(number).unwrap()
}

fn begun(number: u8, velocity: u8, string: Option<u8>) -> NoteEvent {
    NoteEvent::Begun {
        pitch: pitch(number),
        velocity: Velocity::new(velocity).unwrap(),
        string: string.and_then(GuitarString::new),
    }
}

fn bent(from: u8, to: u8, string: Option<u8>) -> NoteEvent {
    NoteEvent::Bent {
        from: pitch(from),
        pitch: pitch(to),
        string: string.and_then(GuitarString::new),
    }
}

#[test]
fn a_note_on_another_channel_is_not_the_guitars() {
    let note = [0x90, 64, 90];
    assert_eq!(heard(&mut Converter::new(&per_string(10)), &note), []);
    assert_eq!(heard(&mut Converter::new(&per_string(0)), &note), [begun(64, 90, Some(1))]);
}

#[test]
fn velocity_zero_ends_a_note() {
    let mut converter = Converter::new(&Pickup::UNKNOWN.on(Channels::One));
    let ended = NoteEvent::Ended { pitch: pitch(64), string: None };
    assert_eq!(heard(&mut converter, &[0x90, 64, 0]), [ended]);
}

#[test]
fn all_notes_off_ends_all_of_its_string() {
    let string = GuitarString::new(2);
    let mut converter = Converter::new(&per_string(0));
    assert_eq!(heard(&mut converter, &[0xb1, 123, 0]), [NoteEvent::AllEnded { string }]);
    assert_eq!(heard(&mut converter, &[0xff]), [NoteEvent::AllEnded { string: None }]);
}

#[test]
fn a_slur_by_a_bend_is_an_onset_without_a_velocity() {
    let mut converter = Converter::new(&per_string(0));
    // Two semitones up in three steps, and back at once.
    let bytes = [0x91, 60, 80, 0xe1, 0, 70, 0xe1, 0, 90, 0xe1, 127, 127, 0xe1, 0, 64];
    let expected = [
        begun(60, 80, Some(2)),
        bent(60, 61, Some(2)),
        bent(61, 62, Some(2)),
        bent(62, 60, Some(2)),
    ];
    assert_eq!(heard(&mut converter, &bytes), expected);
}

#[test]
fn where_slurs_are_new_notes_bends_begin_nothing() {
    let pickup = Pickup { bends: Bends::OnlyColour, ..per_string(0) };
    let mut converter = Converter::new(&pickup);
    assert_eq!(heard(&mut converter, &[0x90, 64, 80, 0xe0, 127, 127]).len(), 1);
}

#[test]
fn the_bend_range_can_be_told_by_the_stream() {
    let mut converter = Converter::new(&per_string(0));
    let twelve = [0xb0, 101, 0, 100, 0, 6, 12, 38, 0];
    assert_eq!(heard(&mut converter, &twelve), []);
    let note = [0x90, 64, 80, 0xe0, 127, 127];
    assert_eq!(heard(&mut converter, &note)[1..], [bent(64, 76, Some(1))]);
    // Another channel has kept its own.
    let other = [0x91, 60, 80, 0xe1, 127, 127];
    assert_eq!(heard(&mut converter, &other)[1..], [bent(60, 62, Some(2))]);
}

#[test]
fn steps_of_data_entry_change_nothing() {
    let mut converter = Converter::new(&per_string(0));
    heard(&mut converter, &[0xb0, 101, 0, 100, 0, 96, 0, 96, 0, 97, 0]);
    let note = [0x90, 64, 80, 0xe0, 127, 127];
    assert_eq!(heard(&mut converter, &note)[1..], [bent(64, 66, Some(1))]);
}

#[test]
fn reset_controllers_lets_the_note_fall_back() {
    let mut converter = Converter::new(&per_string(0));
    let bytes = [0x90, 64, 80, 0xe0, 0, 96, 0xb0, 121, 0];
    let heard = heard(&mut converter, &bytes);
    assert_eq!(heard[1..], [bent(64, 65, Some(1)), bent(65, 64, Some(1))]);
}

/// MPE: a zone's members have a range of 48 semitones until something else is said.
#[test]
fn members_of_a_zone_bend_further() {
    let mut converter = Converter::new(&Pickup::UNKNOWN);
    heard(&mut converter, &[0xb0, 101, 0, 100, 6, 6, 15]);
    assert_eq!(converter.channels(), Channels::Zone);
    let semitone = 8_192_u16 + 8_192 / 48 + 1;
    let note = [0x94, 64, 80, 0xe4, (semitone & 127) as u8, (semitone >> 7) as u8];
    assert_eq!(heard(&mut converter, &note), [begun(64, 80, None), bent(64, 65, None)]);
    // One member's range is that of all.
    heard(&mut converter, &[0xb5, 101, 0, 100, 0, 6, 12]);
    let octave = [0x96, 40, 80, 0xe6, 127, 127];
    assert_eq!(heard(&mut converter, &octave)[1..], [bent(40, 52, None)]);
}

#[test]
fn six_members_are_strings_while_every_note_can_be_played_there() {
    let mut converter = Converter::new(&Pickup::UNKNOWN);
    heard(&mut converter, &[0xb0, 101, 0, 100, 6, 6, 6]);
    heard(&mut converter, &[0x91, 64, 80, 0x92, 60, 80, 0x93, 57, 80, 0x94, 52, 80]);
    assert_eq!(converter.channels(), Channels::PerString { first: 1 });
    // The low E on the channel of the high one: channels are handed out to notes.
    heard(&mut converter, &[0x91, 40, 80]);
    assert_eq!(converter.channels(), Channels::Zone);
}

#[test]
fn channels_are_found_and_no_note_is_lost() {
    let mut converter = Converter::new(&Pickup::UNKNOWN);
    let bytes = [0x9a, 64, 80, 0x9b, 60, 80, 0x9c, 57, 80, 0x9d, 52, 80, 0x9e, 47, 80];
    let expected = [
        begun(64, 80, None),
        begun(60, 80, None),
        begun(57, 80, None),
        begun(52, 80, Some(4)),
        begun(47, 80, Some(5)),
    ];
    assert_eq!(heard(&mut converter, &bytes), expected);
    assert_eq!(converter.channels(), Channels::PerString { first: 10 });
}
