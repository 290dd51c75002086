//! The reader of layers of others in a GeoPackage.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| reading::take_in("geopackage", bytes));
