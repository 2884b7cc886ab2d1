//! Findings as sentences that a guitarist can act on.

use super::place::{note_name, pitch_name, place_name};
use crate::listening::Finished;
use evenhand_core::align::Role;
use evenhand_core::condition::{Doing, cause};
use evenhand_core::study::Attack;
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::units::{Level, Offset};
use evenhand_core::verdict::{Bearing, Finding, Kind, SettledBy, Size};

/// What is said when nothing is to be said.
pub(super) fn passed(finished: &Finished<'_>) -> String {
    let slurred = finished.chunk.notes.iter().any(|note| note.attack == Attack::Slurred);
    let chords = finished.chunk.notes.windows(2).any(|pair| pair[0].onset == pair[1].onset);
    let mut words = String::from("Every note there, steady and even");
    if slurred {
        words.push_str(", slurs included");
    } else if chords {
        words.push_str(", chords together");
    }
    words.push_str(match finished.chunk.tolerances.level {
        PracticeLevel::First => " enough for a first pass.",
        PracticeLevel::Steady => ".",
        PracticeLevel::Performance => ", as for an audience.",
    });
    if finished.together > 1 {
        let attempts = capitalised(&number(finished.together));
        words.push_str(&format!(" {attempts} attempts together say so."));
    }
    words
}

/// What is said where nothing was an attempt, by the number of notes that came.
pub(super) fn no_attempt(count: u32) -> String {
    if count == 0 {
        return "No notes in it: nothing was judged. Check the cable, and what the pickup sends."
            .to_owned();
    }
    format!(
        "No attempt in it: {} came, and too few of them in a row are a chunk's. Something else \
         was played, or broken off early, or the tuning, the capo or the channels differ.",
        notes(count, "note")
    )
}

/// A finding in words: a sentence, how many attempts it rests on, and what would settle it.
pub(super) fn sentence(finished: &Finished<'_>, finding: &Finding) -> String {
    let mut words = what(finished, finding);
    let pooled =
        matches!(finding.kind, Kind::Unsteady | Kind::Uneven | Kind::Drift | Kind::WeakSlurs);
    if finished.together > 1 && pooled && finding.bearing == Bearing::Fails {
        let attempts = capitalised(&number(finished.together));
        words.push_str(&format!(" {attempts} attempts together say so."));
    }
    match finding.settled_by {
        SettledBy::Nothing | SettledBy::ThePickup => {}
        SettledBy::MoreAttempts(1) => {
            words.push_str(" One more attempt at this tempo would settle it.");
        }
        SettledBy::MoreAttempts(more) => {
            let more = capitalised(&number(more));
            words.push_str(&format!(" {more} more attempts at this tempo would settle it."));
        }
        SettledBy::AnotherAttempt if hangs_on_one(finding.kind) => {
            words.push_str(" So near the limit it may be chance; see whether it comes again.");
        }
        SettledBy::AnotherAttempt => {}
    }
    words
}

/// Whether a finding is about single notes or places, not about what is missing altogether.
const fn hangs_on_one(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::OffBeat
            | Kind::Hesitation
            | Kind::HesitationAtShift
            | Kind::LoudNotes
            | Kind::SoftNotes
            | Kind::WeakSlurs
            | Kind::SpreadChords
    )
}

/// A number in words, as far as they are short.
fn number(count: u8) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS.get(usize::from(count)).map_or_else(|| count.to_string(), |word| (*word).to_owned())
}

fn capitalised(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Where, what, how much, and what to try.
fn what(finished: &Finished<'_>, finding: &Finding) -> String {
    let at = finding.note.map(usize::from).unwrap_or(0);
    let chunk = finished.chunk;
    let place = place_name(chunk, at);
    let note = note_name(chunk, at);
    let count = finding.count;
    let size = amount(finding.size);
    let limit = amount(finding.limit);
    match finding.kind {
        Kind::NothingHeard => "No note came. Check the cable, and that the pickup sends on the \
             channels that are listened to."
            .to_owned(),
        Kind::NotThisChunk => format!(
            "Only {} of {} notes are this chunk's: this was something else, or the tuning or \
             the capo differs.",
            finding.size.magnitude(),
            finding.limit.magnitude()
        ),
        Kind::BrokenOff => format!(
            "It stops before {place}; {} did not come. Play it to its end to have it judged.",
            notes(finding.size.magnitude(), "note")
        ),
        Kind::TooManyNotes => format!(
            "{} more came than an attempt can hold. Play a shorter chunk.",
            notes(finding.size.magnitude(), "note")
        ),
        Kind::WrongNotes => {
            let played = finished
                .pairing
                .played(at)
                .and_then(|by| finished.played.get(by))
                .map(|played| pitch_name(played.pitch));
            let played = played.unwrap_or_else(|| "another note".to_owned());
            let wanted = chunk.notes.get(at).map(|note| pitch_name(note.pitch));
            let wanted = wanted.unwrap_or_default();
            if count == 1 {
                format!("A wrong note at {place}: {played} instead of {wanted} ({note}).")
            } else {
                format!(
                    "{count} wrong notes, the first at {place}: {played} instead of {wanted} \
                     ({note})."
                )
            }
        }
        Kind::MissingNotes if count == 1 => {
            format!("A note did not come: {note} at {place}.")
        }
        Kind::MissingNotes => {
            format!("{count} notes did not come, the first at {place} ({note}).")
        }
        Kind::ExtraNotes => extra(finished, finding, &place),
        Kind::SwappedNotes if count == 1 => {
            format!("Two notes changed places at {place} ({note} came too late).")
        }
        Kind::SwappedNotes => {
            format!("{count} notes changed places with their neighbours, the first at {place}.")
        }
        Kind::Unsteady => format!(
            "The notes scatter by {size} around your own tempo; {limit} would pass. Slow down \
             until every note falls where you hear it coming."
        ),
        Kind::OffBeat => {
            let others = others(count, "more is", "more are", "off the beat");
            let way = if is_negative(finding.size) { "early" } else { "late" };
            format!("The note at {place} comes {size} {way}; {limit} would pass.{others}")
        }
        Kind::Hesitation if is_negative(finding.size) => format!(
            "The note at {place} comes {size} too soon: let the one before it have its full \
             length."
        ),
        Kind::Hesitation => {
            let others = others(count, "more pause", "more pauses", "");
            format!("{size} lost before {place}; {limit} would pass.{others}")
        }
        Kind::HesitationAtShift if is_negative(finding.size) => format!(
            "The shift to {place} comes {size} too soon: let the note before it have its full \
             length."
        ),
        Kind::HesitationAtShift => format!(
            "{size} lost at the shift to {place} ({note}); {limit} would pass. Let the hand \
             travel while the last note still sounds; practise the two notes around the shift \
             alone."
        ),
        Kind::Drift => {
            let way = if is_negative(finding.size) { "speeds up" } else { "slows down" };
            format!("The tempo {way} by {size} on the way; {limit} would pass.")
        }
        Kind::BesideTheClick => {
            let way = if is_negative(finding.size) { "before" } else { "behind" };
            format!("All of it lies {size} {way} the click.")
        }
        Kind::NoTimeHeard => "The notes came faster than anyone plays, so the stream carries no \
             time: only the notes were judged. A live stream must arrive as it is played."
            .to_owned(),
        Kind::TimingNotHeard => "Too few notes to say anything about the rhythm.".to_owned(),
        Kind::Uneven => format!(
            "The plucked notes vary by {size} in loudness; {limit} would pass. Listen for the \
             finger that is always the loudest."
        ),
        Kind::LoudNotes | Kind::SoftNotes => {
            let way = if is_negative(finding.size) { "softer" } else { "louder" };
            let others = others(count, "more stands", "more stand", "out");
            format!(
                "The note at {place} ({note}) is {size} {way} than its neighbours; {limit} \
                 would pass.{others}"
            )
        }
        Kind::WeakSlurs => {
            let which = if count == 1 {
                format!("The slurred note at {place} ({note})")
            } else {
                format!("{count} slurred notes are weak; the weakest, at {place},")
            };
            format!(
                "{which} is {size} under the plucked ones, and {limit} would pass. Pluck \
                 lighter, or let the finger fall from higher; practise the slurs alone at this \
                 tempo."
            )
        }
        Kind::SlursNotHeard => format!(
            "The slurs, from {place} on, came as pitch bends without a loudness of their own, so \
             how even they are was not heard. Switch the converter from bends to new notes for \
             slurs."
        ),
        Kind::EvennessNotHeard => "Every note came with the same velocity, so evenness was not \
             heard. Switch the converter to send how hard each note is struck."
            .to_owned(),
        Kind::SpreadChords => {
            let which = if count == 1 {
                format!("The chord at {place} spreads over {size}")
            } else {
                format!(
                    "{count} chords do not speak together, the one at {place} spreads over {size}"
                )
            };
            format!("{which}; {limit} would pass. Set all fingers before the hand closes.")
        }
        Kind::ShortTrill => format!(
            "The trill at {place} has {}; {} make a trill.",
            notes(finding.size.magnitude(), "note"),
            finding.limit.magnitude()
        ),
        Kind::UnevenTrill => format!(
            "The notes of the trill at {place} vary by {size} in length; {limit} would pass. \
             Trill slower, and let it be even before it is fast."
        ),
        Kind::PickupErrors => {
            let looks = if count == 1 { "looks like an error" } else { "look like errors" };
            let counts = if count == 1 { "does" } else { "do" };
            format!(
                "{} {looks} of the pickup and {counts} not count.",
                notes(u32::from(count), "note")
            )
        }
    }
}

fn extra(finished: &Finished<'_>, finding: &Finding, place: &str) -> String {
    let first = (0..finished.played.len())
        .filter(|&by| finished.pairing.role(by) == Role::Extra)
        .filter(|&by| finished.material(|material| cause(material, by).doing()) == Doing::Slip)
        .find_map(|by| finished.played.get(by))
        .map(|note| pitch_name(note.pitch))
        .unwrap_or_default();
    let place = match finding.note {
        Some(_) => format!("after {place}"),
        None => "before the first note".to_owned(),
    };
    if finding.count == 1 {
        format!("One note too many, {first}, {place}.")
    } else {
        format!("{} notes too many, the first ({first}) {place}.", finding.count)
    }
}

/// ` 2 more are off the beat.`, for all but the one that was told.
fn others(count: u16, one: &str, many: &str, what: &str) -> String {
    match count {
        0 | 1 => String::new(),
        2 => format!(" One {}.", format!("{one} {what}").trim_end()),
        more => format!(" {} {}.", more - 1, format!("{many} {what}").trim_end()),
    }
}

fn notes(count: u32, word: &str) -> String {
    match count {
        0 => format!("no {word}"),
        1 => format!("one {word}"),
        _ => format!("{count} {word}s"),
    }
}

fn is_negative(size: Size) -> bool {
    match size {
        Size::Notes(_) => false,
        Size::Time(time) => time < Offset::ZERO,
        Size::Loudness(level) => level < Level::ZERO,
        Size::PerMille(share) => share < 0,
    }
}

/// A size without its sign, with its unit.
fn amount(size: Size) -> String {
    match size {
        Size::Notes(count) => notes(count.into(), "note"),
        Size::Time(time) => time.size().to_string(),
        Size::Loudness(level) => {
            let level = Level::from_hundredths(level.hundredths().saturating_abs()).to_string();
            level.replace(".0 ", " ")
        }
        Size::PerMille(share) => {
            let tenths = share.unsigned_abs();
            if tenths.is_multiple_of(10) || tenths >= 100 {
                format!("{} %", (tenths + 5) / 10)
            } else {
                format!("{}.{} %", tenths / 10, tenths % 10)
            }
        }
    }
}
