//! Several studies: chosen with the feet, and remembered.

mod common;

use common::{FOR_RESULTS, IDENTITY, SIZE, keep, open, pack, put_in};
use evenhand_core::link::Store;
use evenhand_core::pack::Pack;
use evenhand_core::practice::Engine;
use evenhand_core::session::Session;
use evenhand_core::units::Instant;
use evenhand_pedal::board::{Board, BoardEvent};
use evenhand_pedal::contacts::Contacts;
use evenhand_pedal::lights::View;
use evenhand_pedal::memory::Memory;
use evenhand_pedal::music::Music;
use evenhand_pedal::observer::Observer;
use evenhand_pedal::ram_flash::RamFlash;
use evenhand_pedal::study::session_config;
use evenhand_pedal::{Pedal, Unit};
use std::collections::VecDeque;

fn load(memory: &mut Memory<RamFlash<'_>>, study: u64, title: &str) {
    assert!(put_in(memory, &pack(study, title, 1)));
}

fn remove(memory: &mut Memory<RamFlash<'_>>, study: u64) {
    let at = |index| Pack::open(memory.pack(index).unwrap()).unwrap().study() == study;
    let index = (0..memory.packs()).find(|index| at(*index)).unwrap();
    memory.remove(index).unwrap();
}

/// Feet on switches, and what a board is told.
struct Controls<'a> {
    contacts: &'a Contacts,
    acts: VecDeque<(u64, usize, bool)>,
    last: u64,
    titles: Vec<String>,
}

impl Controls<'_> {
    /// A step that is short, or a hold.
    fn step(&mut self, switch: usize, hold: bool) {
        let lasts = if hold { 900_000 } else { 100_000 };
        self.acts.push_back((self.last + 100_000, switch, true));
        self.acts.push_back((self.last + 100_000 + lasts, switch, false));
        self.last += 200_000 + lasts;
    }
}

impl Observer for Controls<'_> {}

impl Board for Controls<'_> {
    fn wait(&mut self, until: Option<Instant>) -> BoardEvent {
        let Some(&(at, switch, down)) = self.acts.front() else {
            // What a contact says settles.
            let last = Instant::from_micros(self.last);
            return until
                .filter(|at| *at <= last)
                .map_or(BoardEvent::End, |at| BoardEvent::Nothing { at });
        };
        let at = Instant::from_micros(at);
        if let Some(until) = until.filter(|until| *until < at) {
            return BoardEvent::Nothing { at: until };
        }
        self.acts.pop_front();
        self.contacts.switches[switch].set(down);
        BoardEvent::Nothing { at }
    }

    fn study(&mut self, study: u8, of: u8, title: &str) {
        self.titles.push(format!("{} of {of}: {title}", study + 1));
    }
}

const LEFT: usize = 0;
const RIGHT: usize = 1;
const SHORT: bool = false;
const HOLD: bool = true;

/// Does all that, and gives the views there were, the titles that were told, and the study then.
fn step(bytes: &mut [u8], steps: &[(usize, bool)]) -> (Vec<View>, Vec<String>, String) {
    let contacts = Contacts::new();
    let memory = open(bytes);
    let mut practice: Engine<20> = Engine::new();
    let session = &mut Session::idle();
    let pedal = Pedal::new(&mut practice, session, session_config(), &memory, Instant::ZERO);
    let mut unit = Unit::new(pedal, contacts.panel(), memory);
    let mut feet =
        Controls { contacts: &contacts, acts: VecDeque::new(), last: 0, titles: Vec::new() };
    for (switch, hold) in steps {
        feet.step(*switch, *hold);
    }
    let mut views = Vec::new();
    while unit.turn(&mut feet) {
        let view = unit.view().0;
        if views.last() != Some(&view) {
            views.push(view);
        }
        if matches!(view, View::Studies(_)) {
            let [left, _, right] = contacts.row();
            assert_eq!((left, right), ('#', '.'));
        }
    }
    let memory = unit.into_memory();
    (views, feet.titles, memory.title(memory.study()).to_owned())
}

fn three_studies() -> Vec<u8> {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    for (study, title) in [(11, "First"), (12, "Second"), (13, "Third")] {
        load(&mut memory, study, title);
    }
    bytes
}

/// The title of what is practised after the power comes.
fn practised(bytes: &mut [u8]) -> String {
    let memory = open(bytes);
    memory.title(memory.study()).to_owned()
}

#[test]
fn a_study_is_chosen_with_the_feet_and_remembered() {
    let mut bytes = three_studies();
    assert_eq!(practised(&mut bytes), "Third", "the last that came in");
    let feet = [(LEFT, HOLD), (RIGHT, SHORT), (RIGHT, SHORT), (RIGHT, HOLD)];
    let (views, titles, study) = step(&mut bytes, &feet);
    let wanted = [
        View::Choosing(0),
        View::Studies(2),
        View::Studies(0),
        View::Studies(1),
        View::Choosing(0),
    ];
    assert_eq!(views, wanted);
    assert_eq!(titles, ["3 of 3: Third", "1 of 3: First", "2 of 3: Second"]);
    assert_eq!(study, "Second");
    assert_eq!(practised(&mut bytes), "Second");
    // Left goes the other way round, and what was chosen is practised with a hold on the right.
    let feet = [(LEFT, HOLD), (LEFT, SHORT), (LEFT, SHORT), (LEFT, HOLD), (RIGHT, HOLD)];
    let (views, _, study) = step(&mut bytes, &feet);
    let passed = [View::Studies(1), View::Studies(0), View::Studies(2), View::Choosing(0)];
    assert_eq!(views[1..5], passed);
    assert!(matches!(views[5], View::Ready(_)), "{views:?}");
    assert_eq!(study, "Third");
}

#[test]
fn with_one_study_both_switches_begin() {
    let mut bytes = vec![0xff; SIZE];
    for study in ["Built-in study", "Only"] {
        for switch in [LEFT, RIGHT] {
            let (views, titles, _) = step(&mut bytes, &[(switch, HOLD)]);
            assert!(matches!(views[1], View::Ready(_)), "{views:?}");
            assert_eq!(titles, [format!("1 of 1: {study}")]);
        }
        if study != "Only" {
            load(&mut open(&mut bytes), 11, "Only");
        }
    }
}

#[test]
fn a_study_that_comes_later_is_practised_and_one_that_goes_is_not() {
    let mut bytes = three_studies();
    open(&mut bytes).choose_study(0).unwrap();
    assert_eq!(practised(&mut bytes), "First");
    // What others there are does not matter.
    remove(&mut open(&mut bytes), 13);
    assert_eq!(practised(&mut bytes), "First");
    load(&mut open(&mut bytes), 14, "Fourth");
    assert_eq!(practised(&mut bytes), "Fourth");
    open(&mut bytes).choose_study(0).unwrap();
    remove(&mut open(&mut bytes), 11);
    assert_eq!(practised(&mut bytes), "Fourth", "the last that came in");
    open(&mut bytes).choose_study(9).unwrap();
    assert_eq!(practised(&mut bytes), "Fourth", "there is no such study");
}

#[test]
fn a_choice_outlives_every_result() {
    let mut bytes = three_studies();
    let mut memory = open(&mut bytes);
    memory.choose_study(1).unwrap();
    for _ in 0..2_000 {
        assert!(keep(&mut memory));
    }
    let last = memory.next();
    let memory = open(&mut bytes);
    assert_eq!(memory.title(memory.study()), "Second");
    assert_eq!(memory.next(), last);
}

#[test]
fn a_cut_leaves_one_of_both_and_no_result_is_lost() {
    // As many results before it as bring the end of a sector near.
    for before in [0, 3].into_iter().chain(45..85) {
        let mut old = three_studies();
        let mut memory = open(&mut old);
        memory.choose_study(0).unwrap();
        for _ in 0..before {
            assert!(keep(&mut memory));
        }
        let next = memory.next();
        let (mut chosen, mut steps) = (Vec::new(), 0);
        loop {
            let mut bytes = old.clone();
            let flash = RamFlash::new(&mut bytes).cut_after(steps);
            let done = Memory::open(flash, FOR_RESULTS, IDENTITY).choose_study(1).is_ok();
            let mut memory = open(&mut bytes);
            assert_eq!(memory.next(), next, "{before} results, cut after {steps} steps");
            chosen.push(memory.title(memory.study()).to_owned());
            assert!(keep(&mut memory), "writing goes on");
            assert_eq!(Some(&practised(&mut bytes)), chosen.last());
            if done {
                break;
            }
            steps += 1;
        }
        assert!(chosen.iter().all(|title| title == "First" || title == "Second"), "{chosen:?}");
        assert_eq!(chosen.first().map(String::as_str), Some("First"));
        assert_eq!(chosen.last().map(String::as_str), Some("Second"));
    }
}
