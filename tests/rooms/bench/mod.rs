//! The bench: what known targets teach, and what is said when they teach little.

mod bad;
mod calibration;
mod drift;
mod grounds;
mod little;
mod modes;
mod tables;
mod values;
