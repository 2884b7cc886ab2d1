//! Faults of known kind and size.

use super::trill::Trill;
use super::{ACCENT, PLUCKED, Plan, Sounded, velocity_of};
use crate::study::{Attack, Chunk, ExpectedNote, Marks};
use crate::units::{GuitarString, Level, Offset, Tempo, Ticks};

/// Something the simulated player does wrong. Notes are named by their index in the chunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Fault {
    /// All slurred notes are softer by this.
    WeakSlurs(Level),
    /// Time is lost before this note, and not made up for.
    Hesitation {
        /// The note.
        note: u16,
        /// The time.
        lost: Offset,
    },
    /// This note alone is late (early, if negative).
    OffBeat {
        /// The note.
        note: u16,
        /// How late.
        by: Offset,
    },
    /// This note is another one.
    Wrong {
        /// The note.
        note: u16,
        /// How many semitones higher.
        semitones: i8,
    },
    /// This note does not sound.
    Missing(u16),
    /// A note that is not written, half-way between this note and the next event.
    Extra {
        /// The note before it.
        after: u16,
        /// How many semitones above that note.
        semitones: i8,
    },
    /// This note and the next event's first note change places.
    Swapped(u16),
    /// The chord that this note belongs to is spread.
    Spread {
        /// A note of the chord.
        note: u16,
        /// From its first to its last note.
        by: Offset,
    },
    /// The tempo changes steadily, by this many per mille of a beat's length from the start
    /// to the end; negative gets faster.
    Drift(i16),
    /// From one note to another the tempo is slower by this many per mille of a beat's length
    /// (faster, if negative); what comes after keeps its tempo and is moved.
    Stretch {
        /// The first note of the stretch.
        from: u16,
        /// Its last note.
        to: u16,
        /// How much slower.
        per_mille: i16,
    },
    /// This note sounds for so many per mille of its written length.
    Lasts {
        /// The note.
        note: u16,
        /// How long.
        per_mille: u16,
    },
    /// Every note without a mark sounds for so many per mille of its written length.
    Detached(u16),
    /// All accents stand out by this.
    Accents(Level),
    /// This note is played on another string.
    OtherString {
        /// The note.
        note: u16,
        /// The string.
        string: GuitarString,
    },
    /// Trills fill so many per mille of their written length.
    TrillStops(u16),
    /// In each trill so many notes have the pitch of their predecessor.
    TrillRepeats(u16),
    /// The intervals of trills are longer and shorter in turn by so many per mille.
    UnevenTrill(u16),
    /// This note is louder (softer, if negative).
    Loud {
        /// The note.
        note: u16,
        /// How much.
        by: Level,
    },
}

impl Fault {
    pub(super) fn change(
        &self,
        plan: &mut Plan,
        chunk: &Chunk<'_>,
        wanted: &ExpectedNote,
        tempo: Tempo,
    ) {
        match *self {
            Self::WeakSlurs(by) if wanted.attack == Attack::Slurred => {
                plan.level -= i32::from(by.hundredths());
            }
            Self::Hesitation { note, lost } if plan.index >= note => {
                plan.at += lost.as_micros();
            }
            Self::OffBeat { note, by } if plan.index == note => plan.at += by.as_micros(),
            Self::Wrong { note, semitones } if plan.index == note => {
                plan.pitch += i16::from(semitones);
            }
            Self::Missing(note) if plan.index == note => plan.sounds = false,
            Self::Swapped(note) => plan.at += swap(plan.index, note, chunk, tempo),
            Self::Spread { note, by } => plan.at += spread(plan.index, note, chunk, by),
            Self::Drift(per_mille) => {
                plan.at += bend(wanted.onset, chunk, tempo, i64::from(per_mille));
            }
            Self::Loud { note, by } if plan.index == note => {
                plan.level += i32::from(by.hundredths());
            }
            Self::Stretch { from, to, per_mille } => {
                plan.at += stretch(wanted.onset, (from, to), chunk, tempo, per_mille);
            }
            Self::Lasts { note, per_mille } if plan.index == note => {
                plan.lasts = part(tempo.lasting(wanted.duration), per_mille);
            }
            Self::Detached(per_mille) if wanted.marks == Marks::NONE => {
                plan.lasts = part(tempo.lasting(wanted.duration), per_mille);
            }
            Self::Accents(by) if wanted.marks.has(Marks::ACCENT) => {
                plan.level += i32::from(by.above(ACCENT).hundredths());
            }
            Self::OtherString { note, string } if plan.index == note => {
                plan.string = Some(string);
            }
            _ => {}
        }
    }

    pub(super) fn change_trill(&self, trill: &mut Trill) {
        match *self {
            Self::TrillStops(per_mille) => trill.covers = i32::from(per_mille),
            Self::TrillRepeats(notes) => trill.repeats = notes,
            Self::UnevenTrill(per_mille) => trill.uneven = i32::from(per_mille),
            _ => {}
        }
    }

    /// The note that this fault adds.
    pub(super) fn extra(&self, chunk: &Chunk<'_>, tempo: Tempo) -> Option<Sounded> {
        let Self::Extra { after, semitones } = *self else {
            return None;
        };
        let before = chunk.notes().get(usize::from(after))?;
        let next = next_event(after, chunk).map_or(before.onset.plus(before.duration), |n| n.onset);
        let half = Ticks::new((before.onset.get() + next.get()) / 2);
        Some(Sounded {
            at: tempo.lasting(half),
            lasts: Offset::from_millis(60),
            pitch: before.pitch.transposed(semitones)?,
            velocity: velocity_of(PLUCKED.hundredths().into())?,
            string: before.string,
            attack: Attack::Plucked,
            meant: None,
        })
    }
}

/// The first note of the event after the one that holds `note`.
fn next_event<'a>(note: u16, chunk: &Chunk<'a>) -> Option<&'a ExpectedNote> {
    let onset = chunk.notes().get(usize::from(note))?.onset;
    chunk.notes().iter().find(|later| later.onset > onset)
}

/// How far note `index` moves if `note` changes places with the next event's first note.
fn swap(index: u16, note: u16, chunk: &Chunk<'_>, tempo: Tempo) -> i32 {
    let Some(first) = chunk.notes().get(usize::from(note)) else {
        return 0;
    };
    let Some(second) = next_event(note, chunk) else {
        return 0;
    };
    let apart = tempo.lasting(second.onset.since(first.onset)).as_micros();
    let is_second =
        chunk.notes().get(usize::from(index)).is_some_and(|wanted| core::ptr::eq(wanted, second));
    match (index == note, is_second) {
        (true, _) => apart,
        (_, true) => -apart,
        _ => 0,
    }
}

/// How much later note `index` comes if the chord that holds `note` is spread.
fn spread(index: u16, note: u16, chunk: &Chunk<'_>, by: Offset) -> i32 {
    let notes = chunk.notes();
    let onset = |note: u16| notes.get(usize::from(note)).map(|note| note.onset);
    if onset(index).is_none() || onset(index) != onset(note) {
        return 0;
    }
    let together = notes.iter().filter(|other| Some(other.onset) == onset(note)).count() as i32;
    let first = notes.iter().position(|other| Some(other.onset) == onset(note)).unwrap_or(0) as i32;
    by.as_micros() / (together - 1).max(1) * (i32::from(index) - first)
}

/// So many per mille of a time.
fn part(time: Offset, per_mille: u16) -> i32 {
    (i64::from(time.as_micros()) * i64::from(per_mille) / 1_000) as i32
}

/// How far an onset is moved by a stretch: by its share of what is inside and before it.
fn stretch(
    onset: Ticks,
    (from, to): (u16, u16),
    chunk: &Chunk<'_>,
    tempo: Tempo,
    per_mille: i16,
) -> i32 {
    let at = |note: u16| chunk.notes().get(usize::from(note)).map(|note| note.onset);
    let (Some(from), Some(to)) = (at(from), at(to)) else {
        return 0;
    };
    let inside = tempo.lasting(onset.min(to).since(from)).as_micros();
    (i64::from(inside) * i64::from(per_mille) / 1_000) as i32
}

/// How far an onset is moved by a steady drift: the pace goes from 1 − d/2 to 1 + d/2 of
/// itself, which moves the share x of the whole by (x² − x) · d / 2.
fn bend(onset: Ticks, chunk: &Chunk<'_>, tempo: Tempo, per_mille: i64) -> i32 {
    let end = chunk.notes().last().map_or(Ticks::ZERO, |note| note.onset);
    let length = i64::from(tempo.lasting(end).as_micros()).max(1);
    let at = i64::from(tempo.lasting(onset).as_micros());
    ((at * at / length - at) * per_mille / 2_000) as i32
}
