//! What is done with inputs that nobody has written: one function a kind of input, each of which
//! panics if anything is wrong.
//!
//! The targets in `fuzz/` call them with inputs that a fuzzer finds, and `tests/fuzz_smoke.rs`
//! with the kept corpus and seeded mutations of it.

mod fault;
mod mutate;
mod pack;
mod script;
mod session;
mod smf;
mod study;

pub use mutate::mutate;
pub use pack::pack;
pub use session::session;
pub use smf::smf;
pub use study::study;

/// A kind of input: the name of its target and of its folder in `fuzz/corpus`, and what is done
/// with an input.
pub struct Target {
    /// The name.
    pub name: &'static str,
    /// Does everything that can be done with the input.
    pub run: fn(&[u8]),
}

/// All kinds.
pub const TARGETS: [Target; 4] = [
    Target { name: "session", run: session },
    Target { name: "study", run: study },
    Target { name: "smf", run: smf },
    Target { name: "pack", run: pack },
];
