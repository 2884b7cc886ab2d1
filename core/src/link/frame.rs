//! Frames: which bytes belong together, and whether they came as they were sent.

use crate::pack::{crc32, crc32_of};
use cobs::{CobsEncoder, DecodeResult, DecoderState};
use serde::Serialize;

/// The version of the protocol. Frames look alike in every version.
pub const LINK_VERSION: u8 = 1;

/// The longest body, in bytes: a listed pack with the longest title has 343.
pub const BODY: usize = 352;

/// Version, kind, session, number.
const HEAD: usize = 10;
const CHECKSUM: usize = 4;

/// The longest frame before it is encoded.
pub(super) const RAW: usize = HEAD + BODY + CHECKSUM;

/// The longest frame on the cable, with the zero bytes before and after it. COBS adds a byte in
/// 254, begun ones included.
pub const FRAME: usize = RAW + RAW.div_ceil(254) + 2;

/// What a frame is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Question,
    Answer,
    /// “I speak another version”: the version of this frame. It has no body, in any version.
    OtherVersion,
}

impl Kind {
    const fn code(self) -> u8 {
        match self {
            Self::Question => b'Q',
            Self::Answer => b'A',
            Self::OtherVersion => b'V',
        }
    }
}

/// What stands before the body.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Head {
    pub(super) version: u8,
    pub(super) kind: Kind,
    pub(super) session: u32,
    pub(super) number: u32,
}

impl Head {
    fn bytes(self) -> [u8; HEAD] {
        let [a, b, c, d] = self.session.to_le_bytes();
        let [e, f, g, h] = self.number.to_le_bytes();
        [self.version, self.kind.code(), a, b, c, d, e, f, g, h]
    }

    fn of([version, kind, a, b, c, d, e, f, g, h]: [u8; HEAD]) -> Option<Self> {
        let kind = match kind {
            b'Q' => Kind::Question,
            b'A' => Kind::Answer,
            b'V' => Kind::OtherVersion,
            _ => return None,
        };
        let session = u32::from_le_bytes([a, b, c, d]);
        Some(Self { version, kind, session, number: u32::from_le_bytes([e, f, g, h]) })
    }
}

/// A frame that is ready to be sent.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    bytes: [u8; FRAME],
    length: usize,
}

impl Frame {
    pub(super) const EMPTY: Self = Self { bytes: [0; FRAME], length: 0 };

    /// Makes a frame; `None`, and an empty frame, if the body is too long.
    pub(super) fn make<T: Serialize>(&mut self, head: Head, body: Option<&T>) -> Option<()> {
        self.length = 0;
        let mut raw = [0; BODY];
        let body = match body {
            Some(body) => &*postcard::to_slice(body, &mut raw).ok()?,
            None => &[],
        };
        let head = head.bytes();
        let checksum = crc32_of([&head[..], body]).to_le_bytes();
        // A zero byte first ends whatever garbage stood on the line.
        let (_, room) = self.bytes.split_first_mut()?;
        let mut encoder = CobsEncoder::new(room);
        for part in [&head[..], body, &checksum[..]] {
            encoder.push(part).ok()?;
        }
        let used = encoder.finalize();
        *self.bytes.first_mut()? = 0;
        *self.bytes.get_mut(used.checked_add(1)?)? = 0;
        self.length = used.checked_add(2)?;
        Some(())
    }

    /// The bytes to send.
    pub(super) fn bytes(&self) -> &[u8] {
        self.bytes.get(..self.length).unwrap_or_default()
    }
}

/// Puts frames together from bytes. What is no frame is passed over.
#[derive(Debug)]
pub(super) struct Incoming {
    raw: [u8; RAW],
    length: usize,
    state: DecoderState,
    /// What comes until the next zero byte is no frame.
    spoilt: bool,
}

impl Incoming {
    pub(super) const NEW: Self =
        Self { raw: [0; RAW], length: 0, state: DecoderState::Idle, spoilt: false };

    /// Takes a byte. When it ends a frame that is whole, gives its head and its body.
    pub(super) fn push(&mut self, byte: u8) -> Option<(Head, &[u8])> {
        match self.state.feed(byte) {
            Ok(DecodeResult::NoData) => {}
            Ok(DecodeResult::DataContinue(data)) => match self.raw.get_mut(self.length) {
                Some(place) => {
                    *place = data;
                    self.length = self.length.saturating_add(1);
                }
                None => self.spoilt = true,
            },
            Ok(DecodeResult::DataComplete) => {
                let length = core::mem::take(&mut self.length);
                if !core::mem::take(&mut self.spoilt) {
                    return checked(self.raw.get(..length)?);
                }
            }
            Err(_) => (self.length, self.spoilt) = (0, false),
        }
        None
    }
}

/// The head and the body of a frame, if its checksum is right.
fn checked(raw: &[u8]) -> Option<(Head, &[u8])> {
    let (checked, checksum) = raw.split_last_chunk::<CHECKSUM>()?;
    if crc32(checked).to_le_bytes() != *checksum {
        return None;
    }
    let (head, body) = checked.split_first_chunk()?;
    Some((Head::of(*head)?, body))
}
