//! Damaged sheets of jobs.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| (lockring_fuzz::readers::SHEET.read)(bytes));
