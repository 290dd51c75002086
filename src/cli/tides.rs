use std::sync::Arc;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use serde_json::{Value, json};

use super::Failure;
use super::args::TidesArgs;
use super::beach::no_station;
use super::said::{beach_of, clock, instant, lonlat, open, print_json, print_text, rfc3339, rounded};
use super::{dry, lows, source};
use crate::book::{FreeHours, Weather};
use crate::earth::LonLat;
use crate::shore::{Setting, USUAL_RUN_UP_M, surge_of};
use crate::sun::{Crossing, Daylight};
use crate::tide::{ATTRIBUTION, Analysis, Catalogue, Datum, Origin, Station, Surge, Turn, TurnKind, Water, without_small};

/// The water asked about, and where and on whose clock it is told.
pub(super) struct Asked {
    pub(super) water: Water,
    pub(super) at: LonLat,
    pub(super) zone: TimeZone,
    distance_m: Option<f64>,
    borrowed: bool,
    pub(super) surge: Surge,
    pub(super) run_up_m: f64,
    /// The hours kept with the beach.
    pub(super) free: FreeHours,
    /// The beach with its sand, where one was asked about.
    setting: Option<Box<Setting>>,
    analysis: Option<Arc<Analysis>>,
    notes: Vec<String>,
}

impl Asked {
    /// What dry windows keep above the predicted water beside the error of the sand, metres.
    pub(super) fn margin_m(&self) -> f64 {
        self.run_up_m + self.surge.margin_m()
    }

    /// The beach, where one was asked about.
    pub(super) fn setting(&self) -> Option<&Setting> {
        self.setting.as_deref()
    }

    /// High and low waters, small pairs left out where that was asked.
    fn turns(&self, args: &TidesArgs, from: Timestamp, to: Timestamp) -> Vec<Turn> {
        let turns = self.water.turns(from, to);
        args.merge_below.map_or_else(|| turns.clone(), |below_m| without_small(&turns, below_m))
    }
}

pub(super) fn run(args: &TidesArgs) -> Result<(), Failure> {
    let asked = asked(args)?;
    let from = instant(&args.from, &asked.zone)?;
    let last = from.to_zoned_datetime(asked.zone.clone()).checked_add(jiff::Span::new().days(i64::from(args.days)));
    let to =
        last.map_err(|_| Failure::usage(format!("{} days after {} lie outside the calendar", args.days, args.from)))?.timestamp();
    if let Some((first, end)) = asked.water.covers()
        && (to <= first || from >= end)
    {
        return Err(Failure::input(format!(
            "the tide table \"{}\" runs from {} to {}; it says nothing about the days asked for",
            asked.water.name(),
            clock(first, &asked.zone),
            clock(end, &asked.zone)
        )));
    }
    let ranked = lows::rank(args, &asked, from, to)?;
    let dry = dry::of(args, &asked, from, to)?;
    if args.json {
        let mut told = document(args, &asked, from, to);
        if let Some(object) = told.as_object_mut() {
            object.extend(ranked.map(|r| ("lows".to_owned(), r.document())));
            object.extend(dry.map(|d| ("dry".to_owned(), d.document())));
        }
        print_json(&told)
    } else {
        let lows = ranked.map_or_else(String::new, |r| r.text(&asked.zone));
        let dry = dry.map_or_else(String::new, |d| d.text(&asked.zone));
        print_text(&(text(args, &asked, from, to, &(lows + &dry))))
    }
}

/// What the options say of weather and waves, else what the beach does.
fn weather(args: &TidesArgs, known: Weather) -> Result<Weather, Failure> {
    let given = Weather {
        surge_m: args.surge.or(known.surge_m),
        surge_sd_m: args.surge_sd.or(known.surge_sd_m),
        // A pressure that is given stands against a surge that is only kept.
        pressure_hpa: args.pressure.or(known.pressure_hpa),
        run_up_m: args.run_up.or(known.run_up_m),
    };
    let given = if args.pressure.is_some() && args.surge.is_none() { Weather { surge_m: None, ..given } } else { given };
    given.validate().map_err(Failure::usage)?;
    Ok(given)
}

fn asked(args: &TidesArgs) -> Result<Asked, Failure> {
    if let Some(path) = &args.book {
        let open = open(path)?;
        let beach = beach_of(open.book(), args.beach.as_deref())?;
        let zone = beach.zone().map_err(Failure::input)?;
        let weather = weather(args, beach.weather)?;
        let setting = Setting::from_book(open.book(), beach.uid).ok_or_else(|| Failure::input("the beach is not in the book"))?;
        let setting = setting.with_weather(weather);
        let water = setting.water.clone().ok_or_else(|| Failure::input(setting.warnings.join(" ")))?;
        return Ok(Asked {
            water,
            at: beach.origin,
            zone,
            distance_m: setting.station_distance_m,
            borrowed: setting.tide_borrowed,
            surge: setting.surge,
            run_up_m: setting.run_up_m,
            free: beach.free.clone(),
            analysis: setting.analysis.clone(),
            notes: setting.source_notes.clone(),
            setting: Some(Box::new(setting)),
        });
    }
    let (station, at, distance_m): (&Station, LonLat, Option<f64>) = match (&args.near, &args.station) {
        (Some(near), _) => {
            let at = lonlat(near)?;
            let (station, away_m) =
                Catalogue::shipped().nearest(at, 1).into_iter().next().ok_or_else(|| Failure::input("the catalogue is empty"))?;
            (station, at, Some(away_m))
        }
        (None, Some(id)) => {
            let station = Catalogue::shipped().get(id).ok_or_else(|| no_station(id))?;
            (station, station.at, None)
        }
        (None, None) => return Err(Failure::usage("say where: --near LON,LAT, --station ID, or --book FILE with --beach NAME")),
    };
    let zone = TimeZone::get(&station.time_zone).unwrap_or(TimeZone::UTC);
    let water = Water::of_station(station, station.chart_datum.clone()).map_err(Failure::input)?;
    let notes = distance_m.and_then(|m| station.distance_caution(m)).into_iter().collect();
    let weather = weather(args, Weather::default())?;
    Ok(Asked {
        water,
        at,
        zone,
        distance_m,
        borrowed: false,
        surge: surge_of(&weather).0,
        run_up_m: weather.run_up_m.unwrap_or(USUAL_RUN_UP_M),
        free: FreeHours::default(),
        setting: None,
        analysis: None,
        notes,
    })
}

/// The days touched by the span, on the place's own calendar.
fn days(asked: &Asked, from: Timestamp, to: Timestamp) -> impl Iterator<Item = Date> {
    let (first, zone) = (from.to_zoned_datetime(asked.zone.clone()).date(), asked.zone.clone());
    std::iter::successors(Some(first), |d| d.tomorrow().ok())
        .take_while(move |d| d.to_zoned_datetime(zone.clone()).is_ok_and(|z| z.timestamp() < to))
}

fn crossing(crossing: Crossing, up: &str, down: &str) -> serde_json::Map<String, Value> {
    let (rise, set, state) = match crossing {
        Crossing::Crosses { up, down } => (up.map(rfc3339), down.map(rfc3339), "crosses"),
        Crossing::AlwaysAbove => (None, None, "always_above"),
        Crossing::AlwaysBelow => (None, None, "always_below"),
    };
    [(up.to_owned(), json!(rise)), (down.to_owned(), json!(set)), (format!("{up}_state"), json!(state))].into_iter().collect()
}

fn document(args: &TidesArgs, asked: &Asked, from: Timestamp, to: Timestamp) -> Value {
    let water = &asked.water;
    let turns: Vec<Value> = asked
        .turns(args, from, to)
        .iter()
        .map(|t| json!({ "time": rfc3339(t.time), "kind": t.kind, "m": rounded(t.level_m, 3) }))
        .collect();
    let levels: serde_json::Map<String, Value> = water
        .levels()
        .iter()
        .map(|(datum, level)| {
            let origin = if level.origin == Origin::Published { "published" } else { "computed" };
            (
                datum.code().to_lowercase(),
                json!({
                    "m": rounded(level.m, 3),
                    "origin": origin,
                    "computed_m": level.computed_m.map(|m| rounded(m, 3)),
                    "difference_m": level.computed_m.map(|m| rounded(level.m - m, 3)),
                }),
            )
        })
        .collect();
    let sun: Vec<Value> = days(asked, from, to)
        .filter_map(|date| {
            let day = Daylight::of(asked.at, date, &asked.zone).ok()?;
            let mut row = crossing(day.sun, "sunrise", "sunset");
            row.extend(crossing(day.civil, "civil_dawn", "civil_dusk"));
            row.insert("date".to_owned(), json!(date.to_string()));
            Some(Value::Object(row))
        })
        .collect();
    let constituents = water.predictor().map(|p| {
        json!({
            "used": p.used().map(|(name, m)| json!({ "name": name, "amplitude_m": m })).collect::<Vec<_>>(),
            "left_out": p.left_out().iter().map(|(name, m)| json!({ "name": name, "amplitude_m": m })).collect::<Vec<_>>(),
        })
    });
    json!({
        "source": source::document(water, asked.distance_m, asked.borrowed),
        "datum": water.datum().code(),
        "time_zone": asked.zone.iana_name(),
        "from": rfc3339(from),
        "to": rfc3339(to),
        "constituents": constituents,
        "analysis": asked.analysis.as_deref().map(source::analysis),
        "surge": source::margin(asked.surge, asked.run_up_m),
        "merge_below_m": args.merge_below,
        "heights": args.every.map(|minutes| heights(asked, from, to, minutes)),
        "turns": turns,
        "levels": levels,
        "sun": sun,
        "notes": asked.notes,
        "caution": water.caution(),
        "attribution": ATTRIBUTION,
    })
}

fn heights(asked: &Asked, from: Timestamp, to: Timestamp, minutes: u32) -> Vec<Value> {
    let step_s = i64::from(minutes) * 60;
    let n = (to.as_second() - from.as_second()) / step_s;
    let heights = asked.water.heights(from, step_s as f64, n as usize);
    (0..)
        .zip(heights)
        .filter_map(|(i, m)| {
            let time = from.checked_add(SignedDuration::from_secs(i * step_s)).ok()?;
            Some(json!({ "time": rfc3339(time), "m": m.map(|m| rounded(m, 3)) }))
        })
        .collect()
}

fn text(args: &TidesArgs, asked: &Asked, from: Timestamp, to: Timestamp, lows: &str) -> String {
    let (water, zone) = (&asked.water, &asked.zone);
    let mut out = format!(
        "{} ({}): metres above {}, times in {}\n",
        water.name(),
        water.kind().label(),
        water.datum().words(),
        zone.iana_name().unwrap_or("UTC")
    );
    for turn in asked.turns(args, from, to) {
        let kind = if turn.kind == TurnKind::High { "high" } else { "low " };
        out += &format!("  {}  {kind}  {:6.2} m\n", clock(turn.time, zone), rounded(turn.level_m, 2));
    }
    if let Some(minutes) = args.every {
        for row in heights(asked, from, to, minutes) {
            let time = row["time"].as_str().and_then(|t| t.parse().ok()).map(|t| clock(t, zone)).unwrap_or_default();
            let height = row["m"].as_f64().map_or_else(|| "not covered".to_owned(), |m| format!("{:6.2} m", rounded(m, 2)));
            out += &format!("  {time}        {height}\n");
        }
    }
    for date in days(asked, from, to) {
        if let Ok(day) = Daylight::of(asked.at, date, zone) {
            let at = |t: Option<Timestamp>| {
                t.map_or_else(|| "none".to_owned(), |t| t.to_zoned_datetime(zone.clone()).strftime("%H:%M").to_string())
            };
            out += &match day.sun {
                Crossing::Crosses { up, down } => format!("  {date}  sunrise {}, sunset {}\n", at(up), at(down)),
                Crossing::AlwaysAbove => format!("  {date}  the sun does not set\n"),
                Crossing::AlwaysBelow => format!("  {date}  the sun does not rise\n"),
            };
        }
    }
    let levels: Vec<String> = water
        .levels()
        .iter()
        .map(|(datum, l): (Datum, _)| {
            let from = match (l.origin, l.computed_m) {
                (Origin::Computed, _) => " (computed)".to_owned(),
                (Origin::Published, Some(m)) => {
                    format!(" (published; computed {:.2}, {:+.2} apart)", rounded(m, 2), rounded(l.m - m, 2))
                }
                (Origin::Published, None) => " (published)".to_owned(),
            };
            format!("{datum} {:.2}{from}", rounded(l.m, 2))
        })
        .collect();
    out += &format!("  levels, m: {}\n", levels.join(", "));
    out += lows;
    if let Some(left_out) = water.predictor().map(crate::tide::Predictor::left_out).filter(|l| !l.is_empty()) {
        let total: f64 = left_out.iter().map(|(_, m)| m).sum();
        out +=
            &format!("  {} constituents of the station are not known here and left out, {total:.3} m together\n", left_out.len());
    }
    for note in &asked.notes {
        out += &format!("  note: {note}\n");
    }
    out + &format!("{}\n{ATTRIBUTION}\n", water.caution())
}
