use super::Picture;
use crate::practice::{Plan, Settings};
use crate::study::{Prepared, parse};
use evenhand_core::practice::Choice;
use evenhand_core::units::Instant;

/// What a page of 80 columns has for it, and one of 60.
const WIDE: usize = 78;
const NARROW: usize = 58;

fn chunk(music: &str) -> Prepared {
    let text = format!(
        "evenhand study 1\ntitle A\nmetre 4/4\ntempo 60\nchunk \"A\" at bar 1\n  m: {music} |\n"
    );
    parse(&text).expect("a study").prepare().expect("it").remove(0)
}

fn row<'l>(lines: &'l [String], label: &str) -> Vec<&'l str> {
    let rows = lines.iter().filter_map(|line| line.trim_start().strip_prefix(label));
    rows.flat_map(str::split_whitespace).collect()
}

/// Two bars of sixteenths, slurred in pairs.
fn sixteenths() -> Prepared {
    let pair = "4:2(1 i) ^4:4(3)";
    let bar = [pair; 8].join(" ");
    chunk(&format!("1/16 {bar} |\n  m: {bar}"))
}

#[test]
fn both_hands_stand_under_the_strings_where_the_study_gives_them() {
    let ways = Picture::of_chunk(&chunk("1/4 4:2(1 i) 3:2(3) 5:0(p) 2:3(4 m)"), false).ways(WIDE);
    for lines in &ways[..3] {
        assert_eq!(row(lines, "left"), ["1", "3", "4"], "{lines:#?}");
        assert_eq!(row(lines, "right"), ["i", "p", "m"], "{lines:#?}");
    }
    let plain = Picture::of_chunk(&chunk("1/4 4:2 3:2 5:0 2:3"), false).ways(WIDE);
    assert!(plain[0].iter().all(|line| !line.contains("left") && !line.contains("right")));
    // In the tightest, strings that are not in use go, and the hands.
    let strings = |lines: &[String]| lines.iter().filter(|line| line.contains('|')).count();
    let all: Vec<usize> = ways.iter().map(|lines| strings(lines)).collect();
    assert_eq!(all, [6, 6, 4, 4]);
    assert!(ways[3].iter().all(|line| !line.contains("left")), "{:#?}", ways[3]);
}

#[test]
fn two_bars_of_sixteenths_have_room_on_a_page_of_80_by_24() {
    let ways = Picture::of_chunk(&sixteenths(), false).ways(WIDE);
    // Heading, a large word with its line, three lines of sentences and two of keys are ten.
    let fits = ways.iter().position(|lines| lines.len() <= 14).expect("one of them");
    assert!(fits <= 2, "with both hands: {ways:#?}");
    assert_eq!(row(&ways[fits], "left").len(), 32);
    for way in ways {
        assert!(way.iter().all(|line| line.chars().count() <= WIDE), "{way:#?}");
    }
}

#[test]
fn no_line_is_longer_than_the_page() {
    for way in Picture::of_chunk(&sixteenths(), false).ways(NARROW) {
        assert!(way.iter().all(|line| line.chars().count() <= NARROW), "{way:#?}");
    }
}

#[test]
fn another_rhythm_is_drawn_in_its_rhythm() {
    let text = "evenhand study 1\ntitle A\nmetre 4/4\ntempo 60\nchunk \"A\" at bar 1\n  \
                m: 1/8 4:0 4:2 4:4 3:0 3:2 3:4 2:1 2:3 |\n";
    let study = parse(text).expect("a study");
    let mut plan = Plan::new(&study, &Settings::default()).expect("it can be practised");
    plan.begin(false, Instant::ZERO);
    plan.choose(Choice::Rhythm, Instant::ZERO).expect("it has pairs");
    let bent = plan.current().expect("a task").chunk.clone();
    let ways = Picture::of_chunk(&bent, true).ways(NARROW);
    let lengths = row(&ways[0], "length");
    assert_eq!(lengths, ["3/16", "1/16", "3/16", "1/16", "3/16", "1/16", "3/16", "1/16"]);
    // Where there is no such line, the long ones are three times as wide.
    assert!(row(&ways[1], "length").is_empty());
    let string =
        ways[1].iter().find(|line| line.trim_start().starts_with("4 |")).expect("string 4");
    let at: Vec<usize> = string.match_indices(['0', '2', '4']).map(|(at, _)| at).skip(1).collect();
    let [first, second, third] = at[..] else { panic!("{string}") };
    assert_eq!(second - first, 3 * (third - second), "{string}");
    let written = Picture::of_chunk(&bent, false).ways(NARROW);
    assert!(row(&written[0], "length").is_empty());
}
