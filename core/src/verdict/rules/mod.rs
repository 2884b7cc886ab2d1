//! Measures and tolerances to findings, findings to the verdict.
//!
//! Each file holds the rules of one side of playing. Each of their functions has its own stack
//! frame for its numbers, which is given back before the next begins: `judge` as one frame
//! would take all of them at once.

mod beside_unheard;
mod chance;
mod chords;
mod click;
mod findings;
mod heard;
mod hearing;
mod landing;
mod loudness;
mod notes;
mod path;
mod pickup;
mod scatter;
mod sounding;
mod time;
mod trill;
mod unexplained;

pub(crate) use heard::is_midway;
pub(super) use loudness::slurs_doubt;
pub(super) use scatter::{clean_drift_error, compare_drift};

use super::Verdict;
use crate::align::Material;
use crate::measure::landing::{Arrival, arrival};
use crate::measure::order::order;
use crate::measure::slips::slips;
use crate::measure::timing::Click;
use crate::units::Instant;
use findings::Findings;

/// Judges an attempt. `click` is the click the player heard, with the time of the attempt's
/// first note; without one only the player's own tempo counts.
pub fn judge(material: Material<'_>, beyond: u32, click: Option<(Click, Instant)>) -> Verdict {
    let tolerances = material.chunk.tolerances();
    let mut findings = Findings::default();
    let slips = slips(material);
    if hearing::is_poor(&slips, material.chunk.notes().len(), &mut findings) {
        return findings.verdict();
    }
    if !heard::heard_enough(material, &slips, beyond, &mut findings) {
        return findings.verdict();
    }
    let order = order(material);
    let landing = match arrival(material) {
        Some(Arrival::Played(landing)) => Some(landing),
        Some(Arrival::NotPlayed(note, notes)) => {
            landing::not_played(note, notes, &mut findings);
            None
        }
        None => None,
    };
    notes::notes(material, tolerances, &slips, &order, landing.as_ref(), &mut findings);
    let heard = time::time(material, tolerances, &order, landing.as_ref(), click, &mut findings);
    loudness::loudness(material, tolerances, &mut findings);
    pickup::loudness_rests_on_it(material, tolerances.unevenness, &mut findings);
    chords::chords(material, tolerances, &order, heard.scatter, &mut findings);
    if let Some(landing) = &landing {
        landing::spread(landing, heard.scatter, &mut findings);
    }
    time::scattered(heard, &mut findings);
    pickup::rests_on_it(material, heard.may_scatter, &mut findings);
    trill::trill(material, tolerances, heard.pace, &mut findings);
    if let Some(pace) = heard.pace {
        sounding::sounding(material, tolerances, pace, &mut findings);
    }
    path::other_strings(material, tolerances, &mut findings);
    if slips.unheard.0 > 0 {
        beside_unheard::unsettle(material, &mut findings);
    }
    beside_unheard::unsettle_remainders(material, &mut findings);
    findings.verdict()
}
