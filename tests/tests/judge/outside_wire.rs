//! The byte stream against two other readers of it: midly 0.5.3 (`MidiStream`), and a plain
//! expander of running status with wmidi 4.0.11 for whole messages.
//!
//! The core uses wmidi for whole messages too, so that side checks the core's own work (running
//! status, interruptions, broken messages); midly checks everything.

use evenhand_core::wire::Wire;
use evenhand_tests::heard::{Heard, by_midly, by_wmidi, from_wmidi};
use evenhand_tests::seeded::Seeded;
use evenhand_tests::stream::{Kind, make};
use wmidi::MidiMessage;

const STREAMS_OF_A_KIND: u64 = 500;

fn by_the_core(bytes: &[u8]) -> Vec<Heard> {
    let mut wire = Wire::new();
    let messages = bytes.iter().filter_map(|&byte| wire.push(byte));
    messages.filter_map(|message| from_wmidi(&message)).collect()
}

fn streams() -> impl Iterator<Item = (Kind, u64, Vec<u8>)> {
    Kind::ALL.into_iter().flat_map(|kind| {
        (0..STREAMS_OF_A_KIND).map(move |seed| (kind, seed, make(kind, &mut Seeded::new(seed))))
    })
}

#[test]
fn channel_messages_are_those_that_midly_hears() {
    let mut heard = 0;
    for (kind, seed, bytes) in streams() {
        let (ours, theirs) = (by_the_core(&bytes), by_midly(&bytes));
        assert_eq!(ours, theirs, "{kind:?}, seed {seed}: {bytes:02x?}");
        heard += ours.len();
    }
    assert!(heard > 100_000, "only {heard} messages were compared");
}

#[test]
fn channel_messages_are_those_of_the_plain_expander_with_wmidi() {
    for (kind, seed, bytes) in streams() {
        let (ours, theirs) = (by_the_core(&bytes), by_wmidi(&bytes));
        assert_eq!(ours, theirs, "{kind:?}, seed {seed}: {bytes:02x?}");
    }
}

/// Active sensing tells whether a cable is still there, so none may be lost or made up.
#[test]
fn each_active_sensing_byte_is_heard_once() {
    let (mut sent, mut heard) = (0, 0);
    for (_, _, bytes) in streams() {
        sent += bytes.iter().filter(|&&byte| byte == 0xfe).count();
        let mut wire = Wire::new();
        heard += bytes
            .iter()
            .filter_map(|&byte| wire.push(byte))
            .filter(|message| *message == MidiMessage::ActiveSensing)
            .count();
    }
    assert!(sent > 1_000, "only {sent} were sent");
    assert_eq!(heard, sent);
}
