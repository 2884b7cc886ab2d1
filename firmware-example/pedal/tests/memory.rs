//! The memory, with the power cut at every step that writes.

mod common;

use common::{FOR_RESULTS, IDENTITY, SECTOR, SIZE, beats, keep, open, pack, put_in, record};
use evenhand_core::limits::RESULT_BYTES;
use evenhand_core::link::Store;
use evenhand_core::pack::ResultRecord;
use evenhand_core::pickup::Habits;
use evenhand_core::practice::Piece;
use evenhand_core::units::GuitarString;
use evenhand_core::verdict::Outcome;
use evenhand_pedal::memory::Memory;
use evenhand_pedal::music::{Known, Music};
use evenhand_pedal::ram_flash::RamFlash;

const TITLE: &str = "Two by two";

/// The numbers of the results that are there, each of which says so itself.
fn numbers(memory: &Memory<RamFlash<'_>>) -> Vec<u32> {
    (memory.oldest()..memory.next())
        .inspect(|number| {
            let (record, _) = ResultRecord::decode(memory.result(*number).unwrap()).unwrap();
            assert_eq!(record.number, *number);
        })
        .collect()
}

#[test]
fn results_are_numbered_from_1_and_there_after_a_restart() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    assert_eq!((memory.oldest(), memory.next(), memory.sitting()), (1, 1, 1));
    for _ in 0..5 {
        assert!(keep(&mut memory));
    }
    assert_eq!(memory.about().memory, 99);
    let memory = open(&mut bytes);
    assert_eq!(numbers(&memory), [1, 2, 3, 4, 5]);
    assert_eq!(memory.sitting(), 2);
    assert!(memory.result(0).is_none() && memory.result(6).is_none());
}

#[test]
fn the_ring_goes_round_and_the_oldest_results_go() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    for kept in 1..2_000_u32 {
        assert!(keep(&mut memory));
        if kept % 50 == 0 {
            memory.prepare().unwrap();
        }
        assert_eq!(memory.next(), kept + 1);
    }
    // Three sectors at least hold results of under 64 bytes.
    let there = numbers(&memory);
    assert!(there.len() > 3 * SECTOR / 64 - 3, "{}", there.len());
    assert_eq!(numbers(&open(&mut bytes)), there);
}

#[test]
fn what_is_forgotten_stays_forgotten() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    for _ in 0..9 {
        keep(&mut memory);
    }
    memory.forget(6).unwrap();
    keep(&mut memory);
    assert_eq!(numbers(&memory), [7, 8, 9, 10]);
    let mut memory = open(&mut bytes);
    assert_eq!(numbers(&memory), [7, 8, 9, 10]);
    memory.forget(10).unwrap();
    assert_eq!((memory.oldest(), memory.next()), (11, 11));
    let memory = open(&mut bytes);
    assert_eq!(numbers(&memory), []);
    assert_eq!(memory.sitting(), 2, "the first had results, forgotten or not");
}

/// Whatever is cut, the results that had been kept before are there (but for those whose sector
/// was being made room in), none is damaged, and writing goes on.
#[test]
fn a_power_cut_costs_the_result_that_is_being_written_and_nothing_else() {
    let mut cuts = 0;
    let mut step = 0;
    loop {
        let mut bytes = vec![0xff; SIZE];
        let flash = RamFlash::new(&mut bytes).cut_after(step);
        let mut memory = Memory::open(flash, FOR_RESULTS, IDENTITY);
        let mut kept = 0;
        // More than the ring holds, so that sectors are erased, too.
        for round in 0..330 {
            if round % 40 == 20 && memory.forget(kept / 2).is_err() {
                break;
            }
            if !keep(&mut memory) {
                break;
            }
            kept += 1;
        }
        let is_cut = memory.into_flash().is_off();
        let mut memory = open(&mut bytes);
        // The last word of a result may be nothing but filling: then it is there, too.
        let kept = if is_cut && memory.next() == kept + 2 { kept + 1 } else { kept };
        assert_eq!(memory.next(), kept + 1, "cut at step {step}");
        let there = numbers(&memory);
        assert!(there.len() as u32 >= (kept - kept / 2).min(180), "{step}: {}", there.len());
        assert!(keep(&mut memory) && keep(&mut memory), "cut at step {step}");
        assert_eq!(open(&mut bytes).next(), kept + 3, "cut at step {step}");
        if !is_cut {
            break;
        }
        cuts += 1;
        step += if step < 400 { 1 } else { 7 };
    }
    assert!(cuts > 400, "{cuts}");
}

#[test]
fn packs_come_and_go_and_the_last_is_practised() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    assert_eq!(memory.chunks(), 2, "the built-in study");
    let (first, second) = (pack(1, TITLE, 30), pack(2, TITLE, 50));
    assert!(put_in(&mut memory, &first) && put_in(&mut memory, &second));
    assert_eq!((memory.packs(), memory.study_hash(), memory.chunks()), (2, 2, 50));
    let mut memory = open(&mut bytes);
    assert_eq!(memory.pack(0).unwrap(), first);
    assert_eq!(memory.pack(1).unwrap(), second);
    memory.set_in_use(true);
    assert!(memory.remove(1).is_err(), "it is being practised");
    memory.set_in_use(false);
    memory.remove(1).unwrap();
    assert_eq!((memory.packs(), memory.study_hash()), (1, 1));
    let mut memory = open(&mut bytes);
    assert_eq!((memory.packs(), memory.study_hash()), (1, 1));
    // Its room is free again.
    for study in 3..40 {
        assert!(put_in(&mut memory, &pack(study, TITLE, 40)), "{study}");
        memory.remove(1).unwrap();
    }
    assert_eq!(memory.free() as usize, 12 * SECTOR - first.len().next_multiple_of(SECTOR) - 256);
}

#[test]
fn a_pack_is_there_as_a_whole_or_not_at_all() {
    let (first, second) = (pack(1, TITLE, 20), pack(2, TITLE, 30));
    let mut step = 0;
    loop {
        let mut bytes = vec![0xff; SIZE];
        assert!(put_in(&mut open(&mut bytes), &first));
        let flash = RamFlash::new(&mut bytes).cut_after(step);
        let mut memory = Memory::open(flash, FOR_RESULTS, IDENTITY);
        let done = put_in(&mut memory, &second) && memory.remove(0).is_ok();
        assert_eq!(memory.into_flash().is_off(), !done);
        let mut memory = open(&mut bytes);
        let there: Vec<&[u8]> = (0..memory.packs()).map(|n| memory.pack(n).unwrap()).collect();
        let allowed: [&[&[u8]]; 3] = [&[&first], &[&first, &second], &[&second]];
        assert!(allowed.contains(&there.as_slice()), "cut at step {step}");
        // Whatever was left behind is in nobody's way.
        assert!(put_in(&mut memory, &pack(3, TITLE, 30)), "cut at step {step}");
        assert_eq!(memory.study_hash(), 3);
        if done {
            break;
        }
        step += 1;
    }
    assert!(step > 100, "{step}");
}

/// Keeps attempts at a piece: at so many beats a minute, with this outcome.
fn attempts(memory: &mut Memory<RamFlash<'_>>, piece: Piece, attempts: &[(u32, Outcome)]) {
    for (beats_a_minute, outcome) in attempts {
        let mut room = [0; RESULT_BYTES];
        let (asked, outcome) = (beats(*beats_a_minute), *outcome);
        let record = ResultRecord { piece, asked, outcome, ..record(memory) };
        let length = record.encode(&[], &mut room).unwrap();
        memory.keep_result(&room[..length]).unwrap();
    }
}

/// Joins with the tempi at which they were clean.
type Joins = Vec<(Piece, Option<u16>)>;

/// What a memory knows of earlier sittings: the tempi of the first two chunks, and the joins.
fn known(memory: &Memory<RamFlash<'_>>) -> ([Option<u16>; 2], Joins) {
    let mut known = Known::new();
    memory.known(&mut known);
    ([known.chunk(0), known.chunk(1)], known.joins().collect())
}

/// Twice in a row are asked for: at 54 it was, at 56 with one that was not in between.
const AT_54: [(u32, Outcome); 6] = [
    (54, Outcome::Passed),
    (54, Outcome::Unclear),
    (54, Outcome::Passed),
    (56, Outcome::Passed),
    (56, Outcome::NeedsWork),
    (56, Outcome::Passed),
];

#[test]
fn practice_goes_on_where_it_was() {
    let mut bytes = vec![0xff; SIZE];
    attempts(&mut open(&mut bytes), Piece::Chunk(0), &AT_54);
    assert_eq!(known(&open(&mut bytes)), ([Some(54), None], vec![]));
}

#[test]
fn joins_go_on_where_they_were() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    let pair = Piece::Join { first: 0, seam: 0, last: 1 };
    let line = Piece::Join { first: 0, seam: 1, last: 3 };
    attempts(&mut memory, pair, &AT_54);
    // Not clean yet, but it has been made.
    attempts(&mut memory, line, &[(50, Outcome::NeedsWork)]);
    // Whatever is played in between, as on a computer.
    attempts(&mut memory, pair, &[(58, Outcome::Passed)]);
    attempts(&mut memory, Piece::Chunk(1), &[(58, Outcome::Passed)]);
    attempts(&mut memory, pair, &[(58, Outcome::Passed)]);
    let memory = open(&mut bytes);
    assert_eq!(known(&memory), ([None, None], vec![(pair, Some(58)), (line, None)]));
}

#[test]
fn a_seam_is_joined_as_it_was_last() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    let wide = Piece::Join { first: 0, seam: 1, last: 2 };
    let narrow = Piece::Join { first: 1, seam: 1, last: 2 };
    attempts(&mut memory, wide, &AT_54);
    attempts(&mut memory, narrow, &[(60, Outcome::Passed)]);
    assert_eq!(known(&open(&mut bytes)).1, [(narrow, None)]);
}

#[test]
fn what_a_computer_has_fetched_is_still_known() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    let join = Piece::Join { first: 0, seam: 0, last: 1 };
    attempts(&mut memory, Piece::Chunk(0), &AT_54);
    attempts(&mut memory, join, &AT_54);
    memory.forget(memory.next() - 1).unwrap();
    let memory = open(&mut bytes);
    assert_eq!(memory.oldest(), memory.next(), "a computer is told of none");
    assert_eq!(known(&memory), ([Some(54), None], vec![(join, Some(54))]));
}

/// Nothing that was erased, damaged or is of another study counts, whatever the ring has been through.
#[test]
fn what_is_known_is_what_is_there() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    attempts(&mut memory, Piece::Chunk(0), &AT_54);
    while memory.result(1).is_some() {
        attempts(&mut memory, Piece::Chunk(1), &[(70, Outcome::Passed)]);
    }
    let now = ([None, Some(70)], vec![]);
    assert_eq!(known(&memory), now);
    assert_eq!(known(&open(&mut bytes)), now);
    let mut memory = open(&mut bytes);
    assert!(put_in(&mut memory, &pack(5, TITLE, 2)));
    assert_eq!(known(&memory), ([None, None], vec![]), "of another study");
}

#[test]
fn a_flash_full_of_anything_is_an_empty_memory() {
    let mut seed = 1_u32;
    let mut bytes: Vec<u8> = (0..SIZE)
        .map(|_| {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (seed >> 24) as u8
        })
        .collect();
    let mut memory = open(&mut bytes);
    assert_eq!((memory.packs(), memory.oldest(), memory.next()), (0, 1, 1));
    assert!(keep(&mut memory) && put_in(&mut memory, &pack(1, TITLE, 30)));
    assert_eq!(numbers(&open(&mut bytes)), [1]);
}

/// Habits that say this number.
fn habits(notes: u16) -> Habits {
    let mut habits = Habits::NONE;
    habits.string_mut(GuitarString::new(2)).notes = notes;
    habits
}

#[test]
fn what_was_learnt_of_the_pickup_is_there_after_a_restart_and_the_last_counts() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    assert_eq!(memory.learnt(), None);
    memory.keep_learnt(&habits(1)).unwrap();
    assert!(keep(&mut memory));
    // Over several sectors.
    for round in 2..60 {
        memory.keep_learnt(&habits(round)).unwrap();
        assert!(keep(&mut memory));
        assert_eq!(memory.learnt(), Some(habits(round)));
    }
    let memory = open(&mut bytes);
    assert_eq!(memory.learnt(), Some(habits(59)));
    // The results around it are there, and know their places.
    let there = numbers(&memory);
    assert_eq!(there.last(), Some(&59));
    assert!(there.len() > 30, "{there:?}");
}

#[test]
fn what_was_learnt_goes_with_its_sector_and_does_no_harm() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    memory.keep_learnt(&habits(7)).unwrap();
    let mut kept = 0;
    while memory.learnt().is_some() {
        assert!(keep(&mut memory));
        kept += 1;
        assert!(kept < 1_000, "the ring is small");
    }
    assert_eq!(open(&mut bytes).learnt(), None);
    assert!(kept > 100, "{kept}");
}

#[test]
fn what_was_learnt_and_is_damaged_is_forgotten() {
    let mut bytes = vec![0xff; SIZE];
    let mut memory = open(&mut bytes);
    assert!(keep(&mut memory));
    memory.keep_learnt(&habits(7)).unwrap();
    let at = bytes.windows(4).position(|four| four == [0xf0, b'l', b'r', b'n']).unwrap();
    for byte in [at, at + 4, at + 100, at + 8 + Habits::BYTES] {
        let mut bytes = bytes.clone();
        bytes[byte] ^= 4;
        let mut memory = open(&mut bytes);
        assert_eq!((memory.learnt(), numbers(&memory)), (None, vec![1]), "byte {byte}");
        memory.keep_learnt(&habits(8)).unwrap();
        assert!(keep(&mut memory));
        let memory = open(&mut bytes);
        assert_eq!((memory.learnt(), numbers(&memory)), (Some(habits(8)), vec![1, 2]));
    }
}

#[test]
fn a_power_cut_leaves_what_was_learnt_before_or_what_is_being_kept() {
    let mut step = 0;
    loop {
        let mut bytes = vec![0xff; SIZE];
        let flash = RamFlash::new(&mut bytes).cut_after(step);
        let mut memory = Memory::open(flash, FOR_RESULTS, IDENTITY);
        let mut kept = 0;
        // Over the end of a sector.
        while kept < 20 && memory.keep_learnt(&habits(kept + 1)).is_ok() && keep(&mut memory) {
            kept += 1;
        }
        let is_cut = memory.into_flash().is_off();
        let mut memory = open(&mut bytes);
        let learnt = memory.learnt();
        let allowed = [kept, kept + 1].map(|notes| (notes > 0).then(|| habits(notes)));
        assert!(allowed.contains(&learnt), "cut at step {step}: {kept} kept");
        assert!(keep(&mut memory) && memory.keep_learnt(&habits(99)).is_ok(), "step {step}");
        assert_eq!(open(&mut bytes).learnt(), Some(habits(99)), "step {step}");
        if !is_cut {
            break;
        }
        step += 1;
    }
    assert!(step > 700, "{step}");
}

/// A flash whose ring has gone round, as an old pedal's.
fn full(sectors: usize) -> Vec<u8> {
    let mut bytes = vec![0xff; (sectors + 8) * SECTOR];
    let mut memory = Memory::open(RamFlash::new(&mut bytes), sectors, IDENTITY);
    while memory.oldest() < 200 {
        assert!(keep(&mut memory));
    }
    bytes
}

#[test]
fn nothing_is_erased_while_somebody_practises() {
    let mut bytes = full(64);
    let mut memory = Memory::open(RamFlash::new(&mut bytes), 64, IDENTITY);
    while memory.wants_preparing() {
        memory.prepare().unwrap();
    }
    let prepared = memory.flash().erased();
    assert!((7..=8).contains(&prepared), "{prepared}");
    // Ready for a hundred results of 300 bytes: as much in those that these tests write.
    let begun = memory.flash().done();
    while (memory.flash().done() - begun) * 8 < 30_000 {
        assert!(keep(&mut memory));
    }
    assert_eq!(memory.flash().erased(), prepared);
    // It is said that there is more to prepare, and it is so after a restart, too.
    assert!(memory.wants_preparing());
    assert!(Memory::open(RamFlash::new(&mut bytes), 64, IDENTITY).wants_preparing());
}

/// A sitting on an old pedal: rest, results, a computer that has them, and results. Which results were kept for
/// sure, and up to which the computer said that they may go.
fn sitting(memory: &mut Memory<RamFlash<'_>>) -> (Vec<u32>, u32) {
    let (mut kept, mut gone) = (Vec::new(), 0);
    for round in 0..3 {
        for _ in 0..12 {
            while memory.wants_preparing() && memory.prepare().is_ok() {}
            let number = memory.next();
            if keep(memory) {
                kept.push(number);
            }
        }
        if round == 1 {
            // Where the power goes in the middle of it, either is right.
            let up_to = memory.next() - 4;
            gone = if memory.flash().is_off() { 0 } else { up_to };
            let _ = memory.forget(up_to);
        }
    }
    (kept, gone)
}

#[test]
fn a_cut_in_any_step_of_a_sitting_loses_nothing_that_was_kept() {
    let old = full(16);
    let mut cuts = 0;
    for steps in 0.. {
        let mut bytes = old.clone();
        let flash = RamFlash::new(&mut bytes).cut_after(steps);
        let mut memory = Memory::open(flash, 16, IDENTITY);
        let last = memory.next() - 1;
        let (kept, gone) = sitting(&mut memory);
        let whole = !memory.flash().is_off();
        drop(memory);
        let memory = Memory::open(RamFlash::new(&mut bytes), 16, IDENTITY);
        // Those of the sitting, and the newest that was there before.
        for number in kept.into_iter().chain([last]).filter(|number| *number > gone) {
            let result = memory.result(number);
            let is_there = result.is_some_and(|bytes| ResultRecord::decode(bytes).is_ok());
            assert!(is_there, "cut after {steps}: {number}, from {} on", memory.oldest());
        }
        cuts += 1;
        if whole {
            break;
        }
    }
    assert!(cuts > 150, "{cuts}");
}
