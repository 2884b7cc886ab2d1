//! Every measure finds a fault of known size: at twice its limit, and not at half of it.
//!
//! The player is a machine but for a little variation in loudness, so that what is found is the
//! fault. The limits are those of the level `steady`, read from the core.

use evenhand::study::{Prepared, parse};
use evenhand_core::measure::path::nearest;
use evenhand_core::measure::timing::Click;
use evenhand_core::measure::trill::trills;
use evenhand_core::pickup::{Channels, Pickup};
use evenhand_core::player::{Fault, Skill, perform};
use evenhand_core::session::{Ends, Judged, Session, SessionConfig};
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::{GuitarString, Instant, Level, Offset, Tempo};
use evenhand_core::verdict::{Kind, Outcome, Severity, Verdict};
use evenhand_tests::performances::messages;

/// Two bars of eighths over two strings, with accents; 75 a minute, so 400 ms an eighth.
const EIGHTHS: &str = "evenhand study 1\ntempo 75\nchunk \"A\"\n\
     m: 1/8 2:1(accent) 2:3 2:5 2:6 2:8 2:6(accent) 2:5 2:3 | \
        2:1 2:3(accent) 2:5 2:6 2:8 2:6 2:5(accent) 2:3 |\n\
     landing 3:2+2:1+1:0\n";

/// A held bass under eighths, and short notes.
const HELD: &str = "evenhand study 1\ntempo 150\nchunk \"A\"\n\
     m: 1/8 2:1 2:3 2:5 2:6 2:8(short) 2:6(short) 2:5(short) 2:3 | \
        2:1 2:3 2:5 2:6 2:8 2:6 2:5 2:3 |\n\
     b: 1/2 5:0(hold) 5:3(hold) | 5:2 5:3 |\n";

/// The same, three times as slow: the held notes last 2.4 s.
fn slow() -> String {
    HELD.replace("tempo 150", "tempo 50")
}

const TRILL: &str = "evenhand study 1\ntempo 60\nchunk \"A\"\n\
     m: 1/1 5:0(trill 2) |\n c: 1/8 rest 1/4 3:2 3:4 3:2 1/8 3:4 |\n";

fn prepared(text: &str) -> Prepared {
    let mut chunks = parse(text).and_then(|study| study.prepare()).expect("the study is right");
    chunks.swap_remove(0)
}

const SKILL: Skill = Skill { loudness: Level::from_hundredths(30), ..Skill::MACHINE };

/// Plays with faults, and gives what is judged to `with`.
fn judged<T>(
    chunk: &Prepared,
    tempo: Tempo,
    faults: &[Fault],
    click: bool,
    with: impl FnOnce(Judged<'_>) -> T,
) -> T {
    let performance = perform(&chunk.at_tempo(tempo), tempo, SKILL, faults, 5);
    let channels = Channels::PerString { first: 0 };
    // Where the recording has its first written position.
    let click = click.then_some(Click { start: Instant::from_micros(500_000) });
    let config =
        SessionConfig { pickup: Pickup::UNKNOWN.on(channels), click, ends: Ends::ByCaller };
    let mut session = Session::new(chunk.chunk(), config);
    for message in messages(&performance) {
        session.feed(&message.bytes, message.at);
    }
    with(session.finish().expect("an attempt"))
}

fn verdict(text: &str, faults: &[Fault]) -> Verdict {
    let chunk = prepared(text);
    judged(&chunk, chunk.tempo, faults, false, |judged| judged.verdict.clone())
}

fn steady() -> Tolerances {
    Tolerances::default()
}

const NONE: &[Fault] = &[];

#[track_caller]
fn fails(verdict: &Verdict, kind: Kind) {
    let severity = verdict.finding(kind).map(|finding| finding.severity);
    assert_eq!(severity, Some(Severity::Fails), "{kind:?} in {verdict:#?}");
    assert_eq!(verdict.outcome, Outcome::NeedsWork);
}

#[track_caller]
fn passes(verdict: &Verdict) {
    assert_eq!(verdict.outcome, Outcome::Passed, "{verdict:#?}");
}

#[test]
fn without_a_fault_nothing_is_found() {
    for text in [EIGHTHS, HELD, &slow(), TRILL] {
        let verdict = verdict(text, NONE);
        passes(&verdict);
        assert!(verdict.findings.is_empty(), "{text}: {:#?}", verdict.findings);
    }
}

#[test]
fn held_notes() {
    // What may be missing of them; the bass is note 0, and sorts before the melody's.
    let may_lack = 1_000 - steady().held_per_mille;
    let bass = |per_mille| Fault::Lasts { note: 0, per_mille };
    let found = verdict(HELD, &[bass(1_000 - may_lack * 2)]);
    fails(&found, Kind::HeldNotes);
    let finding = found.finding(Kind::HeldNotes).expect("it is there");
    assert_eq!((finding.note, finding.count), (Some(0), 1));
    assert!(finding.size.magnitude().abs_diff(500) <= 2, "{finding:?}");
    passes(&verdict(HELD, &[bass(1_000 - may_lack / 2)]));
}

#[test]
fn a_held_note_that_may_have_died_away_is_unsettled() {
    // 2.4 s are written; it ends after 1.68 s, and the string is not touched.
    let unclear = verdict(&slow(), &[Fault::Lasts { note: 0, per_mille: 700 }]);
    assert_eq!(unclear.outcome, Outcome::Unclear);
    assert_eq!(
        unclear.finding(Kind::HeldNotes).expect("it is there").severity,
        Severity::Unsettled
    );
    // After 1.2 s it was let go.
    fails(&verdict(&slow(), &[Fault::Lasts { note: 0, per_mille: 500 }]), Kind::HeldNotes);
}

#[test]
fn a_held_note_without_an_end_is_not_judged() {
    let chunk = prepared(HELD);
    let performance = perform(&chunk.chunk(), chunk.tempo, SKILL, NONE, 5);
    let config = SessionConfig { ends: Ends::ByCaller, ..SessionConfig::default() };
    let mut session = Session::new(chunk.chunk(), config);
    for message in messages(&performance).iter().filter(|message| message.begins.is_some()) {
        // On one channel nothing ends a note but its note-off.
        let bytes = [0x90, message.bytes[1], message.bytes[2]];
        session.feed(&bytes, message.at);
    }
    let judged = session.finish().expect("an attempt");
    passes(judged.verdict);
}

#[test]
fn the_landing_comes_late_or_too_soon() {
    let (millis, landing) = (steady().hesitation.at(Offset::from_millis(400)), 16);
    for size in [millis.as_micros(), -millis.as_micros()] {
        let moved = |by| {
            let by = Offset::from_micros(by);
            [16, 17, 18].map(|note| Fault::OffBeat { note, by })
        };
        let found = verdict(EIGHTHS, &moved(size * 2));
        fails(&found, Kind::LandingTime);
        let finding = found.finding(Kind::LandingTime).expect("it is there");
        assert_eq!(finding.note, Some(landing));
        assert_eq!(finding.size.is_negative(), size < 0);
        assert!(found.finding(Kind::Hesitation).is_none(), "one thing is told once");
        assert!(found.finding(Kind::OffBeat).is_none(), "one thing is told once");
        passes(&verdict(EIGHTHS, &moved(size / 2)));
    }
}

#[test]
fn the_landing_is_spread() {
    let limit = steady().chord_spread.as_micros();
    let spread = |by| [Fault::Spread { note: 16, by: Offset::from_micros(by) }];
    let found = verdict(EIGHTHS, &spread(limit * 2));
    fails(&found, Kind::SpreadLanding);
    assert!(found.finding(Kind::SpreadChords).is_none(), "one thing is told once");
    passes(&verdict(EIGHTHS, &spread(limit / 2)));
}

#[test]
fn notes_of_the_landing_are_missing_or_wrong_only_if_it_was_reached() {
    fails(&verdict(EIGHTHS, &[Fault::Missing(17)]), Kind::LandingNotes);
    let wrong = verdict(EIGHTHS, &[Fault::Wrong { note: 17, semitones: 1 }]);
    fails(&wrong, Kind::LandingNotes);
    assert!(wrong.finding(Kind::WrongNotes).is_none(), "one thing is told once");
    let left_out = verdict(EIGHTHS, &[16, 17, 18].map(Fault::Missing));
    assert_eq!(left_out.outcome, Outcome::Unclear, "{left_out:?}");
    assert_eq!(left_out.findings[0].kind, Kind::LandingNotPlayed);
    assert_eq!(left_out.findings.len(), 1, "one thing is told once: {left_out:?}");
}

#[test]
fn a_stretch_is_rushed_or_dragged() {
    let limit = steady().drift_per_mille as i16;
    for limit in [limit, -limit] {
        let stretch = |per_mille| [Fault::Stretch { from: 5, to: 10, per_mille }];
        let found = verdict(EIGHTHS, &stretch(limit * 2));
        fails(&found, Kind::OffPace);
        let finding = found.finding(Kind::OffPace).expect("it is there");
        assert_eq!(finding.size.is_negative(), limit < 0, "{finding:?}");
        assert!(finding.note.is_some_and(|note| (4..=6).contains(&note)), "{finding:?}");
        assert!((4..=7).contains(&finding.count), "{finding:?}");
        assert!(verdict(EIGHTHS, &stretch(limit / 2)).finding(Kind::OffPace).is_none());
    }
}

#[test]
fn accents_that_do_not_stand_out() {
    let limit = steady().accent_above.hundredths();
    // The neighbours vary by 0.3 dB, and velocities are whole numbers.
    let above = |hundredths| [Fault::Accents(Level::from_hundredths(hundredths))];
    let found = verdict(EIGHTHS, &above(limit / 2));
    fails(&found, Kind::WeakAccents);
    assert_eq!(found.finding(Kind::WeakAccents).expect("it is there").count, 4);
    passes(&verdict(EIGHTHS, &above(limit * 2)));
    let softer = verdict(EIGHTHS, &above(-200));
    assert!(softer.finding(Kind::WeakAccents).expect("it is there").size.is_negative());
    // Nothing is asked of a first attempt.
    passes(&verdict(&EIGHTHS.replace("tempo", "level first\ntempo"), &above(0)));
}

#[test]
fn short_notes_that_are_not_short() {
    let limit = steady().staccato_per_mille;
    // The notes 6 and 7 are marked; the bass of the half bar is sorted before note 6.
    let marked: Vec<u16> = prepared(HELD)
        .notes
        .iter()
        .enumerate()
        .filter(|(_, note)| note.marks.has(evenhand_core::study::Marks::STACCATO))
        .map(|(index, _)| index as u16)
        .collect();
    assert_eq!(marked.len(), 3);
    let lasts = |per_mille| [Fault::Lasts { note: marked[1], per_mille }];
    // Twice the limit is longer than the note; a string ends it at the next.
    let found = verdict(HELD, &lasts(limit * 2));
    fails(&found, Kind::LongStaccato);
    assert_eq!(found.finding(Kind::LongStaccato).expect("it is there").note, Some(marked[1]));
    passes(&verdict(HELD, &lasts(limit / 2)));
}

#[test]
fn gaps_between_notes_are_advice() {
    let limit = steady().gap_per_mille;
    let found = verdict(EIGHTHS, &[Fault::Detached(1_000 - limit * 2)]);
    passes(&found);
    let finding = found.finding(Kind::Gaps).expect("it is there");
    assert_eq!(finding.severity, Severity::Advice);
    assert!(finding.size.magnitude().abs_diff(u32::from(limit * 2)) <= 10, "{finding:?}");
    assert!(verdict(EIGHTHS, &[Fault::Detached(1_000 - limit / 2)]).findings.is_empty());
}

#[test]
fn other_strings_are_told_and_named() {
    let text = "evenhand study 1\ntempo 75\nchunk \"A\"\n\
         m: 1/8 2:1 2:3 2:5 2:6 2:8 2:6 2:5 2:3 |\n\
         alternative \"low\"\n m: 1/8 3:5 3:7 3:9 3:10 3:12 3:10 3:9 3:7 |\n\
         alternative \"mixed\"\n m: 1/8 3:5 3:7 3:9 2:6 2:8 2:6 2:5 2:3 |\n";
    let chunk = prepared(text);
    let string = GuitarString::new(3).expect("a string");
    for (moved, best) in [(8_u16, 0), (3, 1)] {
        let faults: Vec<Fault> =
            (0..moved).map(|note| Fault::OtherString { note, string }).collect();
        judged(&chunk, chunk.tempo, &faults, false, |judged| {
            passes(judged.verdict);
            let finding = judged.verdict.finding(Kind::OtherStrings).expect("it is there");
            assert_eq!((finding.severity, finding.count), (Severity::Advice, moved));
            let paths = chunk.alternatives.iter().map(|other| other.strings.as_slice());
            let (which, path) = nearest(judged.material(), paths).expect("strings are known");
            assert_eq!((which, path.elsewhere), (best, 0));
        });
    }
    // One of twenty would pass by the level; one of eight is over a tenth.
    let one = [Fault::OtherString { note: 3, string }];
    assert!(verdict(text, &one).finding(Kind::OtherStrings).is_some());
    let allowed = text.replace("tempo", "allow other strings 25 %\ntempo");
    assert!(verdict(&allowed, &one).findings.is_empty());
}

#[test]
fn a_trill_that_stops_early() {
    let may_lack = 1_000 - steady().trill_cover_per_mille;
    let found = verdict(TRILL, &[Fault::TrillStops(1_000 - may_lack * 2)]);
    fails(&found, Kind::TrillStopsEarly);
    passes(&verdict(TRILL, &[Fault::TrillStops(1_000 - may_lack / 2)]));
}

#[test]
fn a_trill_whose_notes_repeat() {
    let found = verdict(TRILL, &[Fault::TrillRepeats(2)]);
    fails(&found, Kind::TrillRepeats);
    assert_eq!(found.finding(Kind::TrillRepeats).expect("it is there").count, 2);
    // At the first level one note in eight may go wrong: 32 notes, so four.
    let first = TRILL.replace("tempo", "level first\ntempo");
    passes(&verdict(&first, &[Fault::TrillRepeats(2)]));
    fails(&verdict(&first, &[Fault::TrillRepeats(8)]), Kind::TrillRepeats);
}

#[test]
fn an_uneven_trill() {
    let limit = steady().trill_unevenness_per_mille;
    fails(&verdict(TRILL, &[Fault::UnevenTrill(limit * 2)]), Kind::UnevenTrill);
    passes(&verdict(TRILL, &[Fault::UnevenTrill(limit / 2)]));
}

#[test]
fn the_rate_of_a_trill_is_what_was_played() {
    let chunk = prepared(TRILL);
    judged(&chunk, chunk.tempo, NONE, false, |judged| {
        let pace = chunk.tempo.micros_per_quarter();
        let trill = trills(judged.material(), Some(pace)).next().expect("a trill");
        // 8 a second for 4 s, and it ends one interval before the next note.
        assert_eq!((trill.rate, trill.repeats, trill.change_per_mille), (800, 0, Some(0)));
        assert!((30..=32).contains(&trill.notes), "{trill:?}");
        assert!(trill.cover_per_mille.is_some_and(|cover| cover > 950), "{trill:?}");
    });
}

fn by_click(beats_per_mille: i64, faults: &[Fault]) -> Verdict {
    let chunk = prepared(EIGHTHS);
    let played = i64::from(chunk.tempo.micros_per_quarter()) * beats_per_mille / 1_000;
    let played = Tempo::from_micros_per_quarter(played as u32).expect("a tempo");
    judged(&chunk, played, faults, true, |judged| judged.verdict.clone())
}

#[test]
fn with_a_click_the_click_counts() {
    passes(&by_click(1_000, NONE));
    let limit = i64::from(steady().drift_per_mille);
    for limit in [limit, -limit] {
        let away = by_click(1_000 + limit * 2, NONE);
        fails(&away, Kind::TempoOffClick);
        let size = away.finding(Kind::TempoOffClick).expect("it is there").size;
        assert_eq!(size.is_negative(), limit < 0);
        let near = by_click(1_000 + limit / 2, NONE);
        assert!(near.finding(Kind::TempoOffClick).is_none());
    }
    let single = steady().single_note.at(Offset::from_millis(400)).as_micros();
    let late = |by| [Fault::OffBeat { note: 7, by: Offset::from_micros(by) }];
    let off = by_click(1_000, &late(single * 2));
    fails(&off, Kind::OnsetOffClick);
    assert!(off.finding(Kind::OffBeat).is_none(), "one thing is told once");
    passes(&by_click(1_000, &late(single / 2)));
}

#[test]
fn behind_the_click_is_advice_on_whatever_beat_it_was_begun() {
    let chunk = prepared(EIGHTHS);
    let performance = perform(&chunk.chunk(), chunk.tempo, SKILL, NONE, 5);
    let beat = u64::from(chunk.tempo.micros_per_quarter());
    for (beats, late, told) in [(0, 50_000, true), (3, 50_000, true), (3, 12_000, false)] {
        let start = Instant::from_micros(500_000);
        let channels = Channels::PerString { first: 0 };
        let config = SessionConfig {
            pickup: Pickup::UNKNOWN.on(channels),
            click: Some(Click { start }),
            ends: Ends::ByCaller,
        };
        let mut session = Session::new(chunk.chunk(), config);
        for message in messages(&performance) {
            let by = Offset::from_micros((beats * beat + late) as i32);
            session.feed(&message.bytes, message.at.plus(by));
        }
        let verdict = session.finish().expect("an attempt").verdict.clone();
        passes(&verdict);
        let lag = verdict.finding(Kind::ClickBias).map(|finding| finding.size.magnitude());
        assert_eq!(lag, told.then_some(late as u32), "{beats} beats and {late} µs");
    }
}

/// How many of 500 attempts without a fault, by hands that scatter, show a stretch off the pace.
fn stretches_by_chance(text: &str, hands: Offset) -> usize {
    let chunk = prepared(text);
    let skill = Skill { hands, ..SKILL };
    (0..500)
        .filter(|&seed| {
            let performance = perform(&chunk.chunk(), chunk.tempo, skill, NONE, seed);
            let channels = Channels::PerString { first: 0 };
            let config = SessionConfig {
                pickup: Pickup::UNKNOWN.on(channels),
                ends: Ends::ByCaller,
                click: None,
            };
            let mut session = Session::new(chunk.chunk(), config);
            for message in messages(&performance) {
                session.feed(&message.bytes, message.at);
            }
            let judged = session.finish().expect("an attempt");
            judged.verdict.finding(Kind::OffPace).is_some()
        })
        .count()
}

#[test]
fn scatter_is_no_stretch() {
    // 200 ms from note to note, and as much scatter as `steady` allows: 15 ms.
    let sixteen = EIGHTHS.replace("tempo 75", "tempo 150");
    let eight = "evenhand study 1\ntempo 150\nchunk \"A\"\n\
         m: 1/8 2:1 2:3 2:5 2:6 2:8 2:6 2:5 2:3 |\n";
    for text in [sixteen.as_str(), eight] {
        let found = stretches_by_chance(text, Offset::from_millis(15));
        assert!(found <= 5, "{found} of 500 attempts at {text}");
    }
}
