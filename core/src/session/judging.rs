//! An attempt that is over: which notes belong to it, what each is, and the verdict.

use super::parts::Parts;
use super::{Ends, Stage};
use crate::align::{ANY_COST, Material, Role};
use crate::attempt::Onset;
use crate::classify::classify;
use crate::study::{Chunk, Marks};
use crate::verdict::judge;

/// So many notes that came after the last one may belong to it all the same: what was taken for the
/// last one was not. Our default: one that changed places, and a stray one.
const LATER_STILL: usize = 2;

/// Notes of the buffer that were paired with the chunk's.
#[derive(Clone, Copy)]
pub(super) struct Paired {
    notes: usize,
    /// How well the alignment explained them before the landing, and after how many notes that was.
    before_landing: Option<(usize, i32)>,
}

impl Parts<'_> {
    /// Pairs the first `count` notes of the buffer, with those of the next few before note `until`
    /// that turn out to be part of the attempt: two notes at the end that changed places, or the last
    /// pitch touched too soon.
    pub(super) fn pair_with_later_ones(&mut self, count: usize, until: usize) -> Paired {
        // The pickup may have set its last note right a moment later.
        let next = self.attempt.notes().get(count);
        let is_set_right = next.is_some_and(|next| next.onset == Onset::Corrected);
        let until = if is_set_right { until.max(count + 1) } else { until };
        for with in (count + 1..=until.min(count + LATER_STILL)).rev() {
            let paired = self.pair_notes(with);
            if paired.notes == with && self.is_right_note(with - 1) {
                return paired;
            }
        }
        self.pair_notes(count)
    }

    /// Whether a note of the buffer is, as it was paired, an expected one with the right pitch.
    fn is_right_note(&self, by: usize) -> bool {
        let Role::Note(index) = self.pairing.role(by) else { return false };
        let (wanted, played) = (self.notes.get(index), self.attempt.notes().get(by));
        wanted.zip(played).is_some_and(|(wanted, played)| wanted.pitch == played.pitch)
    }

    /// Pairs the first `count` notes of the buffer with the chunk's, or fewer, if the last of them
    /// begins the next attempt.
    pub(super) fn pair_notes(&mut self, mut count: usize) -> Paired {
        loop {
            let before_landing = match self.state.config().ends {
                Ends::ByItself => self.align_cut(count),
                Ends::ByCaller => None,
            };
            let notes = self.attempt.notes();
            let played = notes.get(..count).unwrap_or(notes);
            self.aligner.pair(self.notes, played, &mut self.pairing);
            if !self.ends_with_the_next_beginning(count) {
                return Paired { notes: played.len(), before_landing };
            }
            count -= 1;
        }
    }

    /// Aligns the first `count` notes of the buffer as an attempt that was cut out. Tells how well it explains them
    /// before the landing, and after how many notes that was.
    fn align_cut(&mut self, count: usize) -> Option<(usize, i32)> {
        let notes = self.attempt.notes();
        let played = notes.get(..count).unwrap_or(notes);
        // As good as it was in the stream, as a rule; where not, any.
        let mut cost = self.aligner.progress.likely_cost();
        loop {
            let mut before_landing = None;
            self.aligner.begin_cut(cost);
            for count in 1..=played.len() {
                let notes = played.get(..count).unwrap_or(played);
                self.aligner.push(self.notes, notes);
                if self.aligner.progress.is_too_dear() {
                    break;
                }
                let at_the_end = self.aligner.is_complete() && !self.aligner.is_landed();
                if at_the_end && self.aligner.progress.last_note_matched() {
                    before_landing = Some((count, self.aligner.progress.match_score(notes)));
                }
            }
            if self.aligner.has_found() {
                return before_landing;
            }
            cost = ANY_COST;
        }
    }

    /// Classifies the notes that were paired, and finds where the attempt ends in them.
    pub(super) fn settle(&mut self, paired: Paired) {
        let notes = self.attempt.notes();
        let played = notes.get(..paired.notes).unwrap_or(notes);
        let chunk = Chunk::of(self.notes, *self.state.setting());
        classify(&chunk, played, self.state.pickup(), &mut self.pairing);
        self.state.judged = played.len();
        self.state.done_with = self.state.judged;
        // The landing is the next attempt's.
        let notes = self.notes.as_slice();
        let is_proper = |&by: &usize| match self.pairing.role(by) {
            Role::Note(index) => {
                notes.get(index).is_some_and(|note| !note.marks.has(Marks::LANDING))
            }
            Role::Trill(_) => true,
            Role::Extra => false,
        };
        let last = (0..played.len()).rev().find(is_proper);
        self.state.proper = last.map_or(played.len(), |last| last + 1);
        if self.lands_where_it_begins() {
            self.state.done_with = self.state.proper;
        }
        self.state.match_score = match paired.before_landing {
            Some((count, match_score)) if count == self.state.proper => match_score,
            _ => {
                self.aligner.progress.match_score(played.get(..self.state.proper).unwrap_or(played))
            }
        };
    }

    /// The attempt that was settled, as measures see it.
    pub(super) fn material<'m>(&'m self, chunk: &'m Chunk<'m>) -> Material<'m> {
        let notes = self.attempt.notes();
        Material {
            chunk,
            played: notes.get(..self.state.judged).unwrap_or(notes),
            pairing: self.pairing.view(),
            pickup: self.state.pickup(),
        }
    }

    /// Gives the verdict on it.
    pub(super) fn judge(&mut self) {
        let start = self.attempt.start().unwrap_or(self.state.latest);
        let click = self.state.config().click.map(|click| (click, start));
        let chunk = Chunk::of(self.notes, *self.state.setting());
        let verdict = judge(self.material(&chunk), self.attempt.beyond(), click);
        self.state.verdict.put(verdict);
        self.state.stage = Stage::Over;
    }

    /// Whether the last of the first `count` notes of the buffer stands for the chunk's last note only
    /// as a converter's mistake, and is what the chunk begins with: a scale of an octave that lacks
    /// its last note and is begun anew.
    fn ends_with_the_next_beginning(&self, count: usize) -> bool {
        let Some(by) = count.checked_sub(1).filter(|&by| by > 0) else { return false };
        let Role::Note(index) = self.pairing.role(by) else { return false };
        let (Some(wanted), Some(played)) = (self.notes.get(index), self.attempt.notes().get(by))
        else {
            return false;
        };
        self.state.config().ends == Ends::ByItself
            && played.pitch != wanted.pitch
            && self.begins_with(played.pitch)
    }
}
