//! Bytes as letters: UTF-8, or UTF-16 by its first two bytes, as XML 1.0 wants (appendix F).

use super::refusal::Refusal;

/// The text; a byte order mark is not a part of it.
pub(super) fn text(content: &[u8]) -> Result<String, Refusal> {
    let wide = |bytes: &[u8], unit: fn([u8; 2]) -> u16| {
        let units = bytes.chunks_exact(2).map(|pair| unit([pair[0], pair[1]]));
        let text: Result<String, _> = char::decode_utf16(units).collect();
        text.map_err(|_| Refusal::Letters)
    };
    match content {
        [0xfe, 0xff, rest @ ..] => wide(rest, u16::from_be_bytes),
        [0xff, 0xfe, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xef, 0xbb, 0xbf, rest @ ..] => utf8(rest),
        _ => utf8(content),
    }
}

fn utf8(content: &[u8]) -> Result<String, Refusal> {
    match std::str::from_utf8(content) {
        Ok(text) => Ok(text.to_owned()),
        // Older programs wrote each letter as one byte, and said so in the first line.
        Err(_) if says_latin(content) => Ok(content.iter().map(|byte| char::from(*byte)).collect()),
        Err(_) => Err(Refusal::Letters),
    }
}

fn says_latin(content: &[u8]) -> bool {
    let first: String = content.iter().take(100).map(|byte| char::from(*byte)).collect();
    let first = first.split("?>").next().unwrap_or_default().to_ascii_lowercase();
    first.contains("iso-8859-1") || first.contains("windows-1252")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_of_each_kind_are_read() {
        let wanted = "<a>é</a>";
        let units: Vec<u16> = wanted.encode_utf16().collect();
        let big: Vec<u8> = units.iter().flat_map(|unit| unit.to_be_bytes()).collect();
        let little: Vec<u8> = units.iter().flat_map(|unit| unit.to_le_bytes()).collect();
        for content in [
            wanted.as_bytes().to_vec(),
            [b"\xef\xbb\xbf", wanted.as_bytes()].concat(),
            [&[0xfe, 0xff][..], &big].concat(),
            [&[0xff, 0xfe][..], &little].concat(),
        ] {
            assert_eq!(text(&content).as_deref(), Ok(wanted));
        }
        let latin = b"<?xml version='1.0' encoding='ISO-8859-1'?><a>\xe9</a>";
        assert!(text(latin).is_ok_and(|text| text.ends_with(wanted)));
        assert_eq!(text(b"<a>\xe9</a>"), Err(Refusal::Letters));
        assert_eq!(text(b"\xfe\xff\xd8\x00"), Err(Refusal::Letters));
    }
}
