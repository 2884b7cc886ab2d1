//! An attempt of the log judged again from its notes: logs of every version have them, and the text of
//! the study.
//!
//! It is judged by itself, by the chunk, tempo and level it was judged by, as by a pickup of which nothing
//! has been learnt: what the log does not keep (a click, attempts before it, a pickup's habits) has no
//! part in it.

use crate::log::{Attempt, BeganBy, RawNote, level_word};
use crate::study::{self, Prepared};
use evenhand_core::notes::NoteEvent;
use evenhand_core::pickup::{Channels, Latency, Pickup};
use evenhand_core::session::{Ends, Session, SessionConfig};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{GuitarString, Instant, Offset, Pitch, Tempo, Ticks, Velocity};
use evenhand_core::verdict::Outcome;

/// When the first note begins, on a clock of its own.
const BEGIN: u64 = 1_000_000;

/// The second pitch of a stroke was put at the time of the first; it came so much later, in microseconds.
/// Our default: within what the judge takes for one stroke.
const CORRECTED: u64 = 5_000;

/// What an attempt is judged as today.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Again {
    /// The verdict.
    pub verdict: Outcome,
    /// The heaviest finding that has a part in it, as events name it.
    pub why: Option<&'static str>,
}

/// The chunks of a study's text; none where the text is not there, or is no study today.
pub fn chunks(text: &str) -> Option<Vec<Prepared>> {
    study::parse(text).ok()?.prepare().ok()
}

/// Judges an attempt again; none where its chunk is not one of these (a part, neighbours or a voice have
/// names of their own), or no attempt is heard in its notes any more.
pub fn again(chunks: &[Prepared], attempt: &Attempt) -> Option<Again> {
    let mut chunk = chunks.iter().find(|chunk| chunk.name == attempt.chunk)?.clone();
    chunk.tempo = tempo(attempt.practised, chunk.metre.beat())?;
    let levels = [PracticeLevel::First, PracticeLevel::Steady, PracticeLevel::Performance];
    let level = levels.into_iter().find(|level| level_word(*level) == attempt.level)?;
    if chunk.tolerances.level != level {
        chunk.tolerances = Tolerances::of(level);
    }
    let has_strings = attempt.notes.iter().any(|note| note.string.is_some());
    let has_velocities = attempt.notes.iter().any(|note| note.velocity.is_some());
    let pickup = Pickup {
        channels: if has_strings { Channels::PerString { first: 0 } } else { Channels::One },
        fixed_velocity: !has_velocities,
        // What a profile said has been taken off the times already; where none said anything, one period
        // is taken for granted, as it was then.
        latency: Latency::NONE,
        ..Pickup::UNKNOWN
    };
    let mut session: Box<Session> = Box::new(Session::idle());
    let config = SessionConfig { pickup, click: None, ends: Ends::ByCaller };
    session.load(chunk.chunk(), config).ok()?;
    for (at, event) in events(&attempt.notes) {
        session.hear(event, Instant::from_micros(at));
    }
    let judged = session.finish()?;
    let verdict = judged.verdict;
    let why = verdict.findings.first().filter(|_| verdict.outcome != Outcome::Passed);
    Some(Again { verdict: verdict.outcome, why: why.map(|finding| finding.kind.name()) })
}

fn tempo(hundredths: u32, beat: Ticks) -> Option<Tempo> {
    // Hundredths of beats a minute, to microseconds a quarter note.
    let micros = 6_000_000_000_u64 * u64::from(Ticks::PER_QUARTER);
    let micros = micros / u64::from(hundredths.max(1)) / u64::from(beat.get().max(1));
    Tempo::from_micros_per_quarter(u32::try_from(micros).ok()?)
}

/// The notes as a pickup sends them, in order of time; ends come before what begins then.
fn events(notes: &[RawNote]) -> Vec<(u64, NoteEvent)> {
    let mut events: Vec<(u64, bool, NoteEvent)> = Vec::new();
    let mut pitches = [None; GuitarString::MOST as usize + 1];
    for note in notes {
        let string = note.string.and_then(GuitarString::new);
        let Some(pitch) = Pitch::new(note.pitch) else { continue };
        let late = if note.began_by == BeganBy::Corrected { CORRECTED } else { 0 };
        let at = BEGIN.saturating_add_signed(note.at_us.into()).saturating_add(late);
        let place = &mut pitches[string.map_or(0, |string| usize::from(string.number()))];
        let before: Option<Pitch> = place.replace(pitch);
        let begun = || {
            let velocity = Velocity::new(note.velocity.unwrap_or(64))?;
            Some(NoteEvent::Begun { pitch, velocity, string })
        };
        let event = match (note.began_by, before) {
            (BeganBy::Bent, Some(from)) => Some(NoteEvent::Bent { from, pitch, string }),
            _ => begun(),
        };
        events.extend(event.map(|event| (at, true, event)));
        let lasted = note.lasted_us.filter(|_| note.began_by != BeganBy::Again);
        if let Some(lasted) = lasted {
            let end = at.saturating_add_signed(i64::from(Offset::from_micros(lasted).as_micros()));
            events.push((end, false, NoteEvent::Ended { pitch, string }));
        }
    }
    events.sort_by_key(|(at, begins, _)| (*at, *begins));
    events.into_iter().map(|(at, _, event)| (at, event)).collect()
}
