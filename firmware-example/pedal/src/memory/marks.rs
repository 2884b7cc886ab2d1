//! Marks between the results: up to where results are forgotten, which study was chosen, and what was
//! learnt of the pickup. None begins as a result does.

use evenhand_core::pickup::Habits;
use heapless::Vec;

use super::flash::{ALIGN, ERASED, number, sealed, unsealed};

/// The magic, up to which number, the checksum, filled up.
const FORGOTTEN: [u8; 4] = [0xf0, b'f', b'g', b't'];
const FORGOTTEN_BYTES: usize = 16;
/// The magic, the study's hash in two words, the newest pack then, the checksum, filled up.
const CHOSEN: [u8; 4] = [0xf0, b'c', b'h', b's'];
const CHOSEN_BYTES: usize = 24;

/// The magic, the length of what follows and its version in one word, the habits, the checksum.
const LEARNT: [u8; 4] = [0xf0, b'l', b'r', b'n'];
const LEARNT_VERSION: u32 = 1;
const LEARNT_HEAD: usize = 8;
/// What is written of habits.
pub(super) const LEARNT_BYTES: usize = (LEARNT_HEAD + Habits::BYTES + 4).next_multiple_of(ALIGN);
/// A mark of another version may be as long as this. Our default.
const LEARNT_MOST: usize = 1_024;

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
    /// Something was learnt of the pickup; the mark is so long. See [`learnt`].
    Learnt { length: u16 },
}

/// What is written for habits.
pub(super) fn learnt_written(habits: &Habits) -> [u8; LEARNT_BYTES] {
    let mut out = [ERASED; LEARNT_BYTES];
    let word = LEARNT_VERSION << 16 | Habits::BYTES as u32;
    let end = LEARNT_HEAD + Habits::BYTES;
    if let Some((head, rest)) = out.split_first_chunk_mut::<LEARNT_HEAD>() {
        let (magic, version) = head.split_at_mut(4);
        magic.copy_from_slice(&LEARNT);
        version.copy_from_slice(&word.to_le_bytes());
        if let Some((place, _)) = rest.split_first_chunk_mut() {
            habits.encode(place);
        }
    }
    let checksum = evenhand_core::pack::crc32(out.get(..end).unwrap_or_default());
    if let Some(place) = out.get_mut(end..end + 4) {
        place.copy_from_slice(&checksum.to_le_bytes());
    }
    out
}

/// The habits that an entry holds, if it is whole and of the version that this firmware knows.
pub(super) fn learnt(entry: &[u8]) -> Option<Habits> {
    let (version, payload) = learnt_payload(entry)?;
    let known = version == LEARNT_VERSION && payload.len() == Habits::BYTES;
    payload.first_chunk().filter(|_| known).map(Habits::decode)
}

/// The version and the bytes of what was learnt, whatever it is, if the checksum is right.
fn learnt_payload(entry: &[u8]) -> Option<(u32, &[u8])> {
    if !entry.starts_with(&LEARNT) {
        return None;
    }
    let word = number(entry, 4)?;
    let length = (word & 0xffff) as usize;
    let end = LEARNT_HEAD + length;
    let checked = entry.get(..end).filter(|_| length <= LEARNT_MOST)?;
    let whole = number(entry, end)? == evenhand_core::pack::crc32(checked);
    let payload = entry.get(LEARNT_HEAD..end)?;
    whole.then_some((word >> 16, payload))
}

impl Mark {
    /// The mark that an entry is, if it is one.
    pub(super) fn read(entry: &[u8]) -> Option<Self> {
        if let Some([up_to]) = unsealed(entry, FORGOTTEN) {
            return Some(Self::Forgotten { up_to });
        }
        if let Some((_, payload)) = learnt_payload(entry) {
            let length = u16::try_from(LEARNT_HEAD + payload.len() + 4).ok()?;
            return Some(Self::Learnt { length });
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
            Self::Learnt { length } => length as usize,
        }
    }

    /// What is written for it; nothing for what was learnt, which has [`learnt_written`].
    pub(super) fn written(self) -> Vec<u8, CHOSEN_BYTES> {
        let bytes: [u8; CHOSEN_BYTES] = match self {
            Self::Forgotten { up_to } => sealed(FORGOTTEN, &[up_to]),
            Self::Chosen(Chosen { study, newest }) => {
                sealed(CHOSEN, &[study as u32, (study >> 32) as u32, newest])
            }
            Self::Learnt { .. } => return Vec::new(),
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

    #[test]
    fn what_was_learnt_is_read_and_what_is_spoilt_or_of_another_version_is_not() {
        let mut habits = Habits::NONE;
        habits.string_mut(evenhand_core::units::GuitarString::new(3)).notes = 480;
        let written = learnt_written(&habits);
        assert_eq!(learnt(&written), Some(habits));
        let Some(mark @ Mark::Learnt { .. }) = Mark::read(&written) else { panic!("no mark") };
        assert_eq!(mark.length().next_multiple_of(ALIGN), LEARNT_BYTES);
        for at in 0..LEARNT_HEAD + Habits::BYTES + 4 {
            let mut spoilt = written;
            spoilt[at] ^= 0x10;
            assert_eq!((learnt(&spoilt), Mark::read(&spoilt)), (None, None), "byte {at}");
        }
        // Another version is passed over as a whole.
        let mut other = written;
        other[6] = 2;
        let end = LEARNT_HEAD + Habits::BYTES;
        let checksum = evenhand_core::pack::crc32(&other[..end]).to_le_bytes();
        other[end..end + 4].copy_from_slice(&checksum);
        assert_eq!((learnt(&other), Mark::read(&other)), (None, Some(mark)));
    }
}
