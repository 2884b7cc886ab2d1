//! Text that may be a study.
#![no_main]

libfuzzer_sys::fuzz_target!(|input: &[u8]| evenhand_tests::fuzzed::study(input));
