//! Bars of open strings to be typed over, cut into chunks: what is hard by itself, all else two bars at a time.

use super::questions::Answers;
use std::fmt::Write as _;

/// Bars that a chunk has at most, as it is good to practise (common practice).
const CHUNK: u16 = 2;

impl Answers {
    pub(super) fn bars_in_words(&self) -> String {
        if self.bars == 1 { "one bar".to_owned() } else { format!("{} bars", self.bars) }
    }

    pub(super) fn chunks_in_words(&self) -> String {
        match chunks(self).len() {
            1 => "one chunk".to_owned(),
            chunks => format!("{chunks} chunks"),
        }
    }
}

/// The study. It is right as it stands.
pub(super) fn text(answers: &Answers) -> String {
    let Answers { title, upper, lower, tempo, bars, .. } = answers;
    // Behind a mark for comments it is read with quotes alone.
    let title = if title.contains('#') { format!("\"{title}\"") } else { title.clone() };
    let mut text = format!(
        "evenhand study 2\n\
         title   {title}\n\
         metre   {upper}/{lower}\n\
         tempo   {tempo}                # the goal, in beats a minute\n\
         level   steady            # how strictly: first, steady or performance\n\n\
         # Every bar has notes of the open string 1, to be typed over.\n\
         # 1/8 means that eighths follow; 4:2 is string 4, fret 2.\n\
         # (2 i) is the second finger of the left hand and the index finger of the right.\n\
         # ^3:4 is slurred; notes joined by + begin together; `rest` is silence; | ends a bar.\n\
         # Another voice has a line of its own, such as `bass:`, under the same bar.\n\n\
         music\n"
    );
    let beats = " 1:0".repeat((*upper).into());
    for bar in 1..=*bars {
        if bar > 1 {
            let _ = writeln!(text, "  bar {bar}");
        }
        let _ = writeln!(text, "  melody: 1/{lower}{beats} |");
    }
    text.push('\n');
    for (first, last) in chunks(answers) {
        let _ = match first == last {
            true => writeln!(text, "chunk \"Bar {first}\" bar {first}"),
            false => {
                writeln!(text, "chunk \"Bars {first} to {last}\" bars {first} to {last}")
            }
        };
    }
    text
}

/// From the first bar to the last of each chunk, in the order of the music.
fn chunks(answers: &Answers) -> Vec<(u16, u16)> {
    let mut chunks = Vec::new();
    let mut bar = 1;
    let mut hard = answers.hard.iter().peekable();
    while bar <= answers.bars {
        hard.next_if(|(_, last)| *last < bar);
        let place = hard.peek();
        let end = match place {
            Some((first, last)) if *first <= bar => *last,
            Some((first, _)) => first - 1,
            None => answers.bars,
        };
        let last = end.min(bar + CHUNK - 1);
        chunks.push((bar, last));
        bar = last + 1;
    }
    chunks
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answers(bars: u16, hard: &[(u16, u16)]) -> Answers {
        Answers {
            title: "My passage".to_owned(),
            upper: 4,
            lower: 4,
            tempo: 72,
            bars,
            hard: hard.to_vec(),
        }
    }

    #[test]
    fn hard_bars_are_chunks_of_their_own() {
        let cut = |bars, hard: &[(u16, u16)]| chunks(&answers(bars, hard));
        assert_eq!(cut(1, &[]), [(1, 1)]);
        assert_eq!(cut(5, &[]), [(1, 2), (3, 4), (5, 5)]);
        assert_eq!(cut(8, &[(3, 3), (6, 8)]), [(1, 2), (3, 3), (4, 5), (6, 7), (8, 8)]);
        assert_eq!(cut(4, &[(1, 1), (2, 2), (4, 4)]), [(1, 1), (2, 2), (3, 3), (4, 4)]);
    }

    /// Every bar is in one chunk, whatever is hard.
    #[test]
    fn chunks_leave_nothing_out() {
        for bars in 1..12 {
            for first in 1..=bars {
                for last in first..=bars {
                    let cut = chunks(&answers(bars, &[(first, last)]));
                    let all: Vec<u16> = cut.iter().flat_map(|(a, b)| *a..=*b).collect();
                    assert_eq!(all, (1..=bars).collect::<Vec<_>>(), "{bars}: {first} to {last}");
                    assert!(cut.iter().all(|(a, b)| b - a < CHUNK));
                }
            }
        }
    }

    #[test]
    fn what_is_written_is_right() {
        for (upper, lower) in [(4, 4), (3, 4), (6, 8), (5, 4), (2, 2), (12, 16), (1, 1), (32, 32)] {
            let answers =
                Answers { upper, lower, title: "Rain # 2".to_owned(), ..answers(3, &[(2, 2)]) };
            let text = text(&answers);
            let study = crate::study::parse(&text).unwrap_or_else(|problems| {
                panic!("{upper}/{lower}: {problems:?}\n{text}");
            });
            assert_eq!(study.title.as_deref(), Some("Rain # 2"));
            assert_eq!(study.chunks.len(), 3);
        }
    }
}
