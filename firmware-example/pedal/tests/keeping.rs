//! When results are written, and what is said of those that could not be.

use evenhand_core::link::Store as _;
use evenhand_core::pack::Pack;
use evenhand_core::practice::{Engine, Step, Task};
use evenhand_core::session::Session;
use evenhand_core::study::Chunk;
use evenhand_core::units::{Instant, Offset};
use evenhand_pedal::board::{Board, BoardEvent};
use evenhand_pedal::contacts::Contacts;
use evenhand_pedal::memory::{Identity, Memory};
use evenhand_pedal::observer::{Judgement, Observer};
use evenhand_pedal::ram_flash::RamFlash;
use evenhand_pedal::simulated_player::SimulatedPlayer;
use evenhand_pedal::study::{BUILT_IN, session_config};
use evenhand_pedal::{Pedal, Unit};

const IDENTITY: Identity = Identity { board: "none", device: 1, chance: 1 };

/// A byte comes so often: a MIDI clock at 167 beats a minute, 24 to a beat.
const TICK: Offset = Offset::from_millis(15);

/// A result may wait so long: notes ring on after the last one.
const LATE: Offset = Offset::from_millis(500);

/// What is told is counted.
#[derive(Default)]
struct Counting {
    judged: u32,
}

impl Observer for Counting {
    fn judged(&mut self, _judgement: &Judgement<'_>) {
        self.judged += 1;
    }
}

impl Board for Counting {
    fn wait(&mut self, _until: Option<Instant>) -> BoardEvent {
        BoardEvent::End
    }
}

/// A player whose line has another byte again and again.
struct Ticking<'a> {
    player: Box<SimulatedPlayer<'a, Pack<'static>, Counting>>,
    byte: u8,
    next: Instant,
}

impl Observer for Ticking<'_> {
    fn click(&mut self, strong: bool, at: Instant) {
        self.player.click(strong, at);
    }
    fn judged(&mut self, judgement: &Judgement<'_>) {
        self.player.judged(judgement);
    }
    fn next(&mut self, step: &Step, at: Instant) {
        self.player.next(step, at);
    }
    fn show_task(&mut self, task: &Task, chunk: &Chunk<'_>) {
        self.player.show_task(task, chunk);
    }
}

impl Board for Ticking<'_> {
    fn wait(&mut self, until: Option<Instant>) -> BoardEvent {
        let tick = self.next;
        let came = self.player.wait(Some(until.map_or(tick, |until| until.min(tick))));
        match came {
            BoardEvent::Nothing { at } if at == tick => {
                self.next = tick.plus(TICK);
                BoardEvent::Midi { byte: self.byte, at }
            }
            came => came,
        }
    }
}

/// Practises to the end on this flash beside a byte that comes again and again. How many attempts were judged,
/// how many are kept, how many could not be, and the views.
fn practised(flash: RamFlash<'_>, byte: u8) -> (u32, u32, u32, Vec<&'static str>) {
    let memory = Memory::open(flash, 32, IDENTITY);
    let contacts = Contacts::new();
    let mut engine: Engine<20> = Engine::new();
    let mut session = Box::new(Session::idle());
    let pedal = Pedal::new(&mut engine, &mut session, session_config(), &memory, Instant::ZERO);
    let mut unit = Unit::new(pedal, contacts.panel(), memory);
    let music = Pack::open(BUILT_IN).unwrap();
    let player = Box::new(SimulatedPlayer::new(music, Counting::default(), &contacts));
    let mut board = Ticking { player, byte, next: Instant::ZERO };
    let mut views = Vec::new();
    let mut all_kept = Instant::ZERO;
    while unit.turn(&mut board) {
        views.push(unit.view().0.name());
        let judged = board.player.board().judged;
        if unit.memory().next() - 1 + unit.lost() == judged {
            all_kept = board.next;
        }
        assert!(board.next < all_kept.plus(LATE), "{judged} judged, and one waits");
    }
    views.dedup();
    let lost = unit.lost();
    assert_eq!(unit.memory().lost(), lost);
    let memory = unit.into_memory();
    (board.player.board().judged, memory.next() - 1, lost, views)
}

#[test]
fn a_clock_holds_no_result_up() {
    for byte in [0xf8, 0xfe] {
        let mut bytes = vec![0xff; 64 * 4_096];
        let (judged, kept, lost, views) = practised(RamFlash::new(&mut bytes), byte);
        assert!(judged > 8, "{judged}");
        assert_eq!((kept, lost), (judged, 0), "{byte:02x}");
        assert!(!views.contains(&"not kept"), "{views:?}");
    }
}

#[test]
fn what_could_not_be_kept_is_told() {
    let mut bytes = vec![0xff; 64 * 4_096];
    // It takes a few results, and then nothing any more.
    let (judged, kept, lost, views) = practised(RamFlash::new(&mut bytes).cut_after(200), 0xfe);
    assert!(kept > 0 && lost > 0, "{kept}, {lost}");
    assert_eq!(kept + lost, judged);
    assert!(views.contains(&"not kept"), "{views:?}");
}

/// Practises until something could not be kept, or to the end: how many attempts were judged by then, how many are
/// kept, and how many writes and erases there were.
fn until_something_is_lost(flash: RamFlash<'_>) -> (u32, u32, u32) {
    let memory = Memory::open(flash, 32, IDENTITY);
    let contacts = Contacts::new();
    let mut engine: Engine<20> = Engine::new();
    let mut session = Box::new(Session::idle());
    let pedal = Pedal::new(&mut engine, &mut session, session_config(), &memory, Instant::ZERO);
    let mut unit = Unit::new(pedal, contacts.panel(), memory);
    let music = Pack::open(BUILT_IN).unwrap();
    let mut player = Box::new(SimulatedPlayer::new(music, Counting::default(), &contacts));
    while unit.lost() == 0 && unit.turn(&mut *player) {}
    let memory = unit.into_memory();
    (player.board().judged, memory.next() - 1, memory.into_flash().operations())
}

/// The power goes in each write and each erase of a whole practice.
#[test]
fn a_cut_in_any_write_costs_the_result_that_is_being_kept_and_nothing_else() {
    // As after many sittings: nothing is erased.
    let fresh = || vec![0xff; 64 * 4_096];
    let (judged, kept, operations) = until_something_is_lost(RamFlash::new(&mut fresh()));
    assert_eq!(kept, judged);
    for cut in 1..=operations {
        let mut bytes = fresh();
        let flash = RamFlash::new(&mut bytes).cut_in(cut);
        let (judged, kept, _) = until_something_is_lost(flash);
        assert!(judged - kept <= 1, "cut in {cut}: {kept} of {judged}");
        let memory = Memory::open(RamFlash::new(&mut bytes), 32, IDENTITY);
        let there = (1..memory.next()).filter(|&number| memory.result(number).is_some());
        // The last half of a result may be nothing but filling: then it is there, too.
        let there = there.count() as u32;
        assert!((kept..=judged).contains(&there), "cut in {cut}: {there} of {judged}");
        assert_eq!(memory.next(), there + 1, "cut in {cut}");
    }
    println!("{operations} cuts in {judged} attempts");
    assert!(operations > 20 && judged > 8, "{operations}, {judged}");
}
