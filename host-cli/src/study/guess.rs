//! What a mistyped word was probably meant to be.

/// Words longer than this are not guessed: none of ours is, and the time grows with the
/// square of the length.
const LONGEST: usize = 24;

/// The known word nearest to `word`, if it is near enough to be a slip of the fingers: one
/// letter in words of up to four letters, two in longer ones (our default).
pub(super) fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let typed: Vec<char> = word.to_lowercase().chars().take(LONGEST + 1).collect();
    if typed.len() > LONGEST {
        return None;
    }
    let (best, distance) = known
        .into_iter()
        .map(|k| (k, distance(&typed, &k.chars().collect::<Vec<_>>())))
        .min_by_key(|(_, d)| *d)?;
    let near = match typed.len() {
        0 | 1 => 0,
        2..=4 => 1,
        _ => 2,
    };
    (distance <= near).then_some(best)
}

/// How many letters must be put in, taken out, changed, or swapped with their neighbour
/// (the restricted edit distance of Damerau 1964).
fn distance(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let change = usize::from(a[i - 1] != b[j - 1]);
            let mut least = (above[j] + 1).min(row[j - 1] + 1).min(above[j - 1] + change);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(before[j - 2] + 1);
            }
            row.push(least);
        }
        before = std::mem::replace(&mut above, row);
    }
    above[b.len()]
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
