//! What is open, and what settles it: over takes of one line, note by note as a converter sent them.

use evenhand_core::pickup::{Channels, Habits, ONE, Pickup, TrackingError};
use evenhand_core::session::{Arrivals, Ends, Session, SessionConfig};
use evenhand_core::study::{Attack, Chunk, ExpectedNote, Marks};
use evenhand_core::units::{GuitarString, Instant, Level, Pitch, Tempo, Ticks, Velocity};
use evenhand_core::verdict::{Kind, Outcome, Pool, SettledBy, Severity, Verdict};
use evenhand_tests::search::learnt;

/// Milliseconds from one eighth to the next, at 100 beats a minute.
const EIGHTH: u64 = 300;

/// A note as it is sent: when, in milliseconds, on which string, which pitch, how strong.
type Sent = (u64, u8, u8, u8);

/// Two bars of eighths on strings 4 and 3: string and pitch.
const LINE: [(u8, u8); 16] = [
    (4, 52),
    (4, 54),
    (4, 55),
    (3, 57),
    (3, 59),
    (3, 60),
    (3, 59),
    (3, 57),
    (4, 55),
    (4, 54),
    (4, 52),
    (4, 54),
    (4, 55),
    (3, 57),
    (3, 59),
    (3, 60),
];

fn expected(line: &[(u8, u8)]) -> Vec<ExpectedNote> {
    let length = Ticks::new(Ticks::PER_QUARTER / 2);
    let notes = line.iter().zip(0..).map(|(&(string, pitch), eighth)| ExpectedNote {
        string: GuitarString::new(string),
        ..ExpectedNote::plain(
            Ticks::new(eighth * length.get()),
            length,
            Pitch::new(pitch).expect("a pitch"),
        )
    });
    notes.collect()
}

/// The line as it is written, evenly; nobody strikes all notes alike.
fn clean(line: &[(u8, u8)]) -> Vec<Sent> {
    let notes = line.iter().zip(0_u8..);
    notes
        .map(|(&(string, pitch), number)| {
            (u64::from(number) * EIGHTH, string, pitch, 88 + number * 5 % 7)
        })
        .collect()
}

fn per_string() -> Pickup {
    Pickup::UNKNOWN.on(Channels::PerString { first: 0 })
}

/// A player's takes of one chunk, each judged together with those before it.
struct Takes {
    notes: Vec<ExpectedNote>,
    pickup: Pickup,
    pool: Pool,
}

impl Takes {
    fn of(notes: Vec<ExpectedNote>, pickup: Pickup) -> Self {
        Self { notes, pickup, pool: Pool::new() }
    }

    fn habits(&self) -> &Habits {
        &self.pickup.habits
    }

    fn errors(&self, string: u8, error: TrackingError) -> u16 {
        self.habits().string(GuitarString::new(string)).errors(error)
    }

    /// One more take.
    fn take(&mut self, sent: &[Sent]) -> Verdict {
        self.take_with(sent, EIGHTH - 10, 0)
    }

    /// The same where notes of this strength last so many milliseconds at most.
    fn take_with(&mut self, sent: &[Sent], lasts: u64, of: u8) -> Verdict {
        let tempo = Tempo::from_beats_per_minute(100, Ticks::new(Ticks::PER_QUARTER));
        let chunk = Chunk::new(&self.notes, tempo.expect("a tempo")).expect("a chunk");
        let config = SessionConfig { pickup: self.pickup, click: None, ends: Ends::ByCaller };
        let mut session = Box::new(Session::new(chunk, config));
        let mut messages: Vec<(u64, bool, [u8; 3])> = Vec::new();
        for &(at, string, pitch, velocity) in sent {
            let channel = if self.pickup.channels == Channels::One { 0 } else { string - 1 };
            messages.push((at, true, [0x90 | channel, pitch, velocity]));
            let next = sent.iter().filter(|next| next.1 == string && next.0 > at);
            let end = next.map(|next| next.0 - 1).min().unwrap_or(u64::MAX);
            let longest = if velocity == of { lasts } else { EIGHTH - 10 };
            messages.push((end.min(at + longest), false, [0x80 | channel, pitch, 64]));
        }
        messages.sort_by_key(|(at, begins, _)| (*at, *begins));
        for (at, _, bytes) in messages {
            session.feed(&bytes, Instant::from_micros(1_000_000 + at * 1_000));
        }
        let judged = session.finish().expect("an attempt");
        let material = judged.material();
        self.pool.add(material, judged.verdict, &mut self.pickup.habits).verdict
    }
}

fn fails(verdict: &Verdict, kind: Kind) -> bool {
    verdict.finding(kind).is_some_and(|finding| finding.severity == Severity::Fails)
}

fn is_open(verdict: &Verdict, kind: Kind) -> bool {
    verdict.finding(kind).is_some_and(|finding| finding.severity == Severity::Unsettled)
}

/// A string's last pitch in a plucked note's place, a fret off: a hand does that, and so does a converter.
#[test]
fn what_was_charged_and_heals_is_learnt_as_half_a_mistake() {
    let mut takes = Takes::of(expected(&LINE), per_string());
    let mut wrong = clean(&LINE);
    wrong[2].2 = 54;
    assert!(fails(&takes.take(&wrong), Kind::WrongNotes));
    assert_eq!(takes.errors(4, TrackingError::Stale), 0);
    assert_eq!(takes.take(&clean(&LINE)).outcome, Outcome::Passed);
    assert_eq!(takes.errors(4, TrackingError::Stale), ONE / 2);
    // What is charged again did not heal.
    let mut takes = Takes::of(expected(&LINE), per_string());
    for _ in 0..2 {
        assert!(fails(&takes.take(&wrong), Kind::WrongNotes));
    }
    assert_eq!(takes.errors(4, TrackingError::Stale), 0);
}

/// Several of them speak for each other, if each for less than an open one.
#[test]
fn what_looks_like_a_mistake_speaks_for_others_of_its_kind() {
    let charged = |count: usize| {
        let mut takes = Takes::of(expected(&LINE), per_string());
        let mut wrong = clean(&LINE);
        for place in [2, 9, 12, 6].into_iter().take(count) {
            wrong[place].2 = LINE[place - 1].1;
        }
        let verdict = takes.take(&wrong);
        verdict.finding(Kind::WrongNotes).map_or(0, |finding| finding.count)
    };
    assert_eq!(charged(1), 1);
    assert!(charged(4) < 4, "{}", charged(4));
}

/// A stroke that its string fades from, begun once more at two thirds of the velocity.
#[test]
fn what_stays_open_is_not_learnt_twice() {
    let mut takes = Takes::of(expected(&LINE), per_string());
    let mut doubled = clean(&LINE);
    doubled.push((10 * EIGHTH + 140, 4, 52, 60));
    doubled.sort_unstable();
    let open: Vec<bool> =
        (0..2).map(|_| is_open(&takes.take(&doubled), Kind::NotesInDoubt)).collect();
    assert_eq!(open, [true, true]);
    assert_eq!(takes.errors(4, TrackingError::Double), ONE / 2);
}

/// A note that came with the pitch before it, a fret off.
#[test]
fn on_one_channel_a_wrong_pitch_is_open_until_it_comes_again() {
    let told = |pickup: Pickup, erred: bool| {
        let mut takes = Takes::of(expected(&LINE), pickup);
        let mut wrong = clean(&LINE);
        wrong[6].2 = 60;
        if erred {
            // Begun twice at once, as only converters do.
            wrong.push((12 * EIGHTH + 30, 4, 55, 50));
            wrong.sort_unstable();
        }
        [(); 3].map(|()| fails(&takes.take(&wrong), Kind::WrongNotes))
    };
    let one = Pickup::UNKNOWN.on(Channels::One);
    assert!(told(per_string(), false)[0]);
    assert!(told(one, false)[0], "it has made no mistake");
    let erred = told(one, true);
    assert!(!erred[0] && erred[2], "{erred:?}");
}

/// From some rate of mistakes on another fret is open where strings are not known, and is not yet where they are.
#[test]
fn on_one_channel_suspicion_starts_earlier() {
    let charged = |channels, blips: u16| {
        let mut known = Pickup::UNKNOWN.on(channels);
        for string in (1..=6).map(GuitarString::new).chain([None]) {
            let own = known.habits.string_mut(string);
            (0..200).for_each(|_| own.count_note());
            own.set(TrackingError::Blip, blips);
        }
        let mut wrong = clean(&LINE);
        wrong[5].2 = 61;
        fails(&Takes::of(expected(&LINE), known).take(&wrong), Kind::WrongNotes)
    };
    let told: Vec<_> = (0..16)
        .map(|tens| {
            [Channels::One, Channels::PerString { first: 0 }].map(|c| charged(c, tens * 10))
        })
        .collect();
    assert_eq!(told[0], [true; 2], "no mistake was made");
    assert!(told.contains(&[false, true]) && !told.contains(&[true, false]), "{told:?}");
}

/// A twelfth below where a note was due, which no hand means for it.
#[test]
fn on_one_channel_a_far_pitch_in_a_notes_time_is_no_slip_of_two_notes() {
    let mut takes = Takes::of(expected(&LINE), Pickup::UNKNOWN.on(Channels::One));
    let mut far = clean(&LINE);
    far[5].2 = 60 - 19;
    far[5].0 += 20;
    far.push((12 * EIGHTH + 30, 4, 55, 50));
    far.sort_unstable();
    let verdict = takes.take(&far);
    assert_eq!(verdict.outcome, Outcome::Unclear, "{verdict:?}");
    assert!(verdict.finding(Kind::MissingNotes).is_none());
}

/// Somebody who has played a note right twice, on a pickup that loses as many as hands leave out.
#[test]
fn a_note_that_did_not_come_is_taken_back_if_it_came_twice_before() {
    let known = learnt::pickup(per_string());
    let mut lost = clean(&LINE);
    lost.remove(9);
    for (before, outcome) in [(0, Outcome::Unclear), (1, Outcome::Unclear), (2, Outcome::Passed)] {
        let mut takes = Takes::of(expected(&LINE), known);
        for _ in 0..before {
            takes.take(&clean(&LINE));
        }
        assert_eq!(takes.take(&lost).outcome, outcome, "{before} before");
    }
    let unknown = Takes::of(expected(&LINE), per_string()).take(&lost);
    assert!(fails(&unknown, Kind::MissingNotes));
}

/// The same of the chord that is landed on.
#[test]
fn a_note_of_a_landing_that_did_not_come_is_weighed_as_others_are() {
    let mut notes = expected(&LINE);
    let mut onset = notes[15].onset;
    onset = onset.plus(Ticks::new(Ticks::PER_QUARTER / 2));
    for (string, pitch) in [(4, 52), (3, 55), (2, 60)] {
        let mut note = ExpectedNote::plain(
            onset,
            Ticks::new(Ticks::PER_QUARTER),
            Pitch::new(pitch).expect("a pitch"),
        );
        note.string = GuitarString::new(string);
        note.marks = note.marks.with(Marks::LANDING);
        notes.push(note);
    }
    let mut sent = clean(&LINE);
    sent.extend([(16 * EIGHTH, 4, 52, 90), (16 * EIGHTH + 4, 3, 55, 90)]);
    let told = |pickup| Takes::of(notes.clone(), pickup).take(&sent);
    assert!(fails(&told(per_string()), Kind::LandingNotes));
    let known = told(learnt::pickup(per_string()));
    assert!(!fails(&known, Kind::LandingNotes) && is_open(&known, Kind::NotesNotHeard));
}

/// A trill of which one note came as the one before it.
#[test]
fn a_repeat_in_a_trill_is_open_behind_a_pickup_that_errs_so() {
    let mut notes = expected(&[(4, 52), (4, 54), (4, 55), (3, 57)]);
    let trill = &mut notes[3];
    trill.trill = Pitch::new(59);
    trill.duration = Ticks::new(4 * Ticks::PER_QUARTER);
    let mut sent = clean(&[(4, 52), (4, 54), (4, 55)]);
    let trilled = (0..18).map(|n| {
        let pitch = if n % 2 == 0 || n == 7 { 57 } else { 59 };
        (3 * EIGHTH + n * 130, 3, pitch, 85)
    });
    sent.extend(trilled);
    let told = |pickup| Takes::of(notes.clone(), pickup).take(&sent);
    assert!(fails(&told(per_string()), Kind::TrillRepeats));
    assert!(is_open(&told(learnt::pickup(per_string())), Kind::TrillRepeats));
}

/// In a trill what is left of a note that has ended is no note of it.
#[test]
fn what_trails_a_note_of_a_trill_is_no_repeat() {
    let mut notes = expected(&[(4, 52), (4, 54), (4, 55), (3, 57)]);
    notes[3].trill = Pitch::new(59);
    notes[3].duration = Ticks::new(4 * Ticks::PER_QUARTER);
    let mut sent = clean(&[(4, 52), (4, 54), (4, 55)]);
    for n in 0..18 {
        let pitch = if n % 2 == 0 { 57 } else { 59 };
        sent.push((3 * EIGHTH + n * 150, 3, pitch, 85));
    }
    let clean = Takes::of(notes.clone(), per_string()).take(&sent);
    sent.push((3 * EIGHTH + 6 * 150 + 110, 3, 57, 25));
    sent.sort_unstable();
    let trailed = Takes::of(notes, per_string()).take(&sent);
    assert!(clean.finding(Kind::TrillRepeats).is_none());
    assert!(trailed.finding(Kind::TrillRepeats).is_none(), "{trailed:?}");
}

/// Levels that jump by 9 dB from note to note on string 4.
#[test]
fn where_a_string_scatters_by_itself_evenness_is_the_pickups() {
    let mut uneven = clean(&LINE);
    for (index, note) in uneven.iter_mut().enumerate().filter(|(_, note)| note.1 == 4) {
        note.3 = if index % 2 == 0 { 110 } else { 64 };
    }
    let told = |scatter: [i16; 2]| {
        let mut pickup = per_string();
        for (string, scatter) in [(3, scatter[0]), (4, scatter[1])] {
            pickup.level_scatter[string - 1] = Level::from_hundredths(scatter);
        }
        Takes::of(expected(&LINE), pickup).take(&uneven)
    };
    assert!(fails(&told([0, 0]), Kind::Uneven));
    // Within the limit of 2.5 dB of the level it is asked of, or on another string.
    assert!(fails(&told([0, 240]), Kind::Uneven));
    let left = told([0, 310]);
    let finding = left.finding(Kind::Uneven).expect("it is said");
    assert_eq!((left.outcome, finding.settled_by), (Outcome::Unclear, SettledBy::ThePickup));
}

/// A short other pitch beside a note, behind a pickup that sends such: so likely its doing that nothing is said
/// of it; but a converter does not do it at one place each time.
#[test]
fn what_looks_like_the_pickups_and_comes_again_and_again_is_told() {
    let mut known = learnt::pickup(per_string());
    known.habits.string_mut(GuitarString::new(4)).set(TrackingError::Blip, 16 * ONE);
    let mut takes = Takes::of(expected(&LINE), known);
    let mut extra = clean(&LINE);
    extra.push((8 * EIGHTH + 130, 4, 57, 70));
    extra.sort_unstable();
    let told = [(); 4].map(|()| {
        let verdict = takes.take_with(&extra, 80, 70);
        (verdict.outcome, fails(&verdict, Kind::ExtraNotes))
    });
    let (passed, failed) = ((Outcome::Passed, false), (Outcome::NeedsWork, true));
    assert_eq!(told, [passed, passed, passed, failed]);
}

/// What is heard of a string through another one comes before its cause as often as after it.
#[test]
fn noise_that_comes_before_its_cause_counts_as_much() {
    let hears = |before: i64| {
        let mut arrivals = Arrivals::new(&per_string());
        for stroke in 0..40_u64 {
            let at = 1_000_000 + stroke * 300_000;
            let note = |string, velocity| evenhand_core::notes::NoteEvent::Begun {
                pitch: Pitch::new(50 + (stroke % 5) as u8).expect("a pitch"),
                velocity: Velocity::new(velocity).expect("a velocity"),
                string: GuitarString::new(string),
            };
            let (own, bleed) = (note(4, 95), note(5, 22));
            let events = if before > 0 { [bleed, own] } else { [own, bleed] };
            for (event, at) in events.into_iter().zip([at, at + 12_000]) {
                arrivals.hear(event, Instant::from_micros(at));
            }
        }
        arrivals.hears_poorly()
    };
    assert!(hears(0) && hears(1));
}

/// A moment of another pitch is known as one when the note goes on.
#[test]
fn a_moment_that_is_told_late_counts_as_noise() {
    let mut arrivals = Arrivals::new(&per_string());
    for stroke in 0..28_u64 {
        let pitches: &[u8] = if stroke % 7 < 2 { &[52, 53, 52] } else { &[52] };
        for (pitch, number) in pitches.iter().zip(0..) {
            let event = evenhand_core::notes::NoteEvent::Begun {
                pitch: Pitch::new(*pitch).expect("a pitch"),
                velocity: Velocity::new(90).expect("a velocity"),
                string: GuitarString::new(4),
            };
            let at = 1_000_000 + stroke * 300_000 + number * 40_000;
            arrivals.hear(event, Instant::from_micros(at));
        }
    }
    // Two of three in eight strokes are noise, 16 of 44 notes; the one that goes on alone would be 8.
    assert!(arrivals.hears_poorly());
}

/// Of a pickup that loses some: from some rate on a slur that did not come is open, and a stroke is not yet.
#[test]
fn a_slur_that_did_not_come_is_open_sooner_than_a_stroke() {
    let mut notes = expected(&LINE);
    notes[11].attack = Attack::Slurred;
    let charged = |place: usize, lost: u16| {
        let mut known = per_string();
        for string in (1..=6).map(GuitarString::new) {
            let own = known.habits.string_mut(string);
            (0..200).for_each(|_| own.count_note());
            own.set(TrackingError::Lost, lost);
        }
        let mut sent = clean(&LINE);
        sent.remove(place);
        fails(&Takes::of(notes.clone(), known).take(&sent), Kind::MissingNotes)
    };
    let told: Vec<_> = (0..20).map(|lost| (charged(11, lost), charged(9, lost))).collect();
    assert!(told.contains(&(false, true)), "{told:?}");
    assert!(!told.contains(&(true, false)), "{told:?}");
}
