//! What the judge says of what was played: in this process, on two processors at once.

mod alignment_rates;
mod converter;
mod endings;
mod error_rates;
mod fixtures;
mod fuzz_smoke;
mod interrupted;
mod invariants;
mod known_faults;
mod landing;
mod learners;
mod outside_published;
mod outside_wire;
mod pickup;
mod picture;
mod planning;
mod practice_streams;
mod recognition;
mod rehearsal;
mod search;
mod segmentation;
mod settling;
mod staircase;
mod strings_late;
mod taken_back;
