//! How often the judge is wrong: seeded attempts with a trouble of known kind and size, judged,
//! counted, and held against what so few notes can tell at best.
//!
//! ```text
//! piece + trouble + level --plan--> skill, faults --attempt--> verdict --tally--> row --> table
//! ```

pub mod alignment;
pub mod best;
pub mod bound;
pub mod bounds;
pub mod goal;
pub mod golden;
pub mod levels;
pub mod line;
pub mod live;
pub mod onsets;
pub mod piece;
mod places;
pub mod plan;
pub mod rows;
mod shares;
mod slow_alignment;
pub mod table;
pub mod tally;
pub mod trouble;
