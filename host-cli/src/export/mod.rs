//! A study in the forms that other programs read: MusicXML, and Standard MIDI Files.

mod around;
mod events;
mod midi;
mod musicxml;
mod xml;

pub use midi::midi;
pub use musicxml::musicxml;

use crate::study::{Piece, Problem, Study, gather};
use evenhand_core::units::Tempo;

/// What is to be written.
#[derive(Clone, Debug)]
pub struct Whole {
    /// The study.
    pub study: Study,
    /// Its music.
    pub piece: Piece,
    /// Chunks that have a music of their own, which is not in it.
    pub apart: Vec<String>,
}

/// The music of a study; that of chunks that each have their own is gathered first. At another tempo where one is given.
///
/// # Errors
/// The problems of a study that is not right.
pub fn whole(study: &Study, tempo: Option<Tempo>) -> Result<Whole, Vec<Problem>> {
    let study = if study.music.is_empty() { gather(study)?.study } else { study.clone() };
    let own = study.chunks.iter().filter(|chunk| chunk.part.is_none());
    let apart = own.map(|chunk| chunk.name.value.clone()).collect();
    let mut piece = study.piece()?;
    if let Some(tempo) = tempo {
        piece.bars.iter_mut().for_each(|bar| bar.tempo = tempo);
    }
    Ok(Whole { study, piece, apart })
}
