//! Bytes that may be a pack or a result.
#![no_main]

libfuzzer_sys::fuzz_target!(|input: &[u8]| evenhand_tests::fuzzed::pack(input));
