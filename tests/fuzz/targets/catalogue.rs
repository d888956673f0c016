//! Damaged catalogues of parts.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| (lockring_fuzz::readers::CATALOGUE.read)(bytes));
