//! Whether a Standard MIDI File is whole, told before anything in it is believed.
//!
//! Layout by the Standard MIDI Files 1.0 specification: chunks of a four-letter name, a
//! length in four bytes (big-endian), and that many bytes.

use thiserror::Error;

/// What is wrong with the file as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub(super) enum Damage {
    #[error("is empty")]
    Empty,
    #[error("is not a Standard MIDI File: it does not begin with “MThd”")]
    NoHeader,
    #[error("has a header that is too short")]
    ShortHeader,
    #[error("ends inside its header")]
    CutInHeader,
    /// This track (from 1) promises more bytes than are left.
    #[error("ends inside track {track}: {promised} bytes are promised, {left} are there")]
    Cut { track: usize, promised: u32, left: usize },
    /// The header promises more tracks than there are.
    #[error("promises {promised} tracks and holds {found}")]
    TracksMissing { promised: u16, found: u16 },
    #[error("says that a quarter note has no ticks")]
    ZeroDivision,
    #[error("says in no known way how it counts time")]
    UnknownDivision,
}

impl Damage {
    pub(super) fn advice(self) -> &'static str {
        match self {
            Self::Empty | Self::CutInHeader | Self::Cut { .. } | Self::TracksMissing { .. } => {
                "The file was cut short. Copy or record it again."
            }
            Self::NoHeader => "A recording is a Standard MIDI File, usually named .mid.",
            Self::ShortHeader | Self::ZeroDivision | Self::UnknownDivision => {
                "Save or export it again."
            }
        }
    }
}

/// Checks the layout, and gives where the last track ends that the header counts. What comes
/// after it is passed over: the specification asks for that, and a recording that is being
/// written has something there at times.
pub(super) fn whole(content: &[u8]) -> Result<usize, Damage> {
    if content.is_empty() {
        return Err(Damage::Empty);
    }
    if !content.starts_with(b"MThd") {
        return Err(Damage::NoHeader);
    }
    let (mut at, mut chunk, mut tracks) = (0, 0, 0_u16);
    // By the header, which the first turn checks; a file that counts no track holds one.
    let mut counted = 1;
    while (chunk == 0 || tracks < counted)
        && let Some(head) = content.get(at..at + 8)
    {
        let promised = u32::from_be_bytes([head[4], head[5], head[6], head[7]]);
        let left = content.len() - at - 8;
        let is_track = head.starts_with(b"MTrk");
        if promised as usize > left {
            if chunk > 0 && !is_track {
                // Not a chunk at all, but something after the last one.
                break;
            }
            return Err(match chunk {
                0 => Damage::CutInHeader,
                track => Damage::Cut { track, promised, left },
            });
        }
        if chunk == 0 {
            let body = &content[at + 8..at + 8 + promised as usize];
            let [_, _, many, few, high, low, ..] = body else {
                return Err(Damage::ShortHeader);
            };
            counted = u16::from_be_bytes([*many, *few]).max(1);
            if (*high, *low) == (0, 0) || (high & 0x80 != 0 && *low == 0) {
                return Err(Damage::ZeroDivision);
            }
            // Frames a second are told as a negative number; of this one there is no positive.
            if *high == 0x80 {
                return Err(Damage::UnknownDivision);
            }
        }
        tracks += u16::from(is_track);
        at += 8 + promised as usize;
        chunk += 1;
    }
    if chunk == 0 {
        return Err(Damage::CutInHeader);
    }
    let promised = u16::from_be_bytes([content[10], content[11]]);
    if tracks < promised {
        return Err(Damage::TracksMissing { promised, found: tracks });
    }
    Ok(at)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(tracks: u16, track: &[u8]) -> Vec<u8> {
        let mut file = b"MThd\0\0\0\x06\0\0".to_vec();
        file.extend(tracks.to_be_bytes());
        file.extend([0x01, 0xe0]);
        file.extend(b"MTrk");
        file.extend((track.len() as u32).to_be_bytes());
        file.extend(track);
        file
    }

    #[test]
    fn a_whole_file_is_whole() {
        let whole_file = file(1, &[0, 0xff, 0x2f, 0]);
        let length = whole_file.len();
        assert_eq!(whole(&whole_file), Ok(length));
        for rest in [&[0xff; 9][..], b"MTrk\0\0\0\x09\0\x90", b"MTrk\0\0\0\x04\0\xff\x2f\0"] {
            assert_eq!(whole(&[&whole_file, rest].concat()), Ok(length), "{rest:?}");
        }
    }

    #[test]
    fn every_cut_is_noticed() {
        let whole_file = file(1, &[0, 0xff, 0x2f, 0]);
        for length in 0..whole_file.len() {
            assert!(whole(&whole_file[..length]).is_err(), "cut to {length}");
        }
        assert!(matches!(whole(&file(2, &[0])), Err(Damage::TracksMissing { .. })));
    }
}
