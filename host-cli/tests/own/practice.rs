//! Practice on a study: the music of its pieces, and a sitting in words.

mod words;

use evenhand::listening::Listener;
use evenhand::practice::{Known, Next, Plan, Settings};
use evenhand::study::{Prepared, parse};
use evenhand_core::notes::NoteEvent;
use evenhand_core::player::{Chance, Skill, perform};
use evenhand_core::practice::{
    AttemptResult, Choice, Earlier, EventResults, Piece, PracticeVariant, Side,
};
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::study::{Attack, ExpectedNote, Marks};
use evenhand_core::units::{Instant, Seconds, Tempo, Ticks};
use evenhand_core::verdict::Outcome;

const QUAY: &str = include_str!("../../../fixtures/studies/lantern-quay.study");
const EIGHTH: u32 = Ticks::PER_QUARTER / 2;

/// Two bars that follow each other, eight eighths each, and a third elsewhere.
const BARS: &str = "evenhand study 1
tempo 100
level first
chunk \"A\" at bar 1
  melody: 1/8 5:0 5:2 5:3 4:0 4:2 4:3 3:0 3:2 |
  landing next
  alternative \"high\"
    melody: 1/8 6:5 6:7 6:8 5:5 5:7 5:8 4:5 4:7 |
chunk \"B\"
  tempo 90
  bass: 1/1 6:0 |
  melody: 1/8 3:0 3:2 2:0 2:1 2:3 1:0 1:1 1:3 |
chunk \"C\" at bar 9
  melody: 1/4 1:3 1:1 1:0 2:3 |
";

fn plan(text: &str, settings: &Settings) -> Plan {
    Plan::new(&parse(text).expect("a study"), settings).expect("a plan")
}

fn prepared(text: &str) -> Vec<Prepared> {
    parse(text).expect("a study").prepare().expect("chunks")
}

/// A sitting with its clock.
struct Sitting {
    plan: Plan,
    now: u32,
}

impl Sitting {
    fn of(text: &str) -> Self {
        let mut plan = plan(text, &Settings::default());
        plan.begin(false, Instant::ZERO);
        Self { plan, now: 0 }
    }

    fn now(&self) -> Instant {
        Instant::from_micros(u64::from(self.now) * 1_000_000)
    }

    fn one(&mut self, heard: AttemptResult) -> Next {
        self.shows(heard, &EventResults::NONE)
    }

    fn shows(&mut self, heard: AttemptResult, results: &EventResults) -> Next {
        self.now += 10;
        self.plan.attempt(heard, None, Seconds::new(8), results, self.now())
    }

    fn showing(&mut self, heard: AttemptResult, results: &EventResults) -> Vec<String> {
        self.shows(heard, results).sentences
    }

    fn play(&mut self, heard: AttemptResult, times: u32) -> String {
        let last = (0..times).map(|_| self.one(heard)).last().expect("an attempt");
        last.sentences.join(" ")
    }

    fn choose(&mut self, choice: Choice) -> String {
        let next = self.plan.choose(choice, self.now()).expect("it is possible");
        next.sentences.join(" ")
    }

    fn piece(&self) -> Piece {
        self.plan.current().expect("practice goes on").task.piece
    }

    fn music(&self) -> &Prepared {
        &self.plan.current().expect("practice goes on").chunk
    }

    /// Clean attempts until this piece has its turn.
    fn until(&mut self, piece: Piece) -> Next {
        loop {
            let next = self.one(AttemptResult::Clean);
            if self.piece() == piece {
                return next;
            }
        }
    }
}

const JOIN: Piece = Piece::Join { first: 0, seam: 0, last: 1 };

fn is_landing(note: &ExpectedNote) -> bool {
    note.marks.has(Marks::LANDING)
}

/// Onset in eighths and pitch of each note.
fn eighths(chunk: &Prepared) -> Vec<(u32, u8)> {
    chunk.notes.iter().map(|note| (note.onset.get() / EIGHTH, note.pitch.number())).collect()
}

/// What a skilled player's performance of it is judged to be.
fn heard(chunk: &Prepared, seed: u64) -> Option<Outcome> {
    let chunks = [chunk.clone()];
    let config = SessionConfig { ends: Ends::ByCaller, ..SessionConfig::default() };
    let mut listener = Listener::new(&chunks, config);
    let performance = perform(&chunk.chunk(), chunk.tempo, Skill::SKILLED, &[], seed);
    let mut events: Vec<(i64, NoteEvent)> = Vec::new();
    for note in performance.notes() {
        let (at, string) = (i64::from(note.at.as_micros()), note.string);
        let (pitch, velocity) = (note.pitch, note.velocity);
        events.push((at, NoteEvent::Begun { pitch, velocity, string }));
        let end = at + i64::from(note.lasts.as_micros());
        events.push((end, NoteEvent::Ended { pitch, string }));
    }
    events.sort_by_key(|(at, _)| *at);
    for (at, event) in events {
        let now = u64::try_from(at + 1_000_000).expect("not before the beginning");
        listener.hear(event, Instant::from_micros(now));
    }
    listener.finish().map(|finished| finished.verdict.outcome)
}

#[test]
fn two_halves_are_the_chunk_and_the_first_lands_on_the_second() {
    let whole = &prepared(BARS)[0];
    let mut sitting = Sitting::of(BARS);
    sitting.choose(Choice::Shorter);
    let first = sitting.music().clone();
    assert_eq!(first.name, "A, first half");
    assert_eq!(eighths(&first), eighths(whole)[..5]);
    let landing: Vec<bool> = first.notes.iter().map(is_landing).collect();
    assert_eq!(landing, [false, false, false, false, true]);
    sitting.play(AttemptResult::Clean, 2);
    let second = sitting.music();
    assert_eq!(second.name, "A, second half");
    let pitches: Vec<u8> = whole.notes[4..].iter().map(|note| note.pitch.number()).collect();
    let own: Vec<u8> = second.notes.iter().map(|note| note.pitch.number()).collect();
    assert_eq!(own, pitches, "with the landing of the whole");
    assert_eq!(second.notes[0].onset, Ticks::ZERO);
    let place = second.chunk().place(Ticks::ZERO);
    assert_eq!((place.bar, place.beat), (1, 3));
    assert_eq!(first.length.plus(second.length), whole.length);
}

#[test]
fn no_slur_and_no_trill_is_cut_through() {
    let slurred = "evenhand study 1\nchunk \"S\" at bar 1\n  \
        melody: 1/8 5:0 5:2 5:3 4:0 ^4:2 4:3 3:0 3:2 |\n";
    let plan = plan(slurred, &Settings::default());
    let mut sitting = Sitting { plan, now: 0 };
    sitting.plan.begin(false, Instant::ZERO);
    assert!(!sitting.plan.choices().has(Choice::Shorter), "the only place to cut is slurred");
    let trilled = "evenhand study 1\nchunk \"T\" at bar 1\n  \
        bass: 1/1 5:0(trill 2 hold) | 5:0(trill 2 hold) |\n  \
        chords: 1/4 3:0 3:2 2:0 2:1 | 2:3 1:0 1:1 1:3 |\n";
    let mut sitting = Sitting::of(trilled);
    sitting.choose(Choice::Shorter);
    assert_eq!(sitting.music().length.get(), 8 * EIGHTH, "between the trills");
}

#[test]
fn a_join_is_both_chunks_with_voices_of_one_name_going_on() {
    let chunks = prepared(BARS);
    let mut sitting = Sitting::of(BARS);
    sitting.until(JOIN);
    let music = sitting.music();
    assert_eq!(music.name, "A and B");
    let own = chunks[0].notes.iter().filter(|note| !is_landing(note)).count();
    assert_eq!(music.notes.len(), own + chunks[1].notes.len());
    assert_eq!(eighths(music)[8].0, 8, "B begins where A ends");
    assert!(!music.notes.iter().any(is_landing));
    // In B the bass is the first voice and the melody the second; in A the melody is the first.
    let voice = |pitch| music.notes[8..].iter().find(|note| note.pitch.number() == pitch);
    assert_eq!((voice(57).unwrap().voice, voice(40).unwrap().voice), (0, 1));
    let goal = sitting.plan.current().unwrap().goal;
    assert_eq!(goal, chunks[1].tempo, "the slower of 100 and 90");
}

#[test]
fn what_does_not_follow_is_not_joined() {
    let mut sitting = Sitting::of(BARS);
    let mut joins = Vec::new();
    while sitting.plan.current().is_some() {
        let piece = sitting.piece();
        if matches!(piece, Piece::Join { .. }) && !joins.contains(&piece) {
            joins.push(piece);
        }
        sitting.one(AttemptResult::Clean);
    }
    assert_eq!(joins, [JOIN], "C begins in bar 9");
}

#[test]
fn another_rhythm_moves_every_other_note_and_no_beat() {
    let mut sitting = Sitting::of(BARS);
    let onsets = |sitting: &Sitting| -> Vec<u32> {
        let own = sitting.music().notes.iter().filter(|note| !is_landing(note));
        own.map(|note| note.onset.get() * 4 / EIGHTH).collect()
    };
    assert_eq!(onsets(&sitting), [0, 4, 8, 12, 16, 20, 24, 28]);
    sitting.choose(Choice::Rhythm);
    assert_eq!(onsets(&sitting), [0, 6, 8, 14, 16, 22, 24, 30]);
    sitting.play(AttemptResult::Clean, 2);
    assert_eq!(sitting.plan.current().unwrap().task.way, PracticeVariant::ShortLong);
    assert_eq!(onsets(&sitting), [0, 2, 8, 10, 16, 18, 24, 26]);
}

#[test]
fn another_fingering_is_the_same_music_on_other_strings() {
    let mut sitting = Sitting::of(BARS);
    let written = sitting.music().clone();
    let said = sitting.choose(Choice::Fingering);
    assert_eq!(said, "The fingering “high”. New for the hands, so slower: 51 beats a minute.");
    let strings = |chunk: &Prepared| chunk.notes[0].string.map(|string| string.number());
    assert_eq!((strings(&written), strings(sitting.music())), (Some(5), Some(6)));
    assert_eq!(eighths(&written), eighths(sitting.music()));
}

#[test]
fn every_piece_of_the_bundled_study_can_be_played_and_passes() {
    let chunks = prepared(QUAY);
    let goal: Vec<Known> = (0..chunks.len() as u8)
        .map(|chunk| Known {
            piece: Piece::Chunk(chunk),
            fastest_clean: Some(chunks[usize::from(chunk)].tempo),
            earlier: Earlier::Passed,
            tried_today: false,
        })
        .collect();
    let settings = Settings { known: goal.clone(), ..Settings::default() };
    let mut sitting = Sitting { plan: plan(QUAY, &settings), now: 0 };
    sitting.plan.begin(false, Instant::ZERO);
    let (mut seen, mut failed) = (Vec::new(), Vec::new());
    let mut check = |sitting: &Sitting| {
        let playing = sitting.plan.current().expect("practice goes on");
        let key = (playing.task.piece, playing.task.way);
        if !seen.contains(&key) {
            seen.push(key);
            let passed =
                (1..=3).filter(|seed| heard(&playing.chunk, *seed) == Some(Outcome::Passed));
            if passed.count() == 0 {
                failed.push(format!("{:?}: {:?}", key, heard(&playing.chunk, 1)));
            }
        }
    };
    // Every chunk first, in other rhythms and in halves; then what practice joins of them.
    let mut chunks = (0..goal.len() as u8).map(Piece::Chunk);
    while sitting.plan.current().is_some() {
        let now = sitting.now();
        let piece = chunks.next().unwrap_or_else(|| sitting.piece());
        sitting.plan.go_to(piece, now).expect("it is there");
        check(&sitting);
        if matches!(piece, Piece::Chunk(_)) && sitting.plan.choices().has(Choice::Rhythm) {
            sitting.choose(Choice::Rhythm);
            check(&sitting);
            let way = |sitting: &Sitting| sitting.plan.current().expect("it goes on").task.way;
            while way(&sitting) == PracticeVariant::LongShort {
                sitting.one(AttemptResult::Clean);
            }
            check(&sitting);
        }
        if sitting.plan.choices().has(Choice::Shorter) {
            sitting.choose(Choice::Shorter);
            check(&sitting);
            if let Piece::Half(chunk, Side::First) = sitting.piece() {
                sitting.plan.go_to(Piece::Half(chunk, Side::Second), now).expect("it is there");
                check(&sitting);
            }
            sitting.plan.go_to(piece, now).expect("it is there");
        }
        while sitting.plan.current().is_some_and(|playing| playing.task.piece == piece) {
            sitting.one(AttemptResult::Clean);
        }
    }
    let count = |kind: fn(&Piece) -> bool| seen.iter().filter(|(piece, _)| kind(piece)).count();
    let joins = count(|piece| matches!(piece, Piece::Join { .. }));
    let halves = count(|piece| matches!(piece, Piece::Half(..)));
    let seams = count(|piece| matches!(piece, Piece::Seam(_)));
    println!("{} pieces, {joins} joins, {halves} halves, {seams} seams", seen.len());
    assert!(joins >= 10 && halves >= 10 && seams >= 2, "{joins} {halves} {seams}");
    assert_eq!(failed, Vec::<String>::new());
}

#[test]
fn the_first_notes_of_a_half_are_plucked() {
    for chunk in prepared(QUAY) {
        let text = format!("{} alone", chunk.name);
        let mut plan = Plan::of_chunks(vec![chunk], &Settings::default());
        plan.begin(false, Instant::ZERO);
        if plan.choose(Choice::Shorter, Instant::ZERO).is_none() {
            continue;
        }
        for side in [Side::First, Side::Second] {
            plan.go_to(Piece::Half(0, side), Instant::ZERO).expect("it is there");
            let half = &plan.current().expect("it goes on").chunk;
            let first = half.notes.first().expect("a note").onset;
            for note in half.notes.iter().take_while(|note| note.onset == first) {
                assert_eq!(note.attack, Attack::Plucked, "{text}");
            }
        }
    }
}

#[test]
fn no_chunks_are_said_not_panicked_on() {
    let mut plan = Plan::of_chunks(Vec::new(), &Settings::default());
    assert_eq!(plan.begin(false, Instant::ZERO).sentences, ["There is no chunk to practise."]);
    assert!(plan.choose(Choice::Stop, Instant::ZERO).is_none());
}

#[test]
fn whatever_happens_there_is_music_until_the_end() {
    for seed in 0..30 {
        let mut chance = Chance::new(seed);
        let mut sitting = Sitting::of(QUAY);
        for _ in 0..400 {
            if chance.below(12) == 0 {
                let possible: Vec<Choice> = sitting.plan.choices().iter().collect();
                let choice = possible[chance.below(possible.len() as u32) as usize];
                if choice != Choice::Stop {
                    sitting.choose(choice);
                }
            }
            let heard = match chance.below(10) {
                0..=6 => AttemptResult::Clean,
                7..=8 => AttemptResult::NotClean,
                _ => AttemptResult::Unclear,
            };
            let next = sitting.one(heard);
            assert_eq!(next.step.task.is_some(), sitting.plan.current().is_some(), "seed {seed}");
            let Some(playing) = sitting.plan.current() else { break };
            assert_eq!(playing.chunk.tempo, playing.task.tempo);
            assert!(playing.chunk.checked(Tempo::SLOWEST).is_ok());
            assert!(!next.sentences.is_empty() && next.sentences.len() <= 3);
        }
    }
}
