//! The options of `export` and `share`, and what the options of `import` hold beside plain words.

use std::path::PathBuf;

use clap::Args as ClapArgs;

use super::FilterArgs;

/// What `export` writes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, clap::ValueEnum)]
pub enum ExportWhat {
    /// Things dug.
    Finds,
    /// Things heard and not dug.
    Signals,
    /// Where the coil went.
    Tracks,
}

/// Options of `export`.
#[derive(Debug, ClapArgs)]
pub struct ExportArgs {
    /// The book.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// The beach; may be left out when the book has only one.
    #[arg(long, value_name = "NAME")]
    pub beach: Option<String>,
    /// What to write; without it everything, of which a CSV file holds finds and signals.
    #[arg(long, value_name = "WHAT", value_enum, value_delimiter = ',')]
    pub what: Vec<ExportWhat>,
    /// The file to write; its ending names the format.
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// The format, where the ending does not name it: gpx, kml, csv or geojson.
    #[arg(long, value_name = "FORMAT")]
    pub format: Option<String>,
    /// Which of them.
    #[command(flatten)]
    pub filter: FilterArgs,
    /// Replace a file that this program did not make, or that was changed since; never a database.
    #[arg(long)]
    pub force: bool,
}

/// Options of `share`.
#[derive(Debug, ClapArgs)]
pub struct ShareArgs {
    /// The book.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// The beach; may be left out when the book has only one, or where a permission is named.
    #[arg(long, value_name = "NAME")]
    pub beach: Option<String>,
    /// The permission whose terms decide what is handed over; without one everything is written, for yourself, with
    /// exact positions.
    #[arg(long, value_name = "NAME")]
    pub permission: Option<String>,
    /// The first day to tell of.
    #[arg(long, value_name = "DATE", requires = "permission")]
    pub from: Option<String>,
    /// The last day to tell of.
    #[arg(long, value_name = "DATE", requires = "permission")]
    pub to: Option<String>,
    /// Only finds that were not handed over under this permission before, by its receipts.
    #[arg(long, requires = "permission")]
    pub new: bool,
    /// The folder that the finds' pictures lie in; they go along, made anew of their pixels.
    #[arg(long, value_name = "DIR", requires = "permission")]
    pub pictures: Option<PathBuf>,
    /// Write nothing: list exactly what would leave.
    #[arg(long, requires = "permission")]
    pub preview: bool,
    /// Keep no receipt in the book of what was handed over.
    #[arg(long, requires = "permission")]
    pub no_receipt: bool,
    /// The folder to write into; made if it is not there.
    #[arg(long, value_name = "DIR", required_unless_present = "preview")]
    pub out: Option<PathBuf>,
    /// Replace files that this program did not make, or that were changed since; never a database.
    #[arg(long)]
    pub force: bool,
}

/// A heading and what it means.
pub(super) fn column(text: &str) -> Result<(String, String), String> {
    let (heading, word) =
        text.rsplit_once('=').ok_or_else(|| format!("\"{text}\" is not HEADING=MEANING, such as Deep=depth_cm"))?;
    Ok((heading.trim().to_owned(), word.trim().to_owned()))
}

/// `+01:02:30` or `-03:30`, as seconds.
pub(super) fn clock_offset(text: &str) -> Result<i64, String> {
    let wrong = || format!("\"{text}\" is not how far a clock is ahead of UTC, such as +01:02:30");
    let (sign, body) = match text.trim().strip_prefix('-') {
        Some(body) => (-1, body),
        None => (1, text.trim().trim_start_matches('+')),
    };
    let parts: Vec<&str> = body.split(':').collect();
    let part = |n: usize, most: i64| match parts.get(n) {
        None => Ok(0),
        Some(digits) if (1..=2).contains(&digits.len()) => {
            digits.parse::<i64>().ok().filter(|v| (0..=most).contains(v)).ok_or_else(wrong)
        }
        Some(_) => Err(wrong()),
    };
    if parts.len() > 3 || parts.len() < 2 {
        return Err(wrong());
    }
    Ok(sign * (part(0, 15)? * 3600 + part(1, 59)? * 60 + part(2, 59)?))
}
