//! The files of the world, in and out.
//!
//! Reading is a dry run: [`look`] tells what a file would change in a book, record by record, with
//! the line of whatever it refuses, and leaves the change itself as an [`Edit`](crate::book::Edit) to be applied
//! elsewhere in one go. The format is told by content, never by the file's name. A record's uid
//! comes from its content, so the same file, a copy of it or the same record in another format
//! adds nothing the second time.
//!
//! Writing is pure: [`gpx::write`] and [`geojson::write`] give bytes.

mod error;
pub mod geojson;
pub mod gpx;
mod heading;
mod identity;
mod intake;
mod outings;
mod places;
mod row;
mod shape;
mod sniff;
mod source;
mod spots;
mod table;
mod taking;
mod text;
mod things;
mod value;
mod what;
mod when;

pub use error::{ExchangeError, Fault};
pub use intake::{Format, Intake, Intakes, Refusal, Understood};
pub use source::Source;
pub use spots::Extent;
pub use what::What;

use jiff::tz::TimeZone;

use crate::book::{Beach, Book, RecordKind, Uid};
use crate::earth::{Grid, LonLat, distance_m};
use crate::{Cancelled, Progress};
use error::Stop;
use taking::Taking;

/// Data farther than this from its beach is remarked upon, metres.
const FAR_M: f64 = 100_000.0;
/// Data within this of a beach is taken for that beach's, metres.
const NEAR_M: f64 = 20_000.0;
/// How deep elements or values may nest.
const DEPTH: usize = 128;

/// What the person says about a file rather than leaving it to a guess.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Options {
    /// What its records are.
    pub what: Option<What>,
    /// The beach they belong to. `None`: the only beach, else the nearest within 20 km.
    pub beach: Option<Uid>,
    /// The grid of its coordinates, such as `EPSG:27700`, when they are not longitude and latitude.
    pub grid: Option<String>,
    /// Significant wave height from which the sea counts as a storm, metres. `None`: 2.0.
    pub storm_threshold_m: Option<f64>,
    /// Whether `03/04` is the third of April. `None`: told from the file, else day first.
    pub day_first: Option<bool>,
    /// The clock of times that state no offset, a name such as `UTC` or `Europe/London`. `None`: the beach's own.
    pub zone: Option<String>,
    /// Whether heights of a tide table or gauge record that state no unit are feet rather than metres.
    pub feet: bool,
}

impl Options {
    fn grid(&self) -> Result<Option<Grid>, Fault> {
        self.grid.as_deref().map(Grid::named).transpose().map_err(|e| Fault::Option(e.to_string()))
    }

    fn zone(&self) -> Result<Option<TimeZone>, Fault> {
        let named = |name: &str| {
            TimeZone::get(name.trim())
                .map_err(|_| Fault::Option(format!("\"{name}\" is not a zone name such as Europe/London or UTC")))
        };
        self.zone.as_deref().map(named).transpose()
    }
}

/// What one file would change in the book. Nothing is written.
///
/// # Errors
/// When the file as a whole cannot be read, is of no known format, or belongs to no known beach;
/// a bad record in a readable file is only refused ([`Intake::refused`]).
pub fn look(source: &Source, book: &Book, options: &Options, progress: &Progress) -> Result<Intake, ExchangeError> {
    let file = source.name();
    let sniffed = sniff::sniff(&source.head().map_err(|f| f.of(&file))?).map_err(|f| f.of(&file))?;
    options.grid().map_err(|f| f.of(&file))?;
    options.zone().map_err(|f| f.of(&file))?;
    let beach = match beach_of(source, sniffed, book, options, progress) {
        Ok(beach) => beach,
        // Set-ups and bench readings lie on no beach, so the file may still be welcome.
        Err(Stop::Fault(fault @ (Fault::NoBeach | Fault::WhichBeach { .. }))) => {
            let intake = read(source, sniffed, book, options, nowhere(), progress).map_err(|s| s.of(&file))?;
            let beachless =
                !intake.taken.is_empty() && intake.taken.keys().all(|k| matches!(k, RecordKind::Setup | RecordKind::Bench));
            let known = !intake.already_there.is_empty()
                && intake.already_there.keys().all(|k| matches!(k, RecordKind::Setup | RecordKind::Bench));
            return if beachless || (intake.taken.is_empty() && known) {
                Ok(Intake { beach: None, ..intake })
            } else {
                Err(fault.of(&file))
            };
        }
        Err(stop) => return Err(stop.of(&file)),
    };
    read(source, sniffed, book, options, beach, progress).map_err(|s| s.of(&file))
}

/// What several files would change together, each seeing the records of those before it.
///
/// Files build on each other in an order of their own (set-ups, outings, tracks, then the rest),
/// whatever the order in which they are named, so that finds meet the outings of their tracks.
///
/// # Errors
/// Only [`Cancelled`]; a file that cannot be read is reported in [`Intakes::failed`].
pub fn look_all(sources: &[Source], book: &Book, options: &Options, progress: &Progress) -> Result<Intakes, Cancelled> {
    let mut order: Vec<usize> = (0..sources.len()).collect();
    order.sort_by_key(|n| sources.get(*n).map(rank));
    let mut grown = book.clone();
    let mut looked = Vec::new();
    let mut failed = Vec::new();
    let mut edits = Vec::new();
    for n in order {
        progress.check()?;
        let Some(source) = sources.get(n) else { continue };
        match look(source, &grown, options, progress) {
            Err(ExchangeError::Cancelled(cancelled)) => return Err(cancelled),
            Err(error) => failed.push((n, error)),
            Ok(intake) => match grown.apply(&intake.edit) {
                Ok(_) => {
                    edits.push(intake.edit.clone());
                    looked.push((n, intake));
                }
                Err(why) => failed.push((n, Fault::Option(why.to_string()).of(&source.name()))),
            },
        }
    }
    looked.sort_by_key(|(n, _)| *n);
    failed.sort_by_key(|(n, _)| *n);
    let strip = |v: Vec<(usize, Intake)>| v.into_iter().map(|(_, i)| i).collect();
    Ok(Intakes::new(strip(looked), failed.into_iter().map(|(_, e)| e).collect(), edits))
}

/// Where the data of some files lies together, or `None` when they hold no position: for placing a new beach.
///
/// # Errors
/// As [`look`], but that no beach is needed.
pub fn extent(sources: &[Source], options: &Options, progress: &Progress) -> Result<Option<Extent>, ExchangeError> {
    let mut spots = spots::Spots::default();
    for source in sources {
        let file = source.name();
        let head = source.head().map_err(|f| f.of(&file))?;
        let sniffed = sniff::sniff(&head).map_err(|f| f.of(&file))?;
        survey(source, sniffed, options, progress).map_err(|s| s.of(&file))?.into_kept().for_each(|at| spots.add(at));
    }
    Ok(spots.extent())
}

fn nowhere() -> Beach {
    match LonLat::new(0.0, 0.0) {
        Ok(origin) => Beach::new("nowhere", origin),
        Err(_) => unreachable!("0, 0 is a position"),
    }
}

/// In which order files build on each other: set-ups, then outings, then tracks, then the rest.
fn rank(source: &Source) -> u8 {
    let what = source.head().ok().and_then(|head| match sniff::sniff(&head).ok()? {
        sniff::Sniffed::Gpx => Some(What::Tracks),
        sniff::Sniffed::Json => None,
        sniff::Sniffed::Table => table::guess(&Source::bytes(source.name(), head)),
    });
    match what {
        Some(What::Setups) => 0,
        Some(What::Outings) => 1,
        Some(What::Tracks) => 2,
        _ => 3,
    }
}

fn beach_of(
    source: &Source,
    sniffed: sniff::Sniffed,
    book: &Book,
    options: &Options,
    progress: &Progress,
) -> Result<Beach, Stop> {
    if let Some(uid) = options.beach {
        return book.beaches().get(&uid).cloned().ok_or(Stop::Fault(Fault::NoSuchBeach));
    }
    let mut beaches = book.beaches().values();
    match (beaches.next(), beaches.next()) {
        (None, _) => Err(Fault::NoBeach.into()),
        (Some(only), None) => Ok(only.clone()),
        _ => {
            let Some(extent) = survey(source, sniffed, options, progress)?.extent() else {
                let names: Vec<_> = book.beaches().values().map(|b| b.name.as_str()).collect();
                return Err(Fault::WhichBeach { choices: names.join(", ") }.into());
            };
            nearest_beach(book, extent.middle).map_err(Stop::Fault)
        }
    }
}

fn nearest_beach(book: &Book, middle: LonLat) -> Result<Beach, Fault> {
    let nearest_to = |p: LonLat| {
        let by_distance = book.beaches().values().map(|b| (distance_m(b.origin, p), b));
        by_distance.min_by(|a, b| a.0.total_cmp(&b.0))
    };
    let Some((away_m, beach)) = nearest_to(middle) else { return Err(Fault::NoBeach) };
    if away_m <= NEAR_M {
        return Ok(beach.clone());
    }
    let swapped = middle.swapped().and_then(nearest_to).filter(|(away_m, _)| *away_m <= NEAR_M);
    let todo = match swapped {
        Some((_, other)) => {
            format!("with longitude and latitude exchanged it would lie at {}: exchange them in the file", other.name)
        }
        None => "name the beach it belongs to, or make a new one".to_owned(),
    };
    Err(Fault::FarFromAll { centre: middle.to_string(), nearest: beach.name.clone(), distance_km: away_m / 1000.0, todo })
}

/// Reads only far enough to know where the file's data lies.
fn survey(source: &Source, sniffed: sniff::Sniffed, options: &Options, progress: &Progress) -> Result<spots::Spots, Stop> {
    let empty = Book::new();
    let mut taking = Taking::new(&empty, options, nowhere(), true, source.name(), source.stem());
    match dispatch(source, sniffed, &mut taking, progress) {
        Ok(_) | Err(Stop::Enough) => Ok(taking.into_spots()),
        Err(stop) => Err(stop),
    }
}

fn read(
    source: &Source,
    sniffed: sniff::Sniffed,
    book: &Book,
    options: &Options,
    beach: Beach,
    progress: &Progress,
) -> Result<Intake, Stop> {
    let mut taking = Taking::new(book, options, beach, false, source.name(), source.stem());
    let (format, guess) = dispatch(source, sniffed, &mut taking, progress)?;
    progress.set(1.0);
    Ok(taking.finish(format, guess))
}

fn dispatch(
    source: &Source,
    sniffed: sniff::Sniffed,
    taking: &mut Taking<'_>,
    progress: &Progress,
) -> Result<(Format, String), Stop> {
    match sniffed {
        sniff::Sniffed::Gpx => Ok((Format::Gpx, gpx::read(source, taking, progress)?)),
        sniff::Sniffed::Json => Ok((Format::GeoJson, geojson::read(source, taking, progress)?)),
        sniff::Sniffed::Table => Ok((Format::Csv, table::read(source, taking, progress)?)),
    }
}
