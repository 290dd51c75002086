//! The map of a route's card, and the tide below it.

use geo_types::{Coord, LineString};
use jiff::{SignedDuration, Timestamp};
use maud::{Markup, html};

use super::printable::printable;
use super::route_ground::{runnels, survey_edge};
use crate::book::{BarrierShape, Book};
use crate::earth::{Local, LonLat};
use crate::route::{Doing, Route, RouteClock, WayIn};
use crate::shore::{Setting, Shore, ShorePoint};

/// Width of the drawing, in its own units; its height follows from the ground.
const WIDTH: f64 = 760.0;
/// Shown around the route, metres.
const AROUND_M: f64 = 25.0;

/// The water's edge is shown this far below the route, metres.
const MOST_BELOW_M: f64 = 120.0;
/// How many times larger than along a metre across may be.
const MOST_STRETCH: f64 = 2.5;

/// The ground straightened along the baseline: along to the right, across downwards, the sea below.
struct View<'a> {
    shore: &'a Shore,
    left_m: f64,
    top_m: f64,
    per_m: f64,
    /// Across the shore, where a metre may be drawn larger.
    across_per_m: f64,
    height: f64,
}

impl View<'_> {
    fn at(&self, p: Local) -> (f64, f64) {
        let s = self.shore.to_shore(p);
        ((s.along_m - self.left_m) * self.per_m, (s.across_m - self.top_m) * self.across_per_m)
    }

    fn points(&self, line: impl IntoIterator<Item = Local>) -> String {
        line.into_iter().map(|p| self.at(p)).map(|(x, y)| format!("{x:.1},{y:.1} ")).collect()
    }
}

/// The route from above with the water's edge at three times, and the tide below it. The drawing is at most so high, in
/// its own units, that the card stays on its page.
pub(super) fn map(route: &Route, book: &Book, setting: &Setting, (clock, most_high): (&RouteClock, f64)) -> Markup {
    let Ok(shore) = &setting.shore else { return Markup::default() };
    let places = route.trace.iter().map(|s| shore.to_shore(s.at));
    let span = |of: fn(&ShorePoint) -> f64| {
        places.clone().map(|s| of(&s)).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
    };
    let ((left, right), (top, bottom)) = (span(|s| s.along_m), span(|s| s.across_m));
    // The water's edge at low water belongs on the map where it is not too far out.
    let low_edge = setting.water.as_ref().and_then(|w| shore.water_edge(w.height_m(route.low.time)?).ok());
    let beside = |s: &ShorePoint| s.along_m >= left && s.along_m <= right && s.across_m <= bottom + MOST_BELOW_M;
    let edge = low_edge.iter().flat_map(|l| l.iter()).flat_map(|l| &l.0).map(|c| shore.to_shore((*c).into()));
    let bottom = edge.filter(beside).map(|s| s.across_m).fold(bottom, f64::max);
    let width_m = (right - left + 2.0 * AROUND_M).max(80.0);
    let height_m = (bottom - top + 2.0 * AROUND_M).max(40.0);
    let per_m = (WIDTH / width_m).min(most_high / height_m);
    // A long beach is drawn larger across, so that its blocks can be told apart.
    let across_per_m = (most_high / height_m).min(per_m * MOST_STRETCH);
    let left_m = (left + right) / 2.0 - WIDTH / per_m / 2.0;
    let view = View { shore, left_m, top_m: top - AROUND_M, per_m, across_per_m, height: height_m * across_per_m };
    let edges = edges(route, setting, &view);
    html! {
        svg viewBox=(format_args!("0 0 {WIDTH} {:.0}", view.height)) role="img"
            aria-label="The route from above, land at the top, sea at the bottom" font-family="sans-serif" font-size="9" {
            rect width="100%" height="100%" fill="#f7f2e6" {}
            @for edge in &edges {
                @for line in &edge.lines {
                    polyline points=(view.points(line.0.iter().map(|c| Local::from(*c)))) fill="none" stroke=(edge.colour)
                        stroke-width="1.6" stroke-dasharray=(edge.dash) {}
                }
            }
            (ground(&view))
            (bars(book, setting, &view))
            @for (n, visit) in route.visits.iter().enumerate() { (block(n + 1, visit.corners, &view)) }
            polyline points=(view.points(walked(route))) fill="none" stroke="#26282c" stroke-width="1.2" stroke-dasharray="4 2" {}
            @for way in [&route.from, &route.to] { (access(way, &view)) }
            (legend(&edges, setting, &view, clock))
            (furniture(&view))
        }
        (tide(route, setting, clock))
    }
}

/// Colours of the ground's own marks.
const RUNNEL: &str = "#5b8fb0";
const BAR: &str = "#9a7b3c";
const SURVEY: &str = "#6b6f76";

fn runnel_mark(y: f64) -> Markup {
    html! { rect x="8" y=(tenth(y - 4.0)) width="26" height="8" fill=(RUNNEL) fill-opacity="0.45" {} }
}

fn bar_mark(y: f64) -> Markup {
    html! { line x1="8" y1=(tenth(y)) x2="34" y2=(tenth(y)) stroke=(BAR) stroke-width="2" {} }
}

fn edge_mark(y: f64) -> Markup {
    html! { line x1="8" y1=(tenth(y)) x2="34" y2=(tenth(y)) stroke=(SURVEY) stroke-width="1.5" stroke-dasharray="1 3" {} }
}

/// The edge of the surveyed ground, runnels and the bars before them.
fn ground(view: &View<'_>) -> Markup {
    let span = (view.left_m, view.left_m + WIDTH / view.per_m);
    html! {
        @for runnel in runnels(view.shore, span) {
            polygon class="runnel" points=(view.points(runnel.corners)) fill=(RUNNEL) fill-opacity="0.45" {}
            polyline class="bar" points=(view.points(runnel.crest)) stroke=(BAR) stroke-width="2" {}
        }
        @for edge in survey_edge(view.shore) {
            polygon class="survey" points=(view.points(edge.exterior().0.iter().map(|c| Local::from(*c)))) fill="none" stroke=(SURVEY)
                stroke-width="1.5" stroke-dasharray="1 3" {}
        }
    }
}

fn tenth(value: f64) -> String {
    format!("{value:.1}")
}

fn block(number: usize, corners: [Local; 4], view: &View<'_>) -> Markup {
    let middle = corners.iter().map(|c| view.at(*c)).fold((0.0, 0.0), |m, c| (m.0 + c.0 / 4.0, m.1 + c.1 / 4.0));
    html! {
        polygon points=(view.points(corners)) fill="#e9c46a" fill-opacity="0.7" stroke="#7a5c12" {}
        text x=(tenth(middle.0)) y=(tenth(middle.1 + 3.0)) text-anchor="middle" font-weight="700" { (number) }
    }
}

fn access(way: &WayIn, view: &View<'_>) -> Markup {
    let (x, y) = view.at(way.at);
    let anchor = if x > WIDTH - 120.0 { "end" } else { "start" };
    html! {
        circle cx=(tenth(x)) cy=(tenth(y)) r="4" {}
        text x=(tenth(x)) y=(tenth((y - 6.0).max(10.0))) text-anchor=(anchor) font-size="11" { (printable(&way.name)) }
    }
}

/// The way between blocks, lanes left out.
fn walked(route: &Route) -> impl Iterator<Item = Local> {
    route.trace.iter().filter(|s| s.doing == Doing::Walking).map(|s| s.at)
}

/// The water's edge at one moment, and how it is drawn.
struct Edge {
    time: Timestamp,
    colour: &'static str,
    dash: &'static str,
    lines: Vec<LineString<f64>>,
}

/// The water's edge when one sets out, at low water and when to turn back.
fn edges(route: &Route, setting: &Setting, view: &View<'_>) -> Vec<Edge> {
    let Some(water) = &setting.water else { return Vec::new() };
    let moments = [(route.depart, "#8fb8c9", "6 3"), (route.low.time, "#1f5f7a", "none"), (route.turn_back, "#b3402a", "2 2")];
    let edge = |(time, colour, dash)| {
        let lines = water.height_m(time).and_then(|h| view.shore.water_edge(h).ok())?;
        Some(Edge { time, colour, dash, lines: lines.0 })
    };
    moments.into_iter().filter_map(edge).collect()
}

/// The lines that name the edges, to be drawn over everything.
fn legend(edges: &[Edge], setting: &Setting, view: &View<'_>, clock: &RouteClock) -> Markup {
    let row_y = |n: usize| view.height - 10.0 - 12.0 * n as f64;
    html! {
        @if setting.water.is_some() {
            rect x="4" y=(tenth(view.height - 82.0)) width="142" height="78" fill="#fffdf7" fill-opacity="0.85" {}
        }
        @for (n, edge) in edges.iter().enumerate() {
            line x1="8" y1=(tenth(row_y(n))) x2="34" y2=(tenth(row_y(n))) stroke=(edge.colour) stroke-width="2"
                stroke-dasharray=(edge.dash) {}
            text x="38" y=(tenth(row_y(n) + 3.0)) font-size="10" { "water's edge " (clock.hour(edge.time)) }
        }
        @for (n, (name, mark)) in [("fills behind you (runnel)", runnel_mark(row_y(3))), ("bar before it", bar_mark(row_y(4))), ("edge of the survey", edge_mark(row_y(5)))].into_iter().enumerate() {
            (mark)
            text x="38" y=(tenth(row_y(n + 3) + 3.0)) font-size="10" { (name) }
        }
    }
}

fn bars(book: &Book, setting: &Setting, view: &View<'_>) -> Markup {
    let place = |c: &Coord<f64>| view.shore.frame().to_local(LonLat::try_from(*c).ok()?).ok();
    let points = |line: &LineString<f64>| view.points(line.0.iter().filter_map(place));
    html! {
        @for barrier in book.barriers().values().filter(|b| b.beach == setting.beach.uid) {
            @match &barrier.shape {
                BarrierShape::Line(lines) => {
                    @for line in lines { polyline points=(points(line)) fill="none" stroke="#4a4036" stroke-width="3" {} }
                }
                BarrierShape::Area(area) => {
                    @for polygon in area {
                        polygon points=(points(polygon.exterior())) fill="#8c8377" fill-opacity="0.5" stroke="#4a4036" {}
                    }
                }
            }
        }
    }
}

/// A scale and the north mark.
fn furniture(view: &View<'_>) -> Markup {
    let step_m = [10.0, 20.0, 50.0, 100.0, 200.0, 500.0].into_iter().find(|m| m * view.per_m > 60.0).unwrap_or(1000.0);
    let (x, y) = (WIDTH - 12.0, view.height - 10.0);
    let stretch = view.across_per_m / view.per_m;
    let stretched = if stretch > 1.05 { format!(", across {stretch:.1} times larger") } else { String::new() };
    // North by the straightened ground at the middle of the view.
    let middle = view
        .shore
        .to_local(ShorePoint::new(view.left_m + WIDTH / view.per_m / 2.0, view.top_m + view.height / view.across_per_m / 2.0));
    let ((ax, ay), (bx, by)) = (view.at(middle), view.at(Local::new(middle.east_m, middle.north_m + 1.0)));
    let turn_deg = (bx - ax).atan2(ay - by).to_degrees();
    html! {
        line x1=(tenth(x - step_m * view.per_m)) y1=(tenth(y)) x2=(tenth(x)) y2=(tenth(y)) stroke="#26282c" stroke-width="2" {}
        text x=(tenth(x)) y=(tenth(y - 4.0)) text-anchor="end" { (format_args!("{step_m:.0} m along{stretched}")) }
        g transform=(format_args!("translate({:.1},24) rotate({turn_deg:.1})", WIDTH - 24.0)) {
            path d="M0 -14 L4 6 L0 2 L-4 6 Z" {}
            text y="-16" text-anchor="middle" { "N" }
        }
    }
}

/// The tide over the outing, with when to turn back.
fn tide(route: &Route, setting: &Setting, clock: &RouteClock) -> Markup {
    let Some(water) = &setting.water else { return Markup::default() };
    let hour = SignedDuration::from_hours(1);
    let (from, to) = (route.depart.min(route.low.time) - hour, route.back.max(route.turn_back) + hour);
    let lasts_s = to.duration_since(from).as_secs_f64();
    let heights: Vec<Option<f64>> = water.heights(from, lasts_s / 200.0, 201);
    let known = || heights.iter().flatten().copied();
    let (low, high) = (known().fold(f64::INFINITY, f64::min), known().fold(f64::NEG_INFINITY, f64::max));
    if low >= high {
        return Markup::default();
    }
    let x = |t: Timestamp| t.duration_since(from).as_secs_f64() / lasts_s * WIDTH;
    let y = |h: f64| 60.0 - (h - low) / (high - low) * 42.0;
    let curve: String = heights
        .iter()
        .enumerate()
        .filter_map(|(n, h)| Some(format!("{:.1},{:.1} ", n as f64 / 200.0 * WIDTH, y((*h)?))))
        .collect();
    let marks =
        [(route.depart, "set out"), (route.low.time, "low"), (route.turn_back, "first to leave"), (route.back, "off the sand")];
    let row = |n: usize| if n.is_multiple_of(2) { "75" } else { "10" };
    let width = |name: &str| if name == "off the sand" { "2.5" } else { "1" };
    html! {
        svg viewBox=(format_args!("0 0 {WIDTH} 78")) role="img" aria-label="The tide over the outing"
            font-family="sans-serif" font-size="10" {
            polyline points=(curve) fill="none" stroke="#1f5f7a" stroke-width="2" {}
            @for (n, (time, name)) in marks.into_iter().enumerate() {
                line x1=(tenth(x(time))) y1="14" x2=(tenth(x(time))) y2="64" stroke="#b3402a" stroke-width=(width(name)) {}
                text x=(tenth(x(time))) y=(row(n)) text-anchor=(anchor(x(time))) { (name) " " (clock.hour(time)) }
            }
        }
    }
}

/// On which side of its place a word stands, so that it stays within the drawing.
fn anchor(x: f64) -> &'static str {
    if x < 60.0 {
        "start"
    } else if x > WIDTH - 60.0 {
        "end"
    } else {
        "middle"
    }
}
