//! The window driven by its accessibility tree, without a screen or a graphics processor.

#![allow(clippy::unwrap_used, reason = "a helper of a test may stop it")]

mod bench;
mod bench_run;
mod drawn;
mod editing;
mod first_steps;
mod forms;
mod fresh;
mod importing;
mod keeping;
mod keyboard;
mod known_targets;
mod lows;
mod next_low;
mod old_answers;
mod picking;
mod read_filter;
mod read_ground;
mod reading;
mod safety;
mod sharing;
mod sizes;
mod stranger;
mod tidying;
mod time;
