//! Bytes as each message that a method takes.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| (lockring_fuzz::CONTRACT.read)(bytes));
