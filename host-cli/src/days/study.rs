//! The sittings of one player at one study, whichever version of it was played.

use super::day::day_of;
use super::known::{self, PieceDays};
use crate::log::{self, LogError, Reader, StoredSitting, StudyText};
use crate::practice::Known;
use crate::study::{self, Prepared};
use evenhand_core::practice::Piece;
use jiff::civil::Date;
use std::collections::HashMap;

/// A study with what the log knows of it.
#[derive(Clone, Debug)]
pub struct StudyDays {
    chunks: Vec<Prepared>,
    pieces: Vec<PieceDays>,
}

impl StudyDays {
    /// Reads what is known of these chunks of a study from these sittings: of this player, or of nobody
    /// by name. A chunk counts in any version of the study in which it has the same notes.
    ///
    /// # Errors
    ///
    /// Why an older version of the study cannot be read.
    pub fn of(
        chunks: &[Prepared],
        study: &StudyText,
        who: Option<&str>,
        sittings: &[StoredSitting],
        reader: &Reader,
    ) -> Result<Self, LogError> {
        let own = sittings.iter().filter(|sitting| {
            let same_study = sitting.path == study.path || sitting.study == study.name;
            same_study && is_theirs(sitting, who)
        });
        let own: Vec<StoredSitting> = own.cloned().collect();
        let hash = log::hash(&study.text);
        let mut versions: HashMap<String, Vec<Prepared>> = HashMap::new();
        for sitting in &own {
            if sitting.hash != hash && !versions.contains_key(&sitting.hash) {
                let text = reader.study(&sitting.hash)?;
                let prepared = study::parse(&text).and_then(|study| study.prepare());
                versions.insert(sitting.hash.clone(), prepared.unwrap_or_default());
            }
        }
        let pieces = known::pieces(chunks, &own, |version, chunk| {
            let same = |old: &Prepared| old.name == chunk.name && old.notes == chunk.notes;
            version == hash || versions.get(version).is_some_and(|old| old.iter().any(same))
        });
        Ok(Self { chunks: chunks.to_vec(), pieces })
    }

    /// A study that has never been played.
    pub fn new(chunks: &[Prepared]) -> Self {
        Self { chunks: chunks.to_vec(), pieces: Vec::new() }
    }

    /// With these days.
    #[cfg(test)]
    pub(super) fn with(chunks: &[Prepared], pieces: &[PieceDays]) -> Self {
        Self { chunks: chunks.to_vec(), pieces: pieces.to_vec() }
    }

    /// Its chunks.
    pub fn chunks(&self) -> &[Prepared] {
        &self.chunks
    }

    /// The pieces that have been played.
    pub fn pieces(&self) -> &[PieceDays] {
        &self.pieces
    }

    /// What is easy enough to warm up on before the first chunk: another chunk that was clean on an earlier
    /// day, one at its goal if there is one, else the one that is nearest to it.
    pub fn warm_up(&self, today: Date) -> Option<Piece> {
        let others: Vec<&PieceDays> =
            self.easy(today).filter(|days| days.piece != Piece::Chunk(0)).collect();
        // Of equal ones the earlier in the study.
        let easiest = others.into_iter().rev().max_by_key(|days| days.how_near());
        easiest.map(|days| days.piece)
    }

    /// The chunks that were clean on an earlier day.
    pub fn easy(&self, today: Date) -> impl Iterator<Item = &PieceDays> {
        self.pieces.iter().filter(move |days| {
            matches!(days.piece, Piece::Chunk(_)) && days.passed.is_some_and(|day| day < today)
        })
    }

    /// What practice has to know of them on this day.
    pub fn known(&self, today: Date) -> Vec<Known> {
        known::known(&self.chunks, &self.pieces, today)
    }
}

/// Whether a sitting was this player's, or nobody's by name.
fn is_theirs(sitting: &StoredSitting, who: Option<&str>) -> bool {
    match who {
        Some(who) => sitting.is_of(who),
        None => sitting.who.is_none(),
    }
}

/// Whether this player has played anything on a day.
pub(crate) fn has_played(sittings: &[StoredSitting], who: Option<&str>, day: Date) -> bool {
    let own = sittings.iter().filter(|sitting| is_theirs(sitting, who));
    own.flat_map(|sitting| &sitting.attempts).any(|attempt| day_of(attempt.began) == day)
}
