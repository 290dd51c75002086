//! The program: the window, or one command without it.

use std::process::ExitCode;

use scourline::cli;

// Much of a large frame is the allocator's page faults; this one keeps its pages.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

#[cfg(feature = "window")]
fn main() -> ExitCode {
    let began = std::time::Instant::now();
    cli::run(|args| window::open(args, began))
}

#[cfg(not(feature = "window"))]
fn main() -> ExitCode {
    cli::run(|_| Err(cli::no_window()))
}

#[cfg(feature = "window")]
mod window {
    use std::time::Instant;

    use scourline::app::{self, Options, Start, WindowError};
    use scourline::cli::{Failure, WindowArgs};
    use scourline::output::Over;

    pub(super) fn open(args: &WindowArgs, began: Instant) -> Result<(), Failure> {
        let options = options(args, began).map_err(Failure::usage)?;
        app::run(options).map_err(|e| match e {
            WindowError::NoWindow(_) => Failure::usage(e),
            WindowError::Picture(_) => Failure::output(e),
        })
    }

    fn options(args: &WindowArgs, began: Instant) -> Result<Options, String> {
        let mut options = Options {
            start: args.book.clone().map_or(Start::Last, Start::Book),
            picture: args.picture.clone(),
            over: if args.force { Over::Anything } else { Over::Own },
            // A picture must not hang on how the system happens to be set.
            dark: (args.dark || args.picture.is_some()).then_some(args.dark),
            first_frame: args.first_frame,
            ground: args.ground.clone(),
            part: args.part.clone(),
            began,
            ..Options::default()
        };
        if args.picture.is_some() {
            options.size = app::PICTURE;
        }
        if let Some(zoom) = &args.zoom {
            options = options.zoomed(zoom)?;
        }
        if let Some(size) = &args.size {
            options = options.sized(size)?;
        }
        if let Some(at) = &args.at {
            options = options.at(at)?;
        }
        if let Some(sheet) = &args.sheet {
            options = options.with_sheet(sheet)?;
        }
        Ok(options)
    }
}
