//! Sizes in words.

use evenhand_core::verdict::Size;

/// `no note`, `one note`, `3 notes`.
pub(super) fn notes(count: u32, word: &str) -> String {
    match count {
        0 => format!("no {word}"),
        1 => format!("one {word}"),
        _ => format!("{count} {word}s"),
    }
}

/// A size without its sign, with its unit.
pub(super) fn amount(size: Size) -> String {
    match size {
        Size::Notes(count) => notes(count.into(), "note"),
        size => size.to_string(),
    }
}

/// A number in words, as far as they are short.
pub(super) fn number(count: u8) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS.get(usize::from(count)).map_or_else(|| count.to_string(), |word| (*word).to_owned())
}

/// A word as it begins a sentence.
pub(super) fn capitalised(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
