//! The pages of a practice as somebody sees them, as pictures in `tests/pages`.
//!
//! EVENHAND_BLESS=1 writes them anew; look at them before they are kept.

mod frame;
mod player;

use evenhand_core::feet::Gesture::{Both, BothHeld, Left, Right};
use evenhand_core::feet::Steps::{Held, Once, Twice};
use evenhand_core::player::Fault;
use evenhand_core::units::{Level, Offset};
use evenhand_pedal::display::{COLUMNS, Page, PageWriter};
use evenhand_pedal::lights::View;
use frame::Frame;
use player::Player;
use std::path::Path;

const ALL: usize = usize::MAX;
const LATE: Fault = Fault::Hesitation { note: 4, lost: Offset::from_millis(400) };

/// Compares a page with its picture.
fn check(name: &str, page: &Page) {
    let mut frame = Frame::new();
    page.draw(None, &mut frame).expect("memory does not fail");
    assert_eq!(frame.beside, 0, "{name}: {page:?}");
    let picture = frame.picture();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/pages/{name}.txt"));
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        std::fs::write(&path, picture).expect("the folder can be written");
        return;
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(kept == picture, "{} has changed; now it is\n{picture}", path.display());
}

fn ready() -> Player {
    let mut player = Player::new();
    player.does(Right(Held));
    player.waits(6_000);
    player
}

#[test]
fn choosing_counting_and_listening() {
    let mut player = Player::new();
    check("choosing", &player.page());
    player.does(Right(Held));
    check("count-in-1", &player.waits(1_500));
    check("count-in-4", &player.waits(3_333));
    check("listening", &player.waits(2_000));
    check("tempo", &player.does(Right(Held)));
}

#[test]
fn verdicts_stay_until_something_else_is_played() {
    let mut player = ready();
    let passed = player.plays(&[], ALL);
    check("passed", &passed);
    player.sees();
    player.waits(6_000);
    check("needs-work-time", &player.plays(&[LATE], ALL));
    check("count-in-slower", &player.sees());
    player.waits(6_000);
    let loud = Fault::Loud { note: 3, by: Level::from_hundredths(-1_400) };
    check("needs-work-loudness", &player.plays(&[loud], ALL));
    player.sees();
    player.waits(6_000);
    check("needs-work-notes", &player.plays(&[Fault::Missing(5), Fault::Missing(6)], ALL));
    player.sees();
    player.waits(6_000);
    let passed = player.plays(&[], ALL);
    assert_eq!(player.sees(), passed, "the same again: the click goes on");
}

#[test]
fn a_pickup_that_is_heard_poorly_is_told_and_no_verdict_is_hidden_by_it() {
    let mut player = ready();
    assert!(matches!(player.view(), View::Ready(_)), "{:?}", player.view());
    player.hears_noise(40);
    player.waits(5_000);
    assert!(matches!(player.view(), View::HeardPoorly(_)), "{:?}", player.view());
    check("heard-poorly", &player.page());
    // A verdict is shown as ever, and stays on the page.
    let judged = player.plays(&[], ALL);
    assert!(matches!(player.view(), View::Verdict(_)), "{:?}", player.view());
    assert_ne!(judged.word, "Poor signal".into());
    let seen = player.sees();
    if matches!(player.view(), View::HeardPoorly(_)) {
        assert_eq!(seen.word, judged.word);
    }
    // In the end it is heard well again.
    for _ in 0..8 {
        player.plays(&[], ALL);
        player.sees();
        player.waits(6_000);
    }
    assert!(!matches!(player.view(), View::HeardPoorly(_)), "{:?}", player.view());
}

#[test]
fn what_was_misheard_is_taken_back_and_asked_for_again() {
    let mut player = ready();
    let asked = player.page().top;
    assert_eq!(player.does(Both).word, player.page().word, "nothing to take back");
    assert!(!matches!(player.view(), View::TakenBack));
    player.plays(&[LATE], ALL);
    check("taken-back", &player.does(Both));
    assert_eq!((player.view(), player.page().top), (View::TakenBack, asked.clone()));
    // It is counted in anew, at the tempo before; and what is said twice does nothing.
    assert_eq!(player.does(Both).word, player.page().word);
    player.waits(6_000);
    assert_eq!(player.page().top, asked);
    // It is as it was without it: nothing has failed yet.
    assert_eq!(player.plays(&[], ALL).low[0].as_str(), "clean: on by a leap");
    player.does(Both);
    assert!(!matches!(player.view(), View::TakenBack), "a pass is left as it is");
}

#[test]
fn unclear_says_what_would_settle_it() {
    let mut player = ready();
    let unclear = player.plays(&[], 5);
    check("unclear", &unclear);
    // It is heard again: nothing on the page moves until the next verdict.
    player.sees();
    let pages = player.pages.len();
    player.plays(&[], ALL);
    assert_eq!(player.pages.len(), pages + 1, "{:?}", &player.pages[pages - 1..]);
}

#[test]
fn a_rest_is_told() {
    let mut player = ready();
    for attempt in 0..600 {
        // Clean once and not clean once, which comes to no end.
        player.plays(&[LATE][attempt % 2..], ALL);
        player.sees();
        if player.view() == View::Rest {
            return check("rest", &player.page());
        }
        if matches!(player.view(), View::CountIn { .. }) {
            player.waits(6_000);
        }
    }
    panic!("no rest in 600 attempts");
}

#[test]
fn an_offer_says_what_each_switch_takes() {
    let mut player = ready();
    for attempt in 0..200 {
        // Each time at another place, so that none of them is the hard one.
        let note = 2 + attempt % 4;
        player.plays(&[Fault::Hesitation { note, lost: Offset::from_millis(400) }], ALL);
        player.sees();
        if player.view() == View::Offer {
            check("offer", &player.page());
            return check("burst", &player.does(Right(Twice)));
        }
        if matches!(player.view(), View::CountIn { .. }) {
            player.waits(9_000);
        }
    }
    panic!("no offer in 200 attempts");
}

#[test]
fn it_hurts() {
    let mut player = ready();
    check("hurts", &player.does(BothHeld));
    player.does(Left(Once));
    check("hurts", &player.page());
}

#[test]
fn what_is_always_the_same() {
    for (name, view) in [
        ("at-the-goal", View::AtGoal),
        ("link", View::Link),
        ("no-study", View::NoStudy),
        ("not-kept", View::NotKept),
        ("begun-anew", View::BegunAnew),
        ("fault", View::Fault),
    ] {
        let mut page_writer = PageWriter::new();
        assert!(page_writer.look(view));
        assert!(!page_writer.look(view), "nothing has happened");
        check(name, page_writer.page());
    }
}

#[test]
fn with_several_studies_the_page_says_which() {
    let mut page_writer = PageWriter::new();
    page_writer.study(1, 3, "\u{dc}bungen f\u{fc}r die linke Hand");
    assert!(page_writer.look(View::Studies(1)));
    check("choosing-a-study", page_writer.page());
    assert!(page_writer.look(View::Choosing(11)));
    check("choosing-with-studies", page_writer.page());
}

#[test]
fn a_page_over_another_is_the_same_as_on_an_empty_display() {
    let mut player = ready();
    player.plays(&[], ALL);
    player.plays(&[Fault::Missing(5)], ALL);
    player.does(BothHeld);
    let mut frame = Frame::new();
    let mut before: Option<&Page> = None;
    for page in &player.pages {
        frame.written = 0;
        page.draw(before, &mut frame).unwrap();
        let mut anew = Frame::new();
        page.draw(None, &mut anew).unwrap();
        assert!(frame.picture() == anew.picture(), "{page:?} after {before:?}");
        if before.is_some() {
            assert!(frame.written < anew.written, "only what differs is drawn");
        }
        before = Some(page);
    }
    assert!(player.pages.len() > 8, "{:?}", player.pages);
}

#[test]
fn every_page_fits() {
    let mut player = ready();
    for fault in 0..8 {
        player.plays(&[Fault::Missing(fault)], ALL);
        player.sees();
        player.waits(9_000);
    }
    for page in &player.pages {
        let lines = page.top.iter().chain(&page.low);
        // A line that is full may have been cut.
        assert!(lines.clone().all(|line| line.as_str().chars().count() <= COLUMNS), "{page:?}");
        assert!(page.word.as_str().chars().count() <= 12, "{page:?}");
    }
}
