//! A line that breaks in the middle of an attempt.

use evenhand::listening::{Finished, Listener};
use evenhand::smf::Timed;
use evenhand::study::{Prepared, parse};
use evenhand_core::pickup::{Channels, Pickup};
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::units::{Instant, Tempo};
use evenhand_tests::live::{SMALL, eight_steps};

fn chunks() -> Vec<Prepared> {
    let mut chunks = parse(SMALL).and_then(|study| study.prepare()).unwrap();
    for chunk in &mut chunks {
        chunk.tempo = Tempo::from_beats_per_minute(120, chunk.metre.beat()).unwrap();
    }
    chunks
}

fn listener(chunks: &[Prepared]) -> Listener<'_> {
    let pickup = Pickup { channels: Channels::PerString { first: 0 }, ..Pickup::UNKNOWN };
    Listener::new(chunks, SessionConfig { pickup, click: None, ends: Ends::ByItself })
}

/// Plays messages from `start` on, and waits until nothing is under way.
fn play<'a>(listener: &mut Listener<'a>, start: u64, messages: &[Timed]) -> Vec<Finished<'a>> {
    let mut finished = Vec::new();
    for message in messages {
        let at = Instant::from_micros(start + message.at.as_micros());
        finished.extend(listener.poll(at));
        listener.feed(&message.bytes, at, message.begins.is_some());
    }
    finished
}

fn wait<'a>(listener: &mut Listener<'a>) -> Vec<Finished<'a>> {
    let mut finished = Vec::new();
    while let Some(at) = listener.poll_at() {
        finished.extend(listener.poll(at));
    }
    finished
}

#[test]
fn what_was_under_way_is_not_judged_and_what_comes_after_is() {
    let chunks = chunks();
    let whole = eight_steps();
    let mut listener = listener(&chunks);
    // Enough of it that silence alone would make it an attempt that broke off.
    assert!(play(&mut listener, 0, &whole[..11]).is_empty());
    assert!(listener.interrupt());
    assert!(!listener.interrupt(), "nothing is under way any more");
    assert_eq!(listener.poll_at(), None);
    assert!(wait(&mut listener).is_empty());
    let mut finished = play(&mut listener, 20_000_000, &whole);
    finished.extend(wait(&mut listener));
    let [attempt] = finished.try_into().expect("one attempt");
    assert_eq!(attempt.material(|material| material.right_notes().count()), 8);
    assert_eq!(attempt.false_starts, 0);
    assert_eq!(attempt.arrival(0), Some(6), "numbers go on");
}

#[test]
fn without_the_interruption_it_would_have_been_judged() {
    let chunks = chunks();
    let mut listener = listener(&chunks);
    assert!(play(&mut listener, 0, &eight_steps()[..11]).is_empty());
    assert_eq!(wait(&mut listener).len(), 1);
}

#[test]
fn an_attempt_that_was_over_is_still_judged() {
    let chunks = chunks();
    let mut listener = listener(&chunks);
    // The verdict is due before the last note is let go.
    let mut finished = play(&mut listener, 0, &eight_steps()[..15]);
    let due = listener.poll_at().expect("the last note has just come");
    finished.extend(listener.poll(due));
    assert!(!listener.interrupt());
    finished.extend(listener.poll(due));
    assert_eq!(finished.len(), 1);
}

#[test]
fn a_message_that_was_cut_takes_nothing_from_the_next() {
    let chunks = chunks();
    let mut listener = listener(&chunks);
    listener.feed(&[0x95, 43], Instant::ZERO, false);
    listener.interrupt();
    // The end of a message whose beginning nobody has seen is no note.
    listener.feed(&[80, 45, 80], Instant::from_micros(1_000), false);
    let mut finished = play(&mut listener, 5_000_000, &eight_steps());
    finished.extend(wait(&mut listener));
    let [attempt] = finished.try_into().expect("one attempt");
    assert_eq!(attempt.played.len(), 8);
    assert_eq!(attempt.arrival(0), Some(0));
}
