//! The notes of one attempt, as they were played.

mod hearing;
mod of_one_stroke;

use crate::notes::NoteEvent;
use crate::pickup::{Latency, Pickup};
use crate::units::{GuitarString, Instant, Offset, Pitch, Span, Velocity};
use crate::zeroed_option::ZeroedOption;
use heapless::{Vec, VecView};
use hearing::Hearing;
pub use of_one_stroke::{AFTER_THE_END, TRAILING_ABOVE, TRAILING_PERCENT, is_interruption};
use of_one_stroke::{AT_ONE_MOMENT, is_same_stroke, trails};

/// How a played note began.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Onset {
    /// The pickup sent a note.
    #[default]
    Struck,
    /// The pickup sent a weak note, lower or hardly higher, right after the last one of its
    /// string ended: a pull-off, or what a lifted finger leaves.
    Trailing,
    /// The pickup sent another pitch on the same string at once: it changed its mind. Or it left a note for
    /// a moment, too short for a hand, and came back to it.
    Corrected,
    /// A sounding note was bent to another semitone.
    Bent,
    /// The pickup sent the note that sounds on its string once more, at once: see
    /// [`PlayedNote::is_begun_again`].
    Again,
    /// Another string sounds the same pitch much more strongly, from the same moment on: that one was
    /// heard through this one.
    Crosstalk,
}

/// One played note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PlayedNote {
    /// When it began, from the first note of the attempt; the pickup's latency is taken off.
    pub at: Offset,
    /// How long it sounded; `None` while it does.
    pub lasted: Option<Span>,
    /// Its sounding pitch.
    pub pitch: Pitch,
    /// How hard it was struck, where that was heard.
    pub velocity: Option<Velocity>,
    /// Its string, where the channel tells.
    pub string: Option<GuitarString>,
    /// How it began.
    pub onset: Onset,
}

impl PlayedNote {
    /// A note that the pickup sent, still sounding, on no string that is known.
    pub const fn struck(at: Offset, pitch: Pitch, velocity: Velocity) -> Self {
        Self {
            at,
            lasted: None,
            pitch,
            velocity: Some(velocity),
            string: None,
            onset: Onset::Struck,
        }
    }

    /// Whether it is a bend to another semitone.
    pub fn is_bent(&self) -> bool {
        self.onset == Onset::Bent
    }

    /// Whether a finger struck it, as far as the pickup says.
    pub fn is_struck(&self) -> bool {
        matches!(self.onset, Onset::Struck | Onset::Trailing | Onset::Corrected | Onset::Crosstalk)
    }

    /// Whether it is nobody's unless an expected note accounts for it: no finger struck it, or
    /// the finger that did has another note already.
    pub fn is_noise(&self) -> bool {
        !self.is_struck() || matches!(self.onset, Onset::Corrected | Onset::Crosstalk)
    }

    /// Whether it is nothing on any other string than its own: what a finger left there, or what
    /// another string's note left.
    pub fn is_nothing_elsewhere(&self) -> bool {
        matches!(self.onset, Onset::Trailing | Onset::Crosstalk)
    }

    /// Whether this is `before` begun once more by the converter: the same pitch, and no stronger (the
    /// first being 60 % of it at least); on the same string within [`TWICE`], where strings are not
    /// known within 40 ms, or within [`TWICE`] if weaker than 60 % of it (or of the very same velocity),
    /// since two strings may sound one pitch. Our defaults; no hand repeats a note so soon (one hand
    /// taps 10 times a second at most; Fujii 2009).
    pub fn is_begun_again(&self, before: &Self) -> bool {
        let other_string = matches!((before.string, self.string), (Some(a), Some(b)) if a != b);
        if before.pitch != self.pitch || other_string || self.is_bent() || before.is_bent() {
            return false;
        }
        // Where the pickup sends one velocity for all, weakness cannot be told.
        let same = self.velocity == before.velocity;
        if before.is_weaker(self, 60) == Some(true) {
            // What came before was noise; this is the note.
            return false;
        }
        let apart = self.at.as_micros().saturating_sub(before.at.as_micros());
        let same_string = before.string.is_some() && before.string == self.string;
        let surely = same_string || same || self.is_weaker(before, 60) == Some(true);
        let within = if surely { TWICE } else { TWICE_ANYWHERE };
        (TOGETHER..=within.as_micros()).contains(&apart)
    }

    /// Whether its velocity is below `percent` of another's; `None` where one was not heard.
    pub fn is_weaker(&self, than: &Self, percent: u8) -> Option<bool> {
        let (own, other) = (u16::from(self.velocity?.value()), u16::from(than.velocity?.value()));
        Some(own * 100 < other * u16::from(percent))
    }
}

/// What of a pickup matters when a note arrives.
#[derive(Clone, Copy, Debug)]
struct Arrival {
    latency: Latency,
    noise_percent: u8,
    fixed_velocity: bool,
}

impl Arrival {
    const UNKNOWN: Self = Self::of(&Pickup::UNKNOWN);

    const fn of(pickup: &Pickup) -> Self {
        let Pickup { latency, noise_percent, fixed_velocity, .. } = *pickup;
        Self { latency, noise_percent, fixed_velocity }
    }
}

/// What comes closer together than this, in microseconds, came at one time: bytes that were poured
/// in from a file say nothing about strokes, and no converter is so quick. Our default; two notes
/// take 0.64 ms on a MIDI line (IEC 63035).
const TOGETHER: i32 = 1_000;

/// A string that begins two notes within this time was plucked once, and the converter changed
/// its mind about the pitch. Our default; it is far below what a hand can do (one hand taps 10
/// times a second at most; Fujii 2009).
pub const SAME_STROKE: Offset = Offset::from_millis(25);

/// A string that begins a pitch again within this time was struck once, and the converter told it
/// twice. Our default: far below the 100 ms that the fastest hand takes (10 strokes a second; Fujii 2009),
/// and as far as converters were seen to double.
pub const TWICE: Offset = Offset::from_millis(60);

/// The same where it is not known whether it was one string. Our default.
const TWICE_ANYWHERE: Offset = Offset::from_millis(40);

/// Played notes in order of arrival.
///
/// Arrival never steps back: a note that comes with an earlier time than its predecessor's is
/// taken to have come with it. Times of [`PlayedNote::at`] may step back a little, since low
/// notes arrive later than high ones of the same moment (see [`Pickup::latency`]), by no more
/// than [`Latency::MOST`](crate::pickup::Latency::MOST) and a [`SAME_STROKE`].
///
/// Where a string begins another pitch within [`SAME_STROKE`], the later note has the time of
/// the earlier one: it is the same stroke. A bend that follows so soon has its velocity, too.
/// A note that is begun again goes on sounding, and so does one that is bent: whether the bend is
/// a note of its own is not known here.
///
/// In its place the notes have a capacity; what works with it has a view.
#[derive(Clone, Debug)]
pub(crate) struct Attempt<V: ?Sized = VecView<PlayedNote>> {
    arrival: ZeroedOption<Arrival>,
    start: Option<Instant>,
    latest: Instant,
    /// When the last struck note of each string came, even if its stroke was earlier.
    begun: [Offset; GuitarString::MOST as usize],
    beyond: u32,
    forgotten: u32,
    hearing: Hearing,
    notes: V,
}

impl<const PLAYED: usize> Attempt<Vec<PlayedNote, PLAYED>> {
    /// No notes yet, from a pickup about which nothing is known.
    pub(crate) const fn new() -> Self {
        Self {
            arrival: ZeroedOption::Nothing,
            start: None,
            latest: Instant::ZERO,
            begun: [Offset::ZERO; GuitarString::MOST as usize],
            beyond: 0,
            forgotten: 0,
            hearing: Hearing::NONE,
            notes: Vec::new(),
        }
    }
}

impl Attempt {
    /// Forgets everything; what comes is from this pickup. In place.
    pub(crate) fn begin(&mut self, pickup: &Pickup) {
        self.arrival.put(Arrival::of(pickup));
        self.start = None;
        self.latest = Instant::ZERO;
        self.begun = [Offset::ZERO; GuitarString::MOST as usize];
        self.notes.clear();
        (self.beyond, self.forgotten) = (0, 0);
    }

    /// Takes a note event that came at `now`. Gives the note that began, if one did and
    /// there was room for it.
    pub(crate) fn take(&mut self, event: NoteEvent, now: Instant) -> Option<PlayedNote> {
        let now = if now < self.latest { self.latest } else { now };
        match event {
            NoteEvent::Begun { pitch, velocity, string } => {
                if string.is_some() {
                    // A string sounds one note at a time.
                    self.end(now, string, None);
                }
                let velocity = (!self.arrival().fixed_velocity).then_some(velocity);
                self.add(now, pitch, velocity, string, Onset::Struck)
            }
            NoteEvent::Bent { pitch, string, .. } => {
                self.add(now, pitch, None, string, Onset::Bent)
            }
            NoteEvent::Ended { pitch, string } => {
                self.end(now, string, Some(pitch));
                None
            }
            NoteEvent::AllEnded { string } => {
                let start = self.start?;
                let latency = self.arrival().latency;
                for note in self.notes.iter_mut().filter(|note| {
                    note.lasted.is_none() && (string.is_none() || note.string == string)
                }) {
                    note.lasted = Some(lasted(note, now.since(start), latency.of(note.pitch)));
                }
                None
            }
        }
    }

    fn add(
        &mut self,
        now: Instant,
        pitch: Pitch,
        velocity: Option<Velocity>,
        string: Option<GuitarString>,
        onset: Onset,
    ) -> Option<PlayedNote> {
        let latency = self.arrival().latency.of(pitch);
        let played = now.plus(Offset::from_micros(-latency.as_micros()));
        let start = *self.start.get_or_insert(played);
        self.latest = now;
        let mut note =
            PlayedNote { at: played.since(start), lasted: None, pitch, velocity, string, onset };
        let slot = string.map_or(0, |string| usize::from(string.number()).saturating_sub(1));
        let begun = self.begun.get(slot).copied().unwrap_or(note.at);
        if let Some(begun) = self.begun.get_mut(slot)
            && onset == Onset::Struck
        {
            *begun = note.at;
        }
        let arrived = now.since(start).as_micros();
        let latency = self.arrival().latency;
        let bent_from = self.bent_from(&note);
        match self.before(&note) {
            Some(before) if note.is_begun_again(&PlayedNote { at: begun, ..*before }) => {
                before.lasted = None;
                note.lasted = Some(Span::ZERO);
                note.onset = Onset::Again;
            }
            Some(before)
                if is_same_stroke(before, &note)
                    && (note.is_bent()
                        || arrived - begun.as_micros() - latency.of(before.pitch).as_micros()
                            >= TOGETHER) =>
            {
                note.at = before.at;
                note.velocity = note.velocity.or(before.velocity);
                if onset == Onset::Struck {
                    note.onset = Onset::Corrected;
                }
            }
            Some(before) if trails(before, bent_from, &note) => note.onset = Onset::Trailing,
            _ => {}
        }
        self.tell_interruption(&mut note);
        self.tell_crosstalk(&mut note, Offset::from_micros(arrived));
        self.hearing.count(&note);
        if self.notes.push(note).is_err() {
            self.beyond = self.beyond.saturating_add(1);
            return None;
        }
        Some(note)
    }

    /// Marks a pitch that stood for a moment in a note that goes on, and the note that goes on.
    fn tell_interruption(&mut self, note: &mut PlayedNote) {
        if note.onset == Onset::Again || !note.is_struck() {
            return;
        }
        let mut on_string = self
            .notes
            .iter_mut()
            .rev()
            .take(LOOK_BACK)
            .filter(|before| before.string == note.string && before.onset != Onset::Again);
        let Some(moment) = on_string.next().filter(|moment| moment.is_struck()) else { return };
        let lasted = note.at.as_micros().saturating_sub(moment.at.as_micros());
        if !is_interruption(note.pitch, moment.pitch, lasted) {
            return;
        }
        // Where strings are not known, other notes may have come between, and another string may have
        // sounded that moment: not if it ended here.
        let is_known = note.string.is_some();
        let ends_here = moment.lasted.is_some_and(|own| {
            lasted.saturating_sub(own.as_micros()) <= AT_ONE_MOMENT && lasted >= own.as_micros()
        });
        let before = on_string.find(|before| is_known || before.pitch == note.pitch);
        let Some(before) = before.filter(|_| is_known || ends_here) else { return };
        let end = before.lasted.map_or(i32::MAX, Span::as_micros);
        let since = moment.at.as_micros().saturating_sub(before.at.as_micros());
        // An octave may be another string's; not so where both are left over of the note.
        let is_partial = moment.pitch.semitones_above(note.pitch).unsigned_abs() >= 12;
        let is_weak = note.is_weaker(before, TRAILING_PERCENT) == Some(true)
            && moment.is_weaker(before, TRAILING_PERCENT) == Some(true);
        if !before.is_bent()
            && note.pitch == before.pitch
            && since.saturating_sub(end) <= AFTER_THE_END.as_micros()
            && (is_known || !is_partial || is_weak)
        {
            if moment.onset == Onset::Struck {
                self.hearing.count_late();
            }
            (moment.onset, note.onset) = (Onset::Corrected, Onset::Corrected);
        }
    }

    /// Marks what is heard of a string through another one: this note, or those before it.
    fn tell_crosstalk(&mut self, note: &mut PlayedNote, arrived: Offset) {
        if note.onset != Onset::Struck {
            return;
        }
        let latency = self.arrival().latency.of(note.pitch).as_micros();
        let percent = self.arrival().noise_percent;
        let near = self.notes.iter_mut().rev().take(LOOK_BACK).take_while(|other| {
            arrived.as_micros().saturating_sub(other.at.as_micros())
                <= AT_ONE_MOMENT + 2 * Latency::MOST.as_micros()
        });
        for other in near.filter(|other| other.pitch == note.pitch) {
            let apart = (arrived.as_micros() - latency).saturating_sub(other.at.as_micros());
            let same_string = note.string.is_some() && note.string == other.string;
            if same_string || apart > AT_ONE_MOMENT {
                continue;
            }
            if note.is_weaker(other, percent) == Some(true) && other.onset != Onset::Crosstalk {
                note.onset = Onset::Crosstalk;
            } else if other.onset == Onset::Struck && other.is_weaker(note, percent) == Some(true) {
                other.onset = Onset::Crosstalk;
                self.hearing.count_late();
            }
        }
    }

    /// Of a note that follows a bend: how hard the note was struck that was bent.
    fn bent_from(&mut self, note: &PlayedNote) -> Option<Velocity> {
        if !self.before(note)?.is_bent() {
            return None;
        }
        let mut back = self.notes.iter().rev().take(LOOK_BACK);
        back.find(|before| before.string == note.string && !before.is_bent())?.velocity
    }

    /// The note before on the same string, where strings are known; notes begun again do not
    /// count.
    fn before(&mut self, note: &PlayedNote) -> Option<&mut PlayedNote> {
        note.string?;
        let back = self.notes.iter_mut().rev().take(LOOK_BACK);
        back.filter(|before| before.onset != Onset::Again)
            .find(|before| before.string == note.string)
    }

    /// What is taken off notes when they arrive.
    const fn arrival(&self) -> &Arrival {
        self.arrival.or(&Arrival::UNKNOWN)
    }

    /// How many notes there is room for.
    pub(crate) fn capacity(&self) -> usize {
        self.notes.capacity()
    }

    /// How well the pickup is heard.
    pub(crate) const fn hearing(&self) -> &Hearing {
        &self.hearing
    }

    /// The notes, in order of arrival.
    pub(crate) fn notes(&self) -> &[PlayedNote] {
        &self.notes
    }

    /// When the first note began.
    pub(crate) const fn start(&self) -> Option<Instant> {
        self.start
    }

    /// Notes that found no room.
    pub(crate) const fn beyond(&self) -> u32 {
        self.beyond
    }

    /// How many notes came before the first of [`notes`](Attempt::notes), since the beginning.
    pub(crate) const fn forgotten(&self) -> u32 {
        self.forgotten
    }

    /// Forgets the first `count` notes. Times count from the first that is left.
    pub(crate) fn forget(&mut self, count: usize) {
        let count = count.min(self.notes.len());
        let Some(first) = self.notes.get(count).map(|note| note.at) else {
            self.forgotten = self.forgotten.saturating_add(self.notes.len() as u32 + self.beyond);
            self.notes.clear();
            self.beyond = 0;
            self.start = None;
            return;
        };
        self.notes.copy_within(count.., 0);
        self.notes.truncate(self.notes.len() - count);
        let earlier =
            |at: Offset| Offset::from_micros(at.as_micros().saturating_sub(first.as_micros()));
        for note in &mut self.notes {
            note.at = earlier(note.at);
        }
        self.begun = self.begun.map(earlier);
        self.start = self.start.map(|start| start.plus(first));
        self.forgotten = self.forgotten.saturating_add(count as u32);
    }

    /// Ends what sounds on a string; where strings are not known, the latest note of this pitch
    /// or of any.
    fn end(&mut self, now: Instant, string: Option<GuitarString>, pitch: Option<Pitch>) {
        let Some(start) = self.start else { return };
        let latency = self.arrival().latency;
        let mut of_pitch = None;
        let sounding = self.notes.iter_mut().rev().take(LOOK_BACK).filter(|note| {
            // A note may have begun before it was known which string is on which channel.
            let here =
                note.string == string || (note.string.is_none() && pitch == Some(note.pitch));
            note.lasted.is_none() && here
        });
        for note in sounding {
            if string.is_none() && pitch.is_some_and(|pitch| pitch != note.pitch) {
                continue;
            }
            // The end of a note that is over already does not end the next.
            if !*of_pitch.get_or_insert(pitch.is_none_or(|pitch| pitch == note.pitch)) {
                return;
            }
            note.lasted = Some(lasted(note, now.since(start), latency.of(note.pitch)));
            if string.is_none() {
                return;
            }
        }
    }
}

/// Notes end soon after they begin, but a vibrato on several strings makes many of them; looking
/// back further than this would make the work of an event depend on the length of the attempt.
const LOOK_BACK: usize = 128;

/// How long a note has sounded whose end arrived at `end`. Ends are taken to be as late as
/// beginnings.
fn lasted(note: &PlayedNote, end: Offset, latency: Offset) -> Span {
    let arrived = note.at.as_micros().saturating_add(latency.as_micros());
    Span::of(Offset::from_micros(end.as_micros().saturating_sub(arrived)))
}

#[cfg(test)]
mod tests;
