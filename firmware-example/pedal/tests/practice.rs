//! A whole practice with a simulated player, on this computer.

use evenhand_core::next_step::{Piece, Practice, Step};
use evenhand_core::pickup::{Channels, Pickup};
use evenhand_core::session::{Hearing, Session};
use evenhand_core::units::{Instant, Tempo};
use evenhand_core::verdict::Outcome;
use evenhand_pedal::Pedal;
use evenhand_pedal::contacts::Contacts;
use evenhand_pedal::desk::{Desk, NO_NOTES};
use evenhand_pedal::diary::Diary;
use evenhand_pedal::floor::turn;
use evenhand_pedal::performer::Performer;
use evenhand_pedal::room::{Judgement, Room};
use evenhand_pedal::study::BuiltIn;

fn hearing() -> Hearing {
    let pickup = Pickup::UNKNOWN.on(Channels::PerString { first: 0 });
    Hearing { pickup, ..Hearing::default() }
}

fn desk() -> Desk {
    let session = Box::leak(Box::new(Session::idle()));
    let notes = Box::leak(Box::new(NO_NOTES));
    Desk::new(session, notes)
}

#[derive(Default)]
struct Seen {
    outcomes: Vec<(Piece, Outcome)>,
    tempi: Vec<(Piece, Tempo)>,
    clicks: usize,
}

impl Room for Seen {
    fn click(&mut self, _strong: bool, _at: Instant) {
        self.clicks += 1;
    }
    fn judged(&mut self, judgement: &Judgement<'_>) {
        self.outcomes.push((judgement.task.piece, judgement.verdict.outcome));
    }
    fn next(&mut self, step: &Step, _at: Instant) {
        self.tempi.extend(step.task.map(|task| (task.piece, task.tempo)));
    }
}

/// Runs to the end; gives the room back, and the views with the lamps at their beginning.
fn practise<R: Room>(room: R, mut look: impl FnMut(Instant, &str, [char; 3], &mut R)) -> R {
    let contacts = Contacts::new();
    let mut practice: Practice<20> = Practice::new();
    let mut pedal = Pedal::new(BuiltIn::new(), &mut practice, desk(), hearing(), Instant::ZERO);
    let mut panel = contacts.panel();
    let mut performer = Box::new(Performer::new(BuiltIn::new(), room, &contacts));
    let mut now = Instant::ZERO;
    while turn(&mut pedal, &mut panel, &mut *performer, &mut now) {
        let view = pedal.view().0;
        look(now, view.name(), contacts.row(), performer.room());
    }
    performer.into_room()
}

#[test]
fn two_chunks_and_their_join_are_practised_to_the_end() {
    let mut views = Vec::new();
    let seen = practise(Seen::default(), |_, view, lamps, _| {
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
}

#[test]
fn a_diary_of_it_is_the_same_every_time() {
    let write = || {
        let mut diary = practise(Diary::new(String::new()), |_, _, _, _| ());
        diary.out().clone()
    };
    let first = write();
    assert!(first.contains("attempt 1: passed"), "{first}");
    assert_eq!(first, write());
}
