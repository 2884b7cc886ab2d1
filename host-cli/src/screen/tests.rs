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
        pictures: vec![tablature.lines().map(str::to_owned).collect()],
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
fn while_it_is_played_the_page_says_what_it_hears_and_which_beat_it_is() {
    let playing = Page {
        standing: PracticeState::Playing,
        hears: "hears G3".to_owned(),
        beat: Some(SeenBeat { in_bar: 2, of: 4 }),
        last: "last: needs work".to_owned(),
        ..page()
    };
    let shown = picture(&playing, LOOK, 80, 24);
    is_as_looked_at("playing-80x24.txt", &shown);
    assert!(shown.contains(" hears G3   · 2 · ·   last: needs work "), "{shown}");
    // Nothing else moves when the word does.
    let (judged, playing_too) = (page(), Page { standing: PracticeState::Heard, ..page() });
    let below =
        |page: &Page| picture(page, LOOK, 80, 24).lines().skip(8).map(str::to_owned).collect();
    let (judged, playing_too): (Vec<String>, Vec<String>) = (below(&judged), below(&playing_too));
    assert_eq!(judged, playing_too);
    let plain = TerminalStyle { unicode: false, ..LOOK };
    assert!(picture(&playing, plain, 60, 12).contains("hears G3   . 2 . ."));
}

#[test]
fn where_there_is_room_reason_and_next_step_are_large() {
    let brief = |reason: &str| vec![reason.to_owned(), "Once more at 66.".to_owned()];
    let page = Page {
        brief: vec![
            brief("bar 4, beat 2: weak slurs, 13 dB (limit 9 dB)."),
            brief("weak slurs, 13 dB."),
        ],
        ..page()
    };
    let shown = picture(&page, LOOK, 100, 30);
    is_as_looked_at("needs-work-100x30.txt", &shown);
    assert!(shown.contains("level  .    .    .    -13!"), "the tablature stays:\n{shown}");
    let next = letters::compact("Once more at 66.").expect("it has letters");
    for line in next {
        assert!(shown.contains(line.trim_end()), "{line}\n{shown}");
    }
    // One line less, and they are small.
    assert!(picture(&page, LOOK, 100, 29).contains(" Once more at 66.\n"));
}

#[test]
fn at_sixty_columns_nothing_is_cut_without_a_mark() {
    let page = Page {
        piece: "Turn, second half, with the arrival, bar 4".to_owned(),
        keys: "h it hurts   q stop   space again   right next   left back   m misheard".to_owned(),
        ..page()
    };
    for look in [LOOK, TerminalStyle { unicode: false, ..LOOK }] {
        let shown = picture(&page, look, 60, 14);
        is_as_looked_at(
            if look.unicode { "needs-work-60x14.txt" } else { "needs-work-ascii-60x14.txt" },
            &shown,
        );
        let mark = if look.unicode { "…" } else { "..." };
        let cut = |whole: &str| !shown.contains(whole);
        let lines: Vec<&str> = shown.lines().collect();
        assert!(cut("with the arrival, bar 4") && lines[0].contains(mark), "{shown}");
        assert!(cut("m misheard") && lines[13].ends_with(mark), "{shown}");
        let sentences = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(sentences.contains("practise the slurs alone at this tempo. Once more"), "{shown}");
        // Where not even the heaviest has room as a whole.
        let small = picture(&page, look, 60, 7);
        let sentences = small.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(sentences.contains(&format!("{mark} Once more")), "{small}");
    }
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
    assert!(small.contains(" no sound: there is no audio …\n"), "{small}");
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
