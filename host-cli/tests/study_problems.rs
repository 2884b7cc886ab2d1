//! What is said about texts that are wrong, word for word.

use evenhand::study::{LARGEST_TEXT, MOST_CHUNKS, MOST_PROBLEMS, Problem, parse};
use std::path::Path;

/// All problems of a text, of its spelling or else of its music.
fn problems(text: &str) -> Vec<Problem> {
    match parse(text) {
        Err(problems) => problems,
        Ok(study) => study.prepare().expect_err(text),
    }
}

/// Where each is and what it says, without the line of the text.
fn said(text: &str) -> Vec<String> {
    let first_line = |p: &Problem| p.to_string().lines().next().unwrap_or_default().to_owned();
    problems(text).iter().map(first_line).collect()
}

/// Texts before the first chunk, with what is said about the second line on.
const SETTINGS: &[(&str, &str)] = &[
    ("title", "line 2, column 6: found the end of the line, the title would be right"),
    ("title \"A", "line 2, column 7: found “A”, a closing \" after the name would be right"),
    (
        "title \"\"",
        "line 2, column 7: found an empty name, a name such as \"The climb\" would be right",
    ),
    ("titel A", "line 2, column 1: found “titel”, “title” would be right"),
    (
        "tuning",
        "line 2, column 7: found the end of the line, 4 to 8 pitches, low to high, such as E2 A2 D3 G3 B3 E4 would be right",
    ),
    (
        "tuning E2 A2",
        "line 2, column 8: found 2 strings, 4 to 8 pitches, low to high, such as E2 A2 D3 G3 B3 E4 would be right",
    ),
    (
        "tuning E2 A2 D3 G3 X3 E4",
        "line 2, column 20: found “X3”, a pitch such as E2, F#3 or Bb3 would be right",
    ),
    (
        "capo",
        "line 2, column 5: found the end of the line, a fret from 0 (no capo) to 12 would be right",
    ),
    ("capo 13", "line 2, column 6: found “13”, a fret from 0 (no capo) to 12 would be right"),
    ("capo two", "line 2, column 6: found “two”, a fret from 0 (no capo) to 12 would be right"),
    (
        "metre",
        "line 2, column 6: found the end of the line, a metre such as 4/4, 3/4 or 6/8 would be right",
    ),
    ("metre 4", "line 2, column 7: found “4”, a metre such as 4/4, 3/4 or 6/8 would be right"),
    ("metre 4/4 3/4", "line 2, column 11: found “3/4”, nothing more on this line would be right"),
    (
        "metre 33/4",
        "line 2, column 7: found “33/4”, a metre such as 4/4, 3/4 or 6/8 would be right",
    ),
    (
        "tempo",
        "line 2, column 6: found the end of the line, a number of beats a minute, such as 72 would be right",
    ),
    (
        "tempo 72.5",
        "line 2, column 7: found “72.5”, a number of beats a minute, such as 72 would be right",
    ),
    (
        "tempo 72 of 1/3",
        "line 2, column 13: found “1/3”, a note value such as 1/4, 1/4. or 1/8 would be right",
    ),
    (
        "tempo 2000",
        "line 2, column 7: found “2000”, 10 to 1500 of these beats a minute would be right",
    ),
    (
        "tempo 72\ntempo 80",
        "line 3, column 1: found a second “tempo”, “tempo” once in a study or a chunk would be right",
    ),
    (
        "level",
        "line 2, column 6: found the end of the line, first, steady or performance would be right",
    ),
    ("level hard", "line 2, column 7: found “hard”, first, steady or performance would be right"),
    ("level preformance", "line 2, column 7: found “preformance”, “performance” would be right"),
    (
        "allow",
        "line 2, column 6: found the end of the line, one of slips, unsteadiness, note offset, hesitation, drift, chord spread, unevenness, note level, slur level, click offset, trill unevenness would be right",
    ),
    (
        "allow chord spraed 30 ms",
        "line 2, column 7: found “chord spraed”, “chord spread” would be right",
    ),
    (
        "allow chrod spread 30 ms",
        "line 2, column 7: found “chrod spread”, “chord spread” would be right",
    ),
    (
        "allow cake 3 %",
        "line 2, column 7: found “cake”, one of slips, unsteadiness, note offset, hesitation, drift, chord spread, unevenness, note level, slur level, click offset, trill unevenness would be right",
    ),
    (
        "allow slips",
        "line 2, column 12: found the end of the line, “slips none” or “slips 1 in 8” would be right",
    ),
    (
        "allow slips 2 in 8",
        "line 2, column 13: found “2”, “slips none” or “slips 1 in 8” would be right",
    ),
    ("allow slips 1 of 8", "line 2, column 15: found “of”, “in” would be right"),
    ("allow slips 1 in 0", "line 2, column 18: found “0”, a number from 1 to 1000 would be right"),
    (
        "allow unsteadiness",
        "line 2, column 19: found the end of the line, “unsteadiness 15 ms or 5 %” would be right",
    ),
    (
        "allow unsteadiness 15",
        "line 2, column 22: found the end of the line, the unit ms or % would be right",
    ),
    ("allow unsteadiness 15 s", "line 2, column 23: found “s”, the unit ms or % would be right"),
    (
        "allow unsteadiness 15 ms or 16 ms",
        "line 2, column 29: found “ms”, one limit in ms and one in % would be right",
    ),
    (
        "allow unsteadiness 5000 ms",
        "line 2, column 20: found “5000 ms”, 1 to 1000 ms would be right",
    ),
    (
        "allow unevenness 2,5 dB",
        "line 2, column 19: found “,”, a decimal point, such as 2.5 would be right",
    ),
    (
        "allow unevenness 2.555 dB",
        "line 2, column 18: found “2.555”, a number with at most 2 decimal places would be right",
    ),
    (
        "allow drift 2.55 %",
        "line 2, column 13: found “2.55”, a number with at most 1 decimal place would be right",
    ),
    ("allow unevenness 2.5 ms", "line 2, column 22: found “ms”, the unit dB would be right"),
    ("allow drift 0 %", "line 2, column 13: found “0 %”, 0.1 to 100 % would be right"),
    (
        "allow drift 6 % or 20 ms",
        "line 2, column 17: found “or”, nothing more on this line would be right",
    ),
    (
        "allow click offset 25 to -45 ms",
        "line 2, column 20: found “25 to -45 ms”, the earlier limit first would be right",
    ),
    (
        "allow click offset 25 ms",
        "line 2, column 25: found the end of the line, “click offset -45 to 25 ms” would be right",
    ),
    ("allow click offset -45 25 ms", "line 2, column 24: found “25”, “to” would be right"),
    (
        "allow click offset -900 to 25 ms",
        "line 2, column 20: found “-900 ms”, -500 to 500 ms would be right",
    ),
    (
        "allow drift 6 %\nallow drift 7 %",
        "line 3, column 7: found a second “drift”, “drift” once in a study or a chunk would be right",
    ),
    (
        "speed 72",
        "line 2, column 1: found “speed”, title, tuning, capo, metre, tempo, level, allow or chunk would be right",
    ),
    ("tempo: 72", "line 2, column 1: found “tempo:”, “tempo” without a colon would be right"),
    (
        "melody: 1/8 5:3",
        "line 2, column 1: found “melody:”, a line that begins with “chunk” above the first voice would be right",
    ),
    (
        "landing next",
        "line 2, column 1: found “landing”, a line that begins with “chunk” above it would be right",
    ),
    (
        "alternative \"B\"",
        "line 2, column 1: found “alternative”, a line that begins with “chunk” above it would be right",
    ),
    ("melody 1/8 5:3", "line 2, column 1: found “melody”, “melody:” would be right"),
    (
        "5:3 5:5",
        "line 2, column 1: found “5:3”, the name of a voice and a colon before the notes, such as “melody:”, would be right",
    ),
];

/// Voices of a chunk in 4/4, with what is said about them: column, found, right.
const VOICES: &[(&str, &[&str])] = &[
    (
        "",
        &[
            "line 3, column 4: found the end of the line, notes after the name of the voice would be right",
        ],
    ),
    (
        "1/9 5:3",
        &["line 3, column 6: found “1/9”, a duration such as 1/4, 1/8. or 1/16 would be right"],
    ),
    (
        "1/8... 5:3",
        &["line 3, column 6: found “1/8...”, a duration such as 1/4, 1/8. or 1/16 would be right"],
    ),
    (
        "1/64.. 5:3",
        &["line 3, column 6: found “1/64..”, a duration such as 1/4, 1/8. or 1/16 would be right"],
    ),
    (
        "2/4 5:3",
        &[
            "line 3, column 6: found “2/4”, “2:4” for a note, or a duration such as 1/4, 1/8. or 1/16 would be right",
        ],
    ),
    (
        "1/8 5/3",
        &[
            "line 3, column 10: found “5/3”, “5:3” for a note, or a duration such as 1/4, 1/8. or 1/16 would be right",
        ],
    ),
    ("1/8 5.3", &["line 3, column 10: found “5.3”, “5:3” would be right"]),
    (
        "1/8 9:3",
        &[
            "line 3, column 10: found “9:3”, a string from 1 (highest) to 8 before the colon would be right",
        ],
    ),
    (
        "1/8 5:x",
        &[
            "line 3, column 10: found “5:x”, a fret of one or two figures after the colon would be right",
        ],
    ),
    (
        "1/8 5:100",
        &[
            "line 3, column 10: found “5:100”, a fret of one or two figures after the colon would be right",
        ],
    ),
    ("1/8 H4", &["line 3, column 10: found “H4”, “B4” would be right"]),
    (
        "1/8 C4#",
        &[
            "line 3, column 10: found “C4#”, a note such as 5:3 or C#4, a duration such as 1/8, rest, tie or | would be right",
        ],
    ),
    (
        "1/8 ^",
        &[
            "line 3, column 11: found the end of the line, a note such as 5:3 (string 5, fret 3) or C#4 would be right",
        ],
    ),
    (
        "1/8 5:3+",
        &[
            "line 3, column 14: found the end of the line, a note such as 5:3 (string 5, fret 3) or C#4 would be right",
        ],
    ),
    (
        "1/8 +5:3",
        &["line 3, column 10: found “+”, + only between the notes of a chord would be right"],
    ),
    (
        "1/8 5:3 )",
        &["line 3, column 14: found “)”, marks in one ( ) directly after a note would be right"],
    ),
    (
        "1/8 5:3(5)",
        &[
            "line 3, column 14: found “5”, a finger (1 2 3 4 t or p i m a c), trill, hold, accent or short would be right",
        ],
    ),
    ("1/8 5:3(3p)", &["line 3, column 14: found “3p”, “3 p” would be right"]),
    (
        "1/8 5:3(3 2)",
        &["line 3, column 16: found “2”, one mark of each kind on a note would be right"],
    ),
    (
        "1/8 5:3(hold hold)",
        &["line 3, column 19: found “hold”, one mark of each kind on a note would be right"],
    ),
    (
        "1/8 5:3(trill)",
        &[
            "line 3, column 19: found “)”, the other fret or pitch after “trill”, such as trill 5 or trill D3 would be right",
        ],
    ),
    (
        "1/8 5:3(trill x)",
        &[
            "line 3, column 20: found “x”, the other fret or pitch after “trill”, such as trill 5 or trill D3 would be right",
        ],
    ),
    ("1/8 5:3(acent)", &["line 3, column 14: found “acent”, “accent” would be right"]),
    (
        "1/8 5:3(p 4:2",
        &["line 3, column 13: found “(”, a closing ) after the marks of the note would be right"],
    ),
    ("1/8 rset", &["line 3, column 10: found “rset”, “rest” would be right"]),
    ("1/8 rolld 5:3+4:2", &["line 3, column 10: found “rolld”, “rolled” would be right"]),
    ("1/8 shfit VII 5:3", &["line 3, column 10: found “shfit”, “shift” would be right"]),
    (
        "1/8 shift",
        &["line 3, column 10: found “shift”, a note or chord after “shift” would be right"],
    ),
    (
        "1/8 shift VII rest",
        &["line 3, column 10: found “shift”, a note or chord after “shift” would be right"],
    ),
    (
        "1/8 barre 5:3",
        &["line 3, column 16: found “5:3”, a position such as V after “barre” would be right"],
    ),
    (
        "1/8 barre V barre VI 5:3",
        &["line 3, column 18: found “barre”, one “barre” before a note would be right"],
    ),
    (
        "1/8 VII 5:3",
        &["line 3, column 10: found “VII”, “shift” or “barre” before a position would be right"],
    ),
    (
        "1/8 harmonic 5:3",
        &[
            "line 3, column 10: found “harmonic”, a note such as 5:3 or C#4, a duration such as 1/8, rest, tie or | would be right",
        ],
    ),
    ("1/8 3in2 5:3", &["line 3, column 10: found “3in2”, “3in2[” before its notes would be right"]),
    (
        "1/8 [ 5:3 ]",
        &[
            "line 3, column 10: found “[”, the ratio of a tuplet before it, such as 3in2[ would be right",
            "line 3, column 16: found “]”, a tuplet such as 3in2[ before it would be right",
        ],
    ),
    (
        "1/8 5:3 ]",
        &["line 3, column 14: found “]”, a tuplet such as 3in2[ before it would be right"],
    ),
    (
        "3in2[ 1/8 5:3 | 5:5 5:7 ]",
        &["line 3, column 20: found “|”, ] before the barline, to close 3in2 would be right"],
    ),
    (
        "3in2[ 1/8 5:3",
        &["line 3, column 6: found “3in2”, a closing ] on the same line would be right"],
    ),
    (
        "3in2[ ]",
        &[
            "line 3, column 6: found a tuplet with nothing in it, notes between the brackets would be right",
        ],
    ),
    (
        "3in2[ 1/8 5:3 3in2[ 1/16 5:3 ] ]",
        &[
            "line 3, column 20: found “3in2”, ] before it: tuplets do not stand in each other would be right",
            "line 3, column 37: found “]”, a tuplet such as 3in2[ before it would be right",
        ],
    ),
    (
        "3in3[ 1/8 5:3 ]",
        &[
            "line 3, column 6: found “3in3”, a ratio such as 3in2, 5in4, 6in4 or 7in4 would be right",
        ],
    ),
    (
        "11in8[ 1/64 5:3 ]",
        &[
            "line 3, column 6: found “11in8” around 1/64 of written notes, notes that fill 11 equal parts would be right",
            "line 3, column 18: found 1/64 in “11in8”, which is no whole number of ticks, a longer note, or a ratio of 2 to 10, 12, 14 or 15 notes would be right",
        ],
    ),
    (
        "3in2[ 1/8 5:3 5:5 ]",
        &[
            "line 3, column 6: found “3in2” around 1/4 of written notes, notes that fill 3 equal parts would be right",
        ],
    ),
    (
        "\"x\"",
        &[
            "line 3, column 6: found “x”, a note such as 5:3 or C#4, a duration such as 1/8, rest, tie or | would be right",
        ],
    ),
    (
        "1/8 5:3 bass: 4:2",
        &["line 3, column 14: found “bass:”, each voice on a line of its own would be right"],
    ),
    (
        "5:3",
        &[
            "line 3, column 6: found the first note of a voice without a duration, a duration such as 1/8 before it would be right",
        ],
    ),
    (
        "1/8 tie",
        &[
            "line 3, column 10: found “tie”, a note or chord of this chunk directly before “tie” would be right",
        ],
    ),
    (
        "1/8 5:3 rest tie",
        &[
            "line 3, column 19: found “tie”, a note or chord of this chunk directly before “tie” would be right",
        ],
    ),
    (
        "1/8 7:3",
        &[
            "line 3, column 10: found “7:3”, a string from 1 to 6, as the tuning is E2 A2 D3 G3 B3 E4, would be right",
        ],
    ),
    ("1/8 1:31", &["line 3, column 10: found “1:31”, a fret from 0 to 30 would be right"]),
    ("1/8 5:3+5:3", &["line 3, column 14: found “5:3”, each note once in a chord would be right"]),
    ("1/8 C4+C4", &["line 3, column 13: found “C4”, each note once in a chord would be right"]),
    (
        "1/8 5:3+5:5",
        &[
            "line 3, column 14: found two notes at once on string 5, one note on a string at a time would be right",
        ],
    ),
    (
        "1/8 ^5:3",
        &[
            "line 3, column 10: found “^5:3” with no note before it on string 5 in this voice, a note on the same string before it, without a rest between, or no ^, would be right",
        ],
    ),
    (
        "1/8 C4 ^C4",
        &[
            "line 3, column 13: found “^C4” with the same note before it, another note before it, or no ^, would be right",
        ],
    ),
    (
        "1/8 5:3 rest ^5:5",
        &[
            "line 3, column 19: found “^5:5” with no note before it on string 5 in this voice, a note on the same string before it, without a rest between, or no ^, would be right",
        ],
    ),
    (
        "1/8 5:0(2)",
        &[
            "line 3, column 10: found a left finger on the open string “5:0”, a fret, or no left finger, would be right",
        ],
    ),
    (
        "1/8 5:3(trill 3)",
        &[
            "line 3, column 10: found a trill to the note itself, another fret or pitch after “trill” would be right",
        ],
    ),
    (
        "1/8 5:3(trill 31)",
        &["line 3, column 10: found “trill 31”, a fret from 0 to 30 would be right"],
    ),
    (
        "1/8 C3(trill 5)",
        &[
            "line 3, column 10: found “trill 5”, a pitch such as D3 after “trill”, as the note names no string, would be right",
        ],
    ),
    (
        "1/8 5:3(trill C2)",
        &["line 3, column 10: found “trill C2”, a pitch that string 5 has would be right"],
    ),
    (
        "1/8 rolled 5:3",
        &[
            "line 3, column 17: found “rolled”, a chord of two notes or more after “rolled” would be right",
        ],
    ),
    (
        "1/4 5:3 | 4:2",
        &[
            "line 3, column 14: found a barline after a bar that is 3/4 too short, 3/4 more before it would be right",
        ],
    ),
    (
        "1/2 5:3 5:5 5:7 | 5:3",
        &[
            "line 3, column 22: found a barline after a bar that is 1/2 too long, 1/2 less before it would be right",
        ],
    ),
    (
        "1/8 E2+F2+G2+A2+B2+C3+D3+E3+F3",
        &["line 3, column 34: found 9 notes that begin together, at most 8 would be right"],
    ),
];

/// Lines of a chunk, with what is said about them.
const CHUNKS: &[(&str, &[&str])] = &[
    (
        "chunk",
        &[
            "line 2, column 6: found the end of the line, a name in quotes, such as \"The climb\" would be right",
        ],
    ),
    (
        "chunk The climb",
        &["line 2, column 7: found “The”, a name in quotes, such as \"The climb\" would be right"],
    ),
    ("chunk \"A", &["line 2, column 7: found “A”, a closing \" after the name would be right"]),
    (
        "chunk \"\"",
        &["line 2, column 7: found an empty name, a name such as \"The climb\" would be right"],
    ),
    (
        "chunk \"A\" bar 5",
        &[
            "line 2, column 11: found “bar”, “at bar” and a number, or nothing, after the name would be right",
        ],
    ),
    (
        "chunk \"A\" at 5",
        &["line 2, column 14: found “5”, “bar” and a number after “at” would be right"],
    ),
    (
        "chunk \"A\" at bar five",
        &[
            "line 2, column 18: found “five”, the number of a bar from 1 to 9999, or 0 for a pickup bar would be right",
        ],
    ),
    (
        "chunk \"A\" at bar 5 beat 0",
        &["line 2, column 25: found “0”, the number of a beat from 1 to 32 would be right"],
    ),
    (
        "chunk \"A\" at bar 5 beat 2 plus 3",
        &["line 2, column 32: found “3”, a note value such as 1/8 after “plus” would be right"],
    ),
    (
        "chunk \"A\" at bar 5 beat 3 now",
        &["line 2, column 27: found “now”, nothing more on this line would be right"],
    ),
    (
        "title A",
        &[
            "line 1, column 1: found a study without a chunk, a line such as chunk \"The climb\" would be right",
        ],
    ),
    (
        "chunk \"A\" at bar 5 beat 5\n m: 1/4 5:3",
        &[
            "line 2, column 11: found a start after the end of the bar, a place inside a bar of 4 beats would be right",
        ],
    ),
    (
        "chunk \"A\"",
        &["line 2, column 7: found no notes, at least one note under this line would be right"],
    ),
    (
        "chunk \"A\"\n m: 1/4 rest",
        &["line 2, column 7: found no notes, at least one note under this line would be right"],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\nchunk \"A\"\n m: 1/4 5:3",
        &["line 4, column 7: found a second “A”, another name would be right"],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n title X",
        &["line 4, column 2: found “title”, this line above the first chunk would be right"],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n nonsense",
        &[
            "line 4, column 2: found “nonsense”, a voice such as “melody:”, or level, tempo, metre, allow, landing, alternative or chunk, would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n alternative \"B\"\n m: 1/4 6:8\n tempo 60",
        &[
            "line 6, column 2: found “tempo”, this line above the first alternative of the chunk would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n alternative \"B\"\n m: 1/4 6:8\n landing next",
        &[
            "line 6, column 2: found “landing”, this line above the first alternative of the chunk would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n alternative \"B\"\n m: 1/4 6:8\n alternative \"B\"\n m: 1/4 6:8",
        &["line 6, column 14: found a second “B”, another name would be right"],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n alternative \"B\"",
        &["line 4, column 14: found no notes, at least one note under this line would be right"],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3 5:5\n alternative \"B\"\n m: 1/4 6:8 6:9",
        &[
            "line 5, column 13: found C#3 in bar 1, beat 2 in the alternative, D3 in bar 1, beat 2, as in the chunk, would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3 5:5\n alternative \"B\"\n m: 1/4 6:8",
        &[
            "line 4, column 14: found the end of “B”, D3 in bar 1, beat 2 as well, as in the chunk, would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n alternative \"B\"\n m: 1/4 6:8 6:9",
        &[
            "line 5, column 13: found C#3 in bar 1, beat 2 in the alternative, the end of the music, as in the chunk, would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3(trill 5)\n alternative \"B\"\n m: 1/4 6:8",
        &[
            "line 5, column 9: found C3 in bar 1, beat 1 in the alternative, C3 with a trill to D3 in bar 1, beat 1, as in the chunk, would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3 1/8 5:5\n alternative \"B\"\n m: 1/8 6:8 rest 1/16 rest 6:10",
        &[
            "line 5, column 28: found D3 in bar 1, beat 2 plus 1/16 in the alternative, D3 in bar 1, beat 2, as in the chunk, would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n landing",
        &[
            "line 4, column 9: found the end of the line, “next” or a chord such as 5:3+4:2+3:0 after “landing” would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n landing nxet",
        &[
            "line 4, column 10: found “nxet”, “next” or a chord such as 5:3+4:2+3:0 after “landing” would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n landing next",
        &[
            "line 4, column 10: found “next”, “next” before another chunk, or a chord such as 5:3+4:2, would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n landing 5:3(hold)+4:2",
        &[
            "line 4, column 10: found “^”, trill, hold or short in a landing, only fingers and accents on the notes of a landing would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n landing 5:3+5:5",
        &[
            "line 4, column 14: found a note twice on one string, one note on a string at a time would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n landing 5:3 4:2",
        &["line 4, column 14: found “4:2”, nothing more on this line would be right"],
    ),
    (
        "chunk \"A\"\n m: 1/2. 5:3\nchunk \"B\"\n metre 2/4\n m: 1/4 5:3",
        &[
            "line 4, column 7: found a chunk that begins 3/4 into its bar, “at bar” and a number, since its bars last 1/2 would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n b: 1/2 6:0",
        &[
            "line 3, column 2: found “m” 1/4 shorter than “b”, voices that end together, with rests where needed, would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/4 5:3\n b: 1/4 5:5",
        &[
            "line 4, column 9: found two notes at once on string 5, one note on a string at a time would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/8 rest 6:3\n b: 1/4 6:0",
        &[
            "line 3, column 14: found a note on string 6 while E2 still sounds there, a shorter E2, or another string would be right",
        ],
    ),
    (
        "chunk \"A\"\n m: 1/8 rest 6:0\n b: 1/4 6:0(hold)",
        &[
            "line 3, column 14: found a note on string 6 while E2 still sounds there, a shorter E2, or another string would be right",
        ],
    ),
    (
        "chunk \"A\"\n a: 1/4 1:0\n b: 1/4 2:0\n c: 1/4 3:0\n d: 1/4 4:0\n e: 1/4 5:0\n f: 1/4 6:0\n g: 1/4 C5",
        &["line 9, column 2: found “g”, at most 6 voices in a chunk would be right"],
    ),
];

fn assert_said(text: &str, expected: &[&str]) {
    assert_eq!(said(text), expected, "\n{text}");
}

#[test]
fn lines_above_the_chunks() {
    for (lines, expected) in SETTINGS {
        assert_said(&format!("evenhand study 1\n{lines}\nchunk \"A\"\n m: 1/4 5:3\n"), &[expected]);
    }
}

#[test]
fn lines_of_voices() {
    for (voice, expected) in VOICES {
        let text = format!("evenhand study 1\nchunk \"A\"\n  m: {voice}\n");
        assert_said(&text, expected);
    }
}

#[test]
fn lines_of_chunks() {
    for (lines, expected) in CHUNKS {
        assert_said(&format!("evenhand study 1\n{lines}\n"), expected);
    }
}

#[test]
fn the_first_line() {
    for (text, expected) in [
        (
            "",
            "line 1, column 1: found an empty text, “evenhand study 1” as the first line would be right",
        ),
        (
            "evenhand",
            "line 1, column 9: found the end of the line, “evenhand study 1” as the first line would be right",
        ),
        (
            "evenhand study",
            "line 1, column 15: found the end of the line, version 1, the one this program reads, would be right",
        ),
        (
            "evenhand study 2",
            "line 1, column 16: found “2”, version 1, the one this program reads, would be right",
        ),
        (
            "evenhand study 1 2",
            "line 1, column 18: found “2”, nothing more on this line would be right",
        ),
        (
            "evenhnad study 1",
            "line 1, column 1: found “evenhnad”, “evenhand study 1” as the first line would be right",
        ),
        (
            "evenhand study 1\nevenhand study 1",
            "line 2, column 1: found “evenhand”, this line once, at the top would be right",
        ),
    ] {
        assert_said(text, &[expected]);
    }
}

#[test]
fn a_problem_shows_its_line_with_a_mark() {
    let text = "evenhand study 1\nchunk \"A\"\n\tmelody: 1/8 5:3 1/9 ^5:5\n";
    assert_eq!(
        problems(text)[0].to_string(),
        "line 3, column 18: found “1/9”, a duration such as 1/4, 1/8. or 1/16 would be right\n\
         \x20  melody: 1/8 5:3 1/9 ^5:5\n\
         \x20                  ^^^"
    );
}

#[test]
fn a_text_has_its_limits() {
    let voice = |notes: usize| format!("  m: 1/32{}\n", " 5:3".repeat(notes));
    let many = format!("evenhand study 1\nchunk \"A\"\n{}", voice(257));
    assert_eq!(said(&many).len(), 1);
    assert!(
        said(&many)[0].ends_with("found more than 256 notes in a chunk, two chunks would be right")
    );
    assert!(parse(&many.replacen(" 5:3", "", 1)).unwrap().prepare().is_ok());

    let two = "  m: 1/32".to_owned() + &" 5:3".repeat(200) + "\n  n: 1/32" + &" 4:3".repeat(200);
    assert_said(
        &format!("evenhand study 1\nchunk \"A\"\n{two}\n"),
        &["line 2, column 7: found 400 notes in “A”, \
           at most 256 with the landing, so two chunks, would be right"],
    );

    let long = format!("evenhand study 1\nchunk \"A\"\n  m: 1/1{}\n", " 5:3".repeat(86));
    assert!(
        said(&long)[0]
            .ends_with("found more than 340 quarter notes in a chunk, two chunks would be right")
    );

    let chunk = |n: usize| format!("chunk \"{n}\"\n m: 1/1 5:3\n");
    let full: String = (0..MOST_CHUNKS).map(chunk).collect();
    assert!(parse(&format!("evenhand study 1\n{full}")).unwrap().prepare().is_ok());
    assert_said(
        &format!("evenhand study 1\n{full}{}{}", chunk(900), "nonsense\n".repeat(9)),
        &[
            "line 402, column 1: found more than 200 chunks, a second study for the rest would be right",
        ],
    );

    let large = format!("evenhand study 1\n{}", "# \n".repeat(LARGEST_TEXT / 3));
    assert_said(
        &large,
        &["line 1, column 1: found a text of 1048592 bytes, at most 1048576 would be right"],
    );
}

#[test]
fn more_problems_than_anyone_mends_are_counted() {
    let text = format!("evenhand study 1\nchunk \"A\"\n m: 1/4{}\n", " x".repeat(5_000));
    let all = problems(&text);
    assert_eq!(all.len(), MOST_PROBLEMS + 1);
    let last = all.last().unwrap().to_string();
    assert!(
        last.starts_with(
            "line 3, column 109: found 4950 more problems from here on, \
             mending those above first would be right"
        ),
        "{last}"
    );
}

fn damaged(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/damaged").join(name);
    std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn damaged_files_are_told_place_by_place() {
    for (name, places) in [
        (
            "typos.study",
            &[
                (2, 1),
                (3, 21),
                (4, 9),
                (5, 9),
                (6, 9),
                (7, 9),
                (9, 1),
                (10, 11),
                (10, 29),
                (10, 35),
                (10, 54),
                (11, 3),
            ][..],
        ),
        ("wrong-bars.study", &[(6, 31), (9, 31), (13, 3)][..]),
        (
            "unplayable.study",
            &[
                (5, 19),
                (5, 29),
                (5, 38),
                (8, 19),
                (8, 23),
                (8, 28),
                (8, 32),
                (10, 20),
                (12, 7),
                (13, 11),
                (13, 11),
                (13, 26),
                (13, 30),
                (14, 11),
            ][..],
        ),
        ("other-music.study", &[(7, 25), (8, 15), (11, 40)][..]),
        ("unclosed.study", &[(1, 16), (3, 7), (4, 18), (4, 27), (4, 41), (5, 3), (6, 3)][..]),
    ] {
        let text = String::from_utf8(damaged(name)).unwrap();
        let found: Vec<_> = problems(&text).iter().map(|p| (p.line, p.column)).collect();
        assert_eq!(found, places, "{name}");
    }
}

#[test]
fn what_is_no_text_at_all_is_no_trouble() {
    let bytes = damaged("not-text.study");
    assert!(String::from_utf8(bytes.clone()).is_err());
    assert!(!problems(&String::from_utf8_lossy(&bytes)).is_empty());
}
