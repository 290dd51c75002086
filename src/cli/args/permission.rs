//! Options of the commands about permissions.

use std::path::PathBuf;

use clap::Args as ClapArgs;

/// Options of `permission`. Without anything to change it only shows; `none` or an empty text takes a field out.
#[derive(Debug, ClapArgs)]
pub struct PermissionArgs {
    /// The book.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// The permission to show or change, by name or uid; all are shown without one. Its ground comes from a file (`import`).
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,
    /// Who gave it.
    #[arg(long, value_name = "TEXT", requires = "name")]
    pub holder: Option<String>,
    /// How the holder is reached.
    #[arg(long, value_name = "TEXT", requires = "name")]
    pub contact: Option<String>,
    /// What papers there are and where they lie.
    #[arg(long, value_name = "TEXT", requires = "name")]
    pub papers: Option<String>,
    /// First day.
    #[arg(long, value_name = "DATE", requires = "name")]
    pub from: Option<String>,
    /// Last day: it has expired after that.
    #[arg(long, value_name = "DATE", requires = "name")]
    pub to: Option<String>,
    /// Hours of the day, such as 07:00-20:30.
    #[arg(long, value_name = "HOURS", requires = "name")]
    pub hours: Option<String>,
    /// The terms, in words.
    #[arg(long, value_name = "TEXT", requires = "name")]
    pub terms: Option<String>,
    /// No deeper than so many centimetres.
    #[arg(long, value_name = "CM", requires = "name")]
    pub deepest_cm: Option<String>,
    /// The holder's part of a find's value, per cent.
    #[arg(long, value_name = "PERCENT", requires = "name")]
    pub holder_share: Option<String>,
    /// What is to be reported, in words.
    #[arg(long, value_name = "TEXT", requires = "name")]
    pub report: Option<String>,
    /// When: at_once, each_outing, monthly, yearly or at_end.
    #[arg(long, value_name = "WHEN", requires = "name")]
    pub due: Option<String>,
    /// Only what is older than this year need be told.
    #[arg(long, value_name = "YEAR", requires = "name", allow_hyphen_values = true)]
    pub older_than: Option<String>,
    /// How places are told: exact, or as squares of 10, 100, 1000, 10000 or 100000 m.
    #[arg(long, value_name = "HOW", requires = "name")]
    pub precision: Option<String>,
    /// How places of some kinds are told: "coins 100 m; jewellery withheld", or "everything withheld".
    #[arg(long, value_name = "RULES", requires = "name")]
    pub places: Option<String>,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}

/// Options of `check`.
#[derive(Debug, ClapArgs)]
pub struct CheckArgs {
    /// The book.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// The beach; all of the book without one.
    #[arg(long, value_name = "NAME")]
    pub beach: Option<String>,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}
