//! The program as a user starts it, in time that is told or does not matter.

mod bad_input;
mod course;
mod demo;
mod disputed;
mod doctor_listens;
mod events;
mod feet;
mod four_days;
mod hands;
mod hands_free;
mod history;
mod history_days;
mod lesson;
mod new_study;
mod nothing_acts;
mod outside_chords;
mod pack;
mod papers;
mod pedal;
mod pedal_link;
mod practice;
mod practice_half_hour;
mod silence;
mod sound;
mod today;
