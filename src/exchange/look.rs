//! What files would change in a book, as a dry run.

use super::error::{ExchangeError, Fault, Stop};
use super::formats::photo::Clocks;
use super::formats::{geojson, geopackage, gpx, kml, nmea, photo, sheet, table, watch};
use super::options::Options;
use super::take_in::intake::{Format, Intake, Intakes};
use super::take_in::spots::{Extent, Spots};
use super::take_in::taking::{FAR_M, NEAR_M, Taking};
use super::tools::packed::{Packed, Sort};
use super::tools::sniff::{Sniffed, sniff};
use super::tools::source::Source;
use super::what::What;
use crate::book::{Beach, Book, RecordKind};
use crate::earth::{LonLat, distance_m};
use crate::{Cancelled, Progress};

/// What one file would change in the book. Nothing is written.
///
/// # Errors
/// When the file as a whole cannot be read, is of no known format, or belongs to no known beach;
/// a bad record in a readable file is only refused ([`Intake::refused`]).
pub fn look(source: &Source, book: &Book, options: &Options, progress: &Progress) -> Result<Intake, ExchangeError> {
    look_with(source, book, options, &Clocks::default(), progress)
}

/// The same where other photographs told the clocks of cameras.
fn look_with(
    source: &Source,
    book: &Book,
    options: &Options,
    clocks: &Clocks,
    progress: &Progress,
) -> Result<Intake, ExchangeError> {
    let file = source.name();
    let sniffed = sniff(&source.head().map_err(|f| f.in_file(&file))?).map_err(|f| f.in_file(&file))?;
    options.grid().map_err(|f| f.in_file(&file))?;
    options.zone().map_err(|f| f.in_file(&file))?;
    options.columns().map_err(|f| f.in_file(&file))?;
    let beach = match beach_of(source, sniffed, book, options, progress) {
        Ok(beach) => beach,
        // Set-ups and bench readings lie on no beach, so the file may still be welcome; and what waits for an answer may say
        // where it lies once it has one.
        Err(Stop::Fault(fault @ (Fault::NoBeach | Fault::WhichBeach { .. }))) => {
            let intake = read(source, sniffed, book, options, nowhere(), clocks, progress).map_err(|s| s.in_file(&file))?;
            let of_none = |k: &RecordKind| matches!(k, RecordKind::Setup | RecordKind::Bench | RecordKind::OwnKind);
            let beachless = intake.taken.keys().all(of_none) && intake.already_there.keys().all(of_none);
            let anything = !intake.taken.is_empty() || !intake.already_there.is_empty() || intake.refused_count > 0;
            return if (beachless && anything) || intake.waits() {
                Ok(Intake { beach: None, ..intake })
            } else {
                Err(fault.in_file(&file))
            };
        }
        Err(stop) => return Err(stop.in_file(&file)),
    };
    read(source, sniffed, book, options, beach, clocks, progress).map_err(|s| s.in_file(&file))
}

/// What several files would change together, each seeing the records of those before it.
///
/// Files build on each other in an order of their own (set-ups, outings, tracks, then the rest),
/// whatever the order in which they are named, so that finds meet the outings of their tracks.
///
/// A file of which something must be answered first waits: none builds on it, and it takes no part in [`Intakes::edit`].
///
/// # Errors
/// Only [`Cancelled`]; a file that cannot be read is reported in [`Intakes::failed`].
pub fn look_all(sources: &[Source], book: &Book, options: &Options, progress: &Progress) -> Result<Intakes, Cancelled> {
    let mut order: Vec<usize> = (0..sources.len()).collect();
    order.sort_by_key(|n| sources.get(*n).map(rank));
    let clocks = Clocks::of_all(sources, progress);
    let mut grown = book.clone();
    let mut looked = Vec::new();
    let mut failed = Vec::new();
    // The files that are taken, in the order in which they build on each other.
    let mut taken = Vec::new();
    let all = sources.len().max(1) as f64;
    let last = order.len().saturating_sub(1);
    for (turn, n) in order.into_iter().enumerate() {
        progress.check()?;
        let Some(source) = sources.get(n) else { continue };
        let step = progress.part(turn as f64 / all, (turn + 1) as f64 / all);
        match look_with(source, &grown, options, &clocks, &step) {
            Err(ExchangeError::Cancelled(cancelled)) => return Err(cancelled),
            Err(error) => failed.push((n, error)),
            Ok(intake) if intake.must_be_answered().next().is_some() => looked.push((n, intake)),
            // No file builds on the last one, so that nothing of it is made but what would refuse it.
            Ok(intake) => match if turn == last { grown.admits(&intake.edit) } else { grown.apply(&intake.edit).map(drop) } {
                Ok(()) => {
                    taken.push(n);
                    looked.push((n, intake));
                }
                Err(why) => failed.push((n, Fault::Option(why.to_string()).in_file(&source.name()))),
            },
        }
    }
    looked.sort_by_key(|(n, _)| *n);
    let order = taken.iter().filter_map(|n| looked.iter().position(|(named, _)| named == n)).collect();
    failed.sort_by_key(|(n, _)| *n);
    let strip = |v: Vec<(usize, Intake)>| v.into_iter().map(|(_, i)| i).collect();
    Ok(Intakes::new(strip(looked), failed.into_iter().map(|(_, e)| e).collect(), order))
}

/// Where the data of some files lies together, or `None` when they hold no position: for placing a new beach.
///
/// A file that cannot be read says nothing of it.
///
/// # Errors
/// As [`look`] of the first file, where none can be read; no beach is needed.
pub fn extent(sources: &[Source], options: &Options, progress: &Progress) -> Result<Option<Extent>, ExchangeError> {
    let mut spots = Spots::default();
    let all = sources.len().max(1) as f64;
    let mut odd = None;
    let mut middles: Vec<(String, LonLat)> = Vec::new();
    for (n, source) in sources.iter().enumerate() {
        let progress = &progress.part(n as f64 / all, (n + 1) as f64 / all);
        progress.check()?;
        match spots_of(source, options, progress) {
            Ok(found) => {
                middles.extend(found.extent().map(|e| (source.name(), e.middle)));
                found.into_kept().for_each(|at| spots.add(at));
            }
            Err(ExchangeError::Cancelled(cancelled)) => return Err(cancelled.into()),
            Err(why) => drop(odd.get_or_insert(why)),
        }
    }
    if let Some((file, apart)) = apart(&middles) {
        return Err(apart.in_file(&file));
    }
    match (spots.extent(), odd) {
        (None, Some(why)) => Err(why),
        (extent, _) => Ok(extent),
    }
}

/// The first two files that lie far apart as written and together with a change that is easily made by mistake: the larger of them
/// must not decide where the beach is, and which the other is refused for.
fn apart(middles: &[(String, LonLat)]) -> Option<(String, Fault)> {
    let pairs = middles.iter().enumerate().flat_map(|(n, a)| middles.iter().skip(n + 1).map(move |b| (a, b)));
    pairs.filter(|(a, b)| distance_m(a.1, b.1) > FAR_M).find_map(|((file, at), (other, there))| {
        let how = at.slips().into_iter().find(|(slipped, _)| distance_m(*slipped, *there) <= NEAR_M).map(|(_, how)| how)?;
        let fault = Fault::Apart {
            centre: at.to_string(),
            other: other.clone(),
            there: there.to_string(),
            distance_km: distance_m(*at, *there) / 1000.0,
            how,
        };
        Some((file.clone(), fault))
    })
}

fn spots_of(source: &Source, options: &Options, progress: &Progress) -> Result<Spots, ExchangeError> {
    let file = source.name();
    let sniffed = source.head().and_then(|head| sniff(&head)).map_err(|f| f.in_file(&file))?;
    survey(source, sniffed, options, progress).map_err(|s| s.in_file(&file))
}

/// Whether a file is of a format that is read here, told from its beginning.
///
/// # Errors
/// What it is instead, as the end of a sentence about it.
pub(super) fn can_be_read(source: &Source) -> Result<(), String> {
    let head = source.head().map_err(|f| f.to_string())?;
    match sniff(&head).map_err(|f| f.to_string())? {
        Sniffed::Gpx | Sniffed::Kml | Sniffed::Json | Sniffed::Nmea | Sniffed::Tcx | Sniffed::Fit | Sniffed::Photograph => Ok(()),
        Sniffed::Table => table::has_headings(&Source::bytes(source.name(), head)).map_err(|f| f.to_string()),
        Sniffed::Database => geopackage::has_layers(source).map_err(|f| f.to_string()),
        Sniffed::Packed => match Packed::open(source, &Progress::new()).and_then(|p| Ok(p.sort()?)) {
            Err(Stop::Fault(fault)) => Err(fault.to_string()),
            _ => Ok(()),
        },
    }
}

fn nowhere() -> Beach {
    match LonLat::new(0.0, 0.0) {
        Ok(origin) => Beach::new("nowhere", origin),
        Err(_) => unreachable!("0, 0 is a position"),
    }
}

/// In which order files build on each other.
fn rank(source: &Source) -> u8 {
    let turn = || {
        let head = source.head().ok()?;
        match sniff(&head).ok()? {
            Sniffed::Gpx | Sniffed::Kml | Sniffed::Nmea | Sniffed::Tcx | Sniffed::Fit => Some(What::Tracks.turn()),
            Sniffed::Json | Sniffed::Photograph | Sniffed::Database => None,
            Sniffed::Table => table::guess(&Source::bytes(source.name(), head), table::Form::Text).map(What::turn),
            Sniffed::Packed => sheet::turn(source),
        }
    };
    turn().unwrap_or(What::LAST)
}

fn beach_of(source: &Source, sniffed: Sniffed, book: &Book, options: &Options, progress: &Progress) -> Result<Beach, Stop> {
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
fn survey(source: &Source, sniffed: Sniffed, options: &Options, progress: &Progress) -> Result<Spots, Stop> {
    let empty = Book::new();
    let mut taking = Taking::new(&empty, options, nowhere(), true, source.name(), source.stem());
    match dispatch(source, sniffed, &Clocks::default(), &mut taking, progress) {
        Ok(_) | Err(Stop::Enough) => Ok(taking.into_spots()),
        Err(stop) => Err(stop),
    }
}

fn read(
    source: &Source,
    sniffed: Sniffed,
    book: &Book,
    options: &Options,
    beach: Beach,
    clocks: &Clocks,
    progress: &Progress,
) -> Result<Intake, Stop> {
    let mut taking = Taking::new(book, options, beach, false, source.name(), source.stem());
    let (format, guess) = dispatch(source, sniffed, clocks, &mut taking, progress)?;
    progress.set(1.0);
    Ok(taking.finish(format, guess))
}

fn dispatch(
    source: &Source,
    sniffed: Sniffed,
    clocks: &Clocks,
    taking: &mut Taking<'_>,
    progress: &Progress,
) -> Result<(Format, String), Stop> {
    match sniffed {
        Sniffed::Gpx => Ok((Format::Gpx, gpx::read(source, taking, progress)?)),
        Sniffed::Kml => Ok((Format::Kml, kml::read(source, taking, progress)?)),
        Sniffed::Json => Ok((Format::GeoJson, geojson::read(source, taking, progress)?)),
        Sniffed::Table => Ok((Format::Csv, table::read(source, table::Form::Text, taking, progress)?)),
        Sniffed::Nmea => Ok((Format::Nmea, nmea::read(source, taking, progress)?)),
        Sniffed::Tcx => Ok((Format::Tcx, watch::read_tcx(source, taking, progress)?)),
        Sniffed::Fit => Ok((Format::Fit, watch::read_fit(source, taking, progress)?)),
        Sniffed::Database => Ok((Format::GeoPackage, geopackage::read(source, taking, progress)?)),
        Sniffed::Photograph => Ok((Format::Photograph, photo::read(source, clocks, taking, progress)?)),
        Sniffed::Packed => {
            let packed = Packed::open(source, progress)?;
            match packed.sort()? {
                Sort::Kmz => Ok((Format::Kml, kml::read_packed(source, packed, taking, progress)?)),
                sort => Ok((Format::Spreadsheet, sheet::read(source, packed, sort, taking, progress)?)),
            }
        }
    }
}
