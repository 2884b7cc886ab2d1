//! Bytes that may be a Standard MIDI File.
#![no_main]

libfuzzer_sys::fuzz_target!(|input: &[u8]| evenhand_tests::fuzzed::smf(input));
