//! Damaged GPX files of roads.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| (lockring_fuzz::readers::ROAD.read)(bytes));
