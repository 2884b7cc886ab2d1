//! Whether two attempts were at the same chunk, by the same limits.

use crate::measure::Material;
use crate::tolerance::Tolerances;

/// Tells chunks and limits apart: FNV-1a over onsets, pitches and limits (Fowler, Noll & Vo).
pub(super) fn fingerprint(material: Material<'_>) -> u64 {
    let mut hash = Fingerprint(0xcbf2_9ce4_8422_2325);
    for note in material.chunk.notes() {
        hash.take(&note.onset.get().to_le_bytes());
        hash.take(&[note.pitch.number()]);
    }
    hash.limits(material.chunk.tolerances());
    hash.0
}

struct Fingerprint(u64);

impl Fingerprint {
    fn take(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }

    /// Every limit there is: one that is added has to be named here.
    fn limits(&mut self, limits: &Tolerances) {
        let Tolerances {
            level,
            notes_a_slip,
            unsteadiness,
            single_note,
            hesitation,
            drift_per_mille,
            chord_spread,
            unevenness,
            single_level,
            slur_below,
            click_offset,
            trill_unevenness_per_mille,
            trill_cover_per_mille,
            held_per_mille,
            staccato_per_mille,
            gap_per_mille,
            accent_above,
            other_strings_per_mille,
        } = *limits;
        let times = [unsteadiness.at_least, single_note.at_least, hesitation.at_least];
        for time in times.into_iter().chain([chord_spread, click_offset.0, click_offset.1]) {
            self.take(&time.as_micros().to_le_bytes());
        }
        for level in [unevenness, single_level, slur_below, accent_above] {
            self.take(&level.hundredths().to_le_bytes());
        }
        let numbers = [
            level as u16,
            notes_a_slip,
            unsteadiness.per_mille,
            single_note.per_mille,
            hesitation.per_mille,
            drift_per_mille,
            trill_unevenness_per_mille,
            trill_cover_per_mille,
            held_per_mille,
            staccato_per_mille,
            gap_per_mille,
            other_strings_per_mille,
        ];
        for number in numbers {
            self.take(&number.to_le_bytes());
        }
    }
}
