//! Reads a match file: a score, a human performance of it, and which note is which.
//!
//! The format is that of the Vienna 4x22 and ASAP corpora, version 5 (Foscarin et al., "The
//! match file format: Encoding alignments between scores and performances", 2022). Read here
//! are the note lines and three header lines; pedal and key lines are passed over.

use crate::attempt::{Attempt, ExpectedNote, PlayedNote, Role, TICKS_PER_QUARTER};

/// What a match file holds, as far as the tests need it.
#[derive(Clone, Debug)]
pub struct Match {
    /// The score's notes in the order of the file.
    pub expected: Vec<ExpectedNote>,
    /// The performance's notes in the order of the file, with their roles.
    pub played: Vec<PlayedNote>,
    /// Quarters in a bar.
    pub quarters_per_bar: u8,
}

/// Microseconds per clock tick, and quarters per beat of the score.
struct Units {
    clock_units: Option<f64>,
    clock_rate: Option<f64>,
    signature: Option<(f64, f64)>,
}

/// Reads the text of a match file; errors name the line.
pub fn parse(text: &str) -> Result<Match, String> {
    let mut units = Units { clock_units: None, clock_rate: None, signature: None };
    let (mut expected, mut played) = (Vec::new(), Vec::new());
    for (number, line) in text.lines().enumerate() {
        let line = line.trim().trim_end_matches('.');
        read_line(line, &mut units, &mut expected, &mut played)
            .map_err(|what| format!("line {}: {what}: {line}", number + 1))?;
    }
    let (beats, denominator) = units.signature.ok_or("no time signature in the header")?;
    Ok(Match { expected, played, quarters_per_bar: (beats * 4.0 / denominator).round() as u8 })
}

fn read_line(
    line: &str,
    units: &mut Units,
    expected: &mut Vec<ExpectedNote>,
    played: &mut Vec<PlayedNote>,
) -> Result<(), String> {
    if let Some(info) = line.strip_prefix("info(") {
        return header(info.trim_end_matches(')'), units);
    }
    if let Some(note) = line.strip_prefix("insertion-note(") {
        played.push(played_note(note, Role::Extra, units)?);
    } else if let Some(both) = line.strip_prefix("snote(") {
        // An alignment is `snote(…)-note(…)` or `snote(…)-deletion`.
        let (written, performed) = both.split_once(")-").ok_or("an snote without an alignment")?;
        let index = expected.len();
        expected.push(written_note(written, units)?);
        match performed.strip_prefix("note(") {
            Some(note) => played.push(played_note(note, Role::Plays(index), units)?),
            None if performed == "deletion" => {}
            None => return Err("neither a note nor a deletion".into()),
        }
    }
    Ok(())
}

fn header(info: &str, units: &mut Units) -> Result<(), String> {
    let (name, value) = info.split_once(',').ok_or("a header without a value")?;
    match name {
        "midiClockUnits" => units.clock_units = Some(number(value)?),
        "midiClockRate" => units.clock_rate = Some(number(value)?),
        "timeSignature" => {
            let value = value.trim_matches(['[', ']']);
            let (beats, denominator) = value.split_once('/').ok_or("no time signature")?;
            units.signature = Some((number(beats)?, number(denominator)?));
        }
        _ => {}
    }
    Ok(())
}

/// `id,[step,alteration],octave,bar:beat,offset,duration,onset,offset,[attributes]`, onsets and
/// offsets in beats of the time signature.
fn written_note(text: &str, units: &Units) -> Result<ExpectedNote, String> {
    let fields = fields(text);
    let field = |i: usize| fields.get(i).copied().ok_or("too few fields of a written note");
    let (_, denominator) = units.signature.ok_or("a note before the time signature")?;
    let ticks = |beats: &str| {
        let quarters = number(beats)? * 4.0 / denominator;
        // Pick-up bars begin before 0; the file in use has none, and a cut shifts to 0 anyway.
        if quarters < 0.0 {
            return Err("a note before the first bar".to_owned());
        }
        Ok((quarters * f64::from(TICKS_PER_QUARTER)).round() as u32)
    };
    let (onset, end) = (ticks(field(6)?)?, ticks(field(7)?)?);
    let bar = field(3)?.split(':').next().unwrap_or_default();
    Ok(ExpectedNote {
        onset,
        length: end.saturating_sub(onset),
        pitch: pitch(field(1)?, field(2)?)?,
        channel: 0,
        bar: bar.parse().map_err(|_| format!("`{bar}` is no bar"))?,
    })
}

/// `id,[step,alteration],octave,onset,offset,offset with pedal,velocity`, times in clock ticks.
fn played_note(text: &str, role: Role, units: &Units) -> Result<PlayedNote, String> {
    let text = text.trim_end_matches(')');
    let fields = fields(text);
    let field = |i: usize| fields.get(i).copied().ok_or("too few fields of a played note");
    let rate = units.clock_rate.ok_or("a note before midiClockRate")?;
    let per_quarter = units.clock_units.ok_or("a note before midiClockUnits")?;
    let micros =
        |ticks: &str| Ok::<u32, String>((number(ticks)? * rate / per_quarter).round() as u32);
    let (onset, end) = (micros(field(3)?)?, micros(field(4)?)?);
    Ok(PlayedNote {
        onset,
        length: end.saturating_sub(onset),
        pitch: pitch(field(1)?, field(2)?)?,
        channel: 0,
        velocity: number(field(6)?)? as u8,
        role,
    })
}

/// Splits at commas outside brackets.
fn fields(text: &str) -> Vec<&str> {
    let mut depth = 0;
    text.split(|c| {
        match c {
            '[' => depth += 1,
            ']' => depth -= 1,
            _ => {}
        }
        c == ',' && depth == 0
    })
    .collect()
}

fn number(text: &str) -> Result<f64, String> {
    text.parse().map_err(|_| format!("`{text}` is no number"))
}

/// `[C,#]` and `4` to a MIDI note number; the C of octave 4 is 60.
fn pitch(spelling: &str, octave: &str) -> Result<u8, String> {
    let (step, alteration) =
        spelling.trim_matches(['[', ']']).split_once(',').ok_or("no pitch spelling")?;
    let step = match step {
        "C" => 0,
        "D" => 2,
        "E" => 4,
        "F" => 5,
        "G" => 7,
        "A" => 9,
        "B" => 11,
        _ => return Err(format!("`{step}` is no step")),
    };
    let alteration: i32 = alteration
        .chars()
        .map(|c| match c {
            'n' => Ok(0),
            '#' => Ok(1),
            'x' => Ok(2),
            'b' => Ok(-1),
            _ => Err(format!("`{alteration}` is no alteration")),
        })
        .sum::<Result<i32, String>>()?;
    let octave: i32 = octave.parse().map_err(|_| format!("`{octave}` is no octave"))?;
    u8::try_from((octave + 1) * 12 + step + alteration).map_err(|_| "pitch out of range".into())
}

impl Match {
    /// The last bar.
    pub fn last_bar(&self) -> u32 {
        self.expected.iter().map(|note| note.bar).max().unwrap_or(0)
    }

    /// The attempt at `bars` bars from bar `first` on: their notes, the notes that play them,
    /// and the extra notes played between the first and the last of these. Both sides are
    /// moved to begin near 0. The written tempo is the one at which the notes were played.
    ///
    /// # Panics
    /// If fewer than two notes of these bars were played.
    pub fn window(&self, first: u32, bars: u32) -> Attempt {
        let inside = |i: usize| (first..first + bars).contains(&self.expected[i].bar);
        let numbers: Vec<usize> = (0..self.expected.len()).filter(|&i| inside(i)).collect();
        let of_window = |note: &&PlayedNote| note.role.expected().is_some_and(inside);
        let onsets: Vec<u32> =
            self.played.iter().filter(of_window).map(|note| note.onset).collect();
        let (Some(&begin), Some(&end)) = (onsets.iter().min(), onsets.iter().max()) else {
            panic!("nobody played bars {first} to {}", first + bars - 1);
        };
        let start = (first - 1) * u32::from(self.quarters_per_bar) * TICKS_PER_QUARTER;
        let expected: Vec<ExpectedNote> = numbers
            .iter()
            .map(|&i| ExpectedNote { onset: self.expected[i].onset - start, ..self.expected[i] })
            .collect();
        let played: Vec<PlayedNote> = self
            .played
            .iter()
            .filter_map(|note| {
                let role = match note.role {
                    Role::Extra if (begin..=end).contains(&note.onset) => Role::Extra,
                    Role::Extra => return None,
                    // The file has no wrong notes, only right ones and extra ones.
                    Role::Plays(i) | Role::Wrong(i) => Role::Plays(numbers.binary_search(&i).ok()?),
                };
                // Half a second of silence first, as a recording has.
                Some(PlayedNote { onset: note.onset - begin + 500_000, role, ..*note })
            })
            .collect();
        let written = expected.iter().map(|note| note.onset);
        let ticks = written.clone().max().unwrap_or(0) - written.min().unwrap_or(0);
        assert!(ticks > 0, "one moment of music has no tempo");
        let micros = u64::from(end - begin) * u64::from(TICKS_PER_QUARTER) / u64::from(ticks);
        Attempt::new(&expected, &played, micros as u32, self.quarters_per_bar)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHORT: &str = "info(matchFileVersion,5.0).\n\
        info(midiClockUnits,480).\ninfo(midiClockRate,500000).\ninfo(timeSignature,[6/8]).\n\
        snote(n1,[F,#],4,1:1,0,1/8,0.0,1.0,[v1,staff1])-note(n0,[F,#],4,480,960,960,70).\n\
        snote(n2,[B,b],3,1:2,0,1/8,1.0,2.0,[])-deletion.\n\
        insertion-note(n1,[C,n],5,500,530,530,23).\nsustain(0,0).\n";

    #[test]
    fn reads_notes_deletions_and_insertions() {
        let read = parse(SHORT).unwrap();
        assert_eq!(read.quarters_per_bar, 3);
        let written: Vec<_> =
            read.expected.iter().map(|n| (n.onset, n.length, n.pitch, n.bar)).collect();
        assert_eq!(written, [(0, 240, 66, 1), (240, 240, 58, 1)]);
        let played: Vec<_> =
            read.played.iter().map(|n| (n.onset, n.length, n.pitch, n.velocity, n.role)).collect();
        assert_eq!(
            played,
            [(500_000, 500_000, 66, 70, Role::Plays(0)), (520_833, 31_250, 72, 23, Role::Extra),]
        );
    }

    #[test]
    fn errors_name_the_line() {
        let broken = SHORT.replace("[B,b]", "[H,b]");
        assert!(parse(&broken).unwrap_err().starts_with("line 6: `H` is no step"));
        let cut = SHORT.replace("-deletion", "");
        assert!(parse(&cut).unwrap_err().starts_with("line 6: "));
    }
}
