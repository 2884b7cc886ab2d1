extern crate std;

mod repeats;
mod within;

use super::costs::Costs;
use super::events::{Events, Full};
use super::reference::{cheapest, fit as slow_fit, whole_table};
use super::together::{MatchBits, fit};
use super::{Aligner, Column, Pairing, Role};
use crate::attempt::{Onset, PlayedNote};
use crate::limits::EXPECTED_NOTES;
use crate::study::{Attack, Chunk, ExpectedNote, Marks};
use crate::units::{GuitarString, Offset, Pitch, Tempo, Ticks, Velocity};
use std::vec::Vec;

const TEMPO: Tempo = Tempo::from_micros_per_quarter(500_000).unwrap();

/// Seeded chance: SplitMix64, as in the simulated player (which is not compiled here).
struct Chance(u64);

impl Chance {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) % limit.max(1)
    }
}

fn expected(quarter_halves: u32, pitch: u8) -> ExpectedNote {
    let half = Ticks::PER_QUARTER / 2;
    let onset = Ticks::new(quarter_halves * half);
    ExpectedNote::plain(onset, Ticks::new(half), Pitch::new(pitch).unwrap())
}

fn played(millis: i32, pitch: u8) -> PlayedNote {
    PlayedNote::struck(
        Offset::from_millis(millis),
        Pitch::new(pitch).unwrap(),
        Velocity::new(80).unwrap(),
    )
}

type Workspace = super::Workspace<EXPECTED_NOTES>;

/// A pairing of so many expected notes.
struct Aligned(Pairing, usize);

impl core::ops::Deref for Aligned {
    type Target = Pairing;

    fn deref(&self) -> &Pairing {
        &self.0
    }
}

fn align(notes: &[ExpectedNote], played: &[PlayedNote]) -> Aligned {
    let chunk = Chunk::new(notes, TEMPO).unwrap();
    let mut space = Workspace::new(&chunk);
    let mut aligner = space.aligner();
    push_all(&mut aligner, notes, played);
    Aligned(aligner.pairing(notes, played), notes.len())
}

fn push_all(aligner: &mut Aligner<'_>, notes: &[ExpectedNote], played: &[PlayedNote]) {
    for count in 1..=played.len() {
        aligner.push(notes, &played[..count]);
    }
}

fn pairs(Aligned(pairing, expected): &Aligned) -> Vec<Option<usize>> {
    (0..*expected).map(|note| pairing.played(note)).collect()
}

fn random_notes(chance: &mut Chance, events: u64, together: u64) -> Vec<ExpectedNote> {
    let mut notes = Vec::new();
    let mut at = 0;
    for _ in 0..1 + chance.below(events) {
        at += 1 + chance.below(2) as u32;
        let slurred = chance.below(4) == 0;
        for _ in 0..1 + chance.below(together) {
            let mut note = expected(at, 60 + chance.below(5) as u8);
            note.string = GuitarString::new(chance.below(4) as u8);
            if slurred {
                note.attack = Attack::Slurred;
            }
            notes.push(note);
        }
    }
    notes.sort_by_key(ExpectedNote::order);
    notes.dedup_by_key(|note| note.order());
    notes
}

fn random_played(chance: &mut Chance, most: u64) -> Vec<PlayedNote> {
    let mut at = 0;
    (0..chance.below(most + 1))
        .map(|_| {
            at += chance.below(400) as i32;
            let mut note = played(at, 60 + chance.below(6) as u8);
            note.string = GuitarString::new(chance.below(4) as u8);
            if chance.below(5) == 0 {
                let onsets = [Onset::Bent, Onset::Again, Onset::Corrected];
                note.onset = onsets[chance.below(3) as usize];
            }
            note
        })
        .collect()
}

/// How many cases are tried: all of them where all seeds are asked for, a part where a change is tried.
fn cases(all: usize, part: usize) -> usize {
    if std::env::var_os("EVENHAND_ALL_SEEDS").is_some() { all } else { part }
}

/// More than one in two is heard as another note of its string, or as one far away.
fn mistrack(chance: &mut Chance, note: &mut PlayedNote) {
    let semitones = [0, 0, 0, 12, -12, 19, 14, -27][chance.below(8) as usize];
    note.pitch = note.pitch.transposed(semitones).unwrap();
}

/// Without time, the programme finds the cheapest explanation there is. Only which of several
/// left-over notes of a chord stands in place of which is chosen greedily, and may cost a
/// little more than the best assignment.
#[test]
fn the_cheapest_explanation_is_found() {
    let costs = Costs { octave_of_time: 0, spread_at_most: 0, ..Costs::DEFAULT };
    let mut chance = Chance(11);
    let mut dearer = 0;
    for case in 0..1_500 {
        let together = 1 + case % 3;
        let notes = random_notes(&mut chance, 4, together);
        let played = random_played(&mut chance, 5);
        let chunk = Chunk::new(&notes, TEMPO).unwrap();
        let mut space = Workspace::new(&chunk);
        let mut aligner = space.aligner();
        aligner.progress.costs = costs;
        aligner.begin();
        push_all(&mut aligner, &notes, &played);
        let end = Column::last(aligner.events.list());
        let found = u32::from(aligner.cells.get(end, 0).cost);
        let best = cheapest(&costs, &chunk, &played);
        assert!(found >= best, "case {case}: cheaper than everything: {found} < {best}");
        if together == 1 {
            assert_eq!(found, best, "case {case}");
        }
        assert!(
            found - best <= u32::from(costs.wrong_far - costs.wrong_same_string),
            "case {case}"
        );
        dearer += u32::from(found > best);
    }
    assert!(dearer <= 15, "{dearer} of 1,500 tangles were dearer than the best assignment");
}

/// Bits find what comparing note by note finds, and the bound under it holds.
#[test]
fn a_glance_sees_what_a_slow_look_sees() {
    let mut chance = Chance(13);
    let onsets = [Onset::Struck, Onset::Trailing, Onset::Corrected, Onset::Bent, Onset::Again];
    let costs = Costs::DEFAULT;
    for case in 0..20_000 {
        let mut notes = random_notes(&mut chance, 1, 2 + case % 7);
        let is_trill = chance.below(4) == 0;
        for note in &mut notes {
            note.onset = Ticks::ZERO;
            note.attack = [Attack::Plucked, Attack::Slurred][chance.below(2) as usize];
            note.trill = note.pitch.transposed(2).filter(|_| is_trill);
        }
        notes.sort_by_key(ExpectedNote::order);
        notes.dedup_by_key(|note| note.order());
        let mut played = random_played(&mut chance, notes.len() as u64 + 2);
        for note in &mut played {
            mistrack(&mut chance, note);
            note.onset = onsets[(chance.below(9) as usize).saturating_sub(4)];
        }
        let chunk = Chunk::new(&notes, TEMPO).unwrap();
        let events: &Events = &Full::of(&chunk);
        let glance = MatchBits::at(events, 1, &notes, &played, played.len());
        for count in 1..=played.len() {
            let these = &played[played.len() - count..];
            let slow = slow_fit(&costs, events, 1, &notes, these);
            let cost = glance.cost(&costs, count);
            assert_eq!(cost, slow.as_ref().map(|(cost, _)| *cost), "case {case}");
            let Some((cost, slow)) = slow else { continue };
            let quick = fit(&costs, events, 1, &notes, these).map(|of| of.map(usize::from));
            assert_eq!(quick[..count], slow[..], "case {case}");
            assert!(glance.at_least(&costs, count) <= cost, "case {case}");
        }
    }
}

/// Rings of rows and packed back-pointers give what the whole table gives.
#[test]
fn little_memory_changes_nothing() {
    let mut chance = Chance(12);
    for case in 0..cases(600, 100) as u64 {
        let notes = random_notes(&mut chance, 24, 1 + case % 8);
        let mut played = random_played(&mut chance, 60);
        for note in &mut played {
            mistrack(&mut chance, note);
        }
        let chunk = Chunk::new(&notes, TEMPO).unwrap();
        let mut space = Workspace::new(&chunk);
        let mut aligner = space.aligner();
        push_all(&mut aligner, &notes, &played);
        let (cost, whole) = whole_table(&chunk, &played);
        let end = Column::last(aligner.events.list());
        assert_eq!(aligner.cells.get(end, 0).cost, cost, "case {case}");
        let mut pairing: Pairing = Pairing::EMPTY;
        aligner.first_look(&notes, &played, &mut pairing.writable());
        assert_eq!(pairs(&Aligned(pairing, notes.len())), whole, "case {case}");
    }
}

/// So does aligning the first notes once more where the back-pointers of all are too many.
#[test]
fn looking_further_back_changes_nothing() {
    let mut chance = Chance(14);
    let mut looked = 0;
    let cases = cases(24, 4);
    for case in 0..cases as u64 {
        let (mut notes, mut played) = (Vec::new(), Vec::new());
        while notes.len() < 200 {
            notes = random_notes(&mut chance, 256, 1 + case % 4);
            notes.truncate(256);
        }
        while played.len() < 150 {
            played = random_played(&mut chance, 512);
        }
        let chunk = Chunk::new(&notes, TEMPO).unwrap();
        let mut space = Workspace::new(&chunk);
        let mut aligner = space.aligner();
        push_all(&mut aligner, &notes, &played);
        let (_, whole) = whole_table(&chunk, &played);
        looked += usize::from(aligner.steps.first() > 0);
        let match_score = aligner.progress.match_score(&played);
        let _ = aligner.pairing(&notes, &played);
        let mut first_look: Pairing = Pairing::EMPTY;
        let mut space = Workspace::new(&chunk);
        let mut again = space.aligner();
        push_all(&mut again, &notes, &played);
        again.first_look(&notes, &played, &mut first_look.writable());
        assert_eq!(pairs(&Aligned(first_look, notes.len())), whole, "case {case}");
        assert_eq!(aligner.progress.match_score(&played), match_score, "it stands where it stood");
        assert_eq!(aligner.progress.notes_aligned(), played.len());
        let aligned = aligner.progress.notes_aligned();
        played.push(*played.last().unwrap());
        aligner.push(&notes, &played);
        assert_eq!(aligner.progress.notes_aligned(), aligned, "it is closed");
    }
    assert!(looked * 6 >= cases * 5, "only {looked} of {cases} attempts were too long");
}

#[test]
fn the_fullest_chunk_and_the_longest_attempt_fit() {
    for together in [1, 2, 3, 8] {
        let notes: Vec<_> =
            (0..256).map(|i| expected(i / together, 30 + (i % together) as u8)).collect();
        let once: Vec<_> = (0..256)
            .map(|i| played(i / together as i32 * 250, 30 + (i as u32 % together) as u8))
            .collect();
        let pairing = align(&notes, &once);
        assert!((0..256).all(|note| pairing.played(note) == Some(note)), "{together} together");
        let long: Vec<_> = (0..512).map(|i| played(i * 50, 30 + (i % 8) as u8)).collect();
        let mut space = Workspace::new(&Chunk::new(&notes, TEMPO).unwrap());
        push_all(&mut space.aligner(), &notes, &long);
        assert_eq!(space.progress().notes_aligned(), 512);
    }
}

/// A workspace that the chunk fills to the last note, with few back-pointers, finds what the whole
/// table does.
#[test]
fn little_room_changes_nothing() {
    fn with_room_for<const EXPECTED: usize>(chance: &mut Chance) {
        for case in 0..60 {
            let mut notes = random_notes(chance, EXPECTED as u64, 1 + case % 8);
            while notes.len() < EXPECTED {
                let last = notes.last().map_or(0, |note| note.onset.get());
                let more = random_notes(chance, EXPECTED as u64, 1 + case % 8);
                notes.extend(
                    more.into_iter().map(|note| ExpectedNote {
                        onset: note.onset.plus(Ticks::new(last)),
                        ..note
                    }),
                );
            }
            notes.truncate(EXPECTED);
            let mut played = random_played(chance, 160);
            played.iter_mut().for_each(|note| mistrack(chance, note));
            let chunk = Chunk::new(&notes, TEMPO).unwrap();
            let mut space = super::Workspace::<EXPECTED>::new(&chunk);
            let mut aligner = space.aligner();
            push_all(&mut aligner, &notes, &played);
            let (cost, whole) = whole_table(&chunk, &played);
            let end = Column::last(aligner.events.list());
            assert_eq!(aligner.cells.get(end, 0).cost, cost, "{EXPECTED}, case {case}");
            let mut pairing: Pairing = Pairing::EMPTY;
            aligner.first_look(&notes, &played, &mut pairing.writable());
            assert_eq!(pairs(&Aligned(pairing, EXPECTED)), whole, "{EXPECTED}, case {case}");
        }
    }
    let mut chance = Chance(15);
    with_room_for::<1>(&mut chance);
    with_room_for::<2>(&mut chance);
    with_room_for::<3>(&mut chance);
    with_room_for::<8>(&mut chance);
    with_room_for::<16>(&mut chance);
    with_room_for::<17>(&mut chance);
}

#[test]
fn order_inside_a_chord_is_free() {
    let notes = [expected(0, 40), expected(0, 52), expected(0, 55), expected(2, 60)];
    let pairing = align(&notes, &[played(0, 55), played(6, 40), played(9, 52), played(500, 60)]);
    assert_eq!(pairs(&pairing), [Some(1), Some(2), Some(0), Some(3)]);
}

#[test]
fn time_tells_which_of_equal_notes_is_missing() {
    let notes: Vec<_> = (0..6).map(|i| expected(i, 60)).collect();
    // The third does not come.
    let played: Vec<_> = [0, 250, 750, 1_000, 1_250].iter().map(|&at| played(at, 60)).collect();
    let pairing = align(&notes, &played);
    assert_eq!(pairs(&pairing), [Some(0), Some(1), None, Some(2), Some(3), Some(4)]);
}

#[test]
fn of_equal_notes_any_may_be_missing() {
    let run = [64, 60, 60, 60, 60, 67, 69];
    let notes: Vec<_> = run.iter().zip(0..).map(|(&p, i)| expected(i, p)).collect();
    for missing in 1..=4 {
        let played: Vec<_> =
            (0..7).filter(|&i| i != missing).map(|i| played(i as i32 * 300, run[i])).collect();
        let pairing = align(&notes, &played);
        let found: Vec<_> = (0..7).filter(|&i| pairing.played(i).is_none()).collect();
        assert_eq!(found, [missing]);
    }
}

#[test]
fn notes_that_changed_places_are_both_found() {
    let notes: Vec<_> =
        [60, 62, 64, 65, 67].iter().zip(0..).map(|(&p, i)| expected(i, p)).collect();
    let played: Vec<_> =
        [60, 64, 62, 65, 67].iter().zip(0..).map(|(&p, i)| played(i * 250, p)).collect();
    assert_eq!(pairs(&align(&notes, &played)), [Some(0), Some(2), Some(1), Some(3), Some(4)]);
}

#[test]
fn a_wrong_note_stands_in_its_place() {
    let notes: Vec<_> = [60, 62, 64, 65].iter().zip(0..).map(|(&p, i)| expected(i, p)).collect();
    let played: Vec<_> =
        [60, 63, 64, 65].iter().zip(0..).map(|(&p, i)| played(i * 250, p)).collect();
    let pairing = align(&notes, &played);
    assert_eq!(pairing.played(1), Some(1));
    assert_eq!(pairing.role(1), Role::Note(1));
}

#[test]
fn any_tempo_and_a_change_on_the_way_change_nothing() {
    let notes: Vec<_> = (0..24).map(|i| expected(i, 60 + (i % 5) as u8)).collect();
    for scale in [33, 50, 100, 200, 300] {
        let mut at = 0;
        let played: Vec<_> = (0..24)
            .map(|i| {
                at += 250 * scale / if i > 12 { 200 } else { 100 };
                played(at, 60 + (i % 5) as u8)
            })
            .collect();
        let found = pairs(&align(&notes, &played));
        assert!(found.iter().enumerate().all(|(i, p)| *p == Some(i)), "{scale} %: {found:?}");
    }
}

#[test]
fn a_trill_takes_as_many_notes_as_come() {
    let mut notes = Vec::from([expected(0, 45), expected(1, 64), expected(3, 65), expected(5, 64)]);
    notes[0].duration = Ticks::new(Ticks::PER_QUARTER * 3);
    notes[0].trill = Pitch::new(47);
    let mut played: Vec<_> =
        (0..10).map(|i| played(i * 130, if i % 2 == 0 { 45 } else { 47 })).collect();
    for (at, pitch) in [(255, 64), (750, 65), (1_255, 64)] {
        played.push(self::played(at, pitch));
    }
    played.sort_by_key(|note| note.at);
    let pairing = align(&notes, &played);
    let trilled = (0..played.len()).filter(|&by| pairing.role(by) == Role::Trill(0)).count();
    assert_eq!(trilled, 9);
    assert!(pairs(&pairing).iter().all(Option::is_some));
    let extra = (0..played.len()).filter(|&by| pairing.role(by) == Role::Extra).count();
    assert_eq!(extra, 0);
}

#[test]
fn a_landing_that_is_not_played_is_not_missed() {
    let mut notes = Vec::from([expected(0, 60), expected(1, 62), expected(2, 64)]);
    notes[2].marks = Marks::LANDING;
    let chunk = Chunk::new(&notes, TEMPO).unwrap();
    let mut space = Workspace::new(&chunk);
    let mut aligner = space.aligner();
    let played = [played(0, 60), played(250, 62)];
    push_all(&mut aligner, &notes, &played);
    assert!(aligner.is_complete());
    assert!(!aligner.is_landed());
    // Two notes explained, and the end, with nothing missing.
    let match_score =
        2 * i32::from(aligner.progress.costs.outside) - i32::from(aligner.progress.costs.end);
    assert_eq!(aligner.progress.match_score(&played), match_score * 100 / 64);
}

#[test]
fn the_position_is_known_at_once() {
    let notes: Vec<_> = (0..8).map(|i| expected(i, 60 + i as u8)).collect();
    let chunk = Chunk::new(&notes, TEMPO).unwrap();
    let mut space = Workspace::new(&chunk);
    let mut aligner = space.aligner();
    let mut so_far = Vec::new();
    for i in 0..8 {
        so_far.push(played(i * 250, 60 + i as u8));
        aligner.push(&notes, &so_far);
        assert_eq!(aligner.progress.events_behind(), i as usize + 1);
        assert!(aligner.progress.last_note_matched());
    }
}

#[test]
fn of_a_lost_note_and_the_next_ones_double_the_strong_one_is_the_next() {
    let notes: Vec<_> = [60, 62, 64, 65].iter().zip(0..).map(|(&p, i)| expected(i, p)).collect();
    let with = |first: i32, second: i32, velocity: u8| {
        let velocity = Velocity::new(velocity);
        let second = PlayedNote { velocity, ..played(second, 64) };
        pairs(&align(&notes, &[played(0, 60), played(first, 64), second, played(750, 65)]))
    };
    // Weak, and right before the last.
    assert_eq!(with(450, 690, 20), [Some(0), None, Some(1), Some(3)]);
    // Each as strong, and in its time: a wrong note and a right one.
    assert_eq!(with(250, 500, 80), [Some(0), Some(1), Some(2), Some(3)]);
    assert_eq!(with(250, 500, 20), [Some(0), Some(1), Some(2), Some(3)]);
}
