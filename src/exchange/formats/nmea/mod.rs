//! Logs of NMEA 0183 sentences, as receivers put them out.

mod epoch;
mod read;
mod sentence;

pub(in crate::exchange) use read::read;
