//! The low waters of a span, ranked.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde_json::{Value, json};

use super::args::{LowsBy, TidesArgs};
use super::said::{clock, rfc3339, rounded};
use super::water_at_place::WaterAtPlace;
use super::{Failure, source};
use crate::book::FreeHours;
use crate::earth::LonLat;
use crate::sea::RunUp;
use crate::shore::{low_marks, marks_of};
use crate::sun;
use crate::tide::{LOWS_REACH, Low, LowsAsked, LowsOrder, Missed, Moon, Surge, Window, lows_compared, next_lows, order_lows};

/// From this share of its dry window on a low counts as one in daylight.
const LIT: f64 = 0.5;

/// The lows asked for, with what they were held against.
pub(super) struct Ranked {
    marks: Vec<(String, f64)>,
    surge: Surge,
    run_up: RunUp,
    source_m: f64,
    free: FreeHours,
    /// Which lows each is compared with, in words.
    compared: &'static str,
    lows: Vec<Low>,
}

/// Ranks the lows of a span; `None` when they are not asked for.
pub(super) fn rank(args: &TidesArgs, here: &WaterAtPlace, from: Timestamp, to: Timestamp) -> Result<Option<Ranked>, Failure> {
    let Some(most) = args.lows else { return Ok(None) };
    let free = args.free.as_deref().map_or_else(|| Ok(here.free.clone()), source::free_hours)?;
    let marks: Vec<(String, f64)> = low_marks(&marks_of(here.water.levels())).into_iter().map(|m| (m.name, m.level_m)).collect();
    let (dry, run_ups): (Vec<Vec<Window>>, Vec<RunUp>) =
        marks.iter().map(|(_, level_m)| here.dry(*level_m, from - LOWS_REACH, to + LOWS_REACH)).unzip();
    let run_up = run_ups.into_iter().max_by(|a, b| a.m.total_cmp(&b.m)).unwrap_or(here.run_up);
    let day = jiff::SignedDuration::from_hours(24);
    let windows: Option<Vec<Window>> =
        free.within(&here.zone, from - day, to + day).map(|hours| hours.into_iter().map(Window::from).collect());
    let daylight = daylight(here.at, from, to);
    let asked = LowsAsked { daylight: &daylight, from, to, dry: &dry, free: windows.as_deref() };
    let mut lows = next_lows(&here.water, &asked);
    lows.retain(|low| !args.daylight || low.daylight >= LIT);
    order_lows(
        &mut lows,
        match args.lows_by {
            LowsBy::Soonest => LowsOrder::Soonest,
            LowsBy::Lowest => LowsOrder::Lowest,
            LowsBy::Usable => LowsOrder::MostUsable,
        },
    );
    lows.truncate(most as usize);
    let (surge, source_m) = (here.surge, here.source_m());
    Ok(Some(Ranked { marks, surge, run_up, source_m, free, compared: lows_compared(&here.water), lows }))
}

/// Daylight, civil twilight included, about a span of lows.
fn daylight(at: LonLat, from: Timestamp, to: Timestamp) -> Vec<Window> {
    sun::lit(at, from - LOWS_REACH, to + LOWS_REACH, sun::CIVIL_DEG).into_iter().map(Window::from).collect()
}

fn moon(moon: Moon) -> &'static str {
    match moon {
        Moon::Spring => "spring",
        Moon::Between => "between",
        Moon::Neap => "neap",
    }
}

impl Ranked {
    /// What a low does not lay bare.
    fn missed(&self, low: &Low) -> Vec<Missed> {
        Missed::at_low(&self.marks, low.level_m + self.margin_m())
    }

    /// What dry windows keep above the prediction, metres.
    fn margin_m(&self) -> f64 {
        self.run_up.m + self.surge.margin_m() + self.source_m
    }

    /// As `--json` tells them.
    pub(super) fn document(&self) -> Value {
        let one = |low: &Low| {
            let dry: Vec<Value> = self
                .marks
                .iter()
                .zip(&low.dry)
                .filter_map(|((name, level_m), window)| {
                    let w = window.as_ref()?;
                    Some(json!({
                        "down_to": name,
                        "level_m": rounded(*level_m, 3),
                        "from": rfc3339(w.from),
                        "to": rfc3339(w.to),
                        "minutes": rounded(w.length_s() / 60.0, 1),
                    }))
                })
                .collect();
            json!({
                "time": rfc3339(low.time),
                "m": rounded(low.level_m, 3),
                "lower_than": rounded(low.lower_than, 4),
                "range_m": rounded(low.range_m, 3),
                "moon": moon(low.moon),
                "daylight": rounded(low.daylight, 3),
                "usable_min": rounded(low.usable_min, 1),
                "dry": dry,
                "missed": self.missed(low).iter().map(|m| json!({
                    "band": m.band,
                    "wholly": m.wholly,
                    "by_m": rounded(m.by_m, 3),
                })).collect::<Vec<_>>(),
            })
        };
        json!({
            "margin_m": rounded(self.margin_m(), 3),
            "surge": source::margin(self.surge, &self.run_up, self.source_m),
            "free": (!self.free.is_always()).then(|| self.free.to_string()),
            "ranked": self.lows.iter().map(one).collect::<Vec<_>>(),
        })
    }

    /// For a person, a line each.
    pub(super) fn text(&self, zone: &TimeZone) -> String {
        let source = if self.source_m > 0.0 { format!(", tide source {:.2} m", self.source_m) } else { String::new() };
        let mut out = format!(
            "  low waters, dry windows keeping up to {:.2} m above the prediction (surge {:.2} m with twice its uncertainty, run-up {:.2} m{source}):\n",
            self.margin_m(),
            self.surge.margin_m(),
            self.run_up.m
        );
        out += &format!("  {}\n", self.run_up.said());
        if !self.free.is_always() {
            out += &format!("  free hours: {}\n", self.free);
        }
        for (n, low) in self.lows.iter().enumerate() {
            let dry = self.marks.iter().zip(&low.dry).rev().find_map(|((name, _), w)| Some((name, w.as_ref()?)));
            let dry = dry.map_or_else(
                || "no tide level dry".to_owned(),
                |(name, w)| format!("dry down to {name} for {:.0} min", w.length_s() / 60.0),
            );
            out += &format!(
                "  {:3}  {}  {:6.2} m  lower than {:.0} % of {}, {}, {:.0} % in daylight, {dry}, {:.0} min usable\n",
                n + 1,
                clock(low.time, zone),
                rounded(low.level_m, 2),
                100.0 * low.lower_than,
                self.compared,
                match low.moon {
                    Moon::Spring => "springs",
                    Moon::Between => "between springs and neaps",
                    Moon::Neap => "neaps",
                },
                100.0 * low.daylight,
                low.usable_min
            );
            if let Some(missed) = Missed::all_said(&self.missed(low)) {
                out += &format!("       {missed}\n");
            }
        }
        out
    }
}
