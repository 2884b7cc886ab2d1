//! Shared helpers of the tests that cross crates.

pub mod attempt;
pub mod chords;
pub mod faults;
pub mod figures;
pub mod fuzzed;
pub mod heard;
pub mod kept;
pub mod lab;
pub mod labels;
pub mod learner;
pub mod live;
pub mod looping;
pub mod matchfile;
pub mod outside;
pub mod passage;
pub mod pedal;
pub mod performances;
pub mod pickups;
pub mod practice;
pub mod program;
pub mod run;
pub mod seeded;
pub mod smf;
pub mod stream;
pub mod told;
pub mod wav;
