//! How far each piece was in earlier sittings, from the results that are still there.

use evenhand_core::pack::ResultRecord;
use evenhand_core::practice::{KeptAttempt, Piece, PracticeVariant};

use crate::music::Known;

/// Takes the results of a study as they were kept, in their order. `in_a_row` says how often a piece has to be
/// clean.
pub(super) fn recall<'r>(
    results: impl Iterator<Item = &'r [u8]>,
    study: u64,
    in_a_row: impl Fn(Piece) -> Option<u8>,
    known: &mut Known,
) {
    for bytes in results {
        let Ok((record, _)) = ResultRecord::decode(bytes) else { continue };
        let is_as_written = record.way == PracticeVariant::AsWritten && record.fingering == 0;
        if record.study != study || !is_as_written {
            continue;
        }
        let ResultRecord { piece, outcome, beat, asked, heard, .. } = record;
        let Some(in_a_row) = in_a_row(piece) else { continue };
        let beats = |tempo: evenhand_core::units::Tempo| tempo.hundredths_of_beats_per_minute(beat);
        let attempt = KeptAttempt { outcome, asked: beats(asked), heard: heard.map(beats) };
        known.take(piece, &attempt, in_a_row);
    }
}
