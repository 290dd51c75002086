use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};
use serde_json::{Value, json};

use super::Failure;
use super::args::TidesArgs;
use super::said::{clock, instant, print_json, print_text, rfc3339, rounded};
use super::water_at_place::{WaterAtPlace, water_at_place};
use super::{doubts, dry, lows, source};
use crate::sun::{Crossing, Daylight};
use crate::tide::{ATTRIBUTION, Datum, Origin, TurnKind};

pub(super) fn run(args: &TidesArgs) -> Result<(), Failure> {
    let here = water_at_place(args)?;
    let from = instant(&args.from, &here.zone)?;
    let last = from.to_zoned_datetime(here.zone.clone()).checked_add(jiff::Span::new().days(i64::from(args.days)));
    let to =
        last.map_err(|_| Failure::usage(format!("{} days after {} lie outside the calendar", args.days, args.from)))?.timestamp();
    if let Some((first, end)) = here.water.covers()
        && (to <= first || from >= end)
    {
        return Err(Failure::input(format!(
            "the tide table \"{}\" runs from {} to {}; it says nothing about the days asked for",
            here.water.name(),
            clock(first, &here.zone),
            clock(end, &here.zone)
        )));
    }
    let ranked = lows::rank(args, &here, from, to)?;
    let dry = dry::windows(args, &here, from, to)?;
    if args.json {
        let mut told = document(args, &here, from, to);
        if let Some(object) = told.as_object_mut() {
            object.extend(ranked.map(|r| ("lows".to_owned(), r.document())));
            object.extend(dry.map(|d| ("dry".to_owned(), d.document())));
        }
        print_json(&told)
    } else {
        let lows = ranked.map_or_else(String::new, |r| doubts::text(&here.doubts) + &r.text(&here.zone));
        let dry = dry.map_or_else(String::new, |d| d.text(&here.zone));
        print_text(&(text(args, &here, from, to, &(lows + &dry))))
    }
}

/// The days touched by the span, on the place's own calendar.
fn days(here: &WaterAtPlace, from: Timestamp, to: Timestamp) -> impl Iterator<Item = Date> {
    let (first, zone) = (from.to_zoned_datetime(here.zone.clone()).date(), here.zone.clone());
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

fn document(args: &TidesArgs, here: &WaterAtPlace, from: Timestamp, to: Timestamp) -> Value {
    let water = &here.water;
    let turns: Vec<Value> = here
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
    let sun: Vec<Value> = days(here, from, to)
        .filter_map(|date| {
            let day = Daylight::on_day(here.at, date, &here.zone).ok()?;
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
        "source": source::document(water, here.distance_m, here.borrowed),
        "datum": water.datum().code(),
        "time_zone": here.zone.iana_name(),
        "from": rfc3339(from),
        "to": rfc3339(to),
        "constituents": constituents,
        "analysis": here.analysis.as_deref().map(source::analysis),
        "surge": source::margin(here.surge, here.run_up_m),
        "merge_below_m": args.merge_below,
        "heights": args.every.map(|minutes| heights(here, from, to, minutes)),
        "turns": turns,
        "levels": levels,
        "sun": sun,
        "doubts": here.doubts,
        "notes": here.notes,
        "caution": water.caution(),
        "attribution": ATTRIBUTION,
    })
}

fn heights(here: &WaterAtPlace, from: Timestamp, to: Timestamp, minutes: u32) -> Vec<Value> {
    let step_s = i64::from(minutes) * 60;
    let n = (to.as_second() - from.as_second()) / step_s;
    let heights = here.water.heights(from, step_s as f64, n as usize);
    (0..)
        .zip(heights)
        .filter_map(|(i, m)| {
            let time = from.checked_add(SignedDuration::from_secs(i * step_s)).ok()?;
            Some(json!({ "time": rfc3339(time), "m": m.map(|m| rounded(m, 3)) }))
        })
        .collect()
}

fn text(args: &TidesArgs, here: &WaterAtPlace, from: Timestamp, to: Timestamp, lows: &str) -> String {
    let (water, zone) = (&here.water, &here.zone);
    let mut out = format!(
        "{} ({}): metres above {}, times in {}\n",
        water.name(),
        water.kind().label(),
        water.datum().words(),
        zone.iana_name().unwrap_or("UTC")
    );
    for turn in here.turns(args, from, to) {
        let kind = if turn.kind == TurnKind::High { "high" } else { "low " };
        out += &format!("  {}  {kind}  {:6.2} m\n", clock(turn.time, zone), rounded(turn.level_m, 2));
    }
    if let Some(minutes) = args.every {
        for row in heights(here, from, to, minutes) {
            let time = row["time"].as_str().and_then(|t| t.parse().ok()).map(|t| clock(t, zone)).unwrap_or_default();
            let height = row["m"].as_f64().map_or_else(|| "not covered".to_owned(), |m| format!("{:6.2} m", rounded(m, 2)));
            out += &format!("  {time}        {height}\n");
        }
    }
    for date in days(here, from, to) {
        if let Ok(day) = Daylight::on_day(here.at, date, zone) {
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
    for note in &here.notes {
        out += &format!("  note: {note}\n");
    }
    out + &format!("{}\n{ATTRIBUTION}\n", water.caution())
}
