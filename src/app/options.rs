use std::path::PathBuf;
use std::time::Instant;

use jiff::Timestamp;

use super::state::SheetChoice;
use crate::cli::WindowArgs;
use crate::store::OpenBook;

/// The book the window opens with.
#[derive(Debug, Default)]
pub enum Start {
    /// The last one; the demo beach the first time.
    #[default]
    Last,
    /// One on disk.
    Book(PathBuf),
    /// The embedded demo beach.
    Demo,
    /// One that is open already, on disk or in memory.
    Given(Box<OpenBook>),
}

/// How the window opens.
#[derive(Debug)]
pub struct Options {
    /// The book.
    pub start: Start,
    /// Draw once, write the window to this PNG file and leave.
    pub picture: Option<PathBuf>,
    /// The sheet.
    pub sheet: SheetChoice,
    /// Dark, light, or as the system has it.
    pub dark: Option<bool>,
    /// Size of the window, points.
    pub size: [f32; 2],
    /// The instant to show; the present one without it.
    pub at: Option<Timestamp>,
    /// Print how long the first frames took and leave.
    pub first_frame: bool,
    /// Whether the last book is looked up and remembered.
    pub remember: bool,
    /// When the program began, for the time to the first frame.
    pub began: Instant,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            start: Start::Last,
            picture: None,
            sheet: SheetChoice::default(),
            dark: None,
            size: [1440.0, 900.0],
            at: None,
            first_frame: false,
            remember: true,
            began: Instant::now(),
        }
    }
}

impl Options {
    /// The options a command line asks for.
    ///
    /// # Errors
    /// A sentence about the first value that cannot be used.
    pub fn of(args: &WindowArgs) -> Result<Self, String> {
        let size = match &args.size {
            None => Self::default().size,
            Some(text) => size_of(text)?,
        };
        let at = match &args.at {
            None => None,
            Some(text) => Some(text.parse().map_err(|_| format!("\"{text}\" is no instant such as 2027-01-12T06:40:00Z"))?),
        };
        Ok(Self {
            start: args.book.clone().map_or(Start::Last, Start::Book),
            picture: args.picture.clone(),
            sheet: args.sheet.as_deref().map_or(Ok(SheetChoice::default()), str::parse)?,
            dark: args.dark.then_some(true).or(args.picture.is_some().then_some(false)),
            size,
            at,
            first_frame: args.first_frame,
            ..Self::default()
        })
    }
}

/// The smallest and largest window that is drawn, points.
const SIDES: std::ops::RangeInclusive<f32> = 400.0..=8000.0;

fn size_of(text: &str) -> Result<[f32; 2], String> {
    let wrong = || format!("\"{text}\" is no size such as 1440x900");
    let (w, h) = text.split_once(['x', 'X', '×']).ok_or_else(wrong)?;
    let side = |s: &str| s.trim().parse::<f32>().ok().filter(|v| SIDES.contains(v)).ok_or_else(wrong);
    Ok([side(w)?, side(h)?])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_command_line_says_is_checked() {
        let args = |f: fn(&mut WindowArgs)| {
            let mut a = WindowArgs::default();
            f(&mut a);
            Options::of(&a)
        };
        assert_eq!(args(|a| a.size = Some("1180x720".into())).unwrap().size, [1180.0, 720.0]);
        assert!(args(|a| a.size = Some("big".into())).unwrap_err().contains("1440x900"));
        assert!(args(|a| a.size = Some("1x1".into())).is_err());
        assert!(args(|a| a.at = Some("noon".into())).is_err());
        assert_eq!(args(|a| a.sheet = Some("next-low".into())).unwrap().sheet, SheetChoice::NextLow);
        assert!(args(|a| a.sheet = Some("map".into())).unwrap_err().contains("next-low"));
    }
}
