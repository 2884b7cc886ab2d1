//! A foot switch without a computer: one press asks for the same once more, a long one says that it
//! hurts and practice is over. The lamp blinks while a chunk is counted in.
//!
//! Here the pins and the timer are made up; a board hands in its own, which implement the traits of
//! `embedded-hal`.
//!
//! `cargo run -p evenhand-core --example foot_switch --features embedded-hal`

// The judge itself never panics; an example may, where its own figures are wrong.
#![allow(clippy::expect_used, clippy::indexing_slicing)]

use embedded_hal::digital::{ErrorType, InputPin, OutputPin};
use evenhand_core::board::{FootSwitch, Lamp};
use evenhand_core::feet;
use evenhand_core::practice::{ChunkFacts, Due, Earlier, Engine, Pacing, Press, Rules};
use evenhand_core::{Chunk, ExpectedNote, Instant, Pitch, PracticeLevel, Tempo, Ticks};
use std::cell::Cell;
use std::convert::Infallible;

/// A pin of a made-up board: low while its switch is closed or its lamp is dark.
struct Pin<'a>(&'a Cell<bool>);

impl ErrorType for Pin<'_> {
    type Error = Infallible;
}

impl InputPin for Pin<'_> {
    fn is_high(&mut self) -> Result<bool, Infallible> {
        Ok(self.0.get())
    }

    fn is_low(&mut self) -> Result<bool, Infallible> {
        Ok(!self.0.get())
    }
}

impl OutputPin for Pin<'_> {
    fn set_low(&mut self) -> Result<(), Infallible> {
        self.0.set(false);
        Ok(())
    }

    fn set_high(&mut self) -> Result<(), Infallible> {
        self.0.set(true);
        Ok(())
    }
}

const BEAT: Ticks = Ticks::new(Ticks::PER_QUARTER);

fn main() {
    let mut engine: Engine<1> = Engine::new();
    let goal = Tempo::from_beats_per_minute(60, BEAT).expect("a tempo to play at");
    engine
        .add(ChunkFacts {
            goal,
            beat: BEAT,
            rules: Rules::of(PracticeLevel::First),
            fastest_clean: None,
            earlier: Earlier::Unknown,
            notes: 1,
            length: BEAT,
            splits: false,
            varies: false,
            joins_next: false,
            fingerings: 0,
        })
        .expect("there is room for it");
    let pitch = Pitch::new(64).expect("a MIDI number");
    let notes = [ExpectedNote::plain(Ticks::ZERO, BEAT, pitch)];

    let (contact, light) = (Cell::new(true), Cell::new(false));
    let mut switch = FootSwitch::new(Pin(&contact));
    let mut lamp = Lamp::new(Pin(&light));

    let mut said = Vec::new();
    let mut dark_at = Instant::ZERO;
    engine.begin(Pacing::LAMPS, true, Instant::ZERO);
    // A loop wakes every few milliseconds, or by a timer at the earliest `poll_at`.
    for millis in (0..30_000).step_by(5) {
        let now = Instant::from_micros(millis * 1_000);
        // Pressed for a fifth of a second while the bar is counted, and for long at the end.
        contact.set(!(3_000..3_200).contains(&millis) && millis < 20_000);
        match switch.poll(now).expect("the pin cannot fail") {
            Some(feet::Press::Short) => {
                engine.press(Press::Again, now);
                said.push("again");
            }
            Some(feet::Press::Long) => {
                engine.press(Press::Hurts, now);
                said.push("stop");
            }
            None => {}
        }
        let Some(task) = engine.task() else { break };
        let chunk = Chunk::new(&notes, task.tempo).expect("a chunk to play");
        while let Some(due) = engine.poll(now, &chunk, false) {
            match due {
                Due::CountIn(_) => said.push("count in"),
                Due::Beat { .. } => dark_at = Instant::from_micros(now.as_micros() + 50_000),
                Due::Play => said.push("play"),
            }
        }
        lamp.show(now < dark_at).expect("the pin cannot fail");
    }
    println!("{}", said.join(", "));
    assert_eq!(said, ["count in", "again", "count in", "play", "stop"]);
}

#[test]
fn it_runs() {
    main();
}
