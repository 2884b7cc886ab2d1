//! A study as a pack for a pedal: the music of every piece, built here, so that the pedal plays
//! the very same.

use super::pieces::Pieces;
use crate::study::{Prepared, Problem, Study};
use evenhand_core::limits;
use evenhand_core::pack::{ChunkParts, PackWriter, Part, WriteProblem};
use evenhand_core::practice::{PracticeVariant, Side};
use thiserror::Error;

/// Why a study cannot be packed.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NotPacked {
    /// The study is not right.
    #[error("{}", list(.0))]
    Study(Vec<Problem>),
    /// It takes more bytes than a pack may have.
    #[error("it takes more than {} bytes", limits::PACK_BYTES)]
    TooLong,
    /// This chunk has more other fingerings than a pack holds.
    #[error("“{0}” has more than {max} other fingerings", max = limits::FINGERINGS)]
    TooManyFingerings(String),
    /// The title or a name is too long for a pack.
    #[error("“{0}” is longer than {max} bytes", max = limits::NAME_BYTES)]
    LongName(String),
    /// It cannot be written as a pack.
    #[error("{0}")]
    Unwritten(WriteProblem),
}

/// One problem a line.
fn list(problems: &[Problem]) -> String {
    let list: Vec<String> = problems.iter().map(ToString::to_string).collect();
    list.join("\n")
}

impl From<WriteProblem> for NotPacked {
    fn from(problem: WriteProblem) -> Self {
        match problem {
            WriteProblem::NoRoom => Self::TooLong,
            problem @ WriteProblem::Wrong(_) => Self::Unwritten(problem),
        }
    }
}

/// Packs a study. `hash` is that of its text ([`log::hash`](crate::log::hash) as a number).
///
/// # Errors
///
/// If it is not right, or is more than a pack can hold.
pub fn pack(study: &Study, title: &str, hash: u64) -> Result<Vec<u8>, NotPacked> {
    let chunks = study.prepare().map_err(NotPacked::Study)?;
    let pieces = Pieces::of_chunks(chunks).with_voices_of(study);
    let numbers = numbered(pieces.voices());
    let count = u8::try_from(pieces.chunks().len()).map_err(|_| NotPacked::TooLong)?;
    let mut bytes = vec![0; limits::PACK_BYTES];
    let fits = |name: &str| match name.len() <= limits::NAME_BYTES {
        true => Ok(()),
        false => Err(NotPacked::LongName(name.to_owned())),
    };
    fits(title)?;
    let mut writer = PackWriter::new(&mut bytes, hash, title, count)?;
    for (index, chunk) in (0..count).zip(pieces.chunks()) {
        fits(&chunk.name)?;
        let voices = numbers.get(usize::from(index)).map_or(&[][..], Vec::as_slice);
        write_chunk(&mut writer, &pieces, index, chunk, voices)?;
    }
    let length = writer.finish()?.bytes().len();
    bytes.truncate(length);
    Ok(bytes)
}

/// The names of voices as numbers: the same name has the same number in the whole study.
fn numbered(voices: &[Vec<String>]) -> Vec<Vec<u16>> {
    let mut known: Vec<&String> = Vec::new();
    let mut number = |name| {
        let at = known.iter().position(|other| *other == name).unwrap_or_else(|| {
            known.push(name);
            known.len() - 1
        });
        u16::try_from(at).unwrap_or(u16::MAX)
    };
    voices.iter().map(|names| names.iter().map(&mut number).collect()).collect()
}

fn write_chunk(
    writer: &mut PackWriter<'_>,
    pieces: &Pieces,
    index: u8,
    chunk: &Prepared,
    voices: &[u16],
) -> Result<(), NotPacked> {
    let missing = || NotPacked::TooLong;
    let facts = pieces.facts(usize::from(index)).ok_or_else(missing)?;
    if facts.fingerings > limits::FINGERINGS {
        return Err(NotPacked::TooManyFingerings(chunk.name.clone()));
    }
    writer.chunk(&ChunkParts {
        name: &chunk.name,
        goal: facts.goal,
        metre: chunk.metre,
        rules: facts.rules,
        tolerances: chunk.tolerances,
        splits: facts.splits,
        varies: facts.varies,
        joins_next: facts.joins_next,
        voices,
        fingerings: facts.fingerings,
    })?;
    for fingering in 0..=facts.fingerings {
        let other = usize::from(fingering).checked_sub(1);
        let name = other.and_then(|other| chunk.alternatives.get(other));
        let name = name.map_or("", |other| other.name.as_str());
        let varied = |way| pieces.is_varied(index, way, fingering);
        writer.fingering(name, varied)?;
        for way in
            [PracticeVariant::AsWritten, PracticeVariant::LongShort, PracticeVariant::ShortLong]
        {
            if way != PracticeVariant::AsWritten && !varied(way) {
                continue;
            }
            let whole = pieces.whole(index, way, fingering).ok_or_else(missing)?;
            write_part(writer, &whole)?;
            if facts.splits {
                for side in [Side::First, Side::Second] {
                    let half = pieces.half(index, side, way, fingering).ok_or_else(missing)?;
                    write_part(writer, &half)?;
                }
            }
        }
    }
    Ok(())
}

fn write_part(writer: &mut PackWriter<'_>, music: &Prepared) -> Result<(), WriteProblem> {
    // What cannot be judged is not there, as in practice on the computer.
    let notes = if music.checked(music.tempo).is_ok() { music.notes.as_slice() } else { &[] };
    writer.part(&Part {
        first_bar: music.first_bar,
        into_first_bar: music.into_first_bar,
        length: music.length,
        notes,
    })
}
