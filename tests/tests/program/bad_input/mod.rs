//! Whatever the program is given, it says what is wrong, where, and what to do, or judges what
//! there is; it never panics and never takes more memory than it needs.

mod big;
mod encodings;
mod made;
mod midi_scores;
mod musicxml;
mod noise;
mod options;
mod output;
mod places;
mod recordings;
mod scores;
mod streams;
mod studies;
