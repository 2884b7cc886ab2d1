//! The study is right before anybody sees it: read back, and without what no hand does.

use super::problem::Problem;
use super::sections::{self, Frame};
use super::tell;
use super::tones::Tone;
use crate::score::{Remarks, Slur};
use crate::study::{self, Prepared, SCALE, Strain, Study};
use evenhand_core::units::Ticks;

/// So often something is taken out and looked at again. Our default: each time takes all of one kind.
const ROUNDS: usize = 12;

/// The study of these notes, without fingerings that no hand does.
pub(super) fn right(
    frame: &Frame<'_>,
    tones: &mut [Tone],
    remarks: &mut Remarks,
) -> Result<(Study, Vec<Prepared>), Problem> {
    for round in 0.. {
        let mut told = remarks.clone();
        let (built, pieces) = sections::study(frame, tones, &mut told);
        let (study, chunks) = study::parse(&study::print(&built))
            .and_then(|study| study.prepare().map(|chunks| (study, chunks)))
            .map_err(Problem::Study)?;
        let mut strains: Vec<(Ticks, Strain)> = Vec::new();
        for (piece, chunk) in pieces.iter().zip(&chunks) {
            for caution in study::cautions(&study, chunk, SCALE) {
                if caution.strain.is_impossible()
                    && let Some(note) = chunk.notes.get(caution.note)
                {
                    strains.push((piece.start.plus(note.onset), caution.strain));
                }
            }
        }
        if strains.is_empty() {
            *remarks = told;
            return Ok((study, chunks));
        }
        for (at, strain) in strains {
            // The same is told once in a chunk; in the end all of it is taken out.
            let all = round >= ROUNDS;
            for tone in tones.iter_mut().filter(|tone| all || tone.onset == at) {
                ease(tone, &strain, remarks);
            }
        }
        if round > 2 * ROUNDS {
            return Ok((study, chunks));
        }
    }
    Err(Problem::NoNotes)
}

/// Takes out of a note what no hand does.
fn ease(tone: &mut Tone, strain: &Strain, remarks: &mut Remarks) {
    let note = &mut tone.note;
    let had = (note.left, note.right, note.barre, note.slur, note.trill);
    match strain {
        Strain::BelowBarre(..) => note.barre = None,
        Strain::SlurReach(_) => (note.slur, note.trill) = (Slur::None, None),
        Strain::PlucksTwo(_) => note.right = None,
        _ => note.left = None,
    }
    if had != (note.left, note.right, note.barre, note.slur, note.trill) {
        tell(remarks, "fingerings, slurs or barres that no hand does", note.bar);
    }
}
