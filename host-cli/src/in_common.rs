//! What two sequences have in common, in order.

/// The length of their longest common subsequence (Wagner & Fischer 1974, row by row), where `is_like` says what
/// is the same. Takes time by the product of both lengths: chunks have some dozen notes.
pub(crate) fn in_common<T>(one: &[T], other: &[T], is_like: impl Fn(&T, &T) -> bool) -> usize {
    let mut row = vec![0_usize; other.len() + 1];
    for own in one {
        let mut diagonal = 0;
        for (at, theirs) in (1..).zip(other) {
            let above = row[at];
            row[at] = if is_like(own, theirs) { diagonal + 1 } else { above.max(row[at - 1]) };
            diagonal = above;
        }
    }
    row.last().copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::in_common;

    #[test]
    fn what_is_left_when_the_rest_is_taken_out() {
        let of = |one: &str, other: &str| {
            let letters = |text: &str| text.chars().collect::<Vec<_>>();
            in_common(&letters(one), &letters(other), |a, b| a == b)
        };
        assert_eq!(of("abcbdab", "bdcaba"), 4);
        assert_eq!(
            (of("abc", ""), of("", "abc"), of("abc", "abc"), of("abc", "cba")),
            (0, 0, 3, 1)
        );
    }
}
