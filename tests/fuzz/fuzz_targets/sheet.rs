//! The reader of spreadsheets, XLSX and ODS.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| reading::take_in("sheet", bytes));
