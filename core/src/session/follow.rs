//! Attempts cut out of a stream that has no takes.
//!
//! The alignment says after each note where the best explanation of the stream has got:
//! outside, or so many events into an attempt that began with that note. An attempt is over
//! when its last note has come and a moment has passed, when the next one has surely begun, or
//! when the player falls silent. What broke off early is a false start, which is counted and
//! not judged; what never was an attempt is passed over.

use super::parts::Parts;
use super::{Ends, Stage, Track};
use crate::align::{Role, UnderWay};
use crate::attempt::PlayedNote;
use crate::measure::slips::begun_at;
use crate::notes::NoteEvent;
use crate::study::{Chunk, Marks};
use crate::units::{Instant, Offset, Pitch};
use crate::verdict::is_midway;

/// From this share of the chunk's notes on, in per cent, an attempt that is followed by the
/// next is one, with its last notes missing. Our default.
const REACHED: usize = 75;

/// The same for one that is followed by silence: it is told that it broke off. Our default.
const REACHED_BEFORE_SILENCE: usize = 50;

/// An attempt holds at least this share of right notes among those reached, in per cent, and
/// among those played. Our default.
const RIGHT: usize = 60;

/// The same for one that begins on the way. Our default.
const REACHED_FROM_MIDWAY: usize = 33;

/// ... and so many notes at least: fewer may be chance. Our default.
const MIDWAY: usize = 4;

/// Fewer notes than this in a row are no false start: anybody touches a string. Our default.
const FALSE_START: usize = 3;

/// After this many notes another attempt has surely begun. The first may be chance.
const SURE: usize = 2;

/// So many notes before the one that seems to begin a trill may be its beginning: three turns. Our
/// default.
const TURNS: usize = 6;

/// A pause in a trill is longer than its other gaps by more than this part of them: a steady hand
/// is not so uneven. Our default.
const PAUSES: i32 = 5;

/// Notes that are kept when the buffer is full of notes that belong to no attempt: more than
/// any event can look back on.
const KEPT: usize = 32;

/// How long the player must be silent while outside any attempt. Our default.
const SILENCE: Offset = Offset::from_millis(2_000);

/// Why an attempt is over.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Reason {
    NextBegan,
    Stopped,
}

impl Parts<'_> {
    /// Empties the alignment and listens.
    pub(super) fn begin_listening(&mut self) {
        match self.state.config().ends {
            Ends::ByItself => self.aligner.begin_stream(),
            Ends::ByCaller => self.aligner.begin(),
        }
        self.state.track.clear();
        self.state.verdict.clear();
        self.state.judged = 0;
        self.state.stage = Stage::Waiting;
    }

    /// After a fetched attempt: forgets it, and takes what has come after it.
    pub(super) fn begin_next(&mut self) {
        if !matches!(self.state.stage, Stage::Fetched) {
            return;
        }
        let judged = match self.state.config().ends {
            Ends::ByItself => self.state.done_with,
            Ends::ByCaller => usize::MAX,
        };
        self.attempt.forget(judged);
        self.listen_anew();
    }

    /// Listens once more to the notes that are kept, and then to what has been waiting.
    pub(super) fn listen_anew(&mut self) {
        self.begin_listening();
        self.catch_up();
        while !matches!(self.state.stage, Stage::Over) {
            let Some((event, at)) = self.state.waiting.pop_front() else { return };
            self.expire(at);
            if matches!(self.state.stage, Stage::Over) {
                // There is room: it has just been taken from there.
                let _ = self.state.waiting.push_front((event, at));
                return;
            }
            self.take(event, at);
        }
    }

    pub(super) fn expire(&mut self, now: Instant) {
        if let Stage::Playing(Some(end)) = self.state.stage
            && end <= now
        {
            self.stop();
        }
    }

    pub(super) fn take(&mut self, event: NoteEvent, now: Instant) {
        let begins = matches!(event, NoteEvent::Begun { .. } | NoteEvent::Bent { .. });
        if begins && self.attempt.notes().len() == self.attempt.capacity() {
            self.make_room();
        }
        self.attempt.take(event, now);
        if begins {
            self.catch_up();
        }
    }

    /// Aligns the notes that have not been.
    fn catch_up(&mut self) {
        while !matches!(self.state.stage, Stage::Over) {
            let next = self.aligner.progress.notes_aligned() + 1;
            let Some(notes) = self.attempt.notes().get(..next) else { return };
            let Some(at) = notes.last().map(|note| note.at) else { return };
            self.aligner.push(self.notes, notes);
            let start = self.attempt.start().unwrap_or(self.state.latest);
            match self.state.config().ends {
                Ends::ByItself => self.follow(start.plus(at), next),
                Ends::ByCaller => self.state.stage = Stage::Playing(None),
            }
        }
    }

    /// Looks at what the note that came at `now`, the last of `count`, has made of the stream.
    fn follow(&mut self, now: Instant, count: usize) {
        let found = self.aligner.progress.under_way();
        match (self.state.track(), found) {
            (None, Some(found)) => self.set_out(found, count),
            (Some(track), Some(found)) if found.start == track.start => {
                self.go_on(track, found, count);
            }
            // It began earlier than it seemed.
            (Some(track), Some(found)) if found.start < track.start => self.set_out(found, count),
            (Some(track), Some(found)) if self.has_surely_begun(track, found, count) => {
                self.close_before(track, found.start);
                if matches!(self.state.stage, Stage::Over)
                    || self.aligner.progress.notes_aligned() != count
                {
                    return;
                }
                self.set_out(found, count);
            }
            _ => {}
        }
        if let (Some(track), Some(found)) = (self.state.track(), found)
            && self.may_have_begun_anew(track, found)
        {
            let second = now.plus(self.until_the_second_event());
            if let Stage::Playing(Some(end)) = self.state.stage {
                self.state.stage = Stage::Playing(Some(end.max(second)));
            }
            return;
        }
        let wait = match (self.state.track(), found) {
            // A stray note does not hold up the verdict.
            (Some(track), _) if track.is_complete && track.end < count => return,
            (Some(_), Some(_)) => self.patience(),
            _ => SILENCE,
        };
        self.state.stage = Stage::Playing(Some(now.plus(wait)));
    }

    /// Whether the last note is part of a landing that came in pieces, or begins the next attempt:
    /// the next note tells.
    fn may_have_begun_anew(&self, track: Track, found: UnderWay) -> bool {
        track.is_complete
            && !track.is_landed
            && self.asks_for_a_landing()
            && track.end < found.start
            && found.start + 1 == self.aligner.progress.notes_aligned()
    }

    /// Whether the next attempt has begun as `found` says, not just seems to.
    fn has_surely_begun(&self, track: Track, found: UnderWay, count: usize) -> bool {
        if !track.is_complete {
            count - found.start >= SURE
        } else if track.is_landed || !self.asks_for_a_landing() {
            true
        } else {
            // A chord that lands comes note by note, and the first may be what the chunk begins
            // with.
            found.events >= SURE
        }
    }

    /// The next attempt began with note `next`: what was under way is over.
    fn close_before(&mut self, track: Track, next: usize) {
        let end = if track.is_landed {
            // The landing may be what the next attempt begins with.
            track.end
        } else if track.is_complete && self.asks_for_a_landing() {
            // What came in its place is part of this one.
            next
        } else {
            self.after_pause(track.end.min(next))
        };
        // One note alone may be this attempt's last, after what was taken for it.
        let count = self.aligner.progress.notes_aligned();
        let until = if count.saturating_sub(next) < SURE { count } else { next };
        let next = self.attempt.forgotten().saturating_add(next as u32);
        self.close(Track { end, ..track }, until, Reason::NextBegan);
        if matches!(self.state.stage, Stage::Over) {
            let before = next.saturating_sub(self.attempt.forgotten()) as usize;
            if self.state.judged <= before {
                self.state.done_with = self.state.done_with.min(before).max(1);
            }
        }
    }

    fn asks_for_a_landing(&self) -> bool {
        self.notes.last().is_some_and(|note| note.marks.has(Marks::LANDING))
    }

    /// Whether one of the notes that the chunk begins with has this pitch.
    pub(super) fn begins_with(&self, pitch: Pitch) -> bool {
        let Some(first) = self.notes.first().map(|note| note.onset) else { return false };
        let mut begins = self.notes.iter().take_while(|note| note.onset == first);
        begins.any(|note| note.pitch == pitch)
    }

    /// Whether the chunk begins like its landing, so that what lands may begin it anew.
    pub(super) fn lands_where_it_begins(&self) -> bool {
        let mut landing = self.notes.iter().filter(|note| note.marks.has(Marks::LANDING));
        landing.any(|landing| self.begins_with(landing.pitch))
    }

    /// Which note of a trill begins an attempt, if `begun` seems to and its chunk begins with the
    /// trill: nothing but a pause tells that, where the same trill ended the attempt before or a
    /// false start. It is the note after the longest pause among the last few.
    fn after_pause(&self, begun: usize) -> usize {
        let first = self.notes.first();
        let Some((pitch, other)) = first.and_then(|first| Some((first.pitch, first.trill?))) else {
            return begun;
        };
        let notes = self.attempt.notes();
        let pause = |note: usize| {
            let before = notes.get(note.checked_sub(1)?)?;
            Some(notes.get(note)?.at.as_micros().saturating_sub(before.at.as_micros()))
        };
        let pitch_of = |&note: &usize| notes.get(note).map(|note| note.pitch);
        let trilled = |note: &usize| pitch_of(note).is_some_and(|own| own == pitch || own == other);
        let last = (begun.saturating_sub(TURNS)..=begun).rev().take_while(trilled);
        // The longest pause and the one next to it in length: what the converter adds makes
        // others shorter.
        let (mut longest, mut usual) = ((0, begun), 0);
        for (pause, note) in last.filter_map(|note| Some((pause(note)?, note))) {
            if pause > longest.0 {
                usual = longest.0;
                longest = (pause, note);
            } else {
                usual = usual.max(pause);
            }
        }
        let (pause, note) = longest;
        let is_one = usual > 0 && pause > usual.saturating_add(usual / PAUSES);
        if is_one && pitch_of(&note) == Some(pitch) { note } else { begun }
    }

    fn set_out(&mut self, found: UnderWay, count: usize) {
        let track =
            Track { start: found.start, end: count, events: found.events, ..Track::default() };
        self.go_on(track, found, count);
    }

    fn go_on(&mut self, mut track: Track, found: UnderWay, count: usize) {
        if found.part {
            track.end = count;
            track.events = found.events;
            track.is_complete = self.aligner.is_complete();
            track.is_landed = self.aligner.is_landed() && self.asks_for_a_landing();
        }
        self.state.track.put(track);
    }

    /// The player has stopped, or the caller says so.
    pub(super) fn stop(&mut self) {
        match (self.state.config().ends, self.state.track()) {
            (Ends::ByCaller, _) => {
                let paired = self.pair_notes(self.attempt.notes().len());
                self.settle(paired);
                self.judge();
            }
            (Ends::ByItself, Some(mut track)) => {
                if track.is_complete && !track.is_landed && self.asks_for_a_landing() {
                    // What came in its place.
                    track.end = self.aligner.progress.notes_aligned();
                }
                // Where other notes followed, it was not the silence that ended it.
                let until = self.aligner.progress.notes_aligned();
                let beyond = until.saturating_sub(track.end);
                let stopped = beyond < FALSE_START || track.is_complete;
                let reason = if stopped { Reason::Stopped } else { Reason::NextBegan };
                self.close(track, until, reason);
            }
            (Ends::ByItself, None) => {}
        }
        if !matches!(self.state.stage, Stage::Over) {
            self.attempt.forget(usize::MAX);
            self.begin_listening();
        }
    }

    /// An attempt is over: judges it, or counts it as a false start, or passes over it. What came
    /// before note `until` may be part of it.
    fn close(&mut self, track: Track, until: usize, reason: Reason) {
        let notes = self.notes.as_slice();
        let proper = notes.iter().filter(|note| !note.marks.has(Marks::LANDING)).count().max(1);
        let reached = self.aligner.notes_before(track.events).min(proper);
        let enough = match reason {
            Reason::NextBegan => REACHED,
            Reason::Stopped => REACHED_BEFORE_SILENCE,
        };
        self.state.track.clear();
        let start = self.after_pause(track.start);
        if reached * 100 >= proper * enough {
            self.attempt.forget(start);
            let played = track.end.saturating_sub(start);
            let until = if self.asks_for_a_landing() { track.end } else { until };
            let paired = self.pair_with_later_ones(played, until.saturating_sub(start));
            self.settle(paired);
            let played = self.state.judged;
            let chunk = Chunk::of(self.notes, *self.state.setting());
            let material = self.material(&chunk);
            let right = material.right_notes().count();
            let begun_at = begun_at(material);
            let is_trilled = |&by: &usize| matches!(self.pairing.role(by), Role::Trill(_));
            let trilled = (0..played).filter(is_trilled).count();
            // Vibrato and what the converter adds say nothing about what was played.
            let noise = |note: &&PlayedNote| note.is_noise();
            // What came after the chunk was meant for its landing.
            let before = material.played.get(..self.state.proper).unwrap_or(material.played);
            let disturbing = before.len() - before.iter().filter(noise).count();
            let midway = is_midway(begun_at as u32, proper as u32);
            let reached = if midway { reached.saturating_sub(begun_at) } else { reached };
            let is_short =
                midway && (reached < MIDWAY || reached * 100 < proper * REACHED_FROM_MIDWAY);
            if is_short
                || right * 100 < reached * RIGHT
                || (right + trilled) * 100 < disturbing * RIGHT
            {
                // Chance, not an attempt: what came after it will be listened to once more.
                self.attempt.forget(played);
                self.begin_listening();
            } else {
                self.judge();
            }
        } else if track.end - track.start >= FALSE_START && reached >= FALSE_START {
            self.state.false_starts = self.state.false_starts.saturating_add(1);
        }
    }

    /// The buffer is full: forgets what belongs to no attempt.
    fn make_room(&mut self) {
        let keep_from = match (self.state.config().ends, self.state.track()) {
            (Ends::ByCaller, _) => return,
            (Ends::ByItself, Some(track)) => track.start,
            (Ends::ByItself, None) => self.attempt.capacity().saturating_sub(KEPT),
        };
        if keep_from == 0 {
            return;
        }
        self.attempt.forget(keep_from);
        self.begin_listening();
        self.catch_up();
    }
}
