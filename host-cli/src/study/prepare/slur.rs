//! Where a slurred note comes from: up is a hammer-on, down a pull-off.

use super::Slur;
use super::playable::Sounding;
use std::cmp::Ordering;

/// What sounded before a slurred note in its voice.
pub(super) struct Before<'a> {
    /// The last note on the same string since the last rest.
    pub(super) same_string: Option<&'a Sounding>,
    /// The notes directly before; none after a rest.
    pub(super) last: &'a [Sounding],
}

/// Why a note cannot be slurred.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NoSlur {
    /// Nothing sounds that it could come from.
    FromNothing,
    /// It would come from the same pitch.
    FromItself,
}

impl NoSlur {
    /// What was found, after the note itself.
    pub(super) fn found(self, to: &Sounding) -> String {
        let on = match to.note.string {
            Some(string) => format!(" on string {}", string.number()),
            None => String::new(),
        };
        match self {
            Self::FromNothing => format!("with no note before it{on} in this voice"),
            Self::FromItself => format!("with the same note before it{on}"),
        }
    }

    /// What would be right.
    pub(super) const fn right(self) -> &'static str {
        match self {
            Self::FromNothing => {
                "a note on the same string before it, without a rest between, or no ^,"
            }
            Self::FromItself => "another note before it, or no ^,",
        }
    }
}

/// The direction of the slur to `to`.
pub(super) fn direction(before: &Before<'_>, to: &Sounding) -> Result<Slur, NoSlur> {
    // On a known string the slur comes from that string. Where one of the two notes is
    // written as a pitch alone, it comes from the nearest of the notes directly before.
    let open_question = |s: &&Sounding| to.note.string.is_none() || s.note.string.is_none();
    let distance = |s: &&Sounding| s.note.pitch.semitones_above(to.note.pitch).unsigned_abs();
    let by_pitch = || {
        let others = before.last.iter().filter(open_question);
        others
            .filter(|s| distance(s) > 0)
            .min_by_key(distance)
            .or_else(|| before.last.iter().find(open_question))
    };
    let from = before.same_string.or_else(by_pitch).ok_or(NoSlur::FromNothing)?;
    match to.note.pitch.cmp(&from.note.pitch) {
        Ordering::Greater => Ok(Slur::HammerOn),
        Ordering::Less => Ok(Slur::PullOff),
        Ordering::Equal => Err(NoSlur::FromItself),
    }
}
