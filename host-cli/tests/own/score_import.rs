//! Scores as studies: what is written there is what a musician reads in the score.

use evenhand::import::{Choice, Imported, study};
use evenhand::score::{self, Score};
use evenhand::study::print;

fn read(bars: &str) -> Score {
    read_with("", bars)
}

/// A score of one part with these bars.
fn read_with(name: &str, bars: &str) -> Score {
    let text = format!(
        "<score-partwise><part-list><score-part id='P'><part-name>{name}</part-name></score-part>\
         </part-list><part id='P'>{bars}</part></score-partwise>"
    );
    score::read(text.as_bytes()).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn imported(score: &Score) -> Imported {
    study(score, &Choice::default(), "untitled").unwrap_or_else(|error| panic!("{error}"))
}

/// The lines of the music, without what stands above and below them.
fn music(score: &Score) -> Vec<String> {
    let text = print(&imported(score).study);
    let lines = text.lines().skip_while(|line| !line.starts_with("music"));
    lines.take_while(|line| !line.is_empty()).map(|line| line.trim().to_owned()).collect()
}

const FOUR_FOUR: &str = "<attributes><divisions>2</divisions><time><beats>4</beats>\
    <beat-type>4</beat-type></time></attributes>";

/// A note: its letter and octave, its length in eighths, and what else stands in it.
fn note(pitch: &str, eighths: u32, more: &str) -> String {
    let (step, octave) = pitch.split_at(1);
    format!(
        "<note><pitch><step>{step}</step><octave>{octave}</octave></pitch>\
         <duration>{eighths}</duration>{more}</note>"
    )
}

fn bar(number: u32, content: &str) -> String {
    format!("<measure number='{number}'>{content}</measure>")
}

#[test]
fn a_staff_and_its_tablature_are_one_study() {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/scores/two-lamps.musicxml");
    let score = score::read(&std::fs::read(file).unwrap()).unwrap();
    let imported = imported(&score);
    let wanted = "evenhand study 2\n\
        title Two Lamps\n\
        tuning D2 A2 D3 G3 B3 E4\n\
        metre 4/4\n\
        tempo 84\n\
        \n\
        music at bar 0 beat 4\n\
        \x20 upper: 1/4 2:3(3 m) |\n\
        \x20 bar 1\n\
        \x20 upper: 1/8 1:3(i) ^1:5 ^1:3 1:0(i) 1/2 2:0 |\n\
        \x20 lower: 1/1 6:0(p) |\n\
        \x20 bar 2\n\
        \x20 upper: 1/4 tie 3in2[ 1/8 barre II 3:2(short) 2:2 1:2 ] 1/2 rolled 4:2(accent)+3:2+2:2 |\n\
        \x20 bar 3\n\
        \x20 upper: 1/1 3:0 |\n\
        \x20 bar 4\n\
        \x20 upper: as bars 1 to 2 |\n\
        \x20 lower: as bars 1 to 2 |\n\
        \x20 bar 6\n\
        \x20 upper: 1/1 4:0 |\n\
        \x20 bar 7\n\
        \x20 metre 3/4\n\
        \x20 tempo 60\n\
        \x20 upper: 1/4 1:3 ^1:2 1:0(trill 2) |\n\
        \n\
        chunk \"Bars 0 to 2\" bars 0 to 2\n\
        \n\
        chunk \"Bars 3 to 4\" bars 3 to 4\n\
        \n\
        chunk \"Bars 5 to 6\" bars 5 to 6\n\
        \n\
        chunk \"Bar 7\" bar 7\n";
    assert_eq!(print(&imported.study), wanted);
    assert_eq!(
        imported.left_out,
        [
            "bar 2: dynamics",
            "bar 3: grace notes (not judged)",
            "bar 4: fermatas (time may be taken there; it is judged as written)",
            "bar 5: the words “calmer”",
        ]
    );
    assert!(imported.decided[0].contains("bar 4 is the printed bar 1"), "{:?}", imported.decided);
    assert!(imported.decided[1].contains("3 of 18 notes, in bar 5"), "{:?}", imported.decided);
}

#[test]
fn voices_are_put_beside_each_other() {
    let upper = [note("E5", 4, "<voice>1</voice>"), note("C5", 4, "<voice>1</voice>")].concat();
    let lower = "<backup><duration>8</duration></backup><forward><duration>2</duration></forward>";
    let score =
        read(&bar(1, &[FOUR_FOUR, &upper, lower, &note("C3", 6, "<voice>2</voice>")].concat()));
    assert_eq!(music(&score), ["music", "upper: 1/2 1:12 1:8 |", "lower: 1/4 rest 1/2. 6:8 |"]);
    let choice = Choice { voices: vec!["2".to_owned()], ..Choice::default() };
    let lower = study(&score, &choice, "").unwrap();
    assert!(print(&lower.study).contains("  notes: 1/4 rest 1/2. 5:3 |\n"));
}

/// Notes of one voice that overlap stand in two of the study.
#[test]
fn a_chord_whose_notes_end_apart_needs_two_voices() {
    let content = [
        FOUR_FOUR,
        &note("C4", 8, ""),
        &note("E4", 4, "<chord/>"),
        &note("E4", 2, ""),
        "<backup><duration>2</duration></backup>",
        &note("G4", 4, ""),
    ];
    let score = read(&bar(1, &content.concat()));
    assert_eq!(music(&score).len(), 3, "{:?}", music(&score));
}

#[test]
fn pickups_and_bars_that_a_repeat_cuts_are_whole() {
    let cut = [
        bar(0, &[FOUR_FOUR, &note("E4", 2, "")].concat()),
        bar(1, &note("F4", 8, "")),
        bar(2, &[&note("G4", 6, ""), "<barline><repeat direction='backward'/></barline>"].concat()),
        bar(3, &note("A4", 8, "")),
    ];
    let score = read(&cut.concat());
    let lines = music(&score);
    // The repeat's pickup ends the bar before it; the last time that bar is shorter.
    assert_eq!(lines[0], "music at bar 0 beat 4");
    assert!(lines.contains(&"notes: 1/2. 1:3 1/4 1:0 |".to_owned()), "{lines:?}");
    assert!(lines.contains(&"metre 3/4".to_owned()) && lines.contains(&"metre 4/4".to_owned()));
}

#[test]
fn da_capo_and_coda_are_played() {
    let words = |words: &str| {
        format!("<direction><direction-type><words>{words}</words></direction-type></direction>")
    };
    let bars = [
        bar(1, &[FOUR_FOUR, &note("E4", 8, "")].concat()),
        bar(2, &[&words("To Coda"), &note("F4", 8, "")[..]].concat()),
        bar(3, &[&words("D.C. al Coda"), &note("G4", 8, "")[..]].concat()),
        bar(4, &[&words("Coda"), &note("A4", 8, "")[..]].concat()),
    ];
    let lines = music(&read(&bars.concat()));
    let wanted = [
        "music",
        "notes: 1/1 1:0 |",
        "bar 2",
        "notes: 1/1 1:1 |",
        "bar 3",
        "notes: 1/1 1:3 |",
        "bar 4",
        "notes: as bars 1 to 2 |",
        "bar 6",
        "notes: 1/1 1:5 |",
    ];
    assert_eq!(lines, wanted);
}

#[test]
fn what_is_written_an_octave_higher_sounds_as_it_sounds() {
    let transposed = format!(
        "{FOUR_FOUR}<attributes><transpose><chromatic>0</chromatic><octave-change>-1</octave-change>\
         </transpose></attributes>"
    );
    let low = read(&bar(1, &[&transposed, &note("E4", 8, "")[..]].concat()));
    assert_eq!(music(&low), ["music", "notes: 1/1 4:2 |"]);
    // Without it, strings and frets say so.
    let fretted = "<notations><technical><string>4</string><fret>2</fret></technical></notations>";
    let high = read(&bar(1, &[FOUR_FOUR, &note("E4", 8, fretted)].concat()));
    assert_eq!(music(&high), ["music", "notes: 1/1 4:2 |"]);
    let told = imported(&high).left_out;
    assert!(told[0].contains("12 half steps lower, as strings and frets say"), "{told:?}");
}

#[test]
fn a_capo_and_another_tuning_are_kept() {
    let tuning = |line: u32, step: &str, octave: u32| {
        format!(
            "<staff-tuning line='{line}'><tuning-step>{step}</tuning-step>\
             <tuning-octave>{octave}</tuning-octave></staff-tuning>"
        )
    };
    let strings = [("D", 2), ("G", 2), ("D", 3), ("G", 3), ("B", 3), ("D", 4)];
    let lines: String =
        (1..).zip(strings).map(|(line, (step, octave))| tuning(line, step, octave)).collect();
    let details = format!(
        "{FOUR_FOUR}<attributes><staff-details><staff-lines>6</staff-lines>{lines}<capo>2</capo>\
         </staff-details></attributes>"
    );
    let fretted = "<notations><technical><string>5</string><fret>0</fret></technical></notations>";
    let score = read(&bar(1, &[&details, &note("A2", 8, fretted)[..]].concat()));
    let text = print(&imported(&score).study);
    assert!(text.contains("tuning D2 G2 D3 G3 B3 D4\ncapo 2\n"), "{text}");
    assert!(text.contains("notes: 1/1 5:0 |"), "{text}");
}

#[test]
fn a_part_is_joined_with_the_same_music_in_tablature() {
    let staff = bar(1, &[FOUR_FOUR, &note("E4", 4, ""), &note("G4", 4, "")].concat());
    let at = |string: u8, fret: u8| {
        format!(
            "<notations><technical><string>{string}</string><fret>{fret}</fret></technical></notations>"
        )
    };
    let tab = [FOUR_FOUR, &note("E4", 4, &at(2, 5)), &note("G4", 4, &at(2, 8))].concat();
    let text = |tab: &str| {
        format!(
            "<score-partwise><part-list><score-part id='A'><part-name>Guitar</part-name></score-part>\
             <score-part id='B'><part-name>Tab</part-name></score-part></part-list>\
             <part id='A'>{staff}</part><part id='B'>{}</part></score-partwise>",
            bar(1, tab)
        )
    };
    let both = score::read(text(&tab).as_bytes()).unwrap();
    assert_eq!(music(&both), ["music", "notes: 1/2 2:5 2:8 |"]);
    assert_eq!(imported(&both).part, "Guitar");
    // Other music is another part.
    let other = [FOUR_FOUR, &note("E4", 4, &at(2, 5)), &note("A4", 4, &at(2, 10))].concat();
    let other = score::read(text(&other).as_bytes()).unwrap();
    let problem = study(&other, &Choice::default(), "").unwrap_err();
    assert!(problem.to_string().contains("1 “Guitar” and 2 “Tab”"), "{problem}");
}

/// Whichever way round parts and bars are written, and in whatever letters.
#[test]
fn other_ways_to_write_a_file_are_read() {
    let inside = [FOUR_FOUR, &note("E4", 8, "")].concat();
    let timewise = format!(
        "<score-timewise><part-list><score-part id='P'><part-name/></score-part></part-list>\
         <measure number='1'><part id='P'>{inside}</part></measure></score-timewise>"
    );
    let wide: Vec<u8> =
        [0xfeff].into_iter().chain(timewise.encode_utf16()).flat_map(u16::to_be_bytes).collect();
    for content in [timewise.as_bytes(), &wide] {
        assert_eq!(music(&score::read(content).unwrap()), ["music", "notes: 1/1 1:0 |"]);
    }
}

#[test]
fn some_bars_keep_their_printed_numbers() {
    let all: String = (1..=9)
        .map(|n| bar(n, &[if n == 1 { FOUR_FOUR } else { "" }, &note("E4", 8, "")].concat()))
        .collect();
    let choice = Choice { bars: Some((5, 6)), ..Choice::default() };
    let text = print(&study(&read(&all), &choice, "").unwrap().study);
    assert!(
        text.contains("music at bar 5\n") && text.contains("chunk \"Bars 5 to 6\" bars 5 to 6"),
        "{text}"
    );
    assert!(!text.contains("bar 7"), "{text}");
}
