//! The reader of what cameras write into photographs.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| reading::take_in("photo", bytes));
