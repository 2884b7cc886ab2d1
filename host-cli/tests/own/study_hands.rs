//! What hands cannot do is found, and what every guitarist plays is not.

use evenhand::study::{Caution, LeftFinger, RightFinger, SCALE, Strain, cautions, parse};

/// What is found in a voice at 120 quarters a minute.
fn found(voice: &str) -> Vec<Caution> {
    let study = parse(&format!("evenhand study 1\ntempo 120\nchunk \"A\"\n  m: {voice}\n"));
    let study = study.unwrap_or_else(|problems| panic!("{voice}: {problems:?}"));
    let chunks = study.prepare().unwrap_or_else(|problems| panic!("{voice}: {problems:?}"));
    cautions(&study, &chunks[0], SCALE)
}

#[track_caller]
fn assert_found(voice: &str, note: usize, is_meant: impl Fn(&Strain) -> bool) {
    let found = found(voice);
    let meant = |caution: &Caution| caution.note == note && is_meant(&caution.strain);
    assert!(found.iter().any(meant), "{voice}: {found:?}");
}

#[test]
fn what_no_hand_does_is_found() {
    use LeftFinger::{First, Third};
    // A first and a fourth finger over six frets, neighbours over four.
    assert_found("1/1 6:1(1)+1:7(4)", 0, |s| matches!(s, Strain::Reach { apart: 180, most: 140 }));
    assert_found("1/1 5:1(1)+4:5(2)", 0, |s| matches!(s, Strain::Reach { apart: 127, most: 75 }));
    // The same against a note that is to be held, and not against one that may be let go.
    let over = |mark: &str| format!("1/2 6:1(1{mark}) tie\n  n: 1/2 rest 1:7(4)");
    assert_found(&over(" hold"), 1, |s| matches!(s, Strain::Reach { apart: 180, .. }));
    assert_eq!(found(&over("")), []);
    assert_found("1/1 5:3(3)+4:5(3)", 0, |s| *s == Strain::TwoFrets(Third));
    assert_found("1/1 5:3(1)+3:3(1)", 0, |s| *s == Strain::TwoStrings(First, 3));
    assert_found("1/1 5:5(1)+4:2(3)", 0, |s| *s == Strain::Crossed(First, Third));
    assert_found("1/1 barre V 5:5(1)+4:3(2)", 0, |s| matches!(s, Strain::BelowBarre(_, 3)));
    assert_found("1/4 shift VII 5:2(1) 5:3(2)", 0, |s| {
        matches!(s, Strain::NotThere { fret: 2, .. })
    });
    assert_found("1/1 5:2(1 trill 12)", 0, |s| matches!(s, Strain::SlurReach(254)));
    assert_found("1/4 5:1(1) ^5:9(4)", 1, |s| matches!(s, Strain::SlurReach(_)));
    assert_found("1/1 5:3(3 i)+4:2(2 i)", 0, |s| *s == Strain::PlucksTwo(RightFinger::Index));
    assert_found("1/16 1:0(i) 1:0(i)", 1, |s| *s == Strain::SameFinger(RightFinger::Index, 125));
    assert_found("1/64 1:0(i) 2:0(m) 1:0(i)", 1, |s| matches!(s, Strain::TooFast(32)));
    // The last stroke has the finger that the next chord asks for.
    let chord = "1/16 2:1(1 m) 3:0(i) 1/4 5:3(3 p)+4:2(2 i)+2:1(1 a)";
    assert_found(chord, 2, |s| matches!(s, Strain::SameFinger(RightFinger::Index, _)));
    assert_found(
        "1/4 C4 5:3(3)",
        0,
        |s| matches!(s, Strain::NoString(Some((string, 1))) if string.number() == 2),
    );
}

#[test]
fn what_guitarists_play_is_not() {
    // A scale in each position, a finger a fret, fingers of the right hand by turns.
    for position in 1..=12 {
        let notes = (1..=6).rev().flat_map(|string| {
            (0..4).map(move |finger| {
                let right = if (string * 4 + finger) % 2 == 0 { 'i' } else { 'm' };
                format!("{string}:{}({} {right})", position + finger, finger + 1)
            })
        });
        let voice = format!("1/16 {}", notes.collect::<Vec<_>>().join(" "));
        assert_eq!(found(&voice), [], "{voice}");
    }
    for chord in [
        // C, A minor, G, D, E, and F with the first finger across.
        "5:3(3 p)+4:2(2 i)+3:0(m)+2:1(1 a)+1:0",
        "5:0(p)+4:2(2 i)+3:2(3 m)+2:1(1 a)",
        "6:3(2 p)+5:2(1 i)+4:0+3:0+2:0(m)+1:3(3 a)",
        "4:0(p)+3:2(1 i)+2:3(3 m)+1:2(2 a)",
        "6:0(p)+5:2(2)+4:2(3 i)+3:1(1 m)+2:0(a)",
        "barre I 6:1(1 p)+5:3(3)+4:3(4 i)+3:2(2 m)+2:1(1 a)",
        // The thumb takes two strings in one movement.
        "6:0(p)+5:0(p)+4:2(2 i)",
        // A stretch over five frets in first position.
        "6:1(1 p)+3:5(4 i)",
    ] {
        assert_eq!(found(&format!("1/1 {chord}")), [], "{chord}");
    }
    // A barre moves up the neck, and a shift ends where it says.
    for fret in 1..=9_u8 {
        let roman = ["I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX"][usize::from(fret) - 1];
        let (two, one) = (fret + 2, fret + 1);
        let chord = format!(
            "shift {roman} barre {roman} 6:{fret}(1)+5:{two}(3)+4:{two}(4)+3:{one}(2)+2:{fret}(1)+1:{fret}(1)"
        );
        assert_eq!(found(&format!("1/1 {chord}")), [], "{chord}");
    }
    // A trill and slurs of four frets, tremolo at 120.
    for voice in [
        "1/1 5:2(1 trill 5)",
        "1/8 5:2(1) ^5:5(4) ^5:2(1) ^5:0 rest 1/4 rest rest",
        "1/16 5:0(p) 1:0(a) 1:0(m) 1:0(i) 5:0(p) 1:0(a) 1:0(m) 1:0(i)",
    ] {
        assert_eq!(found(voice), [], "{voice}");
    }
}

#[test]
fn a_shorter_neck_and_a_capo_bring_frets_together() {
    let voice = "evenhand study 1\ncapo 5\nchunk \"A\"\n  m: 1/1 6:1(1)+1:7(4)\n";
    let study = parse(voice).expect("it is right");
    let chunks = study.prepare().expect("it is right");
    assert_eq!(cautions(&study, &chunks[0], SCALE), []);
    let voice = voice.replace("capo 5\n", "");
    let study = parse(&voice).expect("it is right");
    let chunks = study.prepare().expect("it is right");
    assert_eq!(cautions(&study, &chunks[0], SCALE).len(), 1);
    // A small guitar.
    assert_eq!(cautions(&study, &chunks[0], 500), []);
}
