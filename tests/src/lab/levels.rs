//! The loudness of a piece, as the best test sees it.

use evenhand_core::player::{ACCENT, Skill};
use evenhand_core::study::{Attack, ExpectedNote, Marks};

use super::best::{Values, shift_passed_at_least};
use super::piece::Piece;

/// The standard deviation of one note, in hundredths of a decibel.
fn one() -> f64 {
    f64::from(Skill::SKILLED.loudness.hundredths())
}

fn proper(piece: &Piece) -> &[ExpectedNote] {
    let end = piece.events().last().map_or(0, |event| event.end);
    &piece.notes[..end]
}

fn is_accent(note: &ExpectedNote) -> bool {
    note.marks.has(Marks::ACCENT)
}

/// Plucked and slurred notes without an accent. How loud either are on the whole is the player's.
pub fn levels(piece: &Piece) -> Values {
    let notes: Vec<&ExpectedNote> = proper(piece).iter().filter(|note| !is_accent(note)).collect();
    let of = |attack: Attack| -> Vec<f64> {
        notes.iter().map(|note| f64::from(u8::from(note.attack == attack))).collect()
    };
    let nuisance = [of(Attack::Plucked), of(Attack::Slurred)].into_iter();
    let row = |i: usize| {
        (0..notes.len()).map(|j| if i == j { one().powi(2) } else { 0.0 }).collect::<Vec<f64>>()
    };
    Values {
        covariance: (0..notes.len()).map(row).collect(),
        common: None,
        nuisance: nuisance.filter(|vector| vector.contains(&1.0)).collect(),
    }
}

/// One plucked note louder by so many hundredths of a decibel, each in turn.
pub fn one_louder(piece: &Piece, by: f64) -> Vec<Vec<f64>> {
    let notes: Vec<&ExpectedNote> = proper(piece).iter().filter(|note| !is_accent(note)).collect();
    let plucked = (0..notes.len()).filter(|&place| notes[place].attack == Attack::Plucked);
    let shape =
        |place: usize| (0..notes.len()).map(|at| if at == place { by } else { 0.0 }).collect();
    plucked.map(shape).collect()
}

/// The least share that passes where all notes of one kind are `apart` hundredths of a decibel
/// further off than half of the tolerance has them, against the others.
fn set_apart(
    piece: &Piece,
    which: impl Fn(&ExpectedNote) -> bool,
    apart: f64,
    attempts: u32,
) -> f64 {
    let notes = proper(piece);
    let these = notes.iter().filter(|note| which(note)).count() as f64;
    let plain = |note: &&ExpectedNote| note.attack == Attack::Plucked && !which(note);
    let others = notes.iter().filter(plain).count() as f64;
    let error = one() * ((1.0 / these + 1.0 / others) / f64::from(attempts)).sqrt();
    shift_passed_at_least(apart / error)
}

/// The least share that passes of accents that lack `lacking` hundredths of a decibel of the
/// player's own, and may lack `half`.
pub fn accents_passed_at_least(piece: &Piece, half: f64, lacking: f64, attempts: u32) -> f64 {
    set_apart(piece, is_accent, lacking - half, attempts)
}

/// The same for slurs that are `below` hundredths of a decibel softer, and may be `half`.
pub fn slurs_passed_at_least(piece: &Piece, half: f64, below: f64, attempts: u32) -> f64 {
    set_apart(piece, |note| note.attack == Attack::Slurred, below - half, attempts)
}

/// What accents that are there may lack at most: all of the player's own.
pub fn whole_accent() -> f64 {
    f64::from(ACCENT.hundredths())
}
