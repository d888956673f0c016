//! Texts and reports as they are laid out.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| (lockring_fuzz::SHOWN.read)(bytes));
