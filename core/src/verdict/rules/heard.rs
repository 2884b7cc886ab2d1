//! Whether it was an attempt at the chunk at all, to its end.

use super::findings::Findings;
use super::notes;
use crate::align::Material;
use crate::measure::slips::Slips;
use crate::study::Marks;
use crate::verdict::{Kind, Size};

/// Less than this share of the expected notes, in per cent, and it was something else. Our
/// default.
pub(super) const SHARE_OF_THIS_CHUNK: u32 = 50;

/// An attempt broke off if at least this share of the notes, in per cent, is missing at its
/// end, and began on the way if it is at its beginning. Our default.
const SHARE_BROKEN_OFF: u32 = 25;

/// ... and so many notes. Our default.
const NOTES_BROKEN_OFF: u32 = 2;

/// Of so few notes since it began, all must be right: fewer are chance. Our default.
const FEWEST_FROM_MIDWAY: u32 = 4;

/// Whether an attempt began on the way that left out so many of the expected notes before its
/// first.
pub(crate) const fn is_midway(left_out: u32, expected: u32) -> bool {
    left_out >= NOTES_BROKEN_OFF && left_out * 100 >= expected * SHARE_BROKEN_OFF
}

/// Whether this was an attempt at the chunk, to its end. If not, nothing else is judged.
pub(super) fn heard_enough(
    material: Material<'_>,
    slips: &Slips,
    beyond: u32,
    findings: &mut Findings,
) -> bool {
    let landing = |note: &crate::study::ExpectedNote| note.marks.has(Marks::LANDING);
    let expected = material.chunk.notes().iter().filter(|note| !landing(note)).count() as u32;
    let expected = if expected == 0 { material.chunk.notes().len() as u32 } else { expected };
    let all = Size::Notes(expected as u16);
    if material.played.is_empty() {
        findings.unsettled(Kind::NothingHeard, None, Size::Notes(0), all);
        return false;
    }
    if beyond > 0 {
        let beyond = beyond.min(u32::from(u16::MAX)) as u16;
        findings.unsettled(Kind::TooManyNotes, None, Size::Notes(beyond), Size::Notes(0));
    }
    // Where more notes look like the converter's mistakes than are right, it was something else.
    let is_believed = slips.right >= slips.mistracked;
    let at_the_end = u32::from(slips.missing_at_the_end);
    let reached = expected.saturating_sub(at_the_end);
    let before_the_end = u32::from(slips.wrong.0 + slips.missing.0).saturating_sub(at_the_end);
    if at_the_end >= NOTES_BROKEN_OFF
        && at_the_end * 100 >= expected * SHARE_BROKEN_OFF
        && before_the_end * 100 <= reached * SHARE_OF_THIS_CHUNK
        && reached >= 2
        && is_believed
    {
        let first = (reached as usize).min(material.chunk.notes().len() - 1);
        let size = Size::Notes(slips.missing_at_the_end);
        findings.unsettled(Kind::BrokenOff, Some(first), size, Size::Notes(0));
        return false;
    }
    let begun_at = u32::from(slips.missing_at_the_beginning);
    let since = expected.saturating_sub(begun_at + at_the_end);
    let right = u32::from(slips.right + slips.mistracked);
    if is_midway(begun_at, expected)
        && right * 100 >= since * SHARE_OF_THIS_CHUNK
        && right >= since.min(FEWEST_FROM_MIDWAY)
        && is_believed
    {
        let (first, size) = (begun_at as usize, Size::Notes(slips.missing_at_the_beginning));
        findings.unsettled(Kind::BegunMidway, Some(first), size, Size::Notes(0));
        // What was played is worth a word, even if it settles nothing.
        notes::heard(&slips.from_midway(material, first), findings);
        return false;
    }
    // A note heard an octave off was played, too; but where the pickup shows no other mistake, somebody who plays
    // something else has many of them by chance.
    let played =
        if slips.pickup > slips.mistracked { slips.right + slips.mistracked } else { slips.right };
    if u32::from(played) * 100 < expected * SHARE_OF_THIS_CHUNK {
        findings.unsettled(Kind::NotThisChunk, None, Size::Notes(slips.right), all);
        return false;
    }
    true
}
