//! An output that goes and comes back, without a sound card.

use super::click;
use crate::sound::device::{Device, Opened, Opener};
use crate::sound::upkeep::Upkeep;
use crate::sound::{ClickTrack, Passage, Sound, SoundChange, SoundProblem, SoundRequest};
use evenhand_core::units::Instant;
use evenhand_core::verdict::Outcome;
use std::sync::{Arc, Mutex, MutexGuard};

/// What becomes of the output, as a test decides, and what it was told.
#[derive(Default)]
struct World {
    pulled: bool,
    /// What opening comes to; none as long as it is under way.
    opens: Option<Result<(), SoundProblem>>,
    tries: u32,
    parted: u32,
    started: Vec<(ClickTrack, Instant)>,
}

#[derive(Clone, Default)]
struct Shared(Arc<Mutex<World>>);

impl Shared {
    fn now(&self) -> MutexGuard<'_, World> {
        self.0.lock().unwrap()
    }
}

struct Fake(Shared);

impl Device for Fake {
    fn name(&self) -> &str {
        "headphones"
    }

    fn start(&mut self, click: ClickTrack, at: Instant) -> Instant {
        self.0.now().started.push((click, at));
        at
    }

    fn stop(&mut self) {}

    fn play(&mut self, _passage: &Passage, at: Instant) -> Instant {
        at
    }

    fn hush(&mut self) {}

    fn cue(&mut self, _outcome: Outcome) {}

    fn trouble(&mut self) -> Option<SoundProblem> {
        self.0.now().pulled.then_some(SoundProblem::Lost)
    }
}

impl Opener for Shared {
    fn begin(&mut self) {
        self.now().tries += 1;
    }

    fn done(&mut self) -> Option<Opened> {
        let opened = self.now().opens.clone()?;
        Some(opened.map(|()| -> Box<dyn Device> { Box::new(Fake(self.clone())) }))
    }

    fn part(&mut self, _gone: Box<dyn Device>) {
        self.now().parted += 1;
    }
}

fn at(millis: u64) -> Instant {
    Instant::from_micros(millis * 1_000)
}

#[test]
fn an_output_that_went_is_told_once_and_opened_when_it_is_back() {
    let world = Shared::default();
    let mut upkeep = Upkeep::of(Box::new(world.clone()), Ok(Box::new(Fake(world.clone()))), at(0));
    assert_eq!(upkeep.look(at(100)), None);
    assert!(upkeep.device().is_some() && upkeep.missing().is_none());
    world.now().pulled = true;
    assert_eq!(upkeep.look(at(200)), Some(SoundChange::Lost(SoundProblem::Lost)));
    assert!(upkeep.device().is_none());
    assert_eq!((upkeep.missing(), world.now().parted), (Some(&SoundProblem::Lost), 1));
    // It is told once, and not tried at once.
    for millis in [300, 1_000, 1_699] {
        assert_eq!((upkeep.look(at(millis)), world.now().tries), (None, 0));
    }
    // One try at a time, however long it takes.
    for millis in [1_700, 1_900, 60_000] {
        assert_eq!((upkeep.look(at(millis)), world.now().tries), (None, 1));
    }
    // It is not back yet, which is not told again; another try comes after another wait.
    world.now().opens = Some(Err(SoundProblem::NoOutput));
    assert_eq!(upkeep.look(at(60_100)), None);
    assert_eq!(upkeep.missing(), Some(&SoundProblem::Lost));
    world.now().opens = None;
    assert_eq!((upkeep.look(at(61_500)), world.now().tries), (None, 1));
    assert_eq!((upkeep.look(at(61_600)), world.now().tries), (None, 2));
    (world.now().pulled, world.now().opens) = (false, Some(Ok(())));
    assert_eq!(upkeep.look(at(61_800)), Some(SoundChange::Back("headphones".to_owned())));
    assert!(upkeep.device().is_some() && upkeep.missing().is_none());
    assert_eq!(upkeep.look(at(62_000)), None);
}

#[test]
fn one_that_was_never_there_is_taken_when_it_comes() {
    let world = Shared::default();
    let mut upkeep = Upkeep::of(Box::new(world.clone()), Err(SoundProblem::NoOutput), at(0));
    assert_eq!(upkeep.missing(), Some(&SoundProblem::NoOutput));
    world.now().opens = Some(Ok(()));
    assert_eq!(upkeep.look(at(1_400)), None);
    assert_eq!(upkeep.look(at(1_500)), None);
    assert_eq!(upkeep.look(at(1_700)), Some(SoundChange::Back("headphones".to_owned())));
}

#[test]
fn what_cannot_be_in_this_build_is_not_tried() {
    for problem in [SoundProblem::AudioNotBuilt, SoundProblem::MidiNotBuilt] {
        let world = Shared::default();
        let mut upkeep = Upkeep::of(Box::new(world.clone()), Err(problem.clone()), at(0));
        assert_eq!((upkeep.look(at(60_000)), world.now().tries), (None, 0));
        assert_eq!(upkeep.missing(), Some(&problem));
    }
}

/// A sitting whose clock began a minute ago.
fn sitting(world: &Shared) -> Sound {
    let minute = std::time::Duration::from_secs(60);
    let clock = std::time::Instant::now().checked_sub(minute).expect("a machine is up a minute");
    Sound::of(&SoundRequest::default(), clock, world.clone(), Ok(Box::new(Fake(world.clone()))))
}

#[test]
fn beats_go_on_while_it_is_away_and_are_taken_up_on_the_first_of_a_bar() {
    let world = Shared::default();
    let mut sound = sitting(&world);
    let click = click(120, (3, 4), 1);
    // The click began ten seconds ago: beats are half a second, bars one and a half.
    let begun = sound.start(click, Instant::from_micros(50_000_000));
    let beat = |sound: &Sound, number| sound.heard_at(number).expect("it goes on").as_micros();
    world.now().pulled = true;
    assert!(matches!(sound.change(), Some(SoundChange::Lost(_))));
    assert!(sound.is_silent() && sound.change().is_none());
    assert_eq!(beat(&sound, 7), begun.as_micros() + 3_500_000);
    (world.now().pulled, world.now().opens) = (false, Some(Ok(())));
    let patience = std::time::Instant::now();
    let back = loop {
        if let Some(change) = sound.change() {
            break change;
        }
        assert!(patience.elapsed().as_secs() < 20, "it is not opened again");
        std::thread::sleep(std::time::Duration::from_millis(50));
    };
    assert_eq!(back, SoundChange::Back("headphones".to_owned()));
    let (rest, at) = world.now().started[1];
    let passed = at.as_micros() - begun.as_micros();
    assert_eq!(passed % 1_500_000, 0, "on the first of a bar");
    assert!(rest.beat(0).is_strong() && rest.count_in() == 0);
    // What was said of later beats holds.
    assert_eq!(beat(&sound, 40), begun.as_micros() + 20_000_000);
    sound.stop();
    assert_eq!(sound.heard_at(0), None);
}
