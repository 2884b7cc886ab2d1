//! What keeps a count-in waiting.

use super::{Engine, Instant, Stage};

impl<const PIECES: usize> Engine<PIECES> {
    /// Something is about to be asked for: nobody is counted in for as long as a verdict is read.
    pub fn wait(&mut self, now: Instant) {
        self.count_in_by(now.plus(self.pacing.verdict));
    }

    /// Nobody is counted in before this time: something is said aloud, or is heard. A click that goes on ends.
    pub fn hold(&mut self, until: Instant) {
        match self.stage {
            Stage::Reading { until: before } => {
                self.stage = Stage::Reading { until: before.max(until) };
            }
            Stage::CountIn { .. } | Stage::Clicking => self.stage = Stage::Reading { until },
            Stage::Idle | Stage::Open | Stage::Resting { .. } => {}
        }
    }
}
