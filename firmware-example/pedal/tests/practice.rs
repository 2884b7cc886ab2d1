//! A whole practice with a simulated player, on this computer.

use evenhand_core::link::Store;
use evenhand_core::pack::Pack;
use evenhand_core::pack::ResultRecord;
use evenhand_core::practice::{Engine, Piece, Reason, Step};
use evenhand_core::session::Session;
use evenhand_core::units::{Instant, Tempo, Ticks};
use evenhand_core::verdict::Outcome;
use evenhand_pedal::board::{Board, BoardEvent};
use evenhand_pedal::contacts::Contacts;
use evenhand_pedal::log_board::LogBoard;
use evenhand_pedal::memory::{Identity, Memory};
use evenhand_pedal::observer::{Judgement, Observer};
use evenhand_pedal::ram_flash::RamFlash;
use evenhand_pedal::simulated_player::SimulatedPlayer;
use evenhand_pedal::study::BUILT_IN;
use evenhand_pedal::study::session_config;
use evenhand_pedal::{Pedal, Unit};

/// The beat of the built-in study.
const BEAT: Ticks = Ticks::new(Ticks::PER_QUARTER);

#[derive(Default)]
struct Seen {
    outcomes: Vec<(Piece, Outcome)>,
    tempi: Vec<(Piece, Tempo)>,
    reasons: Vec<(Piece, Reason)>,
    clicks: usize,
}

impl Observer for Seen {
    fn click(&mut self, _strong: bool, _at: Instant) {
        self.clicks += 1;
    }

    fn judged(&mut self, judgement: &Judgement<'_>) {
        self.outcomes.push((judgement.task.piece, judgement.verdict.outcome));
    }

    fn next(&mut self, step: &Step, _at: Instant) {
        self.tempi.extend(step.task.map(|task| (task.piece, task.tempo)));
        self.reasons.extend(step.task.map(|task| (task.piece, step.reason)));
    }
}

impl Board for Seen {
    fn wait(&mut self, _until: Option<Instant>) -> BoardEvent {
        BoardEvent::End
    }
}

/// Runs to the end. Gives the board back, and what is in the memory then.
fn practise<B: Board>(
    contacts: &Contacts,
    board: B,
    look: impl FnMut(&str, [char; 3]),
) -> (B, Vec<ResultRecord>) {
    practise_on(&mut vec![0xff; 64 * 4_096], contacts, board, look)
}

/// The same on this flash.
fn practise_on<B: Board>(
    bytes: &mut [u8],
    contacts: &Contacts,
    board: B,
    mut look: impl FnMut(&str, [char; 3]),
) -> (B, Vec<ResultRecord>) {
    let identity = Identity { board: "none", device: 1, chance: 1 };
    let memory = Memory::open(RamFlash::new(bytes), 32, identity);
    let mut practice: Engine<20> = Engine::new();
    let start = Instant::ZERO;
    let mut session = Box::new(Session::idle());
    let pedal = Pedal::new(&mut practice, &mut session, session_config(), &memory, start);
    let mut unit = Unit::new(pedal, contacts.panel(), memory);
    let mut player = Box::new(SimulatedPlayer::new(Pack::open(BUILT_IN).unwrap(), board, contacts));
    while unit.turn(&mut *player) {
        look(unit.view().0.name(), contacts.row());
    }
    assert_eq!(unit.lost(), 0);
    let memory = unit.into_memory();
    let results = memory.oldest()..memory.next();
    let results = results.map(|n| ResultRecord::decode(memory.result(n).unwrap()).unwrap().0);
    (player.into_board(), results.collect())
}

#[test]
fn two_chunks_and_their_join_are_practised_to_the_end() {
    let mut views = Vec::new();
    let contacts = Contacts::new();
    let (seen, results) = practise(&contacts, Seen::default(), |view, lamps| {
        if views.last().is_none_or(|(last, _)| last != view) {
            views.push((view.to_owned(), lamps));
        }
    });
    let of = |piece: fn(&Piece) -> bool, outcome| {
        seen.outcomes.iter().filter(|(p, o)| piece(p) && *o == outcome).count()
    };
    let join = |piece: &Piece| matches!(piece, Piece::Join { .. });
    assert_eq!(of(join, Outcome::Passed), 2, "{:?}", seen.outcomes);
    for chunk in [|p: &Piece| *p == Piece::Chunk(0), |p: &Piece| *p == Piece::Chunk(1)] {
        assert!(of(chunk, Outcome::Passed) >= 2, "{:?}", seen.outcomes);
    }
    // Faults are heard, and what was clean goes faster.
    assert!(seen.outcomes.iter().any(|(_, outcome)| *outcome == Outcome::NeedsWork));
    let first: Vec<Tempo> =
        seen.tempi.iter().filter(|(p, _)| *p == Piece::Chunk(0)).map(|(_, t)| *t).collect();
    assert!(first.iter().any(|tempo| first[0].is_slower_than(*tempo)), "{first:?}");
    // Each change of what is played is counted in by a bar.
    assert!(seen.clicks >= 12 && seen.clicks % 4 == 0, "{} clicks", seen.clicks);
    let lamps = |name: &str| views.iter().find(|(view, _)| view == name).map(|(_, lamps)| *lamps);
    assert_eq!(lamps("passed"), Some(['.', '.', '#']), "{views:?}");
    assert_eq!(lamps("needs work"), Some(['#', '.', '.']));
    assert_eq!(lamps("playing"), Some(['.', '#', '.']));
    for view in ["count-in", "about the notes", "about the time", "about the sound"] {
        assert!(lamps(view).is_some(), "{view}: {views:?}");
    }
    assert_eq!(views.last().unwrap().0, "choosing");
    // Every attempt is kept.
    let kept: Vec<_> = results.iter().map(|result| (result.piece, result.outcome)).collect();
    assert_eq!(kept, seen.outcomes);
}

#[test]
fn a_diary_of_it_is_the_same_every_time() {
    let write = || {
        let contacts = Contacts::new();
        let log_board = LogBoard::new(&contacts, String::new());
        practise(&contacts, log_board, |_, _| ()).0.out().clone()
    };
    let first = write();
    assert!(first.contains("attempt 1: passed"), "{first}");
    assert_eq!(first, write());
}

/// What is kept of the pickup: how many notes it rests on.
fn notes_learnt(bytes: &mut [u8]) -> Option<u32> {
    let identity = Identity { board: "none", device: 1, chance: 1 };
    let learnt = Memory::open(RamFlash::new(bytes), 32, identity).learnt()?;
    Some(learnt.all().map(|string| u32::from(string.notes)).sum())
}

#[test]
fn what_is_learnt_of_the_pickup_is_kept_at_the_end_and_gone_on_with() {
    let mut bytes = vec![0xff; 64 * 4_096];
    assert_eq!(notes_learnt(&mut bytes), None);
    let contacts = Contacts::new();
    let (seen, _) = practise_on(&mut bytes, &contacts, Seen::default(), |_, _| ());
    let first = notes_learnt(&mut bytes).expect("it was kept");
    assert!(first > 100, "{first}");
    // At rests and at the end, not with every attempt.
    let is_mark = |four: &&[u8]| **four == [0xf0, b'l', b'r', b'n'];
    let written = bytes.windows(4).filter(is_mark).count();
    assert!((1..=4).contains(&written), "{written} in {} attempts", seen.outcomes.len());
    assert!(seen.outcomes.len() > 8, "{:?}", seen.outcomes);
    let contacts = Contacts::new();
    practise_on(&mut bytes, &contacts, Seen::default(), |_, _| ());
    let second = notes_learnt(&mut bytes).expect("it was kept");
    assert!(second > first + 100, "{first}, then {second}");
}

#[test]
fn a_join_is_gone_on_with_in_the_next_sitting() {
    let join = Piece::Join { first: 0, seam: 0, last: 1 };
    let mut bytes = vec![0xff; 64 * 4_096];
    let mut sitting = || {
        let seen = practise_on(&mut bytes, &Contacts::new(), Seen::default(), |_, _| ()).0;
        let made = seen.reasons.iter().any(|(_, reason)| matches!(reason, Reason::Join { .. }));
        let tempi = seen.tempi.iter().filter(|(piece, _)| *piece == join).map(|(_, tempo)| *tempo);
        (made, tempi.collect::<Vec<_>>())
    };
    let (made, first) = sitting();
    assert!(made && !first.is_empty(), "{first:?}");
    let (made, second) = sitting();
    assert!(!made, "it was made in the first");
    // 92 % of 62 a minute, at which it was clean in the first: once asked for, and once asked for more.
    assert_eq!(second[0], Tempo::from_beats_per_minute(57, BEAT).unwrap(), "{first:?}, {second:?}");
}
