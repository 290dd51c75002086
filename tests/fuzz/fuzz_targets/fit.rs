//! The reader of FIT.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| reading::take_in("fit", bytes));
