//! Inputs made from others by small damage, from a seed.

use crate::seeded::Seeded;

/// Mutated inputs are no longer than this.
const LONGEST: usize = 4_096;

/// Values at which something often changes.
const EDGES: [u8; 10] = [0x00, 0x01, 0x0a, 0x20, 0x7f, 0x80, 0x90, 0xf0, 0xf8, 0xff];

/// A damaged copy of `one`; pieces of `other` may come into it.
pub fn mutate(one: &[u8], other: &[u8], seeded: &mut Seeded) -> Vec<u8> {
    let mut bytes = one.to_vec();
    for _ in 0..seeded.between(1, 6) {
        let at = seeded.index(bytes.len() + 1);
        let length = seeded.index((bytes.len() - at).min(40) + 1);
        match seeded.between(0, 6) {
            0 => bytes.truncate(at),
            1 => drop(bytes.drain(at..at + length)),
            2 => {
                let piece = bytes[at..at + length].to_vec();
                let to = seeded.index(bytes.len() + 1);
                bytes.splice(to..to, piece);
            }
            3 => {
                let from = seeded.index(other.len() + 1);
                let to = (from + length).min(other.len());
                bytes.splice(at..at, other[from..to].iter().copied());
            }
            4 => bytes.insert(at, seeded.byte()),
            kind => {
                let (edge, bit) = (EDGES[seeded.index(EDGES.len())], seeded.between(0, 7));
                if let Some(byte) = bytes.get_mut(at) {
                    *byte = if kind == 5 { edge } else { *byte ^ (1 << bit) };
                }
            }
        }
    }
    bytes.truncate(LONGEST);
    bytes
}
