//! What a finding is about, how much and where, each on a line. Sentences and advice are the
//! computer's; here is room for a glance.

use core::fmt::{self, Display, Formatter, Write as _};

use evenhand_core::study::{Chunk, Place};
use evenhand_core::verdict::{Finding, Kind, SettledBy, Size};

use super::text_line::{COLUMNS, TextLine};

/// A finding on two lines: what it is, and how much of it where, or what would settle it.
pub(super) fn finding(finding: &Finding, chunk: &Chunk<'_>) -> [TextLine; 2] {
    let settled_by = match finding.settled_by {
        SettledBy::Nothing => None,
        SettledBy::MoreAttempts(1) => Some("one more attempt".into()),
        SettledBy::MoreAttempts(more) => Some(TextLine::of(format_args!("{more} more attempts"))),
        SettledBy::AnotherAttempt => Some("try it once more".into()),
        SettledBy::ThePickup => Some("set up the pickup".into()),
    };
    let unsettled = finding.bearing == evenhand_core::verdict::Severity::Unsettled;
    let second = settled_by.filter(|_| unsettled).unwrap_or_else(|| amount(finding, chunk));
    [what(finding.kind, finding.size.is_negative()).into(), second]
}

/// How much, and where as far as there is room.
fn amount(finding: &Finding, chunk: &Chunk<'_>) -> TextLine {
    let mut line = TextLine::of(format_args!("{}", Amount(finding.size)));
    let note = finding.note.and_then(|note| chunk.notes().get(usize::from(note)));
    if let Some(note) = note {
        let Place { bar, beat, .. } = chunk.place(note.onset);
        let exact = TextLine::of(format_args!(", bar {bar} beat {beat}"));
        let fits = |more: &TextLine| line.as_str().len() + more.as_str().len() <= COLUMNS;
        let more = if fits(&exact) { exact } else { TextLine::of(format_args!(", bar {bar}")) };
        // It never fails.
        let _ = line.write_str(more.as_str());
    }
    line
}

/// A size without its sign, with its unit.
struct Amount(Size);

impl Display for Amount {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let size = self.0.magnitude();
        match self.0 {
            Size::Notes(1) => f.write_str("1 note"),
            Size::Notes(_) => write!(f, "{size} notes"),
            Size::Time(_) => write!(f, "{} ms", (size + 500) / 1_000),
            Size::Loudness(_) => {
                let tenths = (size + 5) / 10;
                write!(f, "{}.{} dB", tenths / 10, tenths % 10)
            }
            Size::PerMille(_) => write!(f, "{} %", (size + 5) / 10),
        }
    }
}

/// What it is about. `less` is early, softer, shorter or faster.
const fn what(kind: Kind, less: bool) -> &'static str {
    match (kind, less) {
        (Kind::NothingHeard, _) => "no note came",
        (Kind::NotThisChunk, _) => "not this chunk",
        (Kind::BrokenOff, _) => "broken off",
        (Kind::BegunMidway, _) => "begun on the way",
        (Kind::TooManyNotes, _) => "too many notes",
        (Kind::WrongNotes, _) => "wrong notes",
        (Kind::MissingNotes, _) => "missing notes",
        (Kind::ExtraNotes, _) => "extra notes",
        (Kind::SwappedNotes, _) => "notes changed places",
        (Kind::Unsteady, _) => "unsteady",
        (Kind::OffBeat, true) => "a note too early",
        (Kind::OffBeat, false) => "a note too late",
        (Kind::Hesitation, true) => "an entry too soon",
        (Kind::Hesitation, false) => "time lost",
        (Kind::HesitationAtShift, true) => "a shift too soon",
        (Kind::HesitationAtShift, false) => "time lost at a shift",
        (Kind::Drift, true) => "speeds up",
        (Kind::Drift, false) => "slows down",
        (Kind::OffPace, true) => "a stretch rushed",
        (Kind::OffPace, false) => "a stretch dragged",
        (Kind::OnsetOffClick, true) => "early by the click",
        (Kind::OnsetOffClick, false) => "late by the click",
        (Kind::TempoOffClick, true) => "faster than the click",
        (Kind::TempoOffClick, false) => "slower than the click",
        (Kind::ClickBias, true) => "all before the click",
        (Kind::ClickBias, false) => "all behind the click",
        (Kind::Return, _) => "went back",
        (Kind::LandingNotes, _) => "notes of the landing",
        (Kind::LandingNotPlayed, _) => "play on: no landing",
        (Kind::LandingTime, true) => "landing too soon",
        (Kind::LandingTime, false) => "landing too late",
        (Kind::SpreadLanding, _) => "landing spread out",
        (Kind::NoTimeHeard, _) => "no time was heard",
        (Kind::TimingNotHeard, _) => "too few for timing",
        (Kind::Uneven, _) => "uneven loudness",
        (Kind::LoudNotes, _) => "a note too loud",
        (Kind::SoftNotes, _) => "a note too soft",
        (Kind::WeakSlurs, _) => "weak slurs",
        (Kind::SlursNotHeard, _) => "slurs came as bends",
        (Kind::WeakAccents, _) => "weak accents",
        (Kind::EvennessNotHeard, _) => "loudness not heard",
        (Kind::SpreadChords, _) => "chords spread out",
        (Kind::ShortTrill, _) => "short trill",
        (Kind::UnevenTrill, _) => "uneven trill",
        (Kind::TrillRepeats, _) => "a trill repeats notes",
        (Kind::TrillStopsEarly, _) => "a trill stops early",
        (Kind::HeldNotes, _) => "let go too soon",
        (Kind::LongStaccato, _) => "staccato too long",
        (Kind::Gaps, _) => "gaps between notes",
        (Kind::OtherStrings, _) => "on other strings",
        (Kind::PickupErrors, _) => "the pickup erred",
    }
}
