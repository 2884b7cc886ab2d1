//! A chunk's attempts in a few numbers.

use super::Attempt;
use evenhand_core::verdict::Outcome;

/// What became of a chunk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChunkSummary {
    /// The chunk.
    pub chunk: String,
    /// How many attempts.
    pub attempts: u32,
    /// How many of them passed.
    pub passed: u32,
    /// The last verdict.
    pub last: Outcome,
    /// The best verdict: passed, then unclear, then needs work.
    pub best: Outcome,
    /// The tempo heard last, in hundredths of beats a minute.
    pub last_tempo: Option<u32>,
    /// The fastest tempo that passed, in hundredths of beats a minute.
    pub best_tempo: Option<u32>,
    /// For each kind of finding with a part in a verdict, in how many attempts it was, in the
    /// order in which they first came.
    found: Vec<(String, u32)>,
}

impl ChunkSummary {
    fn new(attempt: &Attempt) -> Self {
        Self {
            chunk: attempt.chunk.clone(),
            attempts: 0,
            passed: 0,
            last: attempt.verdict,
            best: attempt.verdict,
            last_tempo: None,
            best_tempo: None,
            found: Vec::new(),
        }
    }

    /// The finding that came in most attempts, and in how many; of equal ones the one that
    /// came first.
    pub fn commonest(&self) -> Option<(&str, u32)> {
        let most = self.found.iter().map(|(_, count)| *count).max()?;
        let (what, count) = self.found.iter().find(|(_, count)| *count == most)?;
        Some((what, *count))
    }

    fn add(&mut self, attempt: &Attempt) {
        self.attempts += 1;
        self.last = attempt.verdict;
        if rank(attempt.verdict) > rank(self.best) {
            self.best = attempt.verdict;
        }
        self.last_tempo = attempt.heard.or(self.last_tempo);
        if attempt.verdict == Outcome::Passed {
            self.passed += 1;
            self.best_tempo = self.best_tempo.max(attempt.heard);
        }
        let mut seen: Vec<String> = Vec::new();
        for finding in attempt.found() {
            if !finding.counts() || seen.contains(&finding.what) {
                continue;
            }
            match self.found.iter_mut().find(|(what, _)| *what == finding.what) {
                Some((_, count)) => *count += 1,
                None => self.found.push((finding.what.clone(), 1)),
            }
            seen.push(finding.what);
        }
    }
}

const fn rank(verdict: Outcome) -> u8 {
    match verdict {
        Outcome::NeedsWork => 0,
        Outcome::Unclear => 1,
        Outcome::Passed => 2,
    }
}

/// Chunks with what became of them, in the order in which they were first played.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    chunks: Vec<ChunkSummary>,
}

impl Summary {
    /// Takes the next attempt. One that is disputed counts for nothing.
    pub fn add(&mut self, attempt: &Attempt) {
        if attempt.disputed {
            return;
        }
        let at = self.chunks.iter().position(|known| known.chunk == attempt.chunk);
        let at = at.unwrap_or_else(|| {
            self.chunks.push(ChunkSummary::new(attempt));
            self.chunks.len() - 1
        });
        self.chunks[at].add(attempt);
    }

    /// The chunks.
    pub fn chunks(&self) -> &[ChunkSummary] {
        &self.chunks
    }
}
