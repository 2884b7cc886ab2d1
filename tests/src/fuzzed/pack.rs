//! Bytes that may be a pack or a result.

use evenhand_core::limits::{EXPECTED_NOTES, RESULT_BYTES};
use evenhand_core::pack::{Pack, ResultRecord, crc32};
use evenhand_core::practice::{Piece, PracticeVariant, Side, Task};
use evenhand_core::units::Tempo;
use heapless::Vec;

/// Opens `input` as a pack, as it is and with its checksum put right, and reads all of it; reads
/// it as a result, too, and writes that back.
///
/// # Panics
/// If something that was opened cannot be used, or a result does not come back as it was.
pub fn pack(input: &[u8]) {
    open(input);
    let mut sealed = input.to_vec();
    if let Some(checked) = sealed.get(8..) {
        let checksum = crc32(checked).to_le_bytes();
        sealed[4..8].copy_from_slice(&checksum);
        open(&sealed);
    }
    if let Ok((record, played)) = ResultRecord::decode(input) {
        let played: std::vec::Vec<_> = played.iter().collect();
        let mut bytes = [0; RESULT_BYTES];
        let length = record.encode(&played, &mut bytes).expect("it was no longer");
        let (again, _) = ResultRecord::decode(&bytes[..length]).expect("it was whole");
        assert_eq!(again, record);
    }
}

fn open(input: &[u8]) {
    let Ok(pack) = Pack::open(input) else { return };
    let mut notes = Vec::<_, EXPECTED_NOTES>::new();
    for chunk in 0..pack.chunks().min(8) {
        let facts = pack.facts(chunk).expect("it was opened");
        for way in [
            PracticeVariant::AsWritten,
            PracticeVariant::LongShort,
            PracticeVariant::ShortLong,
            PracticeVariant::Burst,
            PracticeVariant::Accents,
        ] {
            let mut music = |piece| {
                let task = Task { piece, way, tempo: Tempo::SLOWEST };
                let built = pack.music(task, |_| facts.fingerings, &mut notes);
                built.map(|chunk| chunk.notes().len())
            };
            assert!(music(Piece::Chunk(chunk)).is_ok(), "chunk {chunk}");
            // These may be missing, or too much in one.
            let _ = music(Piece::Half(chunk, Side::First));
            let _ = music(Piece::Half(chunk, Side::Second));
            let _ = music(Piece::Seam(chunk));
            let _ = music(Piece::Join { first: 0, seam: 0, last: chunk });
        }
    }
}
