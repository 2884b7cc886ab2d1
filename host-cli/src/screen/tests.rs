//! The page as it looks, kept in `shown/`. EVENHAND_BLESS=1 writes it anew; look at the change.

use super::*;
use evenhand_core::verdict::Outcome;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::fs;
use std::path::Path;

const LOOK: TerminalStyle = TerminalStyle { colour: false, unicode: true };

fn page() -> Page {
    let tablature = "\
  beat  1    &    2    &    3    &    4    &      1
     1 |--------------------0-------------------|------|
     2 |----------1----^3--------3----^1--------|------|
     3 |-----2-----------------------------2----|------|
     4 |--------------------2-------------------|-0----|
     5 |0---------------------------------------|------|
     6 |----------------------------------------|------|
  time  .    -8   .    .    .    .    .    .      .
 level  .    .    .    -13! .    .    -13! .      +3";
    Page {
        piece: "Turn, second half, bar 4".to_owned(),
        progress: "clean 1 of 3".to_owned(),
        standing: PracticeState::Judged(Outcome::NeedsWork),
        tempo: Some(66),
        goal: "(goal 72)".to_owned(),
        tablature: tablature.lines().map(str::to_owned).collect(),
        sentences: vec![
            "2 slurred notes are weak; the weakest, at bar 4, beat 2 1/2, is 13.0 dB under the \
             plucked ones, and 9.0 dB would pass. Pluck lighter, or let the finger fall from \
             higher; practise the slurs alone at this tempo."
                .to_owned(),
            "Once more at 66.".to_owned(),
        ],
        keys: "h it hurts   q stop   space again   right next   left back".to_owned(),
        ..Page::of("Harbour lights")
    }
}

fn picture(page: &Page, look: TerminalStyle, width: u16, height: u16) -> String {
    let area = Rect { x: 0, y: 0, width, height };
    let mut buffer = Buffer::empty(area);
    draw(page, look, area, &mut buffer);
    let row = |y: u16| {
        let line: String = (0..width).map(|x| buffer[(x, y)].symbol()).collect();
        format!("{}\n", line.trim_end())
    };
    (0..height).map(row).collect()
}

fn is_as_looked_at(name: &str, now: &str) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/screen/shown").join(name);
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        fs::write(&file, now).expect("the folder can be written");
    }
    let kept = fs::read_to_string(&file).unwrap_or_default();
    assert_eq!(kept, now, "{name} looks different; see the head of this file");
}

#[test]
fn after_an_attempt() {
    is_as_looked_at("needs-work-80x24.txt", &picture(&page(), LOOK, 80, 24));
}

#[test]
fn on_a_large_screen() {
    is_as_looked_at("needs-work-170x48.txt", &picture(&page(), LOOK, 170, 48));
}

#[test]
fn on_a_small_screen_the_sentences_stay() {
    let shown = picture(&page(), LOOK, 40, 10);
    is_as_looked_at("needs-work-40x10.txt", &shown);
    assert!(shown.contains("NEEDS WORK") && shown.contains("slurred notes are weak"));
}

#[test]
fn in_letters_that_every_terminal_has() {
    let shown = picture(&page(), TerminalStyle { unicode: false, ..LOOK }, 80, 24);
    is_as_looked_at("needs-work-ascii-80x24.txt", &shown);
    assert!(shown.is_ascii());
}

#[test]
fn before_the_first_note() {
    let page = Page {
        standing: PracticeState::CountIn(3),
        sentences: vec!["Halves of bar 4, then the whole.".to_owned()],
        notice: Some("The pickup is gone. Plug it in again; practice goes on then.".to_owned()),
        ..page()
    };
    is_as_looked_at("count-in-80x24.txt", &picture(&page, LOOK, 80, 24));
}

#[test]
fn what_is_missing_covers_nothing() {
    let missing = "no sound: there is no audio output, counted on the screen only";
    let without = Page { missing: Some(missing.to_owned()), ..page() };
    let shown = picture(&without, LOOK, 80, 24);
    is_as_looked_at("no-sound-80x24.txt", &shown);
    // All that was there is there.
    for line in picture(&page(), LOOK, 80, 24).lines() {
        assert!(shown.lines().any(|now| now == line), "{line}\n{shown}");
    }
    // A small screen shows it while one waits, and what is said of an attempt instead.
    assert_eq!(picture(&without, LOOK, 40, 10), picture(&page(), LOOK, 40, 10));
    let counted = Page { standing: PracticeState::CountIn(2), ..without };
    let small = picture(&counted, LOOK, 40, 10);
    assert!(small.contains(" no sound: there is no audio output,\n"), "{small}");
}

#[test]
fn no_size_is_too_small() {
    let page = || Page {
        missing: Some("no sound: the sound output has gone".to_owned()),
        notice: Some("“Six strings” is away, unplugged or switched off.".to_owned()),
        ..page()
    };
    for width in 0..30 {
        for height in 0..12 {
            picture(&page(), LOOK, width, height);
        }
    }
}

#[test]
fn nothing_is_told_by_colour_alone() {
    let area = Rect { x: 0, y: 0, width: 80, height: 24 };
    let text = |look: TerminalStyle, page: &Page| {
        let mut buffer = Buffer::empty(area);
        draw(page, look, area, &mut buffer);
        buffer.content().iter().map(|cell| cell.symbol().to_owned()).collect::<String>()
    };
    let with = TerminalStyle { colour: true, ..LOOK };
    assert_eq!(text(with, &page()), text(LOOK, &page()));
    let passed = Page { standing: PracticeState::Judged(Outcome::Passed), ..page() };
    assert_ne!(text(LOOK, &passed), text(LOOK, &page()));
}

#[test]
fn what_is_asked_for_is_large_on_screens_of_sixty_columns_too() {
    let page = Page {
        piece: "Strings 4 to 1 together".to_owned(),
        progress: "3 of 8".to_owned(),
        standing: PracticeState::Asked("4 to 1"),
        tempo: Some(5),
        unit: "more",
        sentences: vec!["Strings 4 to 1 together, open, with thumb and three fingers.".to_owned()],
        keys: "q stop, everything stays as it was".to_owned(),
        ..Page::of("Calibrating six strings")
    };
    is_as_looked_at("asked-80x24.txt", &picture(&page, LOOK, 80, 24));
    is_as_looked_at("asked-60x16.txt", &picture(&page, LOOK, 60, 16));
}
