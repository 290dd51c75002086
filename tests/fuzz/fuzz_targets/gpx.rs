//! The reader of GPX.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| reading::take_in("gpx", bytes));
