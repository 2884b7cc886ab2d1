//! Findings as sentences that a guitarist can act on: where, what, how much, and what to try.

mod amount;
mod heard;
mod landing;
mod loudness;
mod notes;
mod path;
mod sounding;
mod time;
mod trill;

pub(super) use heard::no_attempt;

use crate::listening::Finished;
use crate::study::{note_name, place_name};
use amount::{amount, capitalised, number};
use evenhand_core::study::Attack;
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::verdict::{Aspect, Finding, Kind, SettledBy, Severity};

/// What is said when nothing is to be said: no more than was judged.
pub(super) fn passed(finished: &Finished<'_>) -> String {
    let told = |kind: Kind| finished.verdict.finding(kind).is_some();
    let slipped = [
        Kind::WrongNotes,
        Kind::MissingNotes,
        Kind::ExtraNotes,
        Kind::SwappedNotes,
        Kind::LandingNotes,
    ];
    let slurred = finished.chunk.notes.iter().any(|note| note.attack == Attack::Slurred);
    let chords = finished.chunk.notes.windows(2).any(|pair| pair[0].onset == pair[1].onset);
    let notes =
        if slipped.into_iter().any(told) { "Nearly every note there" } else { "Every note there" };
    let mut words = String::from(notes);
    words.push_str(match told(Kind::TimingNotHeard) {
        true => " and even",
        false => ", steady and even",
    });
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

/// What is said where the same notes are other chunks of the study as well.
pub(super) fn fits_as_well(finished: &Finished<'_>) -> Option<String> {
    let quoted = |name: &&str| format!("“{name}”");
    let (last, others) = finished.also.split_last()?;
    let own = quoted(&finished.chunk.name.as_str());
    let Some(more) = others.iter().map(quoted).reduce(|a, b| format!("{a}, {b}")) else {
        return Some(format!(
            "This fits both {own} and {}; it was judged as the first.",
            quoted(last)
        ));
    };
    let last = quoted(last);
    Some(format!("This fits {own}, {more} and {last} alike; it was judged as the first."))
}

/// A finding in words: a sentence, how many attempts it rests on, and what would settle it.
pub(super) fn sentence(finished: &Finished<'_>, finding: &Finding) -> String {
    let mut words = what(finished, finding);
    let pooled =
        matches!(finding.kind, Kind::Unsteady | Kind::Uneven | Kind::Drift | Kind::WeakSlurs);
    if finished.together > 1 && pooled && finding.severity == Severity::Fails {
        let attempts = capitalised(&number(finished.together));
        words.push_str(&format!(" {attempts} attempts together say so."));
    }
    match finding.settled_by {
        SettledBy::ThePickup if finding.kind.aspect() == Aspect::Time => words.push_str(
            " It may be the pickup that is late on some strings: `evenhand calibrate` finds out.",
        ),
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
            | Kind::OffPace
            | Kind::OnsetOffClick
            | Kind::LandingTime
            | Kind::SpreadLanding
            | Kind::WeakAccents
    )
}

/// A finding, with its parts in words.
struct Said<'a> {
    finished: &'a Finished<'a>,
    finding: &'a Finding,
    /// The expected note it is told at.
    at: usize,
    /// Where that is.
    place: String,
    /// Which string and fret.
    note: String,
    /// How much, without its sign.
    size: String,
    /// What would pass.
    limit: String,
}

/// Where, what, how much, and what to try.
fn what(finished: &Finished<'_>, finding: &Finding) -> String {
    let at = finding.note.map(usize::from).unwrap_or(0);
    let said = Said {
        finished,
        finding,
        at,
        place: place_name(&finished.chunk, at),
        note: note_name(&finished.chunk, at),
        size: amount(finding.size),
        limit: amount(finding.limit),
    };
    match finding.kind {
        Kind::NothingHeard => heard::nothing(),
        Kind::NotThisChunk => heard::not_this_chunk(&said),
        Kind::BrokenOff => heard::broken_off(&said),
        Kind::BegunMidway => heard::begun_midway(&said),
        Kind::TooManyNotes => heard::too_many(&said),
        Kind::NoTimeHeard => heard::no_time(),
        Kind::TimingNotHeard => heard::too_few_for_timing(),
        Kind::EvennessNotHeard => heard::one_velocity(),
        Kind::SlursNotHeard => heard::bent_slurs(&said),
        Kind::PickupErrors => heard::pickup_errors(&said),
        Kind::PoorHearing => heard::poor_hearing(&said),
        Kind::NotesNotHeard => heard::not_heard(&said),
        Kind::NotesInDoubt => heard::in_doubt(&said),
        Kind::WrongNotes => notes::wrong(&said),
        Kind::MissingNotes => notes::missing(&said),
        Kind::ExtraNotes => notes::extra(&said),
        Kind::SwappedNotes => notes::swapped(&said),
        Kind::Return => notes::went_back(&said),
        Kind::Unsteady => time::unsteady(&said),
        Kind::OffBeat => time::off_beat(&said),
        Kind::Hesitation => time::hesitation(&said),
        Kind::HesitationAtShift => time::hesitation_at_shift(&said),
        Kind::Drift => time::drift(&said),
        Kind::OffPace => time::off_pace(&said),
        Kind::OnsetOffClick => time::off_the_click(&said),
        Kind::TempoOffClick => time::away_from_the_click(&said),
        Kind::ClickBias => time::beside_the_click(&said),
        Kind::SpreadChords => time::spread_chords(&said),
        Kind::LandingNotes => landing::notes(&said),
        Kind::LandingNotPlayed => landing::not_played(&said),
        Kind::LandingTime => landing::time(&said),
        Kind::SpreadLanding => landing::spread(&said),
        Kind::Uneven => loudness::uneven(&said),
        Kind::LoudNotes | Kind::SoftNotes => loudness::standing_out(&said),
        Kind::WeakSlurs => loudness::weak_slurs(&said),
        Kind::WeakAccents => loudness::weak_accents(&said),
        Kind::ShortTrill => trill::short(&said),
        Kind::UnevenTrill => trill::uneven(&said),
        Kind::TrillRepeats => trill::repeats(&said),
        Kind::TrillStopsEarly => trill::stops_early(&said),
        Kind::HeldNotes => sounding::held(&said),
        Kind::LongStaccato => sounding::long_staccato(&said),
        Kind::Gaps => sounding::gaps(&said),
        Kind::OtherStrings => path::other_strings(&said),
        kind => format!("{}, {}: {}.", capitalised(&said.place), kind, said.size),
    }
}

impl Said<'_> {
    /// Whether the size is early, softer, shorter or faster.
    fn is_negative(&self) -> bool {
        self.finding.size.is_negative()
    }

    /// How many notes, chords or places are concerned.
    const fn count(&self) -> u16 {
        self.finding.count
    }

    /// ` 2 more are off the beat.`, for all but the one that was told.
    fn others(&self, one: &str, many: &str, what: &str) -> String {
        match self.count() {
            0 | 1 => String::new(),
            2 => format!(" One {}.", format!("{one} {what}").trim_end()),
            more => format!(" {} {}.", more - 1, format!("{many} {what}").trim_end()),
        }
    }
}
