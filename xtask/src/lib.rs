//! The developers' one entry, as a library so that tests can call its parts.
//!
//! Run it as `cargo xtask`, which prints the list of commands. Exit codes: 0 all went well,
//! 2 the command line was not understood, 3 this machine lacks something that could not be
//! installed (the message says what brings it), any other number is that of the step that failed.
//!
//! Nothing here runs `rustup`, and nothing is downloaded but by `apt-get`, `pip` and `cargo`.

pub mod beside;
pub mod checks;
pub mod demo;
pub mod disk;
pub mod elf;
pub mod embedded;
pub mod emulator;
pub mod fuzz;
pub mod lines;
pub mod machine;
pub mod pedal;
pub mod places;
pub mod process;
pub mod python;
pub mod rig;
pub mod seeds;
pub mod uf2;
