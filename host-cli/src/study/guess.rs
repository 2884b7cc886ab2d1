//! What a mistyped word was probably meant to be.

use strsim::osa_distance;

/// Words longer than this are not guessed: none of ours is, and the time grows with the
/// square of the length.
const LONGEST: usize = 24;

/// The known word nearest to `word`, if it is near enough to be a slip of the fingers: one
/// letter in words of up to four letters, two in longer ones (our default).
pub(crate) fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let typed: String = word.to_lowercase().chars().take(LONGEST + 1).collect();
    let letters = typed.chars().count();
    if letters > LONGEST {
        return None;
    }
    // Letters put in, taken out, changed, or swapped with their neighbour.
    let (best, distance) =
        known.into_iter().map(|k| (k, osa_distance(&typed, k))).min_by_key(|(_, d)| *d)?;
    let near = match letters {
        0 | 1 => 0,
        2..=4 => 1,
        _ => 2,
    };
    (distance <= near).then_some(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    const KNOWN: [&str; 4] = ["chord spread", "chunk", "landing", "rest"];

    #[test]
    fn slips_of_the_fingers_are_guessed() {
        assert_eq!(nearest("chrod spread", KNOWN), Some("chord spread"));
        assert_eq!(nearest("Chunck", KNOWN), Some("chunk"));
        assert_eq!(nearest("lnading", KNOWN), Some("landing"));
        assert_eq!(nearest("res", KNOWN), Some("rest"));
    }

    #[test]
    fn other_words_are_not() {
        assert_eq!(nearest("flageolet", KNOWN), None);
        assert_eq!(nearest("x", KNOWN), None);
        assert_eq!(nearest(&"r".repeat(100_000), KNOWN), None);
    }
}
