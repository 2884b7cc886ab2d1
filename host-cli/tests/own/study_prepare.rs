//! What the text means as music: onsets, lengths, strings, marks, tolerances.

use evenhand::study::{LeftFinger, Position, Prepared, RightFinger, Shift, Slur, parse};
use evenhand_core::study::{Attack, ExpectedNote, Marks};
use evenhand_core::tolerance::{PracticeLevel, TimeLimit, Tolerances};
use evenhand_core::units::{GuitarString, Level, Offset, Pitch, Tempo, Ticks};

const QUARTER: u32 = Ticks::PER_QUARTER;
const EIGHTH: u32 = QUARTER / 2;

fn prepare(body: &str) -> Vec<Prepared> {
    let text = format!("evenhand study 1\n{body}");
    let show = |p: Vec<evenhand::study::Problem>| panic!("{}", p[0]);
    parse(&text).unwrap_or_else(show).prepare().unwrap_or_else(|p| panic!("{}", p[0]))
}

fn chunk(voices: &str) -> Prepared {
    prepare(&format!("chunk \"A\"\n{voices}")).remove(0)
}

/// Onset, duration, pitch and string of each note.
fn notes(chunk: &Prepared) -> Vec<(u32, u32, u8, Option<u8>)> {
    let row = |n: &ExpectedNote| {
        (n.onset.get(), n.duration.get(), n.pitch.number(), n.string.map(GuitarString::number))
    };
    chunk.notes.iter().map(row).collect()
}

#[test]
fn the_example_of_the_specification() {
    let all = prepare(
        "title Lantern Quay\ntempo 72\nlevel steady\nallow chord spread 30 ms\n\
         chunk \"The climb\" at bar 5\n\
         \x20 level first\n\
         \x20 melody: 1/8 5:3(3 p) ^5:5 4:2 rest 1/2 rest | shift VII 1/16 1:7(1) ^1:8 1/8 rest \
         3in2[ 1/8 2:1 2:3 2:5 ] 1/2 rest |\n",
    );
    let chunk = &all[0];
    let triplet = EIGHTH * 2 / 3;
    let bar = 4 * QUARTER;
    assert_eq!(
        notes(chunk),
        [
            (0, EIGHTH, 48, Some(5)),
            (EIGHTH, EIGHTH, 50, Some(5)),
            (QUARTER, EIGHTH, 52, Some(4)),
            (bar, EIGHTH / 2, 71, Some(1)),
            (bar + EIGHTH / 2, EIGHTH / 2, 72, Some(1)),
            (bar + QUARTER, triplet, 60, Some(2)),
            (bar + QUARTER + triplet, triplet, 62, Some(2)),
            (bar + QUARTER + 2 * triplet, triplet, 64, Some(2)),
        ]
    );
    assert_eq!((chunk.first_bar, chunk.length.get()), (5, 2 * bar));
    assert_eq!(chunk.hand[0].left, Some(LeftFinger::Third));
    assert_eq!(chunk.hand[0].right, Some(RightFinger::Thumb));
    assert_eq!(chunk.hand[0].fret, Some(3));
    assert_eq!(chunk.hand[1].slur, Some(Slur::HammerOn));
    assert_eq!(chunk.notes[1].attack, Attack::Slurred);
    assert!(chunk.notes[3].marks.has(Marks::SHIFT));
    assert_eq!(chunk.hand[3].shift.and_then(|s: Shift| s.to).map(Position::fret), Some(7));
    // 60 s / 72 = 833,333 µs.
    assert_eq!(chunk.tempo.micros_per_quarter(), 833_333);
    let mut tolerances = Tolerances::of(PracticeLevel::First);
    tolerances.chord_spread = Offset::from_millis(30);
    assert_eq!(chunk.tolerances, tolerances);
    let place = chunk.chunk().place(Ticks::new(bar + QUARTER));
    assert_eq!((place.bar, place.beat), (6, 2));
    let slow = Tempo::from_micros_per_quarter(1_000_000).unwrap();
    assert_eq!(chunk.at_tempo(slow).tempo(), slow);
    assert_eq!(chunk.chunk().tolerances(), &tolerances);
}

#[test]
fn every_allowance_reaches_its_field() {
    let all = prepare(
        "allow slips 1 in 16\nallow unsteadiness 15 ms\nallow note offset 4.5 %\n\
         allow hesitation 12 % or 80.5ms\nallow drift 7 %\nallow chord spread 31 ms\n\
         allow unevenness 2.25 dB\nallow note level 5.5dB\nallow slur level 8 db\n\
         allow click offset -40 ms to +20 ms\nallow trill unevenness 17 %\n\
         allow trill length 71 %\nallow held length 72.5 %\nallow short length 50 %\n\
         allow gaps 33 %\nallow accent 1.5 dB\nallow other strings 100 %\n\
         chunk \"A\"\n allow slips none\n allow accent none\n m: 1/4 5:3\nchunk \"B\"\n m: 1/4 5:3\n",
    );
    let time = |micros, per_mille| TimeLimit { at_least: Offset::from_micros(micros), per_mille };
    let expected = Tolerances {
        level: PracticeLevel::Steady,
        notes_a_slip: 16,
        unsteadiness: time(15_000, 0),
        single_note: time(0, 45),
        hesitation: time(80_500, 120),
        drift_per_mille: 70,
        chord_spread: Offset::from_millis(31),
        unevenness: Level::from_hundredths(225),
        single_level: Level::from_hundredths(550),
        slur_below: Level::from_hundredths(800),
        click_offset: (Offset::from_millis(-40), Offset::from_millis(20)),
        trill_unevenness_per_mille: 170,
        trill_cover_per_mille: 710,
        held_per_mille: 725,
        staccato_per_mille: 500,
        gap_per_mille: 330,
        accent_above: Level::from_hundredths(150),
        other_strings_per_mille: 1_000,
    };
    assert_eq!(all[1].tolerances, expected);
    assert_eq!(
        all[0].tolerances,
        Tolerances { notes_a_slip: 0, accent_above: Level::ZERO, ..expected }
    );
}

#[test]
fn ties_lengthen_also_over_barlines_and_in_tuplets() {
    let tied =
        chunk("m: 1/2. rest 1/4 5:3+4:2 | tie 1/8 tie 3in2[ tie 4:3 4:5 ] 1/8 rest 1/4 rest |");
    let long = QUARTER + QUARTER + EIGHTH + EIGHTH * 2 / 3;
    assert_eq!(
        notes(&tied)[..3],
        [
            (3 * QUARTER, long, 48, Some(5)),
            (3 * QUARTER, long, 52, Some(4)),
            (3 * QUARTER + long, EIGHTH * 2 / 3, 53, Some(4)),
        ]
    );
}

#[test]
fn merged_notes_keep_the_marks_of_both() {
    let both = chunk("m: 1/4 1:0(a accent) rest\nc: 1/2 rolled 2:1(1)+1:0(hold)\n");
    assert_eq!(notes(&both), [(0, 2 * QUARTER, 60, Some(2)), (0, 2 * QUARTER, 64, Some(1))]);
    let merged = both.notes[1];
    for mark in [Marks::ACCENT, Marks::ROLLED, Marks::HELD] {
        assert!(merged.marks.has(mark));
    }
    assert_eq!((merged.voice, both.notes[0].voice), (0, 1));
    assert_eq!(both.hand[1].right, Some(RightFinger::Ring));
}

#[test]
fn a_trill_names_its_other_note() {
    let trills = chunk("m: 1/4 5:0(2 trill 2) 5:3(trill D3) C3(trill Db3)");
    let other: Vec<_> = trills.notes.iter().map(|n| n.trill.map(Pitch::number)).collect();
    assert_eq!(other, [Some(47), Some(50), Some(49)]);
    let frets: Vec<_> = trills.hand.iter().map(|h| h.trill_fret).collect();
    assert_eq!(frets, [Some(2), Some(5), None]);
}

#[test]
fn slurs_know_their_direction() {
    // Over another string, after a tie, between names, and from a name to a string.
    let slurs = chunk("m: 1/8 5:3 4:2 ^5:5 tie ^5:2 C4 ^B3 ^2:1");
    let found: Vec<_> = slurs.hand.iter().map(|h| h.slur).collect();
    let (up, down) = (Some(Slur::HammerOn), Some(Slur::PullOff));
    assert_eq!(found, [None, None, up, down, None, down, up]);
}

#[test]
fn landings_stand_behind_the_chunk() {
    let all = prepare(
        "chunk \"A\"\n m: 1/4 5:3 rest\n landing next\n\
         chunk \"B\"\n m: 1/8 rest shift V rolled 4:7(hold)+3:5\n m: 1/8 5:7\n",
    );
    assert_eq!(
        notes(&all[0]),
        [
            (0, QUARTER, 48, Some(5)),
            (2 * QUARTER + EIGHTH, QUARTER, 57, Some(4)),
            (2 * QUARTER + EIGHTH, QUARTER, 60, Some(3)),
        ]
    );
    let landing = all[0].notes[1].marks;
    assert!(landing.has(Marks::LANDING) && landing.has(Marks::SHIFT) && landing.has(Marks::ROLLED));
    assert!(!landing.has(Marks::HELD) && !all[0].notes[0].marks.has(Marks::LANDING));
    assert_eq!(all[0].length.get(), 2 * QUARTER);

    let chord = prepare("chunk \"A\"\n m: 1/4 5:3\n landing 5:3+4:2(accent)\n").remove(0);
    assert_eq!(
        notes(&chord)[1..],
        [(QUARTER, QUARTER, 48, Some(5)), (QUARTER, QUARTER, 52, Some(4))]
    );
    assert!(chord.notes[2].marks.has(Marks::ACCENT));
}

#[test]
fn chunks_follow_each_other() {
    let all = prepare(
        "metre 6/8\n\
         chunk \"Pickup\" at bar 0 beat 2 plus 1/4\n m: 1/8 5:3 | 1/4. 5:3\n\
         chunk \"Rest of the bar\"\n m: 1/4. 5:3 |\n\
         chunk \"Next\"\n metre 3/4\n m: 1/2. 5:3 |\n\
         chunk \"After\"\n m: 1/2. 5:3 |\n",
    );
    let starts: Vec<_> = all.iter().map(|c| (c.first_bar, c.into_first_bar.get())).collect();
    assert_eq!(starts, [(0, 5 * EIGHTH), (1, 3 * EIGHTH), (2, 0), (3, 0)]);
    let place = all[0].chunk().place(Ticks::ZERO);
    assert_eq!((place.bar, place.beat, place.into_beat.get()), (0, 2, QUARTER));
    assert_eq!(all[2].metre.beat().get(), QUARTER);
}

#[test]
fn a_tempo_counts_the_beat_of_its_own_metre() {
    let all = prepare(
        "metre 6/8\ntempo 60\n\
         chunk \"A\"\n m: 1/8 5:3\n\
         chunk \"B\" at bar 2\n metre 3/4\n m: 1/8 5:3\n\
         chunk \"C\" at bar 3\n metre 3/4\n tempo 60\n m: 1/8 5:3\n\
         chunk \"D\" at bar 4\n tempo 60 of 1/8\n m: 1/8 5:3\n",
    );
    // A dotted quarter a second, a quarter a second, an eighth a second.
    let tempos: Vec<u32> = all.iter().map(|c| c.tempo.micros_per_quarter()).collect();
    assert_eq!(tempos, [666_667, 666_667, 1_000_000, 2_000_000]);
}

#[test]
fn the_capo_raises_frets_but_not_names() {
    let all = prepare("tuning D2 A2 D3 G3 A3 D4 \ncapo 2\nchunk \"A\"\n m: 1/4 6:0 1:2 C4\n");
    let pitches: Vec<_> = all[0].notes.iter().map(|n| n.pitch.number()).collect();
    assert_eq!(pitches, [40, 66, 60]);
}

#[test]
fn an_alternative_is_fingered_note_by_note() {
    let all = prepare(
        "chunk \"A\"\n m: 1/4 C4+C3 2:3\n b: 1/2 1:0\n landing 1:1\n alternative \"B\"\n\
         \x20 x: 1/4 3:5(1)+5:3(1) shift ^3:7\n y: 1/4 2:5 tie\n",
    );
    let chunk = &all[0];
    assert_eq!(chunk.alternatives.len(), 1);
    let other = &chunk.alternatives[0];
    assert_eq!((other.strings.len(), other.hand.len()), (5, 5));
    let changed = chunk.in_alternative(0).unwrap();
    assert_eq!(
        notes(&changed).iter().map(|n| (n.0, n.2, n.3)).collect::<Vec<_>>(),
        [
            (0, 48, Some(5)),
            (0, 60, Some(3)),
            (0, 64, Some(2)),
            (QUARTER, 62, Some(3)),
            (2 * QUARTER, 65, Some(1)),
        ]
    );
    assert_eq!(changed.notes[3].attack, Attack::Slurred);
    assert!(changed.notes[3].marks.has(Marks::SHIFT));
    assert!(changed.notes[4].marks.has(Marks::LANDING));
    assert!(changed.checked(changed.tempo).is_ok() && changed.alternatives.is_empty());
    assert!(chunk.in_alternative(1).is_none());
}

#[test]
fn voices_may_continue_on_further_lines() {
    let split = chunk("m: 1/8 5:3 5:5 4:2\nB: 1/4 6:0 6:1\nM: ^4:3\n");
    assert_eq!(notes(&split).last(), Some(&(3 * EIGHTH, EIGHTH, 53, Some(4))));
    assert_eq!(split.notes.iter().map(|n| n.voice).max(), Some(1));
}
