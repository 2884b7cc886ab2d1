//! How far each chunk was in earlier sittings, from the results that are still there.

use evenhand_core::pack::ResultRecord;
use evenhand_core::practice::{ChunkFacts, Piece, PracticeVariant};
use evenhand_core::units::Tempo;
use evenhand_core::verdict::Outcome;

/// Finds for each chunk the fastest tempo at which it was clean as often in a row as its rules
/// ask for, as practice counts: something else in between begins the row anew.
pub(super) fn fastest_clean<'r>(
    results: impl Iterator<Item = &'r [u8]>,
    study: u64,
    facts: impl Fn(u8) -> Option<ChunkFacts>,
    fastest: &mut [Option<Tempo>],
) {
    let mut row: Option<(u8, Tempo, u8)> = None;
    for bytes in results {
        let Ok((record, _)) = ResultRecord::decode(bytes) else { continue };
        let ResultRecord {
            piece: Piece::Chunk(chunk), way: PracticeVariant::AsWritten, asked, ..
        } = record
        else {
            row = None;
            continue;
        };
        if record.study != study || record.fingering != 0 || record.outcome == Outcome::NeedsWork {
            row = None;
            continue;
        }
        // What is unclear neither advances nor sets back.
        if record.outcome == Outcome::Unclear {
            continue;
        }
        let before = row.filter(|(own, tempo, _)| *own == chunk && *tempo == asked);
        let clean = before.map_or(0, |(_, _, clean)| clean).saturating_add(1);
        row = Some((chunk, asked, clean));
        let Some(place) = fastest.get_mut(usize::from(chunk)) else { continue };
        if facts(chunk).is_some_and(|facts| clean >= facts.rules.in_a_row()) {
            *place = Some(place.map_or(asked, |fastest| fastest.faster(asked)));
        }
    }
}
