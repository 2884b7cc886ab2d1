//! Five questions about a passage that is to be typed. An empty answer is the one that stands in brackets; what
//! cannot be understood is asked once more.

use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::study::{MOST_CHUNKS, is_quotable, tidy};
use evenhand_core::study::Metre;
use evenhand_core::units::Tempo;
use std::io::{BufRead, Read};
use std::ops::RangeInclusive;

/// Each bar may become a chunk, of which a study has so many at most.
const MOST_BARS: u16 = MOST_CHUNKS as u16;

/// What a tempo may be, in beats a minute; as in the format.
const TEMPO: RangeInclusive<u16> = 10..=400;

/// Longer answers are none.
const LONGEST: u64 = 1_000;

/// What is known of a passage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Answers {
    pub(super) title: String,
    pub(super) upper: u8,
    pub(super) lower: u8,
    pub(super) tempo: u16,
    pub(super) bars: u16,
    /// Bars that are hard, from the first to the last of each place, in order and apart from each other.
    pub(super) hard: Vec<(u16, u16)>,
}

/// Asks them.
pub(super) fn ask(answers: &mut dyn BufRead, output: &mut Output) -> Result<Answers, Fault> {
    let mut asked = Asked { answers, output };
    let title = asked.for_a("What is it called? [My passage]", "My passage", title)?;
    let (upper, lower) = asked.for_a("In which metre? [4/4]", "4/4", metre)?;
    let usual = usual_tempo(upper, lower).to_string();
    let question = format!("How fast is it to be, in beats a minute? [{usual}]");
    let tempo = asked.for_a(&question, &usual, |answer| tempo(answer, upper, lower))?;
    let bars = asked.for_a("How many bars are there? [8]", "8", bars)?;
    let question = "Which of them are hard, such as 3, 5 to 6? [none]";
    let hard = asked.for_a(question, "none", |answer| hard(answer, bars))?;
    Ok(Answers { title, upper, lower, tempo, bars, hard })
}

struct Asked<'a> {
    answers: &'a mut dyn BufRead,
    output: &'a mut Output,
}

impl Asked<'_> {
    fn for_a<T>(
        &mut self,
        question: &str,
        usual: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<T, Fault> {
        loop {
            self.output.say(question)?;
            let answer = self.next()?;
            match read(if answer.is_empty() { usual } else { &answer }) {
                Ok(value) => return Ok(value),
                Err(right) => self.output.say(&format!("  {right}"))?,
            }
        }
    }

    fn next(&mut self) -> Result<String, Fault> {
        let mut line = String::new();
        let read = (&mut self.answers).take(LONGEST).read_line(&mut line);
        match read {
            Ok(length) if length > 0 => Ok(tidy(&line)),
            _ => Err(Fault::new(Exit::Input, "the questions were not answered to the end")
                .advise("Nothing was written. Ask for it again, or leave out --ask.")),
        }
    }
}

fn title(answer: &str) -> Result<String, String> {
    let right = "A title of at most 80 characters without quotation marks, please.";
    if is_quotable(answer) { Ok(answer.to_owned()) } else { Err(right.to_owned()) }
}

fn metre(answer: &str) -> Result<(u8, u8), String> {
    let right = "Beats in a bar and what they are, such as 3/4 or 6/8, please.";
    let read = || {
        let (upper, lower) = answer.split_once('/')?;
        let (upper, lower) = (upper.trim().parse().ok()?, lower.trim().parse().ok()?);
        Metre::new(upper, lower)?;
        Some((upper, lower))
    };
    read().ok_or_else(|| right.to_owned())
}

fn tempo(answer: &str, upper: u8, lower: u8) -> Result<u16, String> {
    let beats = whole(answer, TEMPO)?;
    if is_playable(beats, upper, lower) {
        return Ok(beats);
    }
    Err("No chunk is practised at that tempo in this metre; another one, please.".to_owned())
}

/// Whether the judge takes so many of this metre's beats a minute.
fn is_playable(beats: u16, upper: u8, lower: u8) -> bool {
    let metre = Metre::new(upper, lower);
    metre.is_some_and(|m| Tempo::from_beats_per_minute(beats.into(), m.beat()).is_some())
}

/// What stands in brackets: 72, or as much faster as beats are shorter than any tempo is.
fn usual_tempo(upper: u8, lower: u8) -> u16 {
    [72, 144, 288].into_iter().find(|&beats| is_playable(beats, upper, lower)).unwrap_or(72)
}

fn bars(answer: &str) -> Result<u16, String> {
    whole(answer, 1..=MOST_BARS)
}

fn whole(answer: &str, range: RangeInclusive<u16>) -> Result<u16, String> {
    answer
        .parse()
        .ok()
        .filter(|number| range.contains(number))
        .ok_or_else(|| format!("A whole number from {} to {}, please.", range.start(), range.end()))
}

/// Reads `3, 5 to 6` or `3 5-6`, in any order.
fn hard(answer: &str, bars: u16) -> Result<Vec<(u16, u16)>, String> {
    let answer = answer.to_lowercase();
    if matches!(answer.as_str(), "none" | "no" | "0" | "-") {
        return Ok(Vec::new());
    }
    let right = format!("Bars from 1 to {bars}, such as 3 or 5 to 6, please, or none.");
    let joined = answer.replace(" to ", "-").replace(['–', '—'], "-").replace([',', ';'], " ");
    let mut places = Vec::new();
    for word in joined.split_whitespace() {
        let (first, last) = word.split_once('-').unwrap_or((word, word));
        let read = |bar: &str| bar.parse().ok().filter(|bar| (1..=bars).contains(bar));
        match (read(first), read(last)) {
            (Some(first), Some(last)) if first <= last => places.push((first, last)),
            _ => return Err(right),
        }
    }
    if places.is_empty() {
        return Err(right);
    }
    places.sort_unstable();
    let mut apart: Vec<(u16, u16)> = Vec::new();
    for (first, last) in places {
        match apart.last_mut() {
            Some(before) if first <= before.1 => before.1 = before.1.max(last),
            _ => apart.push((first, last)),
        }
    }
    Ok(apart)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_as_people_write_them() {
        assert_eq!(hard("3", 8), Ok(vec![(3, 3)]));
        assert_eq!(hard("7, 5 to 6; 3", 8), Ok(vec![(3, 3), (5, 6), (7, 7)]));
        assert_eq!(hard("3-5 4–6", 8), Ok(vec![(3, 6)]));
        assert_eq!(hard("None", 8), Ok(vec![]));
        for wrong in ["9", "0 to 2", "6 to 5", "third", "3 to", ",", "1-2-3", "99999"] {
            assert!(hard(wrong, 8).is_err(), "{wrong}");
        }
    }

    #[test]
    fn metres_titles_and_numbers_are_those_of_the_format() {
        assert_eq!(metre("6 / 8"), Ok((6, 8)));
        for wrong in ["4", "4/5", "0/4", "33/4", "/", "four/4"] {
            assert!(metre(wrong).is_err(), "{wrong}");
        }
        assert!(title("Lantern Quay").is_ok() && title("a \" b").is_err());
        assert_eq!((tempo("72", 4, 4), bars("200")), (Ok(72), Ok(200)));
        for wrong in ["9", "401", "7.5", "fast", "-3"] {
            assert!(tempo(wrong, 4, 4).is_err(), "{wrong}");
        }
        assert!(tempo("10", 2, 32).is_err() && tempo("390", 2, 1).is_err());
        // What stands in brackets is an answer in every metre.
        for lower in [1, 2, 4, 8, 16, 32] {
            for upper in 1..=32 {
                assert!(is_playable(usual_tempo(upper, lower), upper, lower), "{upper}/{lower}");
            }
        }
        assert!(bars("0").is_err() && bars("201").is_err());
    }
}
