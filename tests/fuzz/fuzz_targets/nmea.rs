//! The reader of logs of NMEA 0183.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| reading::take_in("nmea", bytes));
