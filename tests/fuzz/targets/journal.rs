//! Entries of a journal that need not follow from each other.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| (lockring_fuzz::readers::JOURNAL.read)(bytes));
