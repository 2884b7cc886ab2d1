//! Trills of the simulated player.

use super::{Chance, Performance, Plan, RELEASE, Skill, Sounded, velocity_of};
use crate::study::Attack;
use crate::units::{GuitarString, Offset, Pitch};

/// A trill that is to be played.
pub(super) struct Trill {
    from: i32,
    lasts: i32,
    pitches: (Pitch, Pitch),
    /// From note to note.
    pub(super) interval: i32,
    /// How much of its length it is played, in per mille.
    pub(super) covers: i32,
    /// How many of its notes have the pitch of their predecessor: every other one, until so many.
    pub(super) repeats: u16,
    /// By how much intervals are longer and shorter in turn, in per mille.
    pub(super) uneven: i32,
}

impl Trill {
    pub(super) fn new(plan: &Plan, pitches: (Pitch, Pitch), skill: Skill) -> Self {
        Self {
            from: plan.at,
            lasts: plan.lasts,
            pitches,
            interval: (100_000_000 / skill.trill_rate.max(100)) as i32,
            covers: 1_000,
            repeats: 0,
            uneven: 0,
        }
    }
}

impl Performance {
    /// All notes of a trill after its first.
    pub(super) fn trill(
        &mut self,
        trill: &Trill,
        string: Option<GuitarString>,
        skill: Skill,
        chance: &mut Chance,
    ) {
        let lasts = (i64::from(trill.lasts) * i64::from(trill.covers) / 1_000) as i32;
        let mut at = trill.from;
        let mut upper = true;
        let mut repeats = trill.repeats;
        for count in 1_u32.. {
            let bent = trill.interval * trill.uneven / 1_000;
            let longer = if count.is_multiple_of(2) { bent } else { -bent };
            at += trill.interval + longer + chance.normal(skill.hands.as_micros());
            if at - trill.from > lasts - trill.interval {
                return;
            }
            if repeats > 0 && count.is_multiple_of(2) {
                upper = !upper;
                repeats -= 1;
            }
            let level = i32::from(skill.plucked.hundredths())
                - i32::from(skill.slurs_below.hundredths())
                + chance.normal(skill.loudness.hundredths().into());
            let pitch = if upper { trill.pitches.1 } else { trill.pitches.0 };
            self.add(velocity_of(level).map(|velocity| Sounded {
                at: Offset::from_micros(at),
                lasts: Offset::from_micros(trill.interval - RELEASE),
                pitch,
                velocity,
                string,
                attack: Attack::Slurred,
                meant: None,
            }));
            upper = !upper;
        }
    }
}
