//! Other ways to play a piece: another rhythm, a burst of tempo.

use super::Practice;
use crate::practice::rules::VARIATION_ATTEMPTS;
use crate::practice::step::{PracticeVariant, Reason};
use crate::units::Tempo;

/// The way that is under way.
#[derive(Clone, Copy, Debug)]
pub(super) struct Variation {
    pub(super) way: PracticeVariant,
    /// The tempo, where it is not the piece's own.
    pub(super) tempo: Option<Tempo>,
    clean: u8,
    tries: u8,
}

impl Variation {
    /// As it is written.
    pub(super) const NONE: Self =
        Self { way: PracticeVariant::AsWritten, tempo: None, clean: 0, tries: 0 };

    pub(super) const fn new(way: PracticeVariant, tempo: Option<Tempo>) -> Self {
        Self { way, tempo, clean: 0, tries: 0 }
    }
}

impl<const PIECES: usize> Practice<PIECES> {
    /// Takes an attempt at a variation. It does not change the tempo of the piece, except where
    /// a burst was clean each time.
    pub(super) fn vary(&mut self, index: usize, clean: bool) -> Reason {
        let Some(entry) = self.entries.get_mut(index) else { return Reason::AsWritten };
        let of = entry.stairs.rules().in_a_row();
        let variation = &mut self.variation;
        variation.tries = variation.tries.saturating_add(1);
        variation.clean = if clean { variation.clean.saturating_add(1) } else { 0 };
        let done = variation.clean >= of;
        match variation.way {
            PracticeVariant::AsWritten => Reason::AsWritten,
            PracticeVariant::Burst => {
                if variation.tries < of {
                    return Reason::Variation { clean: variation.clean, of };
                }
                if let Some(tempo) = variation.tempo.filter(|_| done) {
                    entry.stairs.was_clean_at(tempo);
                    entry.passed = true;
                }
                self.variation = Variation::NONE;
                Reason::BurstOver { held: done }
            }
            PracticeVariant::LongShort | PracticeVariant::ShortLong | PracticeVariant::Accents
                if !done && variation.tries < VARIATION_ATTEMPTS =>
            {
                Reason::Variation { clean: variation.clean, of }
            }
            PracticeVariant::LongShort => {
                *variation = Variation::new(PracticeVariant::ShortLong, None);
                Reason::OtherRhythm
            }
            PracticeVariant::ShortLong | PracticeVariant::Accents => {
                self.variation = Variation::NONE;
                Reason::AsWritten
            }
        }
    }
}
