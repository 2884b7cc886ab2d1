//! Notes that nobody plays.

use super::super::{Chance, Performance, Sounded, velocity_of};
use super::{Artefacts, Transmission, channel_of, happens};
use crate::notes::level_of;
use crate::units::{GuitarString, Velocity};

/// Begins a note once more: soon and as strong, or a little later and weak.
pub(super) fn double_trigger(
    artefacts: &Artefacts,
    channel: u8,
    key: u8,
    velocity: u8,
    at: i32,
    chance: &mut Chance,
    sent: &mut Transmission,
) {
    let soon = chance.below(2) == 0;
    let later = if soon { 12_000 + chance.below(26_000) } else { 40_000 + chance.below(18_000) };
    let percent = if soon { 60 + chance.below(40) } else { 25 + chance.below(34) };
    let weaker = (u32::from(velocity) * percent / 100).max(1) as u8;
    let again = artefacts.fixed_velocity.map_or(weaker, Velocity::value);
    let at = at + later as i32;
    sent.send(at - 500, [0x80 | channel, key, 64]);
    sent.send(at, [0x90 | channel, key, again]);
}

/// Begins a note once more that sounds, later and weaker, if it lasts until then.
pub(super) fn late_double(
    artefacts: &Artefacts,
    channel: u8,
    (key, velocity): (u8, u8),
    (at, end): (i32, i32),
    chance: &mut Chance,
    sent: &mut Transmission,
) {
    /// Half of them came so much later, and so much as strong, in per cent (measured; 0.38 to 0.41 s and 67
    /// to 80 at the good setting, 0.02 to 0.40 s and 69 to 98 at the middling one).
    const LATER: (u32, u32) = (300_000, 120_000);
    const AS_STRONG: (u32, u32) = (62, 24);
    let later = at + (LATER.0 + chance.below(LATER.1)) as i32;
    let percent = AS_STRONG.0 + chance.below(AS_STRONG.1);
    if later + 20_000 > end {
        return;
    }
    let weaker = (u32::from(velocity) * percent / 100).max(1) as u8;
    let again = artefacts.fixed_velocity.map_or(weaker, Velocity::value);
    sent.send(later - 500, [0x80 | channel, key, 64]);
    sent.send(later, [0x90 | channel, key, again]);
}

/// A weak note after another has ended: its own pitch, or its open string's or a neighbour's.
pub(super) fn trailing(
    artefacts: &Artefacts,
    channel: u8,
    note: &Sounded,
    end: i32,
    room: i32,
    chance: &mut Chance,
    sent: &mut Transmission,
) {
    /// Shorter is not sent.
    const SHORTEST: i32 = 15_000;
    let below = if chance.below(5) < 4 { 0 } else { 1 + chance.below(8) as i8 };
    let at = end + 1_000 + chance.below(40_000) as i32;
    let lasts = (20_000 + chance.below(60_000) as i32).min(room.saturating_sub(at - end));
    let Some(pitch) = note.pitch.transposed(-below) else { return };
    if lasts < SHORTEST {
        return;
    }
    // Half of them were between 25 and 35 per cent (measured).
    let percent = 21 + chance.below(18);
    let velocity = share_of(artefacts, note, percent, note.string);
    sent.send(at, [0x90 | channel, pitch.number(), velocity]);
    sent.send(at + lasts, [0x80 | channel, pitch.number(), 64]);
}

/// A weak note on another string around the attack of this one.
pub(super) fn ghost(
    artefacts: &Artefacts,
    performance: &Performance,
    note: &Sounded,
    chance: &mut Chance,
    sent: &mut Transmission,
) {
    /// How far from the note it comes, at most, in microseconds.
    const AROUND: u32 = 40_000;
    if !happens(artefacts.ghosts, chance) {
        return;
    }
    let Some(string) = GuitarString::new(1 + chance.below(6) as u8) else { return };
    let partial = chance.below(2) == 0;
    let above = if partial {
        [12, 19, 24].get(chance.below(3) as usize).copied().unwrap_or(12)
    } else {
        5 + chance.below(20) as i8
    };
    let lasts =
        (if partial { 40_000 + chance.below(60_000) } else { 15_000 + chance.below(30_000) })
            as i32;
    let latency = artefacts.pickup.latency.of(note.pitch).as_micros();
    let at = note.at.as_micros() + latency + chance.below(AROUND) as i32;
    let percent = 10 + chance.below(22);
    if Some(string) == note.string || sounds(performance, string, at - latency, lasts) {
        return;
    }
    let Some(pitch) = note.pitch.transposed(above) else { return };
    let channel = channel_of(artefacts, Some(string));
    let velocity = share_of(artefacts, note, percent, Some(string));
    sent.send(at, [0x90 | channel, pitch.number(), velocity]);
    sent.send(at + lasts, [0x80 | channel, pitch.number(), 64]);
}

/// Whether a string sounds, or is plucked, around that time: its own tone drowns the noise.
fn sounds(performance: &Performance, string: GuitarString, at: i32, lasts: i32) -> bool {
    /// A little more than latencies differ.
    const MARGIN: i32 = 30_000;
    performance.notes().iter().filter(|note| note.string == Some(string)).any(|note| {
        let from = note.at.as_micros() - MARGIN;
        let to = note.at.as_micros().saturating_add(note.lasts.as_micros()) + MARGIN;
        from < at + lasts && at < to
    })
}

/// A velocity that is a share of a note's, as it arrives from a string.
fn share_of(
    artefacts: &Artefacts,
    note: &Sounded,
    percent: u32,
    string: Option<GuitarString>,
) -> u8 {
    if let Some(fixed) = artefacts.fixed_velocity {
        return fixed.value();
    }
    let share = (u32::from(note.velocity.value()) * percent / 100).clamp(1, 127) as u8;
    let louder = i32::from(artefacts.pickup.string_level(string).hundredths());
    let level = Velocity::new(share).map(|share| i32::from(level_of(share).hundredths()) + louder);
    level.and_then(velocity_of).map_or(1, Velocity::value)
}
