//! The checksum of packs, results and frames.

use crc::{CRC_32_ISO_HDLC, Crc, Digest};

/// CRC-32/ISO-HDLC: the one of Ethernet (IEEE 802.3) and ITU-T V.42. Polynomial 0x04C11DB7,
/// initial value and final exclusive-or 0xFFFFFFFF, reflected.
const ISO_HDLC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// The CRC-32/ISO-HDLC of some bytes.
pub fn crc32(bytes: &[u8]) -> u32 {
    ISO_HDLC.checksum(bytes)
}

/// The same of bytes that come in parts.
pub(crate) fn crc32_of<'b>(parts: impl IntoIterator<Item = &'b [u8]>) -> u32 {
    let mut digest: Digest<'_, u32> = ISO_HDLC.digest();
    for part in parts {
        digest.update(part);
    }
    digest.finalize()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The check value of the catalogue of parametrised CRC algorithms (G. Cook, reveng): the
    /// checksum of the nine digits.
    #[test]
    fn the_checksum_is_the_published_one() {
        assert_eq!(crc32(b"123456789"), 0xCBF4_3926);
        assert_eq!(crc32_of([&b"1234"[..], b"", b"56789"]), 0xCBF4_3926);
    }
}
