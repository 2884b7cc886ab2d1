//! Sessions that were heard through a pitch-to-MIDI converter which is not ours: what is played to
//! it, how it is judged, and what is asked of the judge.
//!
//! ```text
//! file --session--> chunk, takes --stream--> bytes and times --hearing--> attempts --told--> what
//!   each take was told --tally--> table, causes, goals
//! ```
//!
//! The files come from `cargo xtask rig converter`; the settings of its converter are not products,
//! so shares say how two versions of the judge differ, not how often a real pickup errs.

pub mod causes;
pub mod errors;
pub mod failing;
pub mod goals;
pub mod hearing;
pub mod json;
pub mod kept;
pub mod session;
pub mod show;
pub mod slip;
pub mod stream;
pub mod table;
pub mod tally;
pub mod told;

use session::Session;

/// Everything that is counted, as a text: what the converter did, what was told, the goals.
pub fn report(sessions: &[Session]) -> String {
    let tallies = tally::tallies(sessions);
    let goals = goals::goals(&tallies);
    [errors::text(sessions), table::text(&tallies), goals::text(&goals)].join("\n")
}
