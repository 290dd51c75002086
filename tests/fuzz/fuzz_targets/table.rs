//! The reader of tables of delimited text.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| reading::take_in("table", bytes));
