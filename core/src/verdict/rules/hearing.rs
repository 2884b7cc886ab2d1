//! Whether the pickup was heard well enough to judge by.

use super::findings::Findings;
use super::heard::SHARE_OF_THIS_CHUNK;
use crate::measure::slips::Slips;
use crate::verdict::{Kind, Size};

/// Of a pickup that errs more often than this, in per cent of the expected notes, nothing is believed.
/// Our default: a free pitch tracker on strings that we made showed 5 to 20 at settings that a
/// guitarist would keep, and more than 200 at one that nobody would.
const MOST_ERRORS: u32 = 60;

/// The same of errors that leave open what was played. Our default.
const MOST_OPEN: u32 = 35;

/// So many errors are not yet a habit. Our default.
const FEWEST: u32 = 5;

/// Heavier than any slip.
const WEIGHT: u32 = 60_000;

/// Says so where the pickup errs so often that nothing else can be said. Whether it does.
pub(super) fn is_poor(slips: &Slips, expected: usize, findings: &mut Findings) -> bool {
    let open = u32::from(slips.unheard.0) + u32::from(slips.doubtful.0);
    // An error in a note's place is one of both.
    let clear = u32::from(slips.pickup.saturating_sub(slips.mistracked));
    let errors = open + clear;
    let expected = (expected as u32).max(1);
    // Other notes, and none that only a pickup sends: somebody plays something else.
    let is_elsewhere = clear == 0 && u32::from(slips.right) * 100 < expected * SHARE_OF_THIS_CHUNK;
    let is_poor = errors >= FEWEST
        && !is_elsewhere
        && (errors * 100 > expected * MOST_ERRORS || open * 100 > expected * MOST_OPEN);
    if is_poor {
        let size = |notes: u32| Size::Notes(notes.min(u32::from(u16::MAX)) as u16);
        let limit = size(expected * MOST_ERRORS / 100);
        findings.pickup(Kind::PoorHearing, size(errors), limit, WEIGHT);
    }
    is_poor
}
