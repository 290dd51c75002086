use std::path::PathBuf;
use std::time::Instant;

use jiff::Timestamp;

use super::state::SheetChoice;
use crate::output::Over;
use crate::store::OpenBook;

/// The size a window opens with, points: with a title bar and a panel it fits a screen of 1366 × 768.
pub const OPENING: [f32; 2] = [1320.0, 680.0];
/// The size of a picture, unless another is asked for, points.
pub const PICTURE: [f32; 2] = [1440.0, 900.0];

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
    /// What that file may replace.
    pub over: Over,
    /// The sheet.
    pub sheet: SheetChoice,
    /// Whether the sheet was asked for: where there is no room for it and the drawings, it is then the sheet that is shown.
    pub sheet_asked: bool,
    /// Whether the bench stands in the Log.
    pub bench: bool,
    /// What Plan shows of the ground, by its word on screen: none, covered, rate or certainty.
    pub ground: Option<String>,
    /// The folded part or the verdict of Read to open and bring into view, by the beginning of its name; `route` plans one
    /// for the next low.
    pub part: Option<String>,
    /// Dark, light, or as the system has it.
    pub dark: Option<bool>,
    /// Size of the window, pixels where the screen has one for each point.
    pub size: [f32; 2],
    /// How much larger everything is drawn than usual.
    pub zoom: f32,
    /// The instant to show; the present one without it.
    pub at: Option<Timestamp>,
    /// Print how long the first frames took and leave.
    pub first_frame: bool,
    /// Whether the last book is looked up and remembered.
    pub remember: bool,
    /// Where reports of a mistake in the program are written, if not in the usual place.
    pub reports: Option<PathBuf>,
    /// When the program began, for the time to the first frame.
    pub began: Instant,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            start: Start::Last,
            picture: None,
            over: Over::Own,
            sheet: SheetChoice::default(),
            sheet_asked: false,
            bench: false,
            ground: None,
            part: None,
            dark: None,
            size: OPENING,
            zoom: 1.0,
            at: None,
            first_frame: false,
            remember: true,
            reports: None,
            began: Instant::now(),
        }
    }
}

impl Options {
    /// The same with the size that a text names: `1440x900`.
    ///
    /// # Errors
    /// A sentence when it is no size.
    pub fn sized(self, text: &str) -> Result<Self, String> {
        Ok(Self { size: size_of(text)?, ..self })
    }

    /// The same with everything so many times larger, 0.5 to 4.
    ///
    /// # Errors
    /// A sentence when it is no such figure.
    pub fn zoomed(self, text: &str) -> Result<Self, String> {
        let zoom = text.trim().parse::<f32>().ok().filter(|z| (0.5..=4.0).contains(z));
        let zoom = zoom.ok_or_else(|| format!("\"{text}\" is no figure from 0.5 to 4"))?;
        Ok(Self { zoom, ..self })
    }

    /// The same at the instant that a text names: RFC 3339.
    ///
    /// # Errors
    /// A sentence when it is no instant.
    pub fn at(self, text: &str) -> Result<Self, String> {
        let at = text.parse().map_err(|_| format!("\"{text}\" is no instant such as 2027-01-12T06:40:00Z"))?;
        Ok(Self { at: Some(at), ..self })
    }

    /// The same with the sheet that a text names.
    ///
    /// # Errors
    /// A sentence when it is no sheet.
    pub fn with_sheet(self, text: &str) -> Result<Self, String> {
        // The bench is a page of the Log, reached from there.
        if text.trim().eq_ignore_ascii_case("bench") {
            return Ok(Self { sheet: SheetChoice::Log, bench: true, sheet_asked: true, ..self });
        }
        Ok(Self { sheet: text.parse()?, bench: false, sheet_asked: true, ..self })
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
        let o = Options::default;
        assert_eq!(o().sized("1180x720").unwrap().size, [1180.0, 720.0]);
        assert!(o().sized("big").unwrap_err().contains("1440x900"));
        assert!(o().sized("1x1").is_err() && o().sized("NaNxNaN").is_err());
        assert!(o().at("noon").is_err());
        assert!(o().zoomed("1.5").unwrap().zoom > 1.4 && o().zoomed("9").is_err() && o().zoomed("NaN").is_err());
        assert_eq!(o().with_sheet("next-low").unwrap().sheet, SheetChoice::NextLow);
        assert!(o().with_sheet("bench").unwrap().bench);
        assert!(o().with_sheet("map").unwrap_err().contains("next-low"));
    }
}
