use jiff::Timestamp;
use serde_json::{Value, json};

use super::Failure;
use super::args::BeachArgs;
use super::said::{Kept, beach_of, keep, lonlat, open_or_new, print_json, print_text, rounded, until_kept};
use super::{asides, doubts, settings, source};
use crate::book::{Beach, Book, Edit, RecordKind, TideChoice};
use crate::earth::{distance_m, distance_words};
use crate::share::{country_named, country_stated};
use crate::shore::{Setting, settle};
use crate::tide::ATTRIBUTION;
use crate::trust::{Told, offset_said, station_given, zone_given};

/// A position farther than this from all that a beach holds is not on it, metres.
const OFF_THE_BEACH_M: f64 = 25_000.0;

pub(super) fn run(args: &BeachArgs) -> Result<(), Failure> {
    until_kept(|| once(args))
}

fn once(args: &BeachArgs) -> Result<Kept, Failure> {
    let mut open = open_or_new(&args.book)?;
    let known = meant(args, open.book())?;
    let (mut beach, mut said) = match (known.clone(), &args.beach, &args.near) {
        (Some(beach), _, None) => (beach, Vec::new()),
        (Some(beach), _, Some(near)) => {
            let from = beach.origin;
            let beach = moved(open.book(), beach, near)?;
            let away_m = distance_m(from, beach.origin);
            let said =
                format!("The middle of {} is moved by {}, from {from} to {}.", beach.name, distance_words(away_m), beach.origin);
            (beach, if away_m > 1.0 { vec![said] } else { Vec::new() })
        }
        (None, Some(name), Some(near)) => (Beach::new(name.trim(), lonlat(near)?), Vec::new()),
        (None, name, _) => {
            return Err(Failure::usage(format!(
                "there is no beach{} in the book yet; give its {}position with --near LON,LAT, or import files with --beach",
                name.as_ref().map_or_else(String::new, |n| format!(" \"{n}\"")),
                if name.is_some() { "" } else { "name with --beach NAME and its " }
            )));
        }
    };
    if let Some(tide) = source::chosen(args, open.book(), &beach)? {
        beach.tide = tide;
        beach = station_given(beach, Timestamp::now());
    }
    beach.weather = source::weather(args, beach.weather)?;
    if let Some(hours) = &args.free {
        beach.free = source::free_hours(hours)?;
    }
    beach.pace_m_s = settings::kept("--pace", args.pace.as_ref(), beach.pace_m_s, "a number")?;
    if let Some(zone) = &args.zone {
        beach = zone_given(beach, zone, Timestamp::now());
    }
    if let Some(word) = &args.country {
        beach = with_country(beach, word)?;
    }
    beach = settings::keep_in(beach, &args.settings)?;
    if let Some(before) = &known {
        beach = beach.changed_from(before);
    } else {
        let (settled, guesses) = settle(beach);
        beach = settled;
        said.extend(guesses);
    }
    if args.offset.is_some() {
        beach = beach.with_offset(args.offset);
    }
    beach = doubts::confirmed(open.book(), beach, &args.confirm, &args.unconfirm)?;
    if known.as_ref() != Some(&beach) {
        open.apply(&Edit::put(beach.clone()))?;
        if keep(&mut open, &args.book)? == Kept::AnotherIsThere {
            return Ok(Kept::AnotherIsThere);
        }
    }
    let (set_aside, cut) = asides::edits(open.book(), &beach, &args.set_aside)?;
    said.extend(cut);
    if !set_aside.is_empty() {
        open.apply(&Edit::Batch(set_aside))?;
        if keep(&mut open, &args.book)? == Kept::AnotherIsThere {
            return Ok(Kept::AnotherIsThere);
        }
    }
    let (setting, told) = doubts::of_beach(open.book(), beach.uid)?;
    if args.json {
        print_json(&document(open.book(), &setting, &told, &said))?;
    } else {
        print_text(&text(open.book(), &setting, &told, &said))?;
    }
    Ok(Kept::Yes)
}

/// The beach that is meant, if the book has it: the named one, or the only one.
fn meant(args: &BeachArgs, book: &Book) -> Result<Option<Beach>, Failure> {
    match &args.beach {
        Some(name) => Ok(book.beach_named(name).cloned()),
        None if book.beaches().is_empty() => Ok(None),
        None => beach_of(book, None).cloned().map(Some),
    }
}

/// The beach with the country that is named, or with none.
fn with_country(beach: Beach, word: &str) -> Result<Beach, Failure> {
    let country = match word.trim() {
        none if none.eq_ignore_ascii_case("none") => None,
        word => Some(country_named(word).ok_or_else(|| {
            Failure::usage(format!("--country \"{word}\" is no country; give its two letters of ISO 3166-1, such as DK, or none"))
        })?),
    };
    Ok(country_stated(beach, country, Timestamp::now()))
}

/// The beach with another middle, which must lie by what the book holds of it: a slip of the pen, such as latitude first,
/// would carry it to another sea.
fn moved(book: &Book, beach: Beach, near: &str) -> Result<Beach, Failure> {
    let to = lonlat(near)?;
    let levels = book.levels_of(beach.uid).map(|l| l.at);
    let finds = book.finds().values().filter(|f| f.beach == beach.uid).map(|f| f.at);
    let away_m = beach.baseline.iter().copied().chain(levels).chain(finds).map(|at| distance_m(at, to)).reduce(f64::min);
    match away_m.filter(|m| *m > OFF_THE_BEACH_M) {
        Some(m) => Err(Failure::input(format!(
            "--near {near} lies {} from everything that the book holds of \"{}\"; positions are LON,LAT: longitude first",
            distance_words(m),
            beach.name
        ))),
        None => Ok(Beach { origin: to, ..beach }),
    }
}

fn counts(book: &Book, beach: &Beach) -> Value {
    let mine = |kind: RecordKind| {
        if matches!(kind, RecordKind::Setup | RecordKind::Bench | RecordKind::OwnKind | RecordKind::Remembered) {
            book.count(kind)
        } else {
            book.records(kind).filter(|r| r.names().contains(&(RecordKind::Beach, beach.uid))).count()
        }
    };
    RecordKind::ALL[1..].iter().map(|k| (k.word().to_owned(), json!(mine(*k)))).collect::<serde_json::Map<_, _>>().into()
}

/// The beach as `--json` tells it; the keys are part of the promise in DEVELOPERS.md.
pub(super) fn document(book: &Book, setting: &Setting, told: &[Told], said: &[String]) -> Value {
    let beach = &setting.beach;
    let tide = match (&beach.tide, &setting.water) {
        (TideChoice::None, _) | (_, None) => Value::Null,
        (_, Some(water)) => json!({
            "kind": water.kind().word(),
            "id": water.station().map(|s| s.id.clone()),
            "name": water.name(),
            "distance_m": setting.station_distance_m.map(f64::round),
            "borrowed": setting.tide_borrowed,
            "datum": water.datum().code(),
        }),
    };
    let baseline = setting.shore.as_ref().ok().map(|shore| {
        json!({
            "guessed": setting.guessed.is_some(),
            "length_m": rounded(shore.baseline().length_m(), 1),
            "positions": if setting.guessed.is_some() { json!(setting.guessed.as_ref().map(|g| &g.line)) } else { json!(beach.baseline) },
        })
    });
    let bands: Vec<Value> = setting
        .bands
        .iter()
        .map(|b| json!({ "name": b.name, "low_m": b.low_m, "high_m": b.high_m, "area_m2": b.area_m2.round() }))
        .collect();
    json!({
        "beach": {
            "name": beach.name,
            "uid": beach.uid,
            "origin": beach.origin,
            "time_zone": beach.time_zone,
            "tide": tide,
            "datum_offset_m": beach.datum_offset_m,
            "surge": source::surge(setting),
            "free": (!beach.free.is_always()).then(|| beach.free.to_string()),
            "pace_m_s": beach.pace_m_s,
            "settings": settings::document(beach),
            "invented": beach.invented,
            "baseline": baseline,
            "levels_known": setting.shore.as_ref().is_ok_and(|s| s.level_range_m().is_some()),
            "bands": bands,
            "counts": counts(book, beach),
        },
        "doubts": told,
        "guessed": said,
        "notes": setting.source_notes,
        "warnings": setting.warnings,
        "attribution": ATTRIBUTION,
    })
}

fn text(book: &Book, setting: &Setting, told: &[Told], said: &[String]) -> String {
    let beach = &setting.beach;
    let mut out = format!("{}\n  at {}, time zone {}\n", beach.name, beach.origin, beach.time_zone);
    if let Some(water) = &setting.water {
        let away = match setting.station_distance_m {
            Some(_) if setting.tide_borrowed => ", borrowed".to_owned(),
            Some(m) => format!(", {} away", distance_words(m)),
            None => String::new(),
        };
        out += &format!("  tide: {}, {}{away}, heights above {}\n", water.name(), water.kind().label(), water.datum().words());
        let source_m = setting.source_margin_m();
        let source = if source_m > 0.0 { format!(", what the tide source may be off {source_m:.2} m") } else { String::new() };
        out += &format!(
            "  dry windows keep {:.2} m above the prediction: surge {:+.2} m{} and twice its standard deviation of {:.2} m, \
             waves running up {:.2} m where no record or forecast of the sea covers the hours{source}\n  {}\n",
            setting.water_margin_m(),
            rounded(setting.surge.residual_m, 2),
            if setting.surge.residual_m < 0.0 { " (takes nothing from it)" } else { "" },
            setting.surge.sd_m,
            setting.run_up.m,
            setting.run_up.said(),
        );
    }
    if !beach.free.is_always() {
        out += &format!("  free hours: {}\n", beach.free);
    }
    if let Some(pace_m_s) = beach.pace_m_s {
        out += &format!("  the slowest of you walks {pace_m_s} m/s: routes allow for it\n");
    }
    if let Some(set) = settings::text(beach) {
        out += &format!("  read with {set}; the rest as usual\n");
    }
    if let Some(offset) = beach.datum_offset_m {
        let from = offset_said(beach).map_or_else(String::new, |said| format!(", {said}"));
        out += &format!("  datum offset: tide level = land level {offset:+.2} m{from}\n");
    }
    out += &doubts::text(told);
    if let Ok(shore) = &setting.shore {
        let made = if setting.guessed.is_some() { "guessed" } else { "given" };
        out += &format!("  baseline: {:.0} m long, {made}\n", shore.baseline().length_m());
    }
    for band in &setting.bands {
        out += &format!("  {}: {:.0} m²\n", band.name, band.area_m2);
    }
    if let Value::Object(counts) = counts(book, beach) {
        let held: Vec<String> =
            counts.iter().filter(|(_, n)| n.as_u64() != Some(0)).map(|(k, n)| format!("{} {n}", k.replace('_', " "))).collect();
        out += &format!("  holds: {}\n", if held.is_empty() { "nothing yet".to_owned() } else { held.join(", ") });
    }
    let borrowed = setting.source_notes.iter().take(usize::from(setting.tide_borrowed));
    for line in said.iter().chain(borrowed).chain(&setting.warnings) {
        out += &format!("  note: {line}\n");
    }
    out
}
