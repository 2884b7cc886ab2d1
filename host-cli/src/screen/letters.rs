//! Large letters, drawn by us on a grid of five by five.
//!
//! In cells of their own for what a page says largest: where practice stands, and the tempo. Four points
//! to a cell, three lines high, for sentences and for where there is less room.

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
        'F' => ["#####", "#    ", "#### ", "#    ", "#    "],
        'G' => [" ####", "#    ", "#  ##", "#   #", " ####"],
        'H' => ["#   #", "#   #", "#####", "#   #", "#   #"],
        'I' => ["###", " # ", " # ", " # ", "###"],
        'J' => ["  ###", "   # ", "   # ", "#  # ", " ##  "],
        'K' => ["#  ##", "# #  ", "##   ", "# #  ", "#  ##"],
        'L' => ["#    ", "#    ", "#    ", "#    ", "#####"],
        'M' => ["#   #", "## ##", "# # #", "#   #", "#   #"],
        'N' => ["#   #", "##  #", "# # #", "#  ##", "#   #"],
        'O' => [" ### ", "#   #", "#   #", "#   #", " ### "],
        'P' => ["#### ", "#   #", "#### ", "#    ", "#    "],
        'Q' => [" ### ", "#   #", "#   #", "#  # ", " ## #"],
        'R' => ["#### ", "#   #", "#### ", "#  # ", "#   #"],
        'S' => [" ####", "#    ", " ### ", "    #", "#### "],
        'T' => ["#####", "  #  ", "  #  ", "  #  ", "  #  "],
        'U' => ["#   #", "#   #", "#   #", "#   #", " ### "],
        'V' => ["#   #", "#   #", "#   #", " # # ", "  #  "],
        'W' => ["#   #", "#   #", "# # #", "## ##", "#   #"],
        'X' => ["#   #", " # # ", "  #  ", " # # ", "#   #"],
        'Y' => ["#   #", " # # ", "  #  ", "  #  ", "  #  "],
        'Z' => ["#####", "   # ", "  #  ", " #   ", "#####"],
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
        '.' => [" ", " ", " ", " ", "#"],
        ',' => ["  ", "  ", "  ", " #", "# "],
        ';' => ["  ", " #", "  ", " #", "# "],
        ':' => [" ", "#", " ", "#", " "],
        '\'' | '\u{2019}' => ["#", "#", " ", " ", " "],
        '"' | '\u{201c}' | '\u{201d}' => ["# #", "# #", "   ", "   ", "   "],
        '-' | '\u{2013}' => ["   ", "   ", "###", "   ", "   "],
        '+' => ["   ", " # ", "###", " # ", "   "],
        '/' => ["    #", "   # ", "  #  ", " #   ", "#    "],
        '(' => [" #", "# ", "# ", "# ", " #"],
        ')' => ["# ", " #", " #", " #", "# "],
        '%' => ["#   #", "   # ", "  #  ", " #   ", "#   #"],
        '?' => ["### ", "   #", " ## ", "    ", " #  "],
        '&' => [" ##  ", "#  # ", " ##  ", "#  # ", " ## #"],
        '\u{2026}' => ["     ", "     ", "     ", "     ", "# # #"],
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

/// Lines of a text in small large letters.
pub(super) const COMPACT: usize = 3;

/// The quarters of a cell: upper left, upper right, lower left and lower right count 1, 2, 4 and 8
/// (Unicode, block elements).
const QUARTERS: [char; 16] =
    [' ', '▘', '▝', '▀', '▖', '▌', '▞', '▛', '▗', '▚', '▐', '▜', '▄', '▙', '▟', '█'];

/// A text in letters of four points to a cell, so three lines high and up to three columns wide.
/// `None` if it has a character that has no large letter: what is said must be whole.
pub(super) fn compact(text: &str) -> Option<[String; COMPACT]> {
    let text = text.to_uppercase();
    if text.chars().any(|letter| rows(letter).is_none()) {
        return None;
    }
    let points = large(&text, 1);
    let is_set = |row: usize, column: usize| {
        points.get(row).and_then(|line| line.as_bytes().get(column)) == Some(&b'#')
    };
    let cell = |row: usize, column: usize| {
        let quarters = [(0, 0, 1), (0, 1, 2), (1, 0, 4), (1, 1, 8)];
        let set = quarters.iter().filter(|(down, right, _)| is_set(row + down, column + right));
        QUARTERS[set.map(|(.., worth)| worth).sum::<usize>()]
    };
    let width = points.first().map_or(0, String::len);
    Some(std::array::from_fn(|line| (0..width).step_by(2).map(|at| cell(2 * line, at)).collect()))
}

/// A text in lines of such letters that are not wider than `width` columns; broken between words.
/// `None` as above, and where one word is wider.
pub(super) fn compact_lines(text: &str, width: usize) -> Option<Vec<[String; COMPACT]>> {
    let mut lines: Vec<[String; COMPACT]> = Vec::new();
    let mut so_far = String::new();
    for word in text.split_whitespace() {
        let longer = if so_far.is_empty() { word.to_owned() } else { format!("{so_far} {word}") };
        if columns(&longer)? <= width {
            so_far = longer;
            continue;
        }
        lines.extend((!so_far.is_empty()).then(|| compact(&so_far)).flatten());
        word.clone_into(&mut so_far);
        if columns(word)? > width {
            return None;
        }
    }
    lines.extend((!so_far.is_empty()).then(|| compact(&so_far)).flatten());
    Some(lines)
}

/// How wide a text is in letters of four points to a cell.
pub(super) fn columns(text: &str) -> Option<usize> {
    compact(text).map(|lines| lines[0].chars().count())
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
            .chain(["READY", "PLAY", "PLAYING", "HEARD", "LISTEN", "REST", "0123456789"])
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

    #[test]
    fn four_points_share_a_cell_and_lines_break_between_words() {
        // T is five points wide and five high, so three cells by three, the last of which are half empty.
        assert_eq!(compact("T").unwrap(), ["▀▛▘", " ▌ ", " ▘ "].map(str::to_owned));
        assert_eq!(compact("TÄ"), None, "there is no such letter");
        let text = "Lift the fingers later; 62 to 70.";
        let lines = compact_lines(text, 40).unwrap();
        assert!(lines.len() > 1);
        for line in &lines {
            assert!(line.iter().all(|row| row.chars().count() <= 40), "{line:?}");
        }
        assert_eq!(compact_lines("incomprehensibly", 20), None);
        assert_eq!(compact_lines("", 20), Some(Vec::new()));
    }
}
