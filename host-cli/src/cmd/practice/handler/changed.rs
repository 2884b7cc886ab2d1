//! What was changed in a sitting, at its end.

use super::PracticeHandler;
use crate::events::EffectRecord;
use crate::fault::Fault;
use crate::report::StyledLine;

impl PracticeHandler {
    /// Each change with what was before and after it, of all studies.
    pub(super) fn effects(&mut self) -> Result<(), Fault> {
        let mut effects = std::mem::take(&mut self.changed);
        effects.extend(self.plan.effects());
        if effects.is_empty() || self.free {
            return Ok(());
        }
        self.output.show(&StyledLine::strong("What was changed"))?;
        for (effect, sentence) in &effects {
            self.output.set_in(sentence, "  ", "    ")?;
            self.output.record(&EffectRecord::of(effect, sentence))?;
        }
        self.output.set_in("One sitting does not show what helped; other days do.", "  ", "    ")
    }
}
