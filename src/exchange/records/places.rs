//! Zones, permissions, levels, accesses and barriers from the fields of a row and a shape.

use geo::{CoordsIter as _, Validation as _};
use geo_types::MultiPolygon;
use jiff::Timestamp;

use super::precision;
use super::row::Row;
use crate::book::{
    Access, Agreed, Barrier, BarrierKind, BarrierShape, Closure, ClosureWhy, LevelPoint, Permission, Uid, Zone, ZoneUse,
    hours_between,
};
use crate::earth::LonLat;
use crate::exchange::error::Stop;
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::heading::{Field, Unit};
use crate::exchange::tools::when::clock;

/// Standard deviation of a hand-held receiver's height, metres: twice it is about what 95 % of heights keep to under an
/// open sky (from memory).
const RECEIVER_SIGMA_M: f64 = 5.0;
/// What is said where heights of a receiver are taken as levels.
const RECEIVER_WARNING: &str = "heights of a GPS receiver are good to some metres and above another datum; they were taken as levels with a standard \
     deviation of 5 m, and levels of the sand need a survey";

fn unnamed() -> Uid {
    Uid::of_content("", [])
}

fn name(row: &Row) -> String {
    row.first_of(&[Field::Name, Field::What, Field::Description]).map(|(_, t)| t.to_owned()).unwrap_or_default()
}

pub(in crate::exchange) fn level(
    taking: &mut Taking<'_>,
    row: &mut Row,
    at: LonLat,
    height_m: Option<f64>,
) -> Result<LevelPoint, String> {
    let level_m = if row.has(Field::Level) {
        let usual = if taking.options.feet { Unit::FOOT } else { Unit::METRE };
        match row.measure(Field::Level, usual) {
            Some(level_m) => level_m,
            None => return Err(format!("its level \"{}\" is not a height", row.text(Field::Level))),
        }
    } else {
        height_m.ok_or("has no level")?
    };
    let date = row.when()?.map(|w| w.day(&taking.zone));
    let survey = row.first_of(&[Field::Survey, Field::Name]).map_or_else(String::new, |(_, t)| t.to_owned());
    let receivers = taking.receivers_heights.then_some(RECEIVER_SIGMA_M);
    let sigma_m = row.measure(Field::Sigma, Unit::METRE).or(receivers);
    if receivers.is_some() {
        taking.warn(RECEIVER_WARNING);
    }
    Ok(LevelPoint { uid: unnamed(), beach: taking.beach.uid, at, level_m, sigma_m, date, survey })
}

/// Takes a receiver's height as a level, with a receiver's error and a warning.
pub(in crate::exchange) fn receivers_level(
    taking: &mut Taking<'_>,
    mark: Mark,
    at: LonLat,
    level_m: f64,
    time: Option<Timestamp>,
) -> Result<(), Stop> {
    taking.warn(RECEIVER_WARNING);
    let date = time.map(|t| taking.zone.to_datetime(t).date());
    let (beach, survey, sigma_m) = (taking.beach.uid, taking.stem.clone(), Some(RECEIVER_SIGMA_M));
    taking.take(mark, LevelPoint { uid: unnamed(), beach, at, level_m, sigma_m, date, survey })
}

pub(in crate::exchange) fn access(taking: &mut Taking<'_>, row: &mut Row, at: LonLat) -> Result<Access, String> {
    Ok(Access { uid: unnamed(), beach: taking.beach.uid, name: name(row), at, notes: row.notes(&[]) })
}

pub(in crate::exchange) fn zone(taking: &mut Taking<'_>, row: &mut Row, area: MultiPolygon<f64>) -> Result<Zone, String> {
    let text = row.first_of(&[Field::Use, Field::Kind]).map(|(_, t)| t.to_owned()).unwrap_or_default();
    let mut closure = closure(row)?;
    let usage = match (text.parse::<ZoneUse>(), text.parse::<Closure>()) {
        (Ok(usage), _) => usage,
        // A reason alone says that the ground is not to be searched.
        (Err(_), Ok(named)) => {
            closure = Some(Closure { season: named.season.or(closure.and_then(|c| c.season)), ..named });
            ZoneUse::NoSearch
        }
        (Err(_), Err(_)) if text.is_empty() && closure.is_some() => ZoneUse::NoSearch,
        (Err(_), Err(_)) if ZoneUse::keep_off(&format!("{text} {}", name(row))).is_some() => {
            taking.count(row.mark.line, "zone(s) are ground to keep off by their words; routes neither search nor cross it");
            ZoneUse::keep_off(&format!("{text} {}", name(row))).unwrap_or(ZoneUse::NoSearch)
        }
        (Err(_), Err(_)) => {
            taking.zone_without_use(row.mark.line, &name(row), &text);
            ZoneUse::Other
        }
    };
    // Its own words stay with it wherever the use is not one of them.
    let is_own_word = !text.is_empty() && text.parse::<ZoneUse>().is_err() && closure.is_none();
    let notes = if is_own_word { text } else { String::new() };
    let closure = closure.filter(|_| usage == ZoneUse::NoSearch);
    Ok(Zone { uid: unnamed(), beach: taking.beach.uid, name: name(row), usage, area, closure, notes: row.notes(&[&notes]) })
}

/// Why and when ground is closed; a season that cannot be read would leave it open, so it is refused.
fn closure(row: &Row) -> Result<Option<Closure>, String> {
    let season = match row.text(Field::Season) {
        "" => None,
        text => Some(text.parse().map_err(|e: crate::book::BookError| e.to_string())?),
    };
    match row.text(Field::Closure) {
        "" => Ok(season.map(|season| Closure { why: ClosureWhy::Other, season: Some(season) })),
        text => {
            let named: Closure = text.parse().map_err(|e: crate::book::BookError| e.to_string())?;
            Ok(Some(Closure { season: named.season.or(season), ..named }))
        }
    }
}

pub(in crate::exchange) fn barrier(taking: &mut Taking<'_>, row: &mut Row, shape: BarrierShape) -> Result<Barrier, String> {
    let kind = row.first_of(&[Field::Kind, Field::Use]).and_then(|(_, t)| t.parse().ok()).unwrap_or(BarrierKind::Other);
    Ok(Barrier { uid: unnamed(), beach: taking.beach.uid, name: name(row), kind, shape, notes: row.notes(&[]) })
}

pub(in crate::exchange) fn permission(
    taking: &mut Taking<'_>,
    row: &mut Row,
    area: MultiPolygon<f64>,
) -> Result<Permission, String> {
    // All else of the file is taken, and a beach without a permission is planned for at any hour.
    permission_of(taking, row, area).map_err(|why| {
        format!(
            "{}; the permission is not taken, so until it is entered no route keeps to its ground, days and hours",
            why.trim_end_matches('.')
        )
    })
}

/// Why words are no hours, and what to write.
fn unread_hours(text: &str) -> String {
    let lower = text.to_lowercase();
    let by_the_sun = ["sunrise", "sunset", "dawn", "dusk", "daylight"].iter().any(|word| lower.contains(word));
    let todo = if by_the_sun {
        "a permission holds hours of the clock: write such as are light on every day that it holds, like 09:00-15:30, and put the \
         words into its terms"
    } else {
        "write them like 09:00-18:00"
    };
    format!("its hours \"{text}\" could not be read; {todo}")
}

fn permission_of(taking: &mut Taking<'_>, row: &mut Row, area: MultiPolygon<f64>) -> Result<Permission, String> {
    // A date or an hour that cannot be read would widen a permission, so it is refused rather than left out.
    let mut day = |field: Field| {
        let text = row.words(field);
        let day = row.day(taking, field);
        if day.is_none() && !text.is_empty() { Err(format!("its date \"{text}\" could not be read")) } else { Ok(day) }
    };
    let (from, to) = (day(Field::From)?, day(Field::To)?);
    let hours = match row.text(Field::Hours) {
        "" => None,
        text => Some(hours_between(text, clock).ok_or_else(|| unread_hours(text))?),
    };
    // Places that are told more finely than agreed cannot be taken back: what cannot be read or is contradicted is refused.
    let (exact_positions, coarsen_m, places) = precision::read(row)?;
    let agreed = Agreed { places, ..agreed(row)? };
    if crosses_itself(&area) {
        taking.count(row.mark.line, CROSSES);
    }
    Ok(Permission {
        uid: unnamed(),
        beach: taking.beach.uid,
        name: name(row),
        holder: row.words(Field::Holder),
        area,
        from,
        to,
        hours,
        terms: [Field::Terms, Field::Notes]
            .map(|f| row.text(f))
            .into_iter()
            .filter(|t| !t.is_empty())
            .collect::<Vec<_>>()
            .join("; "),
        report: row.words(Field::Report),
        exact_positions,
        coarsen_m,
        agreed,
        key: crate::book::Uid::fresh(),
    })
}

/// What is said of ground of which nobody can say what lies on it.
const CROSSES: &str = "permission(s) have a ground whose outline crosses itself, so that nobody can say what lies on it and no account of \
     it can be written; draw it anew and import it again";
/// Larger outlines are looked at when an account is written: each side is held against every other.
const MOST_CORNERS: usize = 5_000;

fn crosses_itself(area: &MultiPolygon<f64>) -> bool {
    area.coords_count() <= MOST_CORNERS && !area.is_valid()
}

/// What is agreed beyond ground, days, hours and places; what cannot be read is refused, as leaving it out would allow more.
fn agreed(row: &mut Row) -> Result<Agreed, String> {
    let unread = |what: &str, text: &str| format!("its {what} \"{text}\" could not be read");
    let deepest = row.words(Field::Deepest);
    let deepest_m = row.measure(Field::Deepest, Unit::CENTIMETRE);
    if deepest_m.is_none() && !deepest.is_empty() {
        return Err(unread("greatest depth", &deepest));
    }
    let holder_share = match row.text(Field::HolderShare) {
        "" => None,
        text => Some(part(text).ok_or_else(|| unread("share of the value", text))?),
    };
    let older_than = match row.text(Field::OlderThan) {
        "" => None,
        text => Some(text.parse().map_err(|_| unread("year", text))?),
    };
    let worded = |e: crate::book::BookError| e.to_string();
    let due = match row.text(Field::Due) {
        "" => None,
        text => Some(text.parse().map_err(worded)?),
    };
    let (contact, papers) = (row.words(Field::Contact), row.words(Field::Papers));
    Ok(Agreed { contact, papers, deepest_m, holder_share, due, older_than, places: Vec::new() })
}

/// `0.5` or `50 %`.
fn part(text: &str) -> Option<f64> {
    let (number, of) = match text.trim().strip_suffix('%') {
        Some(number) => (number, 100.0),
        None => (text, 1.0),
    };
    number.trim().parse::<f64>().ok().map(|v| v / of).filter(|v| (0.0..=1.0).contains(v))
}
