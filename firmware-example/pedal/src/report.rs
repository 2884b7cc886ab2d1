//! What is said about an attempt, as lines of plain text.

use core::fmt::{self, Display, Formatter, Write};

use evenhand_core::study::Chunk;
use evenhand_core::units::Ticks;
use evenhand_core::verdict::{Finding, Verdict};

/// Writes the verdict on the attempt with this number, counted from 1, and its findings.
///
/// # Errors
/// Only what `out` gives.
pub fn attempt(
    number: u32,
    chunk: &Chunk<'_>,
    verdict: &Verdict,
    out: &mut impl Write,
) -> fmt::Result {
    writeln!(out, "attempt {number}: {}", verdict.outcome)?;
    for finding in &verdict.findings {
        let Finding { severity, count, .. } = finding;
        write!(out, "  {severity}: {finding}")?;
        let note = finding.note.and_then(|index| chunk.notes().get(usize::from(index)));
        if let Some(note) = note {
            write!(out, ", {}", Where { chunk, at: note.onset })?;
        }
        if *count > 1 {
            write!(out, " and at {} more", count - 1)?;
        }
        writeln!(out)?;
    }
    Ok(())
}

/// A place in the music, as `bar 1 beat 2 + 1/2`.
struct Where<'a> {
    chunk: &'a Chunk<'a>,
    at: Ticks,
}

impl Display for Where<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let place = self.chunk.place(self.at);
        write!(f, "bar {} beat {}", place.bar, place.beat)?;
        let (into, beat) = (place.into_beat.get(), self.chunk.metre().beat().get());
        let common = largest_common_divisor(into, beat);
        if into > 0 && common > 0 {
            write!(f, " + {}/{}", into / common, beat / common)?;
        }
        Ok(())
    }
}

const fn largest_common_divisor(mut a: u32, mut b: u32) -> u32 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::music::Notes;
    use crate::study::BUILT_IN;
    use evenhand_core::pack::Pack;
    use evenhand_core::practice::{Piece, PracticeVariant, Task};
    use evenhand_core::units::{Offset, Tempo};
    use evenhand_core::verdict::{Kind, Outcome, SettledBy, Severity, Size};
    use std::string::String;

    /// The first chunk of the built-in study.
    fn chunk(notes: &mut Notes) -> Chunk<'_> {
        let tempo = Tempo::from_micros_per_quarter(600_000).unwrap();
        let task = Task { piece: Piece::Chunk(0), way: PracticeVariant::AsWritten, tempo };
        Pack::open(BUILT_IN).unwrap().music(task, |_| 0, notes).unwrap()
    }

    #[test]
    fn a_finding_says_what_how_much_and_where() {
        let finding = Finding {
            kind: Kind::HesitationAtShift,
            severity: Severity::Fails,
            note: Some(4),
            count: 2,
            size: Size::Time(Offset::from_micros(180_001)),
            limit: Size::Time(Offset::from_millis(75)),
            weight: 0,
            settled_by: SettledBy::Nothing,
        };
        let mut verdict = Verdict { outcome: Outcome::NeedsWork, findings: Default::default() };
        verdict.findings.push(finding).unwrap();
        let mut notes = Notes::new();
        let chunk = chunk(&mut notes);
        let mut said = String::new();
        attempt(7, &chunk, &verdict, &mut said).unwrap();
        let expected = "attempt 7: needs work\n  fails: time lost at a shift, 180 ms \
            (limit 75 ms), bar 1 beat 3 and at 1 more\n";
        assert_eq!(said, expected);
    }

    #[test]
    fn parts_of_a_beat_are_in_lowest_terms() {
        let mut notes = Notes::new();
        let chunk = chunk(&mut notes);
        let at = Ticks::new(Ticks::PER_QUARTER * 11 / 6);
        assert_eq!(std::format!("{}", Where { chunk: &chunk, at }), "bar 1 beat 2 + 5/6");
    }
}
