//! What a pedal reads from a pack is what the computer plays.

use super::pieces::Pieces;
use super::{NotPacked, pack};
use crate::study::{self, Study};
use evenhand_core::limits::EXPECTED_NOTES;
use evenhand_core::pack::Pack;
use evenhand_core::practice::{Piece, PracticeVariant, Side, Task};
use heapless::Vec as Buffer;

const STUDIES: [(&str, &str); 2] = [
    ("lantern-quay", include_str!("../../../fixtures/studies/lantern-quay.study")),
    ("small", include_str!("../../../fixtures/studies/small.study")),
];

/// Voices that cross, slurs, trills, other fingerings, and chunks in two metres.
const VOICES: &str = "evenhand study 1\ntempo 72\n\
    chunk \"One\" at bar 1\n  top: 1/8 1:0 1:2 1:3 1:5 1:3 1:2 1:0 1:2 |\n  bass: 1/2 6:0 6:3 |\n\
    chunk \"Two\"\n  bass: 1/4 5:0 5:2 5:3 5:2 |\n  top: 1/8 1:0 1:2 1:3 1:5 1:3 1:2 1:0 1:2 |\n\
    chunk \"Three\"\n  middle: 1/8 3:0 3:2 3:4 3:5 3:4 3:2 3:0 3:2 |\n";

fn compare(name: &str, study: &Study) -> (usize, usize) {
    let bytes = pack(study, name, 7).unwrap();
    let opened = Pack::open(&bytes).unwrap();
    let pieces = Pieces::of_chunks(study.prepare().unwrap()).with_voices_of(study);
    let chunks = opened.chunks();
    assert_eq!(usize::from(chunks), pieces.chunks().len());
    let mut all: Vec<Piece> = Vec::new();
    for chunk in 0..chunks {
        all.extend([Piece::Chunk(chunk), Piece::Seam(chunk)]);
        all.extend([Side::First, Side::Second].map(|side| Piece::Half(chunk, side)));
        let lines = (chunk + 1..chunks).map(|last| Piece::Join { first: chunk, seam: chunk, last });
        all.extend(lines);
        assert_eq!(opened.facts(chunk), pieces.facts(usize::from(chunk)), "{name}, {chunk}");
    }
    let mut built = 0;
    let mut buffer = Buffer::<_, EXPECTED_NOTES>::new();
    for piece in all {
        for way in [
            PracticeVariant::AsWritten,
            PracticeVariant::LongShort,
            PracticeVariant::ShortLong,
            PracticeVariant::Burst,
            PracticeVariant::Accents,
        ] {
            for fingering in 0..3 {
                let tempo = opened.goal(piece).unwrap_or(evenhand_core::units::Tempo::SLOWEST);
                let task = Task { piece, way, tempo };
                let here = pieces.build(task, &|_| fingering);
                // Practice joins only what follows without a gap.
                let joined = match piece {
                    Piece::Join { first, last, .. } => first..last,
                    Piece::Seam(seam) => seam..seam.saturating_add(1),
                    _ => 0..0,
                };
                let mut joined = joined;
                let follows = joined.all(|chunk| {
                    pieces.facts(usize::from(chunk)).is_some_and(|facts| facts.joins_next)
                });
                let there = opened.music(task, |_| fingering, &mut buffer);
                match (here.filter(|_| follows), there) {
                    (Some(here), Ok(there)) => {
                        built += 1;
                        let own = here.checked(tempo).unwrap();
                        assert_eq!(own.notes(), there.notes(), "{name}: {task:?}");
                        assert_eq!(own.tolerances(), there.tolerances(), "{name}: {task:?}");
                        assert_eq!(own.metre(), there.metre());
                        let start = evenhand_core::units::Ticks::ZERO;
                        assert_eq!(own.place(start), there.place(start), "{name}: {task:?}");
                        let name = format!("{}{}", opened.piece_name(piece), super::in_rhythm(way));
                        assert_eq!(here.name, name);
                        assert_eq!(pieces.goal(piece), opened.goal(piece));
                        assert_eq!(Some(pieces.beat(piece)), opened.beat(piece));
                    }
                    (None, Err(_)) => {}
                    (here, there) => {
                        panic!("{name}: {task:?}, {fingering}: {} and {there:?}", here.is_some())
                    }
                }
            }
        }
    }
    (bytes.len(), built)
}

#[test]
fn a_pedal_plays_the_very_same() {
    for (name, text) in STUDIES.into_iter().chain([("voices", VOICES)]) {
        let (length, built) = compare(name, &study::parse(text).unwrap());
        println!("{name}: {length} bytes, {built} pieces");
        assert!(built >= 12, "{name}: only {built} pieces compared");
    }
}

#[test]
fn what_is_no_study_is_not_packed() {
    let text = "evenhand study 1\ntempo 72\n";
    let none = study::parse(text).map(|study| pack(&study, "None", 0));
    assert!(!matches!(none, Ok(Ok(_))), "a study without a chunk");
    let long = "x".repeat(400);
    let study = study::parse(STUDIES[0].1).unwrap();
    assert_eq!(pack(&study, &long, 0), Err(NotPacked::LongName(long.clone())));
}
