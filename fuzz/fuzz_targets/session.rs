//! Bytes into a session, at times and in pieces of any kind.
#![no_main]

libfuzzer_sys::fuzz_target!(|input: &[u8]| evenhand_tests::fuzzed::session(input));
