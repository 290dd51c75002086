//! The program: the window, or one command without it.

use std::process::ExitCode;

use scourline::cli::{self, Failure};

// Much of a large frame is the allocator's page faults; this one keeps its pages.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    cli::run(|_| Err(Failure::usage("no window yet")))
}
