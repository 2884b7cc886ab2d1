//! A trouble of a size, laid into a piece.

use evenhand_core::player::{ACCENT, Fault, Skill};
use evenhand_core::tolerance::Tolerances;
use evenhand_core::units::{Level, Offset};

use super::piece::Piece;
use super::places::{Places, stretch_of};
use super::shares::{elsewhere, landing_by, short_of, stretched, trill_covers};
use super::trouble::Trouble;
use crate::seeded::Seeded;

/// How an attempt is to be played.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The player.
    pub skill: Skill,
    /// What goes wrong.
    pub faults: Vec<Fault>,
    /// The one velocity of all notes, if there is only one.
    pub velocity: Option<u8>,
    /// How much slower than it is practised, in per mille of a beat's length.
    pub slower_per_mille: i16,
    /// Whether there is a click.
    pub click: bool,
}

impl Plan {
    /// A skilled player without faults. Plucked notes are softer than usual (velocity 64), so
    /// that notes can be louder than their neighbours by as much as the table asks.
    pub fn clean() -> Self {
        let skill = Skill { plucked: Level::from_hundredths(-1_200), ..Skill::SKILLED };
        Self { skill, faults: Vec::new(), velocity: None, slower_per_mille: 0, click: false }
    }

    /// With `trouble` of `size`, in per mille of the tolerance. `None` where the piece has no
    /// place for it.
    pub fn with(
        trouble: Trouble,
        size: u32,
        piece: &Piece,
        tolerances: &Tolerances,
        seeded: &mut Seeded,
    ) -> Option<Self> {
        let mut plan = Self::clean();
        let level = |limit: Level| {
            let hundredths = i64::from(limit.hundredths()) * i64::from(size) / 1_000;
            Level::from_hundredths(hundredths as i16)
        };
        let time = |limit: Offset| {
            Offset::from_micros((i64::from(limit.as_micros()) * i64::from(size) / 1_000) as i32)
        };
        let part = |limit: u16| (u32::from(limit) * size / 1_000) as u16;
        let softer = |level: Level| Level::from_hundredths(-level.hundredths());
        let place = Places { piece }.find(trouble, seeded)?;
        let note = place.note as u16;
        plan.click = trouble.has_click();
        if size == 0 {
            return Some(plan);
        }
        match trouble {
            Trouble::WeakSlurs => {
                plan.skill.slurs_below = level(tolerances.slur_below);
            }
            Trouble::Hesitation | Trouble::HesitationAtShift => {
                let lost = time(tolerances.hesitation.at(piece.gap(place.event)));
                plan.faults.push(Fault::Hesitation { note, lost });
            }
            Trouble::OffBeat | Trouble::OnsetOffClick => {
                let by = time(tolerances.single_note.at(piece.interval()));
                let by = if seeded.chance(0.5) { by } else { Offset::from_micros(-by.as_micros()) };
                plan.faults.push(Fault::OffBeat { note, by });
            }
            Trouble::Unsteady => {
                plan.skill.clock = Offset::ZERO;
                plan.skill.hands = time(tolerances.unsteadiness.at(piece.interval()));
            }
            Trouble::SlowingDown | Trouble::SpeedingUp => {
                let per_mille = part(tolerances.drift_per_mille) as i16;
                let slower = trouble == Trouble::SlowingDown;
                plan.faults.push(Fault::Drift(if slower { per_mille } else { -per_mille }));
            }
            Trouble::SpreadChord => {
                let by = time(piece.may_spread(note, tolerances.chord_spread));
                plan.faults.push(Fault::Spread { note, by });
            }
            Trouble::Uneven => plan.skill.loudness = level(tolerances.unevenness),
            Trouble::LoudNote => {
                plan.faults.push(Fault::Loud { note, by: level(tolerances.single_level) });
            }
            Trouble::SoftNote => {
                let by = softer(level(tolerances.single_level));
                plan.faults.push(Fault::Loud { note, by });
            }
            Trouble::WrongNote => {
                let semitones = [-2, -1, 1, 2][seeded.index(4)];
                plan.faults.push(Fault::Wrong { note, semitones });
            }
            Trouble::MissingNote => plan.faults.push(Fault::Missing(note)),
            Trouble::ExtraNote => {
                let semitones = [-3, -1, 1, 6][seeded.index(4)];
                plan.faults.push(Fault::Extra { after: note, semitones });
            }
            Trouble::SwappedNotes => plan.faults.push(Fault::Swapped(note)),
            Trouble::FixedVelocity => plan.velocity = Some(80),
            Trouble::ShortHeld => {
                let per_mille = short_of(tolerances.held_per_mille, size)?;
                plan.faults.push(Fault::Lasts { note, per_mille });
            }
            Trouble::LongStaccato => {
                // The next note on its string ends it.
                let per_mille = part(tolerances.staccato_per_mille).min(1_000);
                plan.faults.push(Fault::Lasts { note, per_mille });
            }
            Trouble::LateLanding | Trouble::SoonLanding => {
                let late = time(tolerances.hesitation.at(piece.gap_before_landing()));
                let by = landing_by(piece, late, trouble == Trouble::SoonLanding)?;
                let moved = piece.landing().map(|note| Fault::OffBeat { note: note as u16, by });
                plan.faults.extend(moved);
            }
            Trouble::SpreadLanding => {
                let by = time(piece.may_spread(note, tolerances.chord_spread));
                plan.faults.push(Fault::Spread { note, by });
            }
            Trouble::LandingMissing => plan.faults.push(Fault::Missing(note)),
            Trouble::LandingWrong => {
                let semitones = [-2, -1, 1, 2][seeded.index(4)];
                plan.faults.push(Fault::Wrong { note, semitones });
            }
            Trouble::Rushed | Trouble::Dragged => {
                let shown = i32::from(part(tolerances.drift_per_mille));
                let shown = if trouble == Trouble::Dragged { shown } else { -shown };
                let last = place.event + stretch_of(piece) - 1;
                let per_mille = stretched(piece, (place.event, last), shown);
                let to = piece.events()[last].start as u16;
                plan.faults.push(Fault::Stretch { from: note, to, per_mille });
            }
            Trouble::WeakAccents => {
                let lacking = i32::from(ACCENT.above(tolerances.accent_above).hundredths());
                let lacking = lacking * size as i32 / 1_000;
                let above = i32::from(ACCENT.hundredths()) - lacking;
                plan.faults.push(Fault::Accents(Level::from_hundredths(above as i16)));
            }
            Trouble::TrillStops => {
                let covers = short_of(tolerances.trill_cover_per_mille, size)?;
                let covers = trill_covers(piece, place.note, plan.skill, covers)?;
                plan.faults.push(Fault::TrillStops(covers));
            }
            Trouble::UnevenTrill => {
                plan.faults.push(Fault::UnevenTrill(part(tolerances.trill_unevenness_per_mille)));
            }
            Trouble::TrillRepeats => plan.faults.push(Fault::TrillRepeats(1)),
            Trouble::OtherStrings => {
                let share = part(tolerances.other_strings_per_mille);
                plan.faults.extend(elsewhere(piece, share, seeded)?);
            }
            Trouble::TempoOffClick => {
                let per_mille = part(tolerances.drift_per_mille) as i16;
                plan.slower_per_mille = if seeded.chance(0.5) { per_mille } else { -per_mille };
            }
        }
        Some(plan)
    }
}
