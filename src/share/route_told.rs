//! What a route stands on, as it is handed out: the tide's source, the sea, the clock, the book. Sheet, card, JSON, GPX and
//! GeoJSON all take it from here, so that none of them lacks what another one says.

use jiff::Timestamp;
use serde_json::{Map, Value, json};

use crate::earth::distance_words;
use crate::route::{PermissionSaid, Route, RouteClock};
use crate::sea::RunUp;
use crate::shore::Setting;
use crate::tide::{SecondaryPort, Water, rounded};
use crate::trust::{CLOCK_GUESSED, Told, offset_said};

/// When a route was made, and of which book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandedOut {
    /// When it was planned.
    pub made_at: Timestamp,
    /// Name of the book's file, without its folder; empty where it has none yet.
    pub book: String,
    /// How it differs from the route with the usual pace and weather, where that was planned as well.
    pub beside_usual: Option<String>,
}

impl HandedOut {
    /// Handed out now, from the book in this file.
    pub fn now(made_at: Timestamp, book: Option<&std::path::Path>) -> Self {
        let name = book.and_then(|p| p.file_name()).map(|n| n.to_string_lossy().into_owned());
        Self { made_at, book: name.unwrap_or_default(), beside_usual: None }
    }
}

/// A plan so far ahead is of sand, clocks and rules that will be others, days.
const FAR_AHEAD_DAYS: f64 = 366.0;

/// What is to be said of the day of a route: that it is past, or so far ahead that hardly anything it stands on will hold.
fn dated_said(route: &Route, setting: &Setting, handed: &HandedOut) -> Option<String> {
    let clock = RouteClock::on_beach(route, &setting.beach);
    let days = route.low.time.duration_since(handed.made_at).as_secs_f64() / 86_400.0;
    if route.back <= handed.made_at {
        let (back, made) = (clock.whole(route.back), clock.whole(handed.made_at));
        return Some(format!("This outing is past: it would have ended on {back}, and was planned on {made}."));
    }
    (days > FAR_AHEAD_DAYS).then(|| {
        format!(
            "This low lies {:.1} years ahead: the sand, the clocks and the rules will be others by then. Plan it anew in its own week.",
            days / 365.25
        )
    })
}

/// That nobody gave the clock of a route, and what it showed when the route was planned, to hold a watch against.
fn clock_guessed_said(route: &Route, setting: &Setting, handed: &HandedOut) -> Option<String> {
    let now = RouteClock::on_beach(route, &setting.beach);
    is_clock_guessed(route).then(|| {
        format!(
        "CLOCK GUESSED ({}): it showed {} when this was planned. If the clock at the beach showed another hour, every time here is wrong by as much.",
        setting.beach.time_zone,
        now.whole(handed.made_at)
    )
    })
}

/// Whether nobody gave the clock of a route.
pub(super) fn is_clock_guessed(route: &Route) -> bool {
    route.doubts.iter().any(|t: &Told| t.confirmed.is_none() && t.doubt.key.starts_with(CLOCK_GUESSED))
}

/// The age of the levels of a route as one JSON value; its keys are part of the promise in DEVELOPERS.md.
fn levels_document(route: &Route, setting: &Setting) -> Value {
    json!({
        "surveyed": setting.age.surveyed().map(|d| d.to_string()),
        "storms_since": setting.age.storms_since(route.low.time).iter().map(|d| d.to_string()).collect::<Vec<_>>(),
        "lower_m": rounded(route.params.sand_lower_m, 3),
    })
}

/// The source of the water's level as one JSON value; its keys are part of the promise in DEVELOPERS.md.
pub fn tide_source_document(water: &Water, distance_m: Option<f64>, borrowed: bool) -> Value {
    json!({
        "kind": water.kind().word(),
        "id": water.station().map(|s| s.id.clone()),
        "name": water.name(),
        "at": water.station().map(|s| s.at),
        "distance_m": distance_m.map(f64::round),
        "borrowed": borrowed,
        "licence": water.station().map(|s| s.licence.name()),
        "standard_port": water.secondary().map(standard_port),
    })
}

fn standard_port(port: &SecondaryPort) -> Value {
    let d = port.differences();
    json!({
        "name": port.standard().name(),
        "kind": port.standard().kind().word(),
        "id": port.standard().station().map(|s| s.id.clone()),
        "high_time_min": [d.high_time_min.0, d.high_time_min.1],
        "low_time_min": [d.low_time_min.0, d.low_time_min.1],
        "high_m": [d.high_m.0, d.high_m.1],
        "low_m": [d.low_m.0, d.low_m.1],
    })
}

/// The sea that is assumed and its run-up as one JSON value; its keys are part of the promise in DEVELOPERS.md.
pub fn sea_document(run_up: &RunUp) -> Value {
    let iribarren = run_up.swash().iribarren;
    json!({
        "from": run_up.from.word(),
        "height_m": rounded(run_up.waves.height_m, 2),
        "period_s": rounded(run_up.waves.period_s, 2),
        "slope": rounded(run_up.foreshore.slope, 4),
        "slope_sd": rounded(run_up.foreshore.sd, 4),
        "iribarren": iribarren.is_finite().then(|| rounded(iribarren, 3)),
        "run_up_computed_m": rounded(run_up.computed_m, 3),
        "run_up_typed_m": run_up.typed_m.map(|m| rounded(m, 3)),
        "surge_m": rounded(run_up.surge_m, 3),
        "run_up_m": rounded(run_up.m, 3),
        "said": run_up.said(),
        "caution": run_up.caution(),
    })
}

/// The clock of a route: its zone, its name on the day and how far it is from UTC.
fn clock_document(setting: &Setting, clock: &RouteClock, time: Timestamp) -> Value {
    json!({ "zone": setting.beach.time_zone, "name": clock.name(time), "utc_offset": clock.offset(time) })
}

/// What a statement of a route is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// Why it has other blocks than the route with the usual pace and weather.
    BesideUsual,
    /// The clock that every time is on.
    Clock,
    /// That nobody gave that clock.
    ClockGuessed,
    /// That its day is past or years ahead.
    Dated,
    /// Where the water's level comes from.
    Tide,
    /// The sea that is assumed.
    Sea,
    /// Who allows searching, and at which hours.
    Permission,
    /// What was doubted and the person confirmed.
    Confirmed,
    /// When it was planned, and from which book.
    Made,
}

/// Something that a route stands on, for a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Statement {
    /// What it is about.
    pub about: About,
    /// The statement: one sentence, or a few.
    pub said: String,
}

/// What a route stands on, in the order in which it is told. Everything that is handed out of a route says all of it.
pub fn stands_on(route: &Route, setting: &Setting, handed: &HandedOut) -> Vec<Statement> {
    let clock = RouteClock::on_beach(route, &setting.beach);
    let book = if handed.book.is_empty() { String::new() } else { format!(" from the book {}", handed.book) };
    let one = |about: About, said: Option<String>| said.map(|said| Statement { about, said });
    let permissions = route.permissions.iter().map(permission_said);
    let none = route.permissions.is_empty().then(|| "No permission is recorded.".to_owned());
    let confirmed = route.doubts.iter().filter(|t| t.confirmed.is_some()).map(Told::caution);
    let all = [
        one(About::BesideUsual, handed.beside_usual.clone()),
        one(About::Clock, Some(format!("Clock: {} ({}).", clock.zone(route.low.time), setting.beach.time_zone))),
        one(About::ClockGuessed, clock_guessed_said(route, setting, handed)),
        one(About::Dated, dated_said(route, setting, handed)),
        one(About::Tide, Some(tide_said(setting))),
        one(About::Sea, Some(format!("Sea: {}.", route.sea.sea_said()))),
    ];
    let mut out: Vec<Statement> = all.into_iter().flatten().collect();
    out.extend(permissions.chain(none).map(|said| Statement { about: About::Permission, said }));
    out.extend(confirmed.map(|said| Statement { about: About::Confirmed, said }));
    out.push(Statement { about: About::Made, said: format!("Planned {}{book}.", clock.whole(handed.made_at)) });
    out
}

/// The statements about one thing.
pub fn said_about(all: &[Statement], about: About) -> impl Iterator<Item = &str> {
    all.iter().filter(move |s| s.about == about).map(|s| s.said.as_str())
}

fn permission_said(permission: &PermissionSaid) -> String {
    let (name, holder, terms) = (&permission.name, &permission.holder, permission.terms.trim());
    let said = format!("Permission: {name}, given by {holder}, {}.", permission.hours_said());
    if terms.is_empty() { said } else { format!("{said} {terms}") }
}

/// What a route stands on as members of a JSON object; their keys are part of the promise in DEVELOPERS.md.
pub(super) fn stands_on_document(route: &Route, setting: &Setting, handed: &HandedOut) -> Map<String, Value> {
    let said: Vec<String> = stands_on(route, setting, handed).into_iter().map(|s| s.said).collect();
    let hour = |t: jiff::civil::Time| t.strftime("%H:%M").to_string();
    let permission = |p: &PermissionSaid| {
        let hours = p.hours.map(|(from, to)| json!({ "from": hour(from), "to": hour(to) }));
        json!({ "name": p.name, "holder": p.holder, "terms": p.terms, "hours": hours })
    };
    let water = setting.water.as_ref();
    let members = [
        ("tide_source", json!(water.map(|w| tide_source_document(w, setting.station_distance_m, setting.tide_borrowed)))),
        ("datum", json!(water.map(|w| w.datum().words()))),
        ("datum_offset_m", json!(setting.beach.datum_offset_m)),
        ("clock", clock_document(setting, &RouteClock::on_beach(route, &setting.beach), route.low.time)),
        ("clock_guessed", json!(clock_guessed_said(route, setting, handed))),
        ("made_at", json!(second(handed.made_at))),
        ("book", json!(handed.book)),
        ("beside_usual", json!(handed.beside_usual)),
        ("levels", levels_document(route, setting)),
        ("dated", json!(dated_said(route, setting, handed))),
        ("sea", sea_document(&route.sea)),
        ("permissions", route.permissions.iter().map(permission).collect()),
        ("stands_on", json!(said)),
    ];
    members.into_iter().map(|(key, value)| (key.to_owned(), value)).collect()
}

/// RFC 3339 in UTC, to the second, rounded down: no time is ever later than it was found.
pub(super) fn second(time: Timestamp) -> String {
    Timestamp::from_second(time.as_second()).unwrap_or(time).to_string()
}

/// Where the water's level comes from, in a sentence: source, how far, datum, offset.
fn tide_said(setting: &Setting) -> String {
    let Some(water) = &setting.water else { return "Tide: no source.".to_owned() };
    let away = match setting.station_distance_m {
        Some(_) if setting.tide_borrowed => ", lent to this invented beach".to_owned(),
        Some(m) => format!(", {} away", distance_words(m)),
        None => String::new(),
    };
    let offset = match setting.beach.datum_offset_m {
        Some(m) => {
            let from = offset_said(&setting.beach).map_or_else(String::new, |said| format!(", {said}"));
            format!("Datum offset: tide level = land level {m:+.2} m{from}.")
        }
        None => "The datum offset is not set.".to_owned(),
    };
    format!("Tide: {}, {}{away}; heights above {}. {offset}", water.name(), water.kind().label(), water.datum().words())
}
