//! Marks between the results: up to where results are forgotten, and which study was chosen.
//! Neither begins as a result does.

use heapless::Vec;

use super::flash::{ALIGN, sealed, unsealed};

/// The magic, up to which number, the checksum, filled up.
const FORGOTTEN: [u8; 4] = [0xf0, b'f', b'g', b't'];
const FORGOTTEN_BYTES: usize = 16;
/// The magic, the study's hash in two words, the newest pack then, the checksum, filled up.
const CHOSEN: [u8; 4] = [0xf0, b'c', b'h', b's'];
const CHOSEN_BYTES: usize = 24;

const _: () = assert!(FORGOTTEN_BYTES.is_multiple_of(ALIGN) && CHOSEN_BYTES.is_multiple_of(ALIGN));

/// The study that the player has chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Chosen {
    pub(super) study: u64,
    /// The turn of the newest pack at that time. A pack that came later is practised instead.
    pub(super) newest: u32,
}

/// A mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mark {
    /// Results up to this number are forgotten.
    Forgotten { up_to: u32 },
    /// A study was chosen.
    Chosen(Chosen),
}

impl Mark {
    /// The mark that an entry is, if it is one.
    pub(super) fn read(entry: &[u8]) -> Option<Self> {
        if let Some([up_to]) = unsealed(entry, FORGOTTEN) {
            return Some(Self::Forgotten { up_to });
        }
        let [low, high, newest] = unsealed(entry, CHOSEN)?;
        let study = u64::from(high) << 32 | u64::from(low);
        Some(Self::Chosen(Chosen { study, newest }))
    }

    /// How long it is.
    pub(super) const fn length(self) -> usize {
        match self {
            Self::Forgotten { .. } => FORGOTTEN_BYTES,
            Self::Chosen(_) => CHOSEN_BYTES,
        }
    }

    /// What is written for it.
    pub(super) fn written(self) -> Vec<u8, CHOSEN_BYTES> {
        let bytes: [u8; CHOSEN_BYTES] = match self {
            Self::Forgotten { up_to } => sealed(FORGOTTEN, &[up_to]),
            Self::Chosen(Chosen { study, newest }) => {
                sealed(CHOSEN, &[study as u32, (study >> 32) as u32, newest])
            }
        };
        bytes.into_iter().take(self.length()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_and_what_is_spoilt_is_not() {
        let chosen = Chosen { study: 0x0123_4567_89ab_cdef, newest: 77 };
        for mark in [Mark::Forgotten { up_to: 9 }, Mark::Chosen(chosen)] {
            let written = mark.written();
            assert_eq!(written.len(), mark.length());
            assert_eq!(Mark::read(&written), Some(mark));
            // Behind the numbers and their checksum stands nothing.
            let numbers = if matches!(mark, Mark::Chosen(_)) { 20 } else { 12 };
            for at in 0..numbers {
                let mut spoilt = written.clone();
                spoilt[at] ^= 0x10;
                assert_eq!(Mark::read(&spoilt), None, "{mark:?}, byte {at}");
            }
        }
        assert_eq!(Mark::read(&[]), None);
    }
}
