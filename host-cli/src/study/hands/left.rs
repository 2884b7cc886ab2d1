//! The left hand: reach, fingers that cross, barres and shifts that contradict the frets.

use super::Pressed;
use super::neck::{Neck, number, reach};
use super::strain::Strain;
use crate::study::model::{LeftFinger, Shift};
use crate::study::position::Position;

/// What is pressed at the same time.
pub(super) fn together(pressed: &[Pressed], neck: Neck) -> Vec<Strain> {
    let mut strains = Vec::new();
    let mut widest: Option<(f64, f64)> = None;
    for (index, one) in pressed.iter().enumerate() {
        for other in &pressed[index + 1..] {
            strains.extend(two(one, other));
            let (Some(most), apart) =
                (reach(one.finger, other.finger), neck.apart(one.fret, other.fret))
            else {
                continue;
            };
            if apart > most && widest.is_none_or(|(widest, _)| apart > widest) {
                widest = Some((apart, most));
            }
        }
    }
    // Where fingers stand where they cannot, how far they are apart says nothing more.
    if strains.is_empty() {
        strains.extend(widest.map(|(apart, most)| Strain::Reach {
            apart: millimetres(apart),
            most: millimetres(most),
        }));
    }
    strains
}

fn two(one: &Pressed, other: &Pressed) -> Option<Strain> {
    let (a, b) = (one.finger?, other.finger?);
    if a == b {
        if one.fret != other.fret {
            return Some(Strain::TwoFrets(a));
        }
        return (!one.barre && !other.barre).then_some(Strain::TwoStrings(a, one.fret));
    }
    let (near, far) = if number(a)? < number(b)? { (one, other) } else { (other, one) };
    let (first, second) = (near.finger?, far.finger?);
    (near.fret > far.fret).then_some(Strain::Crossed(first, second))
}

/// What is pressed below a barre.
pub(super) fn below(barre: Position, pressed: &[Pressed]) -> Option<Strain> {
    let below = pressed.iter().find(|one| one.fret < barre.fret())?;
    Some(Strain::BelowBarre(barre, below.fret))
}

/// A shift whose position is not where the finger is. A hand covers a fret more on either side.
pub(super) fn position(shift: Shift, finger: LeftFinger, fret: u8) -> Option<Strain> {
    let named = shift.to?;
    // The first finger stands where the position is counted.
    let stands = i16::from(fret) - i16::from(number(finger)? - 1);
    let off = stands - i16::from(named.fret());
    (off.abs() > 1).then_some(Strain::NotThere { named, finger, fret })
}

/// A slur or a trill between these frets.
pub(super) fn slur(from: u8, to: u8, neck: Neck) -> Option<Strain> {
    // From or to the open string no finger waits at the other end.
    if from == 0 || to == 0 {
        return None;
    }
    let apart = neck.apart(from, to);
    let most = reach(None, None)?;
    (apart > most).then_some(Strain::SlurReach(millimetres(apart)))
}

fn millimetres(apart: f64) -> u16 {
    // A neck is shorter than a metre.
    apart.round().clamp(0.0, 2_000.0) as u16
}
