//! What may be typed as a value.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| (lockring_fuzz::readers::VALUES.read)(bytes));
