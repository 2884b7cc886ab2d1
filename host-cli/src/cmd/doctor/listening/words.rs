//! What was heard, in sentences: what is well, what is not, and what helps.

use super::super::{Check, State};
use crate::calibrate::playing::{Account, Playing, StringHeard};
use crate::report::count;
use crate::sitting::connection::POOR_HEARING;
use evenhand_core::notes::level_of;
use evenhand_core::pickup::{Channels, TrackingError};
use evenhand_core::units::Velocity;

/// Of fewer notes little can be said. Our default: four of each string.
const FEWEST: usize = 24;

/// Velocities that are all alike in so many notes are stuck; nobody plays so many alike. Our default, as
/// `calibrate` has it.
const ALIKE: usize = 12;

/// Ends of the scale that are reached by one note in so many are too near. Our default.
const TOO_MANY: usize = 10;

/// A string that arrives further from the middle of all than this, in hundredths of a dB, is told. Our
/// default: four times what a listener can tell from equal.
const APART: i64 = 300;

/// A string that comes later in chords than this, or scatters by more, in microseconds, is told. Our default:
/// what the judge takes for no difference.
const LATE: i64 = 12_000;

/// Notes that cannot be played on the string of their channel are so many in a hundred, if the channels
/// stand in another order. Our default.
const ASTRAY: usize = 20;

/// All that there is to tell.
pub(super) struct Heard<'h> {
    pub(super) name: &'h str,
    pub(super) playing: &'h Playing,
    pub(super) account: &'h Account,
    /// What the profile says of channels.
    pub(super) told: Channels,
}

/// How far it is.
pub(super) fn so_far(playing: &Playing) -> String {
    let account = playing.account();
    let notes = count(playing.note_ons(), "note");
    match silent(&account)[..] {
        [] => format!("{notes} so far."),
        ref silent if knows_strings(&account) => {
            format!("{notes} so far; not heard yet: {}.", strings(silent))
        }
        _ => format!("{notes} so far."),
    }
}

/// All of it, in the order in which it is read.
pub(super) fn checks(heard: &Heard<'_>) -> Vec<Check> {
    let account = heard.account;
    let mut checks = vec![notes(heard)];
    if heard.playing.note_ons() == 0 {
        return checks;
    }
    checks.push(channels(heard));
    checks.extend(not_heard(account));
    if account.is_poor {
        checks.push(Check::new("hearing", State::Wrong, POOR_HEARING));
    }
    checks.extend(mistakes(account));
    checks.extend(velocities(account));
    checks.extend(levels(account));
    checks.extend(lateness(account));
    checks.extend(slurs(account));
    checks.push(not_judged(account));
    checks
}

fn notes(heard: &Heard<'_>) -> Check {
    let (name, notes) = (heard.name, heard.playing.note_ons());
    let bytes = heard.playing.bytes();
    match notes {
        0 if bytes == 0 => {
            Check::new("notes", State::Wrong, format!("nothing came from {name}")).advise(
                "Is the converter switched on and plugged in? Is it another input (`evenhand ports`, \
                 then --port)?\nSome USB cables only carry power; a DIN cable belongs from the \
                 converter's OUT to the interface's IN.",
            )
        }
        0 => {
            let found = format!("{} came from {name}, and no note", count(bytes, "byte"));
            Check::new("notes", State::Wrong, found).advise(
                "The line is there, the guitar is not heard: the pickup's cable, its volume, gain, the \
                 sensitivity of strings, a battery.\nA device may send notes on another of its inputs; \
                 a serial line has to run at the speed of MIDI, 31250.",
            )
        }
        _ if heard.account.is_poured => {
            let found = format!("{} came at once, as from a file", count(notes, "note"));
            Check::new("notes", State::Mind, found)
                .advise("Times say nothing then: listen to the pickup itself, or give --timed.")
        }
        1..FEWEST => {
            let found = format!("only {} came", count(notes, "note"));
            Check::new("notes", State::Mind, found)
                .advise("Listen again and play for a minute, so that more can be told.")
        }
        _ => {
            let seconds = usize::try_from(heard.playing.span() / 1_000_000).unwrap_or(0);
            let found = format!("{} in {}", count(notes, "note"), count(seconds, "second"));
            Check::good("notes", found)
        }
    }
}

fn channels(heard: &Heard<'_>) -> Check {
    let account = heard.account;
    let used: Vec<u8> = account.used.iter().map(|channel| channel + 1).collect();
    let on = match used[..] {
        [one] => format!("channel {one}"),
        _ => format!("channels {}", list(&used)),
    };
    let six = "Set the converter to one channel per string, six in a row, string 1 (the highest) on the \
               lowest.";
    let told = |channel: &u8| heard.told.string(*channel).is_some();
    match (heard.told, account.channels) {
        (Channels::PerString { first }, _) if !account.used.iter().all(told) => {
            let found = format!(
                "notes came on {on}, and the profile says string 1 on channel {}: what is not on \
                 channels {} to {} is passed over",
                first + 1,
                first + 1,
                first + 6
            );
            Check::new("channels", State::Wrong, found)
                .advise("Set the converter as it was, or run `evenhand calibrate` once more.")
        }
        (_, Channels::PerString { .. }) if account.astray * 100 > account.notes() * ASTRAY => {
            let found = format!(
                "{} on {on} cannot be played on the string that their channel stands for: the \
                 channels stand in another order",
                count(account.astray, "note")
            );
            Check::new("channels", State::Wrong, found).advise(six)
        }
        (_, Channels::PerString { first }) => {
            let found = format!("a channel per string, string 1 on channel {}", first + 1);
            Check::good("channels", found)
        }
        _ if used.len() > 1 => {
            let found = format!("notes came on {on}: not six in a row, so no string can be told");
            Check::new("channels", State::Wrong, found).advise(six)
        }
        _ => {
            let found = format!("all notes came on {on}: strings cannot be told apart");
            Check::new("channels", State::Mind, found).advise(format!(
                "{six} Many call it mono mode or mode 4. Where it cannot, say --channels one."
            ))
        }
    }
}

fn not_heard(account: &Account) -> Option<Check> {
    let silent = silent(account);
    if silent.is_empty() || !knows_strings(account) {
        return None;
    }
    let was = if silent.len() == 1 { "was" } else { "were" };
    let found = format!("{} {was} not heard", strings(&silent));
    Some(Check::new("strings", State::Wrong, found).advise(
        "If you played it: turn its sensitivity up, see that the string lies over its pole of the \
         pickup and that the plug sits.",
    ))
}

/// Strings of which no note came.
fn silent(account: &Account) -> Vec<u8> {
    let all = (1..).zip(&account.strings[..6]);
    all.filter(|(_, string)| string.notes == 0).map(|(number, _)| number).collect()
}

fn knows_strings(account: &Account) -> bool {
    matches!(account.channels, Channels::PerString { .. })
}

/// What a mistake is called, and what helps.
const MISTAKES: [(TrackingError, &str, &str); 6] = [
    (
        TrackingError::Lost,
        "seems to have lost",
        "Lost notes: turn the sensitivity of that string up, the pickup closer to it; an old string \
         is heard worse.",
    ),
    (
        TrackingError::Double,
        "was sent twice",
        "Notes sent twice: turn the sensitivity of that string down; a string that buzzes on a fret \
         or on the nail does it, too.",
    ),
    (
        TrackingError::Ghost,
        "was heard through another string",
        "Ghosts of other strings: turn the sensitivity of that string down, the pickup further from \
         it, and damp strings that are not played.",
    ),
    (
        TrackingError::Blip,
        "began with a false pitch",
        "False pitches: a fresh string and a clean attack help; touch the string no longer than the \
         stroke takes.",
    ),
    (
        TrackingError::Octave,
        "came as its octave first",
        "Octaves: pluck further from the bridge, or take a fresh string.",
    ),
    (
        TrackingError::Trailing,
        "was what a lifted finger leaves",
        "Lifted fingers: turn the sensitivity of that string down a little.",
    ),
];

fn mistakes(account: &Account) -> Option<Check> {
    let (mut found, mut advice) = (Vec::new(), Vec::new());
    for (error, what, helps) in MISTAKES {
        let of = |string: &StringHeard| string.mistakes[error as usize];
        for (index, string) in account.strings.iter().enumerate().filter(|(_, it)| of(it) > 0) {
            let whose = if index < 6 { format!("string {}", index + 1) } else { "all".to_owned() };
            let (number, beside) = (of(string), count(string.notes, "note"));
            found.push(match error {
                TrackingError::Lost => {
                    format!("{whose}: {} seems lost, beside {beside}", count(number, "note"))
                }
                _ => format!("{whose}: {} {what}, beside {beside}", count(number, "note"))
                    .replace("notes was", "notes were"),
            });
            if !advice.contains(&helps) {
                advice.push(helps);
            }
        }
    }
    if account.is_poured {
        return None;
    }
    if !found.is_empty() {
        let found = found.join("\n");
        return Some(Check::new("mistakes", State::Mind, found).advise(advice.join("\n")));
    }
    let good = "no note looks like a mistake of the pickup's";
    (account.notes() >= FEWEST).then(|| Check::good("mistakes", good))
}

fn velocities(account: &Account) -> Option<Check> {
    let all = account.velocities;
    if all.notes < ALIKE {
        return None;
    }
    let (velocity, most) = all.most_common;
    let curve = "If the converter can follow the pick, let it: its velocity curve, or dynamics, is \
                 set to one value.";
    if most == all.notes {
        let found = format!("every note came with velocity {velocity}: evenness cannot be heard");
        return Some(Check::new("velocity", State::Mind, found).advise(curve));
    }
    if all.full > 0 && all.full * TOO_MANY >= all.notes {
        let found = format!("{} of {} notes came at 127, the most there is", all.full, all.notes);
        return Some(Check::new("velocity", State::Mind, found).advise(
            "Turn the gain or the sensitivity down, or take a flatter velocity curve: louder than \
             that cannot be told apart.",
        ));
    }
    if all.least > 0 && all.least * TOO_MANY >= all.notes {
        let found = format!("{} of {} notes came at 1, the least there is", all.least, all.notes);
        return Some(Check::new("velocity", State::Mind, found).advise(
            "Turn the gain or the sensitivity up, or take a steeper velocity curve: softer than \
             that cannot be told apart.",
        ));
    }
    if all.notes >= FEWEST && most * 2 > all.notes {
        let found = format!("{most} of {} notes came with velocity {velocity}", all.notes);
        return Some(Check::new("velocity", State::Mind, found).advise(curve));
    }
    Some(Check::good("velocity", "velocities follow the stroke and reach neither end"))
}

fn levels(account: &Account) -> Option<Check> {
    let level = |string: &StringHeard| {
        let velocity = string.velocity.filter(|_| string.spread.is_some());
        velocity.and_then(Velocity::new).map(|it| i64::from(level_of(it).hundredths()))
    };
    let levels: Vec<Option<i64>> = account.strings[..6].iter().map(level).collect();
    let mut known: Vec<i64> = levels.iter().flatten().copied().collect();
    known.sort_unstable();
    let middle = *known.get(known.len() / 2).filter(|_| known.len() >= 3)?;
    let found: Vec<String> = (1..)
        .zip(&levels)
        .filter_map(|(number, level): (u8, _)| {
            let apart = (*level)? - middle;
            let word = if apart < 0 { "softer" } else { "louder" };
            (apart.abs() >= APART).then(|| {
                format!(
                    "string {number} arrives {:.1} dB {word} than the others",
                    apart.abs() as f64 / 100.0
                )
            })
        })
        .collect();
    Some(if found.is_empty() {
        Check::good("levels", "strings arrive about as loud as each other")
    } else {
        Check::new("levels", State::Mind, found.join("\n")).advise(
            "If you played all alike, set the sensitivity of that string; `evenhand calibrate` finds \
             the levels and makes up for what is left.",
        )
    })
}

fn lateness(account: &Account) -> Option<Check> {
    let known =
        (1..).zip(&account.strings[..6]).filter_map(|(number, it)| Some((number, it.late?)));
    let known: Vec<(u8, _)> = known.collect();
    if known.is_empty() {
        return None;
    }
    let ms = |micros: i64| (micros.abs() as f64 / 1_000.0).round();
    let mut found = Vec::new();
    for (number, late) in &known {
        if late.by.abs() > LATE {
            let word = if late.by < 0 { "before" } else { "after" };
            found.push(format!(
                "string {number} comes {} ms {word} the middle of a chord, give or take {} ms",
                ms(late.by),
                ms(late.scatter)
            ));
        } else if late.scatter > LATE {
            found.push(format!("string {number} scatters by {} ms in chords", ms(late.scatter)));
        }
    }
    Some(if found.is_empty() {
        let found = format!(
            "in {} the strings came within {} ms of the middle, without one period of their pitch",
            count(account.chords, "chord"),
            LATE / 1_000
        );
        Check::good("lateness", found)
    } else {
        Check::new("lateness", State::Mind, found.join("\n")).advise(
            "The hand may do it as well as the converter. `evenhand calibrate` measures which, and the \
             judge takes it off; it also learns it while you practise.",
        )
    })
}

fn slurs(account: &Account) -> Option<Check> {
    let (bent, over) = (account.bent, account.over_a_note);
    if bent + over == 0 {
        return None;
    }
    let over_words = format!("{} began while another sounded on its string", count(over, "note"));
    Some(match (bent, over) {
        (0, _) => Check::good(
            "slurs",
            format!("{over_words}, and none was bent there: slurs come as new notes"),
        ),
        _ => {
            let found = match over {
                0 => format!("{} to another semitone and stayed there", bends(bent)),
                _ => format!("{} to another semitone and stayed there; {over_words}", bends(bent)),
            };
            Check::new("slurs", State::Mind, found).advise(
                "A slur that comes as a bend has no loudness, so it stays unclear. Set the converter \
                 to new notes for each semitone (often called chromatic), if it can.",
            )
        }
    })
}

fn bends(number: usize) -> String {
    if number == 1 { "one note was bent".to_owned() } else { format!("{number} notes were bent") }
}

/// What could not be told, and why.
fn not_judged(account: &Account) -> Check {
    let mut not = vec![
        "wrong notes, and most lost ones: what was to be played is not known",
        "how late all strings come together: only a click or a microphone can tell",
    ];
    let few = account.strings[..6].iter().all(|string| string.late.is_none());
    if account.is_poured {
        not.push("whatever needs times: doubles, ghosts, lateness");
    } else if few && knows_strings(account) {
        not.push(
            "how late strings come against each other: five chords of three strings are needed",
        );
    } else if few {
        not.push("how late strings come against each other: strings are not told apart");
    }
    if !account.is_poured && account.rows == 0 {
        not.push("lost notes: no even row of one note was heard, and no chord three times");
    }
    if account.bent + account.over_a_note == 0 && !knows_strings(account) {
        not.push(
            "slurs: none came as a bend, and as new notes they are not told from other strings'",
        );
    } else if account.bent + account.over_a_note == 0 {
        not.push("slurs: none was heard");
    }
    if account.velocities.notes < ALIKE {
        not.push("velocities: too few notes");
    }
    let found = format!("not judged:\n{}", not.join("\n"));
    Check::new("not-judged", State::Absent, found)
}

/// `string 4`, `strings 2 and 5`.
fn strings(numbers: &[u8]) -> String {
    let word = if numbers.len() == 1 { "string" } else { "strings" };
    format!("{word} {}", list(numbers))
}

fn list(numbers: &[u8]) -> String {
    let words: Vec<String> = numbers.iter().map(u8::to_string).collect();
    match &words[..] {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
