//! The notes of a stream, by the numbers that sessions give them.

use super::cut::Cut;
use evenhand_core::attempt::is_interruption;
use evenhand_core::limits::PLAYED_NOTES;
use evenhand_core::notes::NoteEvent;
use evenhand_core::session::Ends;
use evenhand_core::units::{GuitarString, Instant, Offset, Pitch, Velocity};
use std::collections::VecDeque;

/// A note as it came: its number among all note-ons (bends have none), and when.
#[derive(Clone, Copy, Debug)]
struct Came {
    note_on: Option<u32>,
    at: Instant,
    pitch: Pitch,
    /// Much weaker than those before it.
    is_faint: bool,
    /// How many events had come before it.
    event: u64,
}

/// What came, as far as a session can still judge it: a stream without an end takes no more and
/// more memory.
#[derive(Debug)]
pub(super) struct NoteHistory {
    ends: Ends,
    /// How the sessions count the first that is kept.
    first: u32,
    notes: VecDeque<Came>,
    /// The events themselves, from number `first_event` on: what begins and ends.
    events: VecDeque<(NoteEvent, Instant)>,
    first_event: u64,
    note_ons: u32,
    /// How hard the last notes were struck.
    velocities: VecDeque<u8>,
    /// The last notes of each string, and of those whose string is not known.
    strings: [VecDeque<OnString>; GuitarString::MOST as usize + 1],
}

/// A note of a string: its pitch, how hard it was struck, and when.
type OnString = (Pitch, Velocity, Instant);

/// What a string sounds already and begins once more, weaker than this share of it, in per cent, may be a
/// converter's doing. Our default.
const AGAIN_PERCENT: u16 = 80;

/// A note is faint that is weaker than this share, in per cent, of the loudest of so many before it. Our
/// defaults: a free pitch tracker sent what lifted fingers and neighbouring strings leave at 20 to 37.
const FAINT_PERCENT: u16 = 40;
const RECENT: usize = 8;

/// Events that are kept, at most: the beginnings and ends of twice what a session keeps. Our
/// default.
const MOST_EVENTS: usize = 4 * PLAYED_NOTES;

impl NoteHistory {
    pub(super) const fn new(ends: Ends) -> Self {
        Self {
            ends,
            first: 0,
            notes: VecDeque::new(),
            events: VecDeque::new(),
            first_event: 0,
            note_ons: 0,
            velocities: VecDeque::new(),
            strings: [const { VecDeque::new() }; GuitarString::MOST as usize + 1],
        }
    }

    /// Counts what the sessions count as a note.
    pub(super) fn hear(&mut self, event: &NoteEvent, at: Instant) {
        let at = self.events.back().map_or(at, |(_, last)| at.max(*last));
        let number = self.first_event + self.events.len() as u64;
        match event {
            NoteEvent::Begun { pitch, velocity, string } => {
                let is_noise = self.tells_noise((*pitch, *velocity, at), *string);
                let is_faint = self.tells_faint(*velocity) || is_noise;
                let note_on = Some(self.note_ons);
                self.push(Came { note_on, at, pitch: *pitch, is_faint, event: number });
            }
            NoteEvent::Bent { pitch, .. } => {
                let (note_on, is_faint) = (None, false);
                self.push(Came { note_on, at, pitch: *pitch, is_faint, event: number });
            }
            NoteEvent::Ended { .. } | NoteEvent::AllEnded { .. } => {}
        }
        if self.events.len() == MOST_EVENTS {
            self.events.pop_front();
            self.first_event += 1;
        }
        self.events.push_back((*event, at));
    }

    /// One more note-on has come, whether it was a note to the sessions or not.
    pub(super) const fn count_note_on(&mut self) {
        self.note_ons += 1;
    }

    /// Note-ons that have come.
    pub(super) const fn note_ons(&self) -> u32 {
        self.note_ons
    }

    /// Whether a note is much weaker than the loudest of the last ones.
    fn tells_faint(&mut self, velocity: Velocity) -> bool {
        let own = velocity.value();
        let loudest = self.velocities.iter().copied().max().unwrap_or(own);
        if self.velocities.len() == RECENT {
            self.velocities.pop_front();
        }
        self.velocities.push_back(own);
        u16::from(own) * 100 < u16::from(loudest) * FAINT_PERCENT
    }

    /// Whether a note only goes on that its string sounds already: after a moment of another pitch that no
    /// hand played, or begun once more and weaker.
    fn tells_noise(&mut self, note: OnString, string: Option<GuitarString>) -> bool {
        let index = string.map_or(usize::from(GuitarString::MOST), |s| usize::from(s.number()) - 1);
        let Some(last) = self.strings.get_mut(index) else { return false };
        let (pitch, velocity, at) = note;
        // Where strings are not known, others' notes may stand between.
        let depth = if string.is_some() { 1 } else { last.len() };
        let again = last.iter().rev().take(depth).find(|last| last.0 == pitch).copied();
        let moment = last.back().copied();
        let before = last.iter().rev().skip(1).take(depth).any(|last| last.0 == pitch);
        if last.len() == RECENT {
            last.pop_front();
        }
        last.push_back(note);
        if let Some((_, own, _)) = again
            && u16::from(velocity.value()) * 100 < u16::from(own.value()) * AGAIN_PERCENT
        {
            return true;
        }
        before
            && moment.is_some_and(|moment| {
                is_interruption(pitch, moment.0, at.since(moment.2).as_micros())
            })
    }

    fn push(&mut self, came: Came) {
        match self.ends {
            // One attempt; what finds no room in it is not judged.
            Ends::ByCaller if self.notes.len() == PLAYED_NOTES => return,
            // Twice what a session keeps: some notes may wait before they are looked at.
            Ends::ByItself if self.notes.len() == 2 * PLAYED_NOTES => {
                self.notes.pop_front();
                self.first += 1;
            }
            _ => {}
        }
        self.notes.push_back(came);
    }

    /// How many notes the sessions have heard.
    pub(super) fn heard(&self) -> u32 {
        self.first.saturating_add(self.notes.len() as u32)
    }

    /// The numbers among all note-ons of the notes from `first` on.
    pub(super) fn from(&self, first: u32) -> impl Iterator<Item = Option<u32>> + '_ {
        let skipped = first.saturating_sub(self.first) as usize;
        self.notes.iter().map(|came| came.note_on).skip(skipped)
    }

    /// When a note came.
    pub(super) fn at(&self, note: u32) -> Option<Instant> {
        Some(self.came(note)?.at)
    }

    /// What was played.
    pub(super) fn pitch(&self, note: u32) -> Option<Pitch> {
        Some(self.came(note)?.pitch)
    }

    /// Whether it was so much weaker than those before it that a lifted finger or another string may
    /// have left it.
    pub(super) fn is_faint(&self, note: u32) -> bool {
        self.came(note).is_some_and(|came| came.is_faint)
    }

    /// The number of a note among all note-ons; none for a bend.
    pub(super) fn note_on(&self, note: u32) -> Option<u32> {
        self.came(note)?.note_on
    }

    /// The first note that is kept.
    pub(super) const fn first(&self) -> u32 {
        self.first
    }

    /// When the last note came.
    pub(super) fn latest(&self) -> Option<Instant> {
        Some(self.notes.back()?.at)
    }

    fn came(&self, note: u32) -> Option<&Came> {
        self.notes.get(note.checked_sub(self.first)? as usize)
    }

    /// What came from the note `first` on, without the notes from `end` on and those that are cut
    /// out, as it came; what comes after a cut comes as much sooner. `None` if it is not kept any
    /// more.
    pub(super) fn events(
        &self,
        first: u32,
        end: u32,
        cuts: &[Cut],
    ) -> Option<Vec<(NoteEvent, Instant)>> {
        let from = self.came(first)?.event.checked_sub(self.first_event)? as usize;
        let number = |note: u32| self.came(note).map_or(u64::MAX, |came| came.event);
        let end = number(end);
        let cuts: Vec<(u64, u64, Offset)> =
            cuts.iter().map(|cut| (number(cut.from), number(cut.to), cut.time)).collect();
        let began = |event: u64| {
            let kept = event.checked_sub(self.first_event)?;
            Some(self.events.get(usize::try_from(kept).ok()?)?.1)
        };
        let mut events: Vec<(NoteEvent, Instant)> = Vec::new();
        for (index, (event, at)) in (self.first_event..).zip(&self.events).skip(from) {
            let begins = matches!(event, NoteEvent::Begun { .. } | NoteEvent::Bent { .. });
            let is_cut = cuts.iter().any(|(from, to, _)| (from..to).contains(&&index));
            if begins && (is_cut || index >= end) {
                continue;
            }
            // What sounded on into a cut ends where it begins.
            let cut = cuts.iter().find(|(from, to, _)| (from..to).contains(&&index));
            let at = cut.and_then(|(from, ..)| began(*from)).map_or(*at, |from| from.min(*at));
            let past = cuts.iter().filter(|(_, to, _)| index >= *to);
            let sooner = past.map(|(.., time)| i64::from(time.as_micros())).sum::<i64>();
            let at = Instant::from_micros(at.as_micros().saturating_add_signed(-sooner));
            let at = events.last().map_or(at, |(_, last)| at.max(*last));
            events.push((*event, at));
        }
        Some(events)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Which of these notes are faint: when, in milliseconds, on which string (0 for unknown), pitch and velocity.
    fn faint(notes: &[(u64, u8, u8, u8)]) -> Vec<bool> {
        let mut history = NoteHistory::new(Ends::ByItself);
        for &(at, string, pitch, velocity) in notes {
            let event = NoteEvent::Begun {
                pitch: Pitch::new(pitch).expect("a pitch"),
                velocity: Velocity::new(velocity).expect("a velocity"),
                string: GuitarString::new(string),
            };
            history.hear(&event, Instant::from_micros(at * 1_000));
        }
        (0..notes.len() as u32).map(|note| history.is_faint(note)).collect()
    }

    #[test]
    fn a_note_much_weaker_than_the_last_ones_is_faint() {
        assert_eq!(
            faint(&[(0, 4, 52, 90), (300, 3, 57, 35), (600, 3, 59, 37)]),
            [false, true, false]
        );
    }

    #[test]
    fn what_its_string_sounds_already_and_begins_weaker_is_faint() {
        let again = |string, velocity| faint(&[(0, 4, 52, 90), (400, string, 52, velocity)])[1];
        assert!(again(4, 70));
        assert!(!again(4, 74), "a hand repeats a note so");
        assert!(!again(5, 70), "another string has its own");
        // Where strings are not known, others may come between.
        let between =
            |velocity| faint(&[(0, 0, 52, 90), (200, 0, 57, 90), (400, 0, 52, velocity)])[2];
        assert!(between(70) && !between(74));
        assert!(
            !faint(&[(0, 4, 52, 90), (200, 4, 53, 90), (400, 4, 52, 70)])[2],
            "another pitch came"
        );
    }

    #[test]
    fn what_goes_on_after_a_moment_of_another_pitch_is_faint() {
        let after =
            |millis: u64| faint(&[(0, 4, 52, 90), (200, 4, 53, 90), (200 + millis, 4, 52, 90)])[2];
        assert!(after(40));
        assert!(!after(60), "fingers are as quick as that");
    }
}
