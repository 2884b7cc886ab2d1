//! Music that is written once: whatever a part of it is, written out in a chunk of its own it is the same.

use evenhand::study::{Prepared, gather, parse, print};

fn prepared(text: &str) -> Vec<Prepared> {
    let study = parse(text).unwrap_or_else(|problems| panic!("{text}\n{problems:?}"));
    study.prepare().unwrap_or_else(|problems| panic!("{text}\n{problems:?}"))
}

/// Both are the same to play and to judge, but for how voices are counted where a landing is played.
fn assert_same(once: &str, apart: &str) {
    let (once, apart) = (prepared(once), prepared(apart));
    assert_eq!(once.len(), apart.len());
    for (a, b) in once.iter().zip(&apart) {
        assert_eq!(a.name, b.name);
        let plain = |of: &Prepared| -> Vec<_> {
            let mut notes = of.notes.clone();
            notes.iter_mut().for_each(|note| note.voice = 0);
            notes
        };
        assert_eq!(plain(a), plain(b), "{}", a.name);
        assert_eq!((&a.hand, a.tempo, a.metre), (&b.hand, b.tempo, b.metre), "{}", a.name);
        assert_eq!((a.first_bar, a.into_first_bar), (b.first_bar, b.into_first_bar), "{}", a.name);
        assert_eq!((a.length, a.tolerances), (b.length, b.tolerances), "{}", a.name);
    }
}

#[test]
fn parts_overlap_and_land_where_the_music_goes_on() {
    assert_same(
        "evenhand study 2\n\
         music\n\
         \x20 melody: 1/4 3:0(i) 3:2(2 m) 2:0(i) 2:1(1 m) | rest 1:0(a) 1:1(1 m) 1:3(4 a) |\n\
         \x20 bass: 1/1 5:3(3 p) | 1/2 6:0(p) 5:0(p) |\n\
         chunk \"One\" bar 1\n\
         chunk \"Both\" bars 1 to 2\n\
         chunk \"Across\" bar 1 beat 3 until bar 2 beat 3\n\
         chunk \"No landing\" bar 1\n\
         \x20 landing none\n\
         chunk \"Bass\" bar 1 voice bass\n",
        "evenhand study 1\n\
         chunk \"One\" at bar 1\n\
         \x20 melody: 1/4 3:0(i) 3:2(2 m) 2:0(i) 2:1(1 m) |\n\
         \x20 bass: 1/1 5:3(3 p) |\n\
         \x20 landing 6:0(p)\n\
         chunk \"Both\" at bar 1\n\
         \x20 melody: 1/4 3:0(i) 3:2(2 m) 2:0(i) 2:1(1 m) | rest 1:0(a) 1:1(1 m) 1:3(4 a) |\n\
         \x20 bass: 1/1 5:3(3 p) | 1/2 6:0(p) 5:0(p) |\n\
         chunk \"Across\" at bar 1 beat 3\n\
         \x20 melody: 1/4 2:0(i) 2:1(1 m) | rest 1:0(a)\n\
         \x20 bass: 1/2 rest | 6:0(p)\n\
         \x20 landing 5:0(p)+1:1(1 m)\n\
         chunk \"No landing\" at bar 1\n\
         \x20 melody: 1/4 3:0(i) 3:2(2 m) 2:0(i) 2:1(1 m) |\n\
         \x20 bass: 1/1 5:3(3 p) |\n\
         chunk \"Bass\" at bar 1\n\
         \x20 bass: 1/1 5:3(3 p) |\n\
         \x20 landing 6:0(p)\n",
    );
}

#[test]
fn a_part_begins_plucked_and_ends_with_its_end() {
    // The slur from bar 1 into bar 2, and the note that is tied over the barline, are cut.
    assert_same(
        "evenhand study 2\n\
         music\n\
         \x20 melody: 1/4 3:0 3:2 3:4 3:2 | ^3:4 ^3:2 2:1 tie | tie 2:3 2:1 2:0 |\n\
         chunk \"Second\" bar 2\n\
         \x20 landing none\n\
         chunk \"Slurred\" bar 1 beat 4 until bar 2 beat 3\n",
        "evenhand study 1\n\
         chunk \"Second\" at bar 2\n\
         \x20 melody: 1/4 3:4 ^3:2 2:1 tie |\n\
         chunk \"Slurred\" at bar 1 beat 4\n\
         \x20 melody: 1/4 3:2 | ^3:4 ^3:2\n\
         \x20 landing 2:1\n",
    );
}

#[test]
fn figures_are_played_on_chords() {
    assert_same(
        "evenhand study 2\n\
         figure waves: 1/8 1st(p) 2nd(i) 3rd(m) 2nd(i)\n\
         figure bells: 1/4 1st(p)+3rd(a) 3in2[ 1/8 2nd(i) ^5:3 rest ]\n\
         music\n\
         \x20 melody: 1/2 5:0 waves 5:3(3)+4:2(2)+3:0 |\n\
         \x20 melody: 5:0 bells shift 5:2(2)+4:2(3)+2:1(1) |\n\
         chunk \"All\" bars 1 to 2\n",
        "evenhand study 1\n\
         chunk \"All\" at bar 1\n\
         \x20 melody: 1/2 5:0 1/8 5:3(3 p) 4:2(2 i) 3:0(m) 4:2(2 i) |\n\
         \x20 melody: 1/2 5:0 shift 1/4 5:2(2 p)+2:1(1 a) 3in2[ 1/8 4:2(3 i) ^5:3 rest ] |\n",
    );
}

#[test]
fn bars_come_again_and_move_along_the_neck() {
    assert_same(
        "evenhand study 2\n\
         music\n\
         \x20 melody: 1/4 3:2(2 i) 3:4(4 m) 3:2(2 i) rest | as bar 1 | as bars 1 to 2, 3 frets higher | as bar 3, 5 frets lower |\n\
         chunk \"All\" bars 1 to 5\n",
        "evenhand study 1\n\
         chunk \"All\" at bar 1\n\
         \x20 melody: 1/4 3:2(2 i) 3:4(4 m) 3:2(2 i) rest | 3:2(2 i) 3:4(4 m) 3:2(2 i) rest |\n\
         \x20 melody: 3:5(2 i) 3:7(4 m) 3:5(2 i) rest | 3:5(2 i) 3:7(4 m) 3:5(2 i) rest |\n\
         \x20 melody: 3:0(i) 3:2(4 m) 3:0(i) rest |\n",
    );
}

#[test]
fn sections_bring_metres_tempi_and_voices() {
    assert_same(
        "evenhand study 2\n\
         metre 4/4\n\
         tempo 60\n\
         music at bar 0 beat 4\n\
         \x20 melody: 1/4 3:2 | 1/1 2:1 |\n\
         \x20 bar 2\n\
         \x20 metre 6/8\n\
         \x20 tempo 50\n\
         \x20 melody: 1/8 2:0 2:1 2:3 1/4. 1:0 |\n\
         \x20 bass: 1/2. 5:0 |\n\
         \x20 bar 5\n\
         \x20 bass: 1/2. 6:0 |\n\
         chunk \"Pickup\" bar 0\n\
         chunk \"In four\" bar 1\n\
         chunk \"In six\" bar 2\n\
         chunk \"Alone\" bar 5\n\
         \x20 tempo 40\n",
        "evenhand study 1\n\
         metre 4/4\n\
         tempo 60\n\
         chunk \"Pickup\" at bar 0 beat 4\n\
         \x20 melody: 1/4 3:2 |\n\
         \x20 landing 2:1\n\
         chunk \"In four\" at bar 1\n\
         \x20 melody: 1/1 2:1 |\n\
         \x20 landing 5:0+2:0\n\
         chunk \"In six\" at bar 2\n\
         \x20 metre 6/8\n\
         \x20 tempo 50\n\
         \x20 melody: 1/8 2:0 2:1 2:3 1/4. 1:0 |\n\
         \x20 bass: 1/2. 5:0 |\n\
         chunk \"Alone\" at bar 5\n\
         \x20 metre 6/8\n\
         \x20 tempo 40\n\
         \x20 bass: 1/2. 6:0 |\n",
    );
}

/// A page with an accompaniment figure is short to type.
#[test]
fn a_page_of_thirty_two_bars_takes_under_forty_five_lines() {
    let chords =
        ["5:3(3)+4:2(2)+3:0+2:1(1)", "5:0+4:2(2)+3:2(3)+2:1(1)", "4:0+3:2(1)+2:3(3)+1:2(2)"];
    let mut text = "evenhand study 2\ntitle Page\nmetre 4/4\ntempo 60\n\
                    figure waves: 1/8 1st(p) 2nd(i) 3rd(m) 4th(a) 3rd(m) 2nd(i) 3rd(m) 2nd(i)\nmusic\n"
        .to_owned();
    for row in 0..8 {
        let bars: Vec<String> =
            (0..4).map(|bar| format!("waves {} |", chords[(row + bar) % 3])).collect();
        text += &format!("  chords: {}\n", bars.join(" "));
    }
    for bar in (1..=32).step_by(2) {
        text += &format!("chunk \"Bars {bar} and {}\" bars {bar} to {}\n", bar + 1, bar + 1);
    }
    assert!(text.lines().count() < 45, "{}", text.lines().count());
    let chunks = prepared(&text);
    assert_eq!(chunks.iter().map(|chunk| chunk.length.get()).sum::<u32>(), 32 * 4 * 10_080);
    let notes = chunks.iter().flat_map(|chunk| &chunk.notes);
    let played = notes.filter(|note| !note.marks.has(evenhand_core::study::Marks::LANDING));
    assert_eq!(played.count(), 32 * 8);
}

#[test]
fn a_study_of_version_1_is_gathered_and_stays_the_same() {
    for text in [
        include_str!("../../../fixtures/studies/lantern-quay.study"),
        include_str!("../../../fixtures/studies/small.study"),
        // One that goes back, one that lands elsewhere, one that overlaps.
        "evenhand study 1\n\
         chunk \"A\" at bar 1 beat 3\n  m: 1/4 5:0 5:2 |\n  landing next\n\
         chunk \"B\"\n  m: 1/2 5:3 5:2 |\n  n: 1/1 6:0\n  landing 3:0\n\
         chunk \"A again\" at bar 1 beat 3\n  m: 1/4 5:0 5:2\n  landing next\n\
         chunk \"C\" at bar 4\n  metre 3/4\n  n: 1/2. 6:0 |\n",
    ] {
        let study = parse(text).expect("it is right");
        let gathered = gather(&study).expect("it is right");
        let once = print(&gathered.study);
        assert!(once.starts_with("evenhand study 2\n"), "{once}");
        assert_same(&once, text);
        // Once gathered, there is nothing more to gather.
        let again = gather(&parse(&once).expect("it is right")).expect("it is right");
        assert_eq!(print(&again.study), once);
    }
    let text = include_str!("../../../fixtures/studies/lantern-quay.study");
    let gathered = gather(&parse(text).expect("it is right")).expect("it is right");
    assert_eq!(gathered.apart, Vec::<String>::new());
}

#[test]
fn much_music_is_bounded() {
    // Doubled again and again, it would be more than any memory holds.
    let mut text = "evenhand study 2\nmusic\n  m: 1/64".to_owned() + &" 5:0".repeat(64) + " |\n";
    let mut bars = 1_u32;
    for _ in 0..12 {
        text += &format!("  m: as bars 1 to {bars}\n");
        bars *= 2;
    }
    text += "chunk \"A\" bar 1\n";
    let problems = parse(&text).expect("it is spelt right").prepare().expect_err("too much");
    assert!(problems[0].to_string().contains("more than 20000 notes in the music"), "{problems:?}");
}
