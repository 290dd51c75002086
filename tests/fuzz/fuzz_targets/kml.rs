//! The reader of KML, and KMZ as archives of it.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| reading::take_in("kml", bytes));
