//! What is said in the gap after an attempt, and sentences as they are read aloud.

use evenhand_core::verdict::Outcome;

/// Two or three words: the verdict, and the tempo that comes next where it is another one. Spoken by espeak-ng
/// a verdict takes 0.6 to 0.9 s (measured), a whole reason 4.6 s, for which there is no time.
pub fn verdict(outcome: Outcome, next: Option<u32>) -> String {
    match next {
        Some(tempo) => format!("{outcome}, {tempo}"),
        None => outcome.to_string(),
    }
}

/// Signs that a voice spells or passes over, and what is said instead.
const SIGNS: [(&str, &str); 4] =
    [(" ms", " milliseconds"), (" dB", " decibels"), ("#", " sharp "), (" 1/2", " and a half")];

/// A text as a voice should say it. It begins with a letter or a number, so that no program takes it for an option.
pub fn aloud(text: &str) -> String {
    let mut said: String =
        text.chars().filter(|c| !c.is_control() && !"“”\"".contains(*c)).collect();
    for (sign, word) in SIGNS {
        said = said.replace(sign, word);
    }
    said.trim_start_matches(|c: char| !c.is_alphanumeric()).trim_end().to_owned()
}
