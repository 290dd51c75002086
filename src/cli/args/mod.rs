mod files;
mod permission;

use std::path::PathBuf;

use clap::{Args as ClapArgs, Parser, Subcommand};

pub(super) use files::{ExportArgs, ExportWhat, ImportArgs, ShareArgs};
pub(super) use permission::{CheckArgs, PermissionArgs};

use super::keeping_args::{BookArgs, CleanArgs, DoublesArgs};
use crate::sea::Waves;

/// Reads a beach for people who search it with a metal detector.
#[derive(Debug, Parser)]
#[command(name = "scourline", version, about, long_about = None, args_conflicts_with_subcommands = true)]
pub struct Args {
    /// What the window opens with, when no command is given.
    #[command(flatten)]
    pub window: WindowArgs,
    /// A job without the window.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// How the window opens.
#[derive(Debug, Clone, Default, ClapArgs)]
pub struct WindowArgs {
    /// The book to open; without it the last one, or the demo beach the first time.
    pub book: Option<PathBuf>,
    /// Draw the window once, write it to this PNG file and leave.
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// Let --picture replace a file that this program did not make, or that was changed since; never a database.
    #[arg(long, requires = "picture")]
    pub force: bool,
    /// The sheet to open: log, bench, read, next-low or share.
    #[arg(long, value_name = "SHEET")]
    pub sheet: Option<String>,
    /// What Plan shows of the ground: none, covered, rate or certainty.
    #[arg(long, value_name = "WORD", value_parser = ["none", "covered", "rate", "certainty"])]
    pub ground: Option<String>,
    /// The folded part or verdict of Read to open, by how its name begins: zones, "scour line 1"; or route: plans the next low
    #[arg(long, value_name = "NAME")]
    pub part: Option<String>,
    /// Dark instead of light.
    #[arg(long)]
    pub dark: bool,
    /// Size of the window in points.
    #[arg(long, value_name = "WxH")]
    pub size: Option<String>,
    /// How much larger everything is drawn than usual, 0.5 to 4.
    #[arg(long, value_name = "TIMES")]
    pub zoom: Option<String>,
    /// The instant to show, RFC 3339.
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,
    /// Print the time to the first frame and leave.
    #[arg(long)]
    pub first_frame: bool,
}

/// The jobs without a window.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Take in the invented demo beach, read it, and write all that can be handed over.
    Demo(DemoArgs),
    /// Make or show a beach: tide station, datum offset, time zone, baseline.
    Beach(Box<BeachArgs>),
    /// Take files into a book: tracks, finds, levels, zones, storms, tide tables.
    Import(ImportArgs),
    /// Heights, high and low waters, levels and daylight.
    Tides(TidesArgs),
    /// What the finds of a beach have in common.
    Read(ReadArgs),
    /// Read invented beaches and hold what is told against what was planted.
    Trial(TrialArgs),
    /// How known targets read, what a signal may be, what a cut-off costs.
    Bench(BenchArgs),
    /// A route for the next low water, checked to be back before the sea.
    Route(RouteArgs),
    /// Write finds, signals and tracks as GPX, KML, CSV or GeoJSON for yourself, with exact places and times.
    Export(ExportArgs),
    /// Write finds, zones, clusters and bands as GeoJSON, with a report.
    Share(ShareArgs),
    /// Show permissions, and change what was agreed: dates, hours, terms, how places are told.
    Permission(Box<PermissionArgs>),
    /// Finds and outings that no permission covers or that lie where nobody may search, and finds that may carry a duty.
    Check(CheckArgs),
    /// The history of a book, what was taken out of it, its backups; take back, bring back, restore.
    Book(BookArgs),
    /// What stands in a book twice, as proposals to merge.
    Doubles(DoublesArgs),
    /// Spikes, drift at rest and pauses of tracks: what would go, and their taking out.
    Clean(CleanArgs),
}

/// Options of `demo`.
#[derive(Debug, ClapArgs)]
pub struct DemoArgs {
    /// The folder to write into; made if it is not there.
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Replace files that this program did not make, or that were changed since, and the demo's book with what was
    /// edited in it.
    #[arg(long)]
    pub force: bool,
    /// Do not open the window afterwards.
    #[arg(long)]
    pub no_window: bool,
    /// Print one JSON document instead of the brief.
    #[arg(long)]
    pub json: bool,
}

/// Options of `beach`.
#[derive(Debug, ClapArgs)]
pub struct BeachArgs {
    /// The book; made if it is not there.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// Name of the beach; may be left out when the book has only one.
    #[arg(long, value_name = "NAME")]
    pub beach: Option<String>,
    /// Position of the beach, for one that is not in the book yet.
    #[arg(long, value_name = "LON,LAT", allow_hyphen_values = true, requires = "beach")]
    pub near: Option<String>,
    /// Id of its tide station.
    #[arg(long, value_name = "ID")]
    pub station: Option<String>,
    /// A tide table of the book as its tide source.
    #[arg(long, value_name = "NAME", conflicts_with = "station")]
    pub tide_table: Option<String>,
    /// A gauge record of the book as its tide source: constants are found in it by harmonic analysis.
    #[arg(long, value_name = "NAME", conflicts_with_all = ["station", "tide_table"])]
    pub gauge: Option<String>,
    /// Name of a secondary port as its tide source: --differences on the standard port that --station or
    /// --tide-table names.
    #[arg(long, value_name = "NAME", requires = "differences", conflicts_with = "gauge")]
    pub secondary: Option<String>,
    /// Differences as tide tables print them, with commas between: high water times at springs and neaps, low
    /// water times at springs and neaps (hhmm or minutes), heights at MHWS, MHWN, MLWN and MLWS (metres).
    #[arg(long, value_name = "LIST", requires = "secondary", allow_hyphen_values = true)]
    pub differences: Option<String>,
    /// The standard port's MHWS, MHWN, MLWN and MLWS as printed, metres; needed with --tide-table.
    #[arg(long, value_name = "LIST", requires = "secondary", allow_hyphen_values = true)]
    pub standard_levels: Option<String>,
    /// Surge above the prediction, observed or forecast, metres; `none` forgets it.
    #[arg(long, value_name = "M", allow_hyphen_values = true)]
    pub surge: Option<String>,
    /// Standard deviation of the surge, metres; `none` forgets it.
    #[arg(long, value_name = "M")]
    pub surge_sd: Option<String>,
    /// Air pressure at sea level, hPa, used without a surge; `none` forgets it.
    #[arg(long, value_name = "HPA")]
    pub pressure: Option<String>,
    /// Height that waves run up above still water, metres; `none` forgets it.
    #[arg(long, value_name = "M")]
    pub run_up: Option<String>,
    /// Your free hours for this beach on its own clock, such as "sat sun 8-18, wed 17-21"; `always` forgets them.
    #[arg(long, value_name = "HOURS")]
    pub free: Option<String>,
    /// Pace at which the slowest of those who search it walks over sand, metres a second, 0.2 to 2; every route allows for
    /// it where it is below the usual 0.9; `none` forgets it.
    #[arg(long, value_name = "M_PER_S")]
    pub pace: Option<String>,
    /// Tide level = land level + this many metres.
    #[arg(long, value_name = "M", allow_hyphen_values = true, value_parser = number)]
    pub offset: Option<f64>,
    /// Confirm what the program doubts, by the key it is told under: you looked into it and it is so. It is kept with
    /// the beach, holds for the values it names alone, and is repeated on every card. May be repeated.
    #[arg(long, value_name = "KEY")]
    pub confirm: Vec<String>,
    /// Take a confirmation back. May be repeated.
    #[arg(long, value_name = "KEY")]
    pub unconfirm: Vec<String>,
    /// Stretches of an outing's track that are no witness of where the water stood, by the day on which it began and
    /// the beach's clock: "2026-07-12 06:40-07:10 wading; 07:30-08:00 not me". Reasons are wading, not on foot, not me
    /// and kept clear; `none` in place of stretches forgets them. What reaches over the outing is cut. May be repeated.
    #[arg(long, value_name = "DAY STRETCHES")]
    pub set_aside: Vec<String>,
    /// Its time zone, such as Europe/London.
    #[arg(long, value_name = "TZ")]
    pub zone: Option<String>,
    /// The country it lies in, for the duties: two letters of ISO 3166-1 such as DK; `none` forgets it. Without it the beach's
    /// clock and the tide station nearest to it must say the same.
    #[arg(long, value_name = "CODE")]
    pub country: Option<String>,
    /// How the beach is read from now on.
    #[command(flatten)]
    pub settings: SettingsArgs,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}

/// What is kept with a beach of how it is read: the options of `read`, each of which `none` sets back to what is usual.
#[derive(Debug, Default, ClapArgs)]
#[command(next_help_heading = "How the beach is read from now on (`none` stands for what is usual)")]
pub struct SettingsArgs {
    /// Way of the coil's middle from one end of a swing to the other, metres.
    #[arg(long, value_name = "M")]
    pub swing: Option<String>,
    /// Width of the coil where the set-up gives none, metres.
    #[arg(long, value_name = "M")]
    pub coil: Option<String>,
    /// Share of the swath that the coil really passes over, 0.05 to 1.
    #[arg(long, value_name = "SHARE")]
    pub overlap: Option<String>,
    /// Faster than this is walking, not searching, metres per second.
    #[arg(long, value_name = "M_PER_S")]
    pub walk_speed: Option<String>,
    /// Who turns by more than this is searching whatever the speed, degrees.
    #[arg(long, value_name = "DEG")]
    pub turn: Option<String>,
    /// A longer pause between two fixes is a gap, seconds.
    #[arg(long, value_name = "S")]
    pub gap: Option<String>,
    /// How finds are clustered: dbscan or hdbscan.
    #[arg(long, value_name = "WORD")]
    pub clusters: Option<String>,
    /// How near neighbours must be to belong together, metres.
    #[arg(long, value_name = "M")]
    pub radius: Option<String>,
    /// How many finds make a core, itself included; with hdbscan also the least finds of a cluster.
    #[arg(long, value_name = "N")]
    pub least: Option<String>,
    /// Chance that one pass of the coil finds what lies under it, 0.01 to 1.
    #[arg(long, value_name = "SHARE")]
    pub per_pass: Option<String>,
    /// Share by which the effort in one place may be misjudged against the rest, 0 to 2.
    #[arg(long, value_name = "SHARE")]
    pub effort_error: Option<String>,
    /// Rates before and after a storm are compared over at most this many days on either side.
    #[arg(long, value_name = "DAYS")]
    pub storm_days: Option<String>,
}

/// The order that low waters are told in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum LowsBy {
    /// As they come.
    Soonest,
    /// The lowest first.
    Lowest,
    /// Those with the most minutes dry, lit and free first.
    Usable,
}

/// Options of `tides`.
#[derive(Debug, ClapArgs)]
pub struct TidesArgs {
    /// The nearest station to this position.
    #[arg(long, value_name = "LON,LAT", allow_hyphen_values = true, group = "source")]
    pub near: Option<String>,
    /// A station of the catalogue.
    #[arg(long, value_name = "ID", group = "source")]
    pub station: Option<String>,
    /// The tide of a beach in this book.
    #[arg(long, value_name = "FILE", group = "source")]
    pub book: Option<PathBuf>,
    /// That beach; may be left out when the book has only one.
    #[arg(long, value_name = "NAME", requires = "book")]
    pub beach: Option<String>,
    /// First day (YYYY-MM-DD, from midnight in the place's own time) or instant (RFC 3339).
    #[arg(long, value_name = "DATE")]
    pub from: String,
    /// How many days.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=7000))]
    pub days: u32,
    /// Leave out pairs of turns that differ by less than this many metres.
    #[arg(long, value_name = "M", value_parser = number)]
    pub merge_below: Option<f64>,
    /// Also rank the low waters of these days and tell the first so many.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub lows: Option<u32>,
    /// The order of the low waters.
    #[arg(long, value_name = "ORDER", value_enum, default_value_t = LowsBy::Lowest, requires = "lows")]
    pub lows_by: LowsBy,
    /// Only low waters in daylight.
    #[arg(long, requires = "lows")]
    pub daylight: bool,
    /// Your free hours, such as "sat sun 8-18, wed 17-21", or `always`; without it those kept with the beach.
    #[arg(long, value_name = "HOURS", requires = "lows")]
    pub free: Option<String>,
    /// Also tell when this level is dry, metres above the source's datum.
    #[arg(long, value_name = "M", allow_hyphen_values = true, conflicts_with = "dry_at", value_parser = number)]
    pub dry: Option<f64>,
    /// Also tell when the sand at this place of the beach is dry.
    #[arg(long, value_name = "LON,LAT", allow_hyphen_values = true, requires = "book")]
    pub dry_at: Option<String>,
    /// Surge above the prediction, observed or forecast, metres; without it the beach's own.
    #[arg(long, value_name = "M", allow_hyphen_values = true, value_parser = number)]
    pub surge: Option<f64>,
    /// Standard deviation of the surge, metres.
    #[arg(long, value_name = "M", value_parser = number)]
    pub surge_sd: Option<f64>,
    /// Air pressure at sea level, hPa, used without a surge.
    #[arg(long, value_name = "HPA", value_parser = number)]
    pub pressure: Option<f64>,
    /// Height that waves run up above still water, metres; less than what is worked out for the sea lowers nothing.
    #[arg(long, value_name = "M", value_parser = number)]
    pub run_up: Option<f64>,
    /// The sea you expect where no record or forecast covers the hours: height and period of the waves, as 1.2m,8s.
    #[arg(long, value_name = "HEIGHT,PERIOD", value_parser = str::parse::<Waves>)]
    pub sea: Option<Waves>,
    /// Also print heights every so many minutes.
    #[arg(long, value_name = "MIN", value_parser = clap::value_parser!(u32).range(1..=1440))]
    pub every: Option<u32>,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}

/// How `read` clusters finds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum ClusterByArg {
    /// Finds within one distance of each other.
    Dbscan,
    /// HDBSCAN*: finds that lie denser than what is round them.
    Hdbscan,
}

/// Options of `read`. Those that `beach` keeps too stand for one run instead of what is kept.
#[derive(Debug, ClapArgs)]
pub struct ReadArgs {
    /// The book.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// The beach; may be left out when the book has only one.
    #[arg(long, value_name = "NAME")]
    pub beach: Option<String>,
    /// How near neighbours must be to belong together, metres.
    #[arg(long, value_name = "M", value_parser = number)]
    pub radius: Option<f64>,
    /// How finds are clustered: by one distance, or by how dense they lie (then without --radius).
    #[arg(long, value_enum)]
    pub clusters: Option<ClusterByArg>,
    /// How many finds make a core, itself included; with hdbscan also the least finds of a cluster.
    #[arg(long, value_name = "N")]
    pub least: Option<u32>,
    /// Seed of everything drawn; the same seed and settings give the same reading.
    #[arg(long, value_name = "N")]
    pub seed: Option<u64>,
    /// Replicates of each scan.
    #[arg(long, value_name = "N")]
    pub replicates: Option<usize>,
    /// What counts as searched, and how wide.
    #[command(flatten)]
    pub effort: EffortArgs,
    /// Chance that one pass of the coil finds what lies under it, 0.01 to 1.
    #[arg(long, value_name = "SHARE", value_parser = number)]
    pub per_pass: Option<f64>,
    /// Share by which the effort in one place may be misjudged against the rest, 0 to 2: nothing is told that this alone
    /// could bring about.
    #[arg(long, value_name = "SHARE", value_parser = number)]
    pub effort_error: Option<f64>,
    /// Rates before and after a storm are compared over at most this many days on either side.
    #[arg(long, value_name = "DAYS")]
    pub storm_days: Option<u32>,
    /// Which finds and outings it is read from.
    #[command(flatten)]
    pub filter: FilterArgs,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}

/// What counts as ground searched.
#[derive(Debug, Default, ClapArgs)]
pub struct EffortArgs {
    /// Way of the coil's middle from one end of a swing to the other, metres; the ground covered is this and the coil's width.
    #[arg(long, value_name = "M", value_parser = number)]
    pub swing: Option<f64>,
    /// Width of the coil where the set-up gives none, metres.
    #[arg(long, value_name = "M", value_parser = number)]
    pub coil: Option<f64>,
    /// Share of the swath that the coil really passes over, 0.05 to 1.
    #[arg(long, value_name = "SHARE", value_parser = number)]
    pub overlap: Option<f64>,
    /// Faster than this is walking, not searching, metres per second.
    #[arg(long, value_name = "M_PER_S", value_parser = number)]
    pub walk_speed: Option<f64>,
    /// Who turns by more than this is searching whatever the speed, degrees.
    #[arg(long, value_name = "DEG", value_parser = number)]
    pub turn: Option<f64>,
    /// A longer pause between two fixes is a gap, seconds.
    #[arg(long, value_name = "S", value_parser = number)]
    pub gap: Option<f64>,
}

/// Options of `trial`.
#[derive(Debug, ClapArgs)]
pub struct TrialArgs {
    /// Beaches of each of five sorts: with patterns; without; and without but searched in one corner, with half of the
    /// tracks not kept, or searched after storms.
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub beaches: u32,
    /// Seed of the first beach; the others follow on.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Replicates of each scan.
    #[arg(long, value_name = "N", default_value_t = 199, value_parser = clap::value_parser!(u32).range(19..=99_999))]
    pub replicates: u32,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}

/// Options of `bench`.
#[derive(Debug, ClapArgs)]
pub struct BenchArgs {
    /// The book.
    #[arg(long, value_name = "FILE", required_unless_present = "template")]
    pub book: Option<PathBuf>,
    /// Write a table to fill in with readings of known targets into this file, and nothing else; `import` reads it.
    #[arg(long, value_name = "FILE")]
    pub template: Option<PathBuf>,
    /// The whole table: every kind with its numbers, and every step of the depth gauge.
    #[arg(long)]
    pub table: bool,
    /// Only this set-up, by name or uid.
    #[arg(long, value_name = "NAME")]
    pub setup: Option<String>,
    /// The beach whose finds weigh the answers; may be left out when the book has only one.
    #[arg(long, value_name = "NAME")]
    pub beach: Option<String>,
    /// What a signal with these target IDs may be.
    #[arg(long, value_name = "ID,ID,...", allow_hyphen_values = true)]
    pub signal: Option<String>,
    /// How steady the signal was: steady, jumpy or broken.
    #[arg(long, value_name = "WORD", visible_alias = "steady", requires = "signal")]
    pub steadiness: Option<String>,
    /// The ground the signal was heard on: dry, damp, wet or black-sand. What was read on other ground is moved to it by as
    /// much as targets read on both show; left out, it is the ground that the set-up notes, if it notes one.
    #[arg(long, value_name = "WORD", requires = "signal")]
    pub ground: Option<String>,
    /// The step of the depth gauge.
    #[arg(long, value_name = "N", visible_alias = "gauge", allow_hyphen_values = true)]
    pub step: Option<i32>,
    /// What leaving every signal under this target ID would have cost.
    #[arg(long, value_name = "ID", allow_hyphen_values = true, value_parser = number)]
    pub under: Option<f64>,
    /// Compare the set-up with this one on the targets both have read.
    #[arg(long, value_name = "NAME")]
    pub against: Option<String>,
    /// How often its answers are right: every find and bench target left out in turn.
    #[arg(long)]
    pub calibration: bool,
    /// Write the diagram of chances said against how often they were so into this SVG file: of the finds left out, or of
    /// the bench targets where there are no finds.
    #[arg(long, value_name = "FILE", requires = "calibration")]
    pub svg: Option<PathBuf>,
    /// What the signals left undug on the beach count for, with any set-up.
    #[arg(long)]
    pub undug: bool,
    /// Replace files that this program did not make, or that were changed since; never a database.
    #[arg(long)]
    pub force: bool,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}

/// Options of `route`.
#[derive(Debug, ClapArgs)]
pub struct RouteArgs {
    /// The book.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// The beach; may be left out when the book has only one.
    #[arg(long, value_name = "NAME")]
    pub beach: Option<String>,
    /// Not before this day (YYYY-MM-DD) or instant (RFC 3339).
    #[arg(long, value_name = "TIME")]
    pub after: String,
    /// Most hours on the sand.
    #[arg(long, value_name = "H", value_parser = number)]
    pub hours: Option<f64>,
    /// A head-torch is carried: darkness is no bar.
    #[arg(long)]
    pub head_torch: bool,
    /// Water above the prediction that the weather is expected to bring, metres; without it the beach's own.
    #[arg(long, value_name = "M", allow_hyphen_values = true, value_parser = number)]
    pub surge: Option<f64>,
    /// Height that waves run up above still water, metres; less than what is worked out for the sea lowers nothing.
    #[arg(long, value_name = "M", value_parser = number)]
    pub run_up: Option<f64>,
    /// The sea you expect where no record or forecast covers the low: height and period of the waves, as 1.2m,8s.
    #[arg(long, value_name = "HEIGHT,PERIOD", value_parser = str::parse::<Waves>)]
    pub sea: Option<Waves>,
    /// Set out from the access of this name.
    #[arg(long, value_name = "NAME")]
    pub from_access: Option<String>,
    /// Set out from this position on the sand at the time of --after.
    #[arg(long, value_name = "LON,LAT", allow_hyphen_values = true, conflicts_with = "from_access")]
    pub start: Option<String>,
    /// Come back to the access of this name.
    #[arg(long, value_name = "NAME")]
    pub to_access: Option<String>,
    /// A zone closed for the day, by name: a bathing beach in the season, a bird closure. May be repeated.
    #[arg(long, value_name = "ZONE")]
    pub closed: Vec<String>,
    /// Plan by a tide station that is more than 100 km away, or with land between, for this route: you know that it
    /// serves. The card repeats it.
    #[arg(long)]
    pub trust_station: bool,
    /// Plan with the usual paces, not with those learnt from the book's own outings.
    #[arg(long)]
    pub usual_paces: bool,
    /// Pace at which the slowest of you walks out over sand, metres a second; never more than the usual 0.9, nor than what
    /// your outings show or the beach keeps (`beach --pace`).
    #[arg(long, value_name = "M_PER_S", value_parser = pace)]
    pub pace: Option<f64>,
    /// How much unknown ground is sought: standard deviations added to a block's value.
    #[arg(long, value_name = "N", default_value_t = 0.0, value_parser = number)]
    pub explore: f64,
    /// Seed of the search.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Rounds of the search.
    #[arg(long, value_name = "N")]
    pub rounds: Option<u32>,
    /// Write the route and its lanes as GPX.
    #[arg(long, value_name = "FILE")]
    pub gpx: Option<PathBuf>,
    /// Write the blocks, lanes and way as GeoJSON.
    #[arg(long, value_name = "FILE")]
    pub geojson: Option<PathBuf>,
    /// Write the card to print, as HTML.
    #[arg(long, value_name = "FILE")]
    pub card: Option<PathBuf>,
    /// Replace files that this program did not make, or that were changed since; never a database.
    #[arg(long)]
    pub force: bool,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}

/// Which finds and outings a reading takes; all of them without any of these.
#[derive(Debug, Clone, Default, ClapArgs)]
pub struct FilterArgs {
    /// Only finds of these kinds: keys of the list of kinds, or words for them.
    #[arg(long, value_name = "KIND,KIND,...", value_delimiter = ',')]
    pub kind: Vec<String>,
    /// Tell only of heavy or of light finds.
    #[arg(long, value_name = "heavy|light")]
    pub weight: Option<String>,
    /// Only outings of this day and later, by the beach's calendar.
    #[arg(long, value_name = "DATE")]
    pub from: Option<String>,
    /// Only outings of this day and earlier.
    #[arg(long, value_name = "DATE")]
    pub to: Option<String>,
    /// Only outings after this storm, by name or uid, and before the end of the next.
    #[arg(long, value_name = "NAME")]
    pub after_storm: Option<String>,
    /// Only outings with this set-up, by name or uid.
    #[arg(long, value_name = "NAME")]
    pub setup: Option<String>,
    /// Only outings of this season: spring, summer, autumn or winter.
    #[arg(long, value_name = "SEASON")]
    pub season: Option<String>,
}

/// A pace that somebody walks at, metres a second.
fn pace(text: &str) -> Result<f64, String> {
    let pace = number(text)?;
    if (0.2..=2.0).contains(&pace) { Ok(pace) } else { Err("a pace is 0.2 to 2 metres a second".to_owned()) }
}

/// A number that can be reckoned with: Rust reads `NaN` and `inf` as numbers too, and every comparison lets the
/// first of them pass.
fn number(text: &str) -> Result<f64, String> {
    let number: f64 = text.parse().map_err(|e: std::num::ParseFloatError| e.to_string())?;
    if number.is_finite() { Ok(number) } else { Err("a plain number is wanted".to_owned()) }
}
