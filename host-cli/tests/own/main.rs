//! The program as a library: studies, what is made of them, and what comes next in practice.

mod midi_import;
mod practice;
mod score_export;
mod score_import;
mod study_demo;
mod study_hands;
mod study_once;
mod study_prepare;
mod study_problems;
mod study_roundtrip;
