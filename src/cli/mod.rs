//! The same jobs without a window.
//!
//! `--json` prints one JSON document on standard output; messages go to standard error. The process
//! ends with 0 when done, 2 for bad use, 3 for bad input (nothing was changed) and 4 when something
//! could not be written (nothing was lost).

mod args;
mod asides;
mod beach;
mod bench;
mod book;
mod check;
mod clean;
mod demo;
mod doubles;
mod doubts;
mod dry;
mod export;
mod failure;
mod filter;
mod import;
mod keeping_args;
mod lows;
mod permission;
mod read;
mod route;
mod said;
mod settings;
mod share;
mod source;
mod tides;
mod trial;
mod water_at_place;

use std::process::ExitCode;

use clap::{CommandFactory as _, Parser};

pub use args::{Args, Command, WindowArgs};
pub use failure::{Failure, FailureKind};

/// Parses the command line and does what it says; the window is opened by `window`, so that this
/// room needs no screen.
pub fn run(window: impl FnOnce(&WindowArgs) -> Result<(), Failure>) -> ExitCode {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(refusal) => {
            // Help and version are no mistake; clap prints them to standard output.
            let _ = refusal.print();
            return if refusal.use_stderr() { FailureKind::Use.into() } else { ExitCode::SUCCESS };
        }
    };
    let done = match args.command {
        None => window(&args.window),
        Some(Command::Demo(a)) => demo::run(&a, window),
        Some(Command::Beach(a)) => beach::run(&a),
        Some(Command::Import(a)) => import::run(&a),
        Some(Command::Tides(a)) => tides::run(&a),
        Some(Command::Read(a)) => read::run(&a),
        Some(Command::Trial(a)) => trial::run(&a),
        Some(Command::Bench(a)) => bench::run(&a),
        Some(Command::Route(a)) => route::run(&a),
        Some(Command::Export(a)) => export::run(&a),
        Some(Command::Share(a)) => share::run(&a),
        Some(Command::Permission(a)) => permission::run(&a),
        Some(Command::Check(a)) => check::run(&a),
        Some(Command::Book(a)) => book::run(&a),
        Some(Command::Doubles(a)) => doubles::run(&a),
        Some(Command::Clean(a)) => clean::run(&a),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("scourline: {failure}");
            failure.kind.into()
        }
    }
}

/// What a build without a window answers when it is asked for one.
pub fn no_window() -> Failure {
    let command = Args::command();
    let jobs: Vec<&str> = command.get_subcommands().map(clap::Command::get_name).collect();
    Failure::usage(format!("this build has no window, only the commands {}", jobs.join(", ")))
}
