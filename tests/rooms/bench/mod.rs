//! The bench: what known targets teach, and what is said when they teach little.

mod bad;
mod calibration;
mod little;
mod modes;
mod values;
