//! The options of `import`, `export` and `share`.

use std::path::PathBuf;

use clap::Args as ClapArgs;

use super::FilterArgs;
use crate::exchange::About;

/// Options of `import`.
#[derive(Debug, ClapArgs)]
pub struct ImportArgs {
    /// The book; made if it is not there.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// The files; of a folder those in it and below it that can be read, of a pattern such as 'tracks/*.gpx' those that
    /// fit it, in the order of their names.
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// The beach they belong to; made, centred on the files, if it is not in the book.
    #[arg(long, value_name = "NAME")]
    pub beach: Option<String>,
    /// Take their finds in as those of this other person, apart from your own: in no outing, in no rate, in no hand-over.
    /// Of a pack that somebody was handed its folder is named.
    #[arg(long, value_name = "PERSON")]
    pub by: Option<String>,
    /// What the files hold, when the guess is wrong: tracks, finds, signals, levels, zones, permissions, baseline,
    /// storm, tide-table, gauge, outings, setups or bench. A table of known targets (bench) needs no beach: columns
    /// setup, target or kind, and either depth_cm with target_ids (or ID1, ID2 ...), or one column for each depth,
    /// such as "10 cm", with the numbers in it; rows of one target at one depth are its passes, and tables may stand below
    /// one another; `bench --template FILE` writes one to fill in.
    #[arg(long = "as", value_name = "WHAT")]
    pub what: Option<String>,
    /// The grid of easting and northing columns, such as EPSG:27700. GPX and KML, and GeoJSON whose positions all lie within the
    /// range of degrees, are in degrees whatever it says.
    #[arg(long, value_name = "EPSG")]
    pub grid: Option<String>,
    /// What columns of a table mean where that is guessed wrong or not at all: headings, each with a word that heads such
    /// columns as a rule, as in "Found=date,Deep=depth_cm"; none for one that means nothing. Of a table whose first line is
    /// a record already the columns are called by their numbers, as in 1=lon,2=lat,3=what.
    #[arg(long, value_name = "HEADING=MEANING,...", value_delimiter = ',', value_parser = column)]
    pub columns: Vec<(String, String)>,
    /// The clock of times that state no offset, such as UTC; without it the beach's own.
    #[arg(long, value_name = "TZ")]
    pub zone: Option<String>,
    /// Heights of a tide table or gauge record that state no unit are feet, not metres.
    #[arg(long)]
    pub feet: bool,
    /// How far the clock of the camera was ahead of UTC, for photographs without the satellites' time in them: +01:02:30
    /// for one on British summer time that is two and a half minutes fast.
    #[arg(long, value_name = "+HH:MM:SS", allow_hyphen_values = true, value_parser = clock_offset)]
    pub camera_clock: Option<i64>,
    // Every answer there is, so the list is made where they are.
    #[arg(
        long = "answer",
        value_name = "ABOUT=ANSWER",
        value_parser = About::answered,
        help = format!(
            "Settle what a file leaves open; what there is to answer is told where it must be, and before anything is written: {}",
            About::all_answers()
        )
    )]
    pub answers: Vec<(About, &'static str)>,
    /// Say what would be taken and write nothing.
    #[arg(long)]
    pub dry_run: bool,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}

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
