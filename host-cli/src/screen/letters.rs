//! Large letters, drawn by us on a grid of five by five.
//!
//! Only what a page says large: verdict words, tempi, and the count before the first note.

/// Rows of a large letter.
pub(super) const HEIGHT: usize = 5;

/// The rows of a letter; `None` for what is never said large. A mark is a filled cell.
const fn rows(letter: char) -> Option<[&'static str; HEIGHT]> {
    Some(match letter {
        'A' => [" ### ", "#   #", "#####", "#   #", "#   #"],
        'B' => ["#### ", "#   #", "#### ", "#   #", "#### "],
        'C' => [" ####", "#    ", "#    ", "#    ", " ####"],
        'D' => ["#### ", "#   #", "#   #", "#   #", "#### "],
        'E' => ["#####", "#    ", "#### ", "#    ", "#####"],
        'G' => [" ####", "#    ", "#  ##", "#   #", " ####"],
        'I' => ["###", " # ", " # ", " # ", "###"],
        'K' => ["#  ##", "# #  ", "##   ", "# #  ", "#  ##"],
        'L' => ["#    ", "#    ", "#    ", "#    ", "#####"],
        'N' => ["#   #", "##  #", "# # #", "#  ##", "#   #"],
        'O' => [" ### ", "#   #", "#   #", "#   #", " ### "],
        'P' => ["#### ", "#   #", "#### ", "#    ", "#    "],
        'R' => ["#### ", "#   #", "#### ", "#  # ", "#   #"],
        'S' => [" ####", "#    ", " ### ", "    #", "#### "],
        'T' => ["#####", "  #  ", "  #  ", "  #  ", "  #  "],
        'U' => ["#   #", "#   #", "#   #", "#   #", " ### "],
        'W' => ["#   #", "#   #", "# # #", "## ##", "#   #"],
        'Y' => ["#   #", " # # ", "  #  ", "  #  ", "  #  "],
        '0' => [" ## ", "#  #", "#  #", "#  #", " ## "],
        '1' => [" # ", "## ", " # ", " # ", "###"],
        '2' => ["### ", "   #", " ## ", "#   ", "####"],
        '3' => ["### ", "   #", " ## ", "   #", "### "],
        '4' => ["#  #", "#  #", "####", "   #", "   #"],
        '5' => ["####", "#   ", "### ", "   #", "### "],
        '6' => [" ## ", "#   ", "### ", "#  #", " ## "],
        '7' => ["####", "   #", "  # ", " #  ", " #  "],
        '8' => [" ## ", "#  #", " ## ", "#  #", " ## "],
        '9' => [" ## ", "#  #", " ###", "   #", " ## "],
        ' ' => ["  ", "  ", "  ", "  ", "  "],
        _ => return None,
    })
}

/// A text in large letters, `scale` times as large, in rows of `#` and spaces. What has no
/// large letter is left out.
pub(super) fn large(text: &str, scale: usize) -> Vec<String> {
    let letters: Vec<_> = text.to_uppercase().chars().filter_map(rows).collect();
    (0..HEIGHT)
        .map(|row| {
            let cells: Vec<&str> = letters.iter().map(|letter| letter[row]).collect();
            let line = cells.join(" ");
            line.chars().flat_map(|cell| std::iter::repeat_n(cell, scale)).collect::<String>()
        })
        .flat_map(|line: String| std::iter::repeat_n(line, scale))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use evenhand_core::verdict::Outcome;

    #[test]
    fn every_letter_is_as_wide_in_each_row() {
        for letter in (' '..='Z').filter(|&letter| rows(letter).is_some()) {
            let widths: Vec<usize> =
                rows(letter).unwrap().iter().map(|row| row.chars().count()).collect();
            assert!(widths.iter().all(|&width| width == widths[0]), "{letter}");
        }
    }

    #[test]
    fn all_that_is_said_large_has_letters() {
        let verdicts = [Outcome::Passed, Outcome::NeedsWork, Outcome::Unclear];
        let words = verdicts.map(|outcome| outcome.word().to_uppercase());
        for word in words
            .iter()
            .map(String::as_str)
            .chain(["PLAY", "LISTENING", "REST", "0123456789"])
            .chain(["STRING 6", "6 AND 1", "4 TO 1", "SLUR", "DONE"])
        {
            assert!(word.chars().all(|letter| rows(letter).is_some()), "{word}");
        }
    }

    #[test]
    fn twice_as_large_is_twice_as_high_and_wide() {
        let (one, two) = (large("12", 1), large("12", 2));
        assert_eq!((one.len(), two.len()), (HEIGHT, 2 * HEIGHT));
        assert_eq!(two[0].len(), 2 * one[0].len());
        assert_eq!(one[0], " #  ### ");
    }
}
