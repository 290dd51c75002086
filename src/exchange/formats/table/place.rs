//! The position of a row, in whichever way its columns give it.

use crate::earth::{Grid, LonLat, distance_m};
use crate::exchange::records::row::Row;
use crate::exchange::take_in::About;
use crate::exchange::take_in::taking::{NEAR_M, Taking};
use crate::exchange::tools::degrees::{Axis, Degrees, degrees, in_sixties, pair};
use crate::exchange::tools::grid_ref::{Reference, reference, utm};
use crate::exchange::tools::heading::{Field, in_brackets};
use crate::exchange::tools::value::number;

/// What of a position the columns give.
pub(super) enum Places {
    None,
    LonLat(Field, Field),
    /// Both in one cell; whether the heading says that longitude comes first.
    Pair(Option<bool>),
    Grid(Field, Field, Option<Box<Grid>>),
    /// Easting and northing of UTM, with the zone in a column of its own.
    Utm(Field, Field),
    /// A grid reference in one cell.
    Reference(Field),
}

/// Where a row lies.
///
/// # Errors
/// A sentence that quotes what cannot be read.
pub(super) fn place(places: &Places, taking: &mut Taking<'_>, row: &Row) -> Result<LonLat, String> {
    match places {
        Places::None => Err("the table has no columns for a position".to_owned()),
        Places::LonLat(lon, lat) => {
            let lon = axis(row, *lon, Axis::Lon)?;
            let lat = axis(row, *lat, Axis::Lat)?;
            LonLat::new(lon, lat).map_err(|e| e.to_string())
        }
        Places::Pair(lon_first) => from_pair(taking, row, *lon_first),
        Places::Grid(east, north, stated) => {
            let (x, y) = (metres(row, *east, "easting")?, metres(row, *north, "northing")?);
            match stated {
                Some(grid) => grid.to_lonlat(x, y),
                None => Grid::named(row.text(Field::Grid)).and_then(|g| g.to_lonlat(x, y)),
            }
            .map_err(|e| e.to_string())
        }
        Places::Utm(east, north) => {
            let (x, y) = (metres(row, *east, "easting")?, metres(row, *north, "northing")?);
            let zone = row.text(Field::UtmZone);
            // A zone without a letter is of the beach's own half of the globe.
            let read = utm(zone, Some(taking.beach.origin.lat_deg() >= 0.0), x, y);
            from_reference(taking, row, read.ok_or_else(|| format!("its zone \"{zone}\" is no zone of UTM, such as 30U"))??)
        }
        Places::Reference(field) => {
            let text = row.text(*field);
            if text.is_empty() {
                return Err("has no grid reference".to_owned());
            }
            let read = reference(text).ok_or_else(|| format!("its grid reference \"{text}\" is of no grid known here"))?;
            from_reference(taking, row, read.map_err(|why| format!("its grid reference \"{text}\" {why}"))?)
        }
    }
}

fn metres(row: &Row, field: Field, name: &str) -> Result<f64, String> {
    let text = row.text(field);
    if text.is_empty() {
        return Err(format!("has no {name}"));
    }
    let read = number(text, row.comma(field)).map(|(v, unit)| v * unit.map_or(1.0, |u| u.factor));
    read.ok_or_else(|| format!("its {name} \"{text}\" is not a number"))
}

/// The place of a reference: of two it may mean, the one on the beach, else the likelier.
fn from_reference(taking: &mut Taking<'_>, row: &Row, read: Reference) -> Result<LonLat, String> {
    taking.understand_once("positions", read.system.words());
    if read.square_m >= 100.0 {
        taking.count(row.mark.line, "grid reference(s) name squares of 100 m or more; their middle was taken");
    }
    let near = read.at.iter().find(|at| distance_m(taking.beach.origin, **at) <= NEAR_M);
    near.or(read.at.first()).copied().ok_or_else(|| "its grid reference leads nowhere".to_owned())
}

/// Degrees from a column, with minutes, seconds and the side from columns of their own where there are such.
fn axis(row: &Row, field: Field, axis: Axis) -> Result<f64, String> {
    let (minutes, seconds, side) = match axis {
        Axis::Lat => (Field::LatMinutes, Field::LatSeconds, Field::NorthSouth),
        Axis::Lon => (Field::LonMinutes, Field::LonSeconds, Field::EastWest),
    };
    let text = row.text(field);
    if text.is_empty() {
        return Err(format!("has no {}", axis.name()));
    }
    let mut value = degrees(text, row.comma(field), axis)?;
    if row.has(minutes) || row.has(seconds) {
        let part = |field: Field| match row.text(field) {
            "" => Ok(0.0),
            text => number(text, row.comma(field))
                .map(|(v, _)| v)
                .ok_or_else(|| format!("\"{text}\" beside its {} is not a number", axis.name())),
        };
        let parts =
            if row.has(seconds) { vec![value.abs(), part(minutes)?, part(seconds)?] } else { vec![value.abs(), part(minutes)?] };
        let whole = in_sixties(&parts).ok_or_else(|| format!("its {} has minutes or seconds that cannot be", axis.name()))?;
        value = if value.is_sign_negative() || text.starts_with(['-', '−']) { -whole } else { whole };
    }
    match row.text(side) {
        "" => side_of_heading(row.title(field), text, value, axis),
        letter => {
            let sign = axis.side(letter).map_err(|why| format!("its {} \"{text}\": {why}", axis.name()))?;
            if value < 0.0 && sign > 0.0 {
                return Err(format!("its {} \"{text}\" is negative, but stands beside \"{letter}\"", axis.name()));
            }
            Ok(value.abs() * sign)
        }
    }
}

/// Degrees that state no side, on the side that a letter in brackets behind their heading names: `Longitude (W)`.
fn side_of_heading(title: &str, text: &str, value: f64, axis: Axis) -> Result<f64, String> {
    let signed = value < 0.0 || text.contains(|c: char| c.is_alphabetic() || matches!(c, '+' | '-' | '−'));
    let is_side = |word: &&str| {
        let word = word.to_uppercase();
        ["N", "S", "E", "W", "O", "NORTH", "SOUTH", "EAST", "WEST"].contains(&word.as_str())
    };
    let named = in_brackets(title).into_iter().map(|word| word.trim_matches('°')).find(is_side);
    let Some(letter) = named.filter(|_| !signed) else { return Ok(value) };
    let sign = axis.side(letter).map_err(|why| format!("its {} \"{text}\" under \"{title}\": {why}", axis.name()))?;
    Ok(value * sign)
}

fn from_pair(taking: &mut Taking<'_>, row: &Row, lon_first: Option<bool>) -> Result<LonLat, String> {
    let text = row.text(Field::Pair);
    if text.is_empty() {
        return Err("has no position".to_owned());
    }
    let Some(read) = pair(text) else {
        return match reference(text) {
            Some(read) => from_reference(taking, row, read.map_err(|why| format!("its position \"{text}\" {why}"))?),
            None => Err(format!("its position \"{text}\" is not a pair of degrees")),
        };
    };
    let [first, second] = read;
    let made = |lon: Degrees, lat: Degrees| LonLat::new(lon.value, lat.value).map_err(|e| e.to_string());
    let (lat_lon, lon_lat) = (made(second, first), made(first, second));
    match (first.axis, second.axis, lon_first) {
        (Some(Axis::Lat), Some(Axis::Lon), _) => return lat_lon,
        (Some(Axis::Lon), Some(Axis::Lat), _) | (None, None, Some(true)) => return lon_lat,
        (None, None, Some(false)) => return lat_lon,
        (None, None, None) => {}
        _ => return Err(format!("its position \"{text}\" names one side twice or not at all")),
    }
    let (lat_lon, lon_lat) = match (lat_lon, lon_lat) {
        (Ok(a), Ok(b)) => (a, b),
        (Ok(only), Err(_)) | (Err(_), Ok(only)) => return Ok(only),
        (Err(why), Err(_)) => return Err(why),
    };
    // The beach that the rows belong to tells the two apart, unless both ways lie on it or neither does.
    // One that was made where these files lie tells nothing before something else lies on it.
    let (book, beach) = (taking.book, taking.beach.uid);
    let tells = !taking.options.of_new_beach || book.finds_of(beach).next().is_some() || !book.outings_of(beach).is_empty();
    let near = |at: LonLat| tells && distance_m(taking.beach.origin, at) <= NEAR_M;
    match (near(lat_lon), near(lon_lat)) {
        (true, false) => return Ok(lat_lon),
        (false, true) => return Ok(lon_lat),
        _ => {}
    }
    let question = || {
        format!(
            "\"{text}\" is a pair of degrees without letters under a heading that does not say their order: which comes first?"
        )
    };
    match taking.settle(About::Pairs, question, None) {
        Some("lon-first") => Ok(lon_lat),
        _ => Ok(lat_lon),
    }
}
