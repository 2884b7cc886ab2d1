//! A search for what passes and should not: seeded performances with one clear fault each, through
//! the paths that users take, and clean ones beside them.
//!
//! ```text
//! seed --case--> study, chunk, level, lapse --lay--> faults --stream--> bytes and times
//!                                                      --path--> verdicts --said--> tally --> table, gate
//! ```
//!
//! A lapse is one clear fault, from three times what the level allows up to left out altogether.
//! Its sizes share a seed, so two performances of one seed differ in nothing but the size.

pub mod bound;
pub mod case;
pub mod extent;
pub mod gate;
pub mod lapse;
mod lay;
pub mod learnt;
pub mod path;
mod places;
pub mod said;
pub mod scope;
pub mod stream;
pub mod studies;
pub mod table;
pub mod tally;

pub(crate) use lay::lay;
