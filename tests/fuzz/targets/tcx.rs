//! Damaged TCX files of rides.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| (lockring_fuzz::readers::TCX.read)(bytes));
