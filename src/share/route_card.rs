//! The card of a route: one page of HTML that stands by itself and prints on A4.

use jiff::Timestamp;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::emergency::{EMERGENCY_SOURCE, emergency};
use super::printable::printable;
use super::route_clock::RouteClock;
use super::route_map::map;
use crate::book::Book;
use crate::output::MARK;
use crate::route::{Route, Visit};
use crate::shore::Setting;

const STYLE: &str = "body{font:11.5px/1.3 Georgia,serif;color:#26282c;background:#fff;max-width:48rem;margin:1.2rem auto;padding:0 1rem}\
h1{font:600 19px/1.2 sans-serif;margin:0}h2{font:600 12px/1.2 sans-serif;margin:.5rem 0 .15rem}\
.back{border:3px solid #26282c;padding:.2rem .8rem;margin:.35rem 0;font:15px/1.2 sans-serif}.back b{font-size:46px;line-height:1.05;margin:0 .3rem}\
table{border-collapse:collapse;width:100%;font:10.5px/1.25 sans-serif}th,td{text-align:right;padding:.05rem .35rem .05rem 0;border-bottom:1px solid #d8d2c2;white-space:nowrap}\
th:first-child,td:first-child{text-align:left}td.by{font-weight:700}svg{width:100%;height:auto;border:1px solid #d8d2c2;display:block;margin:.2rem 0}\
.side{display:flex;gap:1.2rem;align-items:flex-start}.side>*{flex:1;min-width:0}ul{margin:0;padding-left:1rem}p{margin:.12rem 0}\
.fill{border-bottom:1px solid #26282c;display:inline-block;min-width:8.5rem}.call b{font-size:17px}.words,.small{font-size:9.5px;line-height:1.25}\
@page{size:A4;margin:9mm}@media print{body{margin:0;max-width:none;padding:0;font-size:10px;line-height:1.22}svg,table,.back{break-inside:avoid}h2{margin:.3rem 0 .1rem}\
.words,.small{font-size:7.8px;line-height:1.2}table{font-size:8.6px;line-height:1.15}table.many{font-size:7.8px}}";

/// Rows of one table of blocks; more blocks stand in tables side by side.
const ROWS: usize = 13;
/// Most tables side by side: a longer route has longer tables.
const TABLES: usize = 3;

/// The card of a route: times, map, cautions, permission, whom to call, as an HTML document that fetches
/// nothing.
pub fn route_card(route: &Route, book: &Book, setting: &Setting) -> String {
    let clock = RouteClock::on_beach(setting);
    let title = format!("{}, {}", route.beach, clock.day(route.low.time));
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="generator" content=(format_args!("Scourline {MARK}"));
                meta name="viewport" content="width=device-width";
                title { (printable(&title)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                h1 { (printable(&title)) }
                (head(route, setting, &clock))
                (map(route, book, setting, &clock))
                (blocks(route, &clock))
                div class="side" {
                    div { (otherwise(route, &clock)) (permission(route)) }
                    div { (call(setting)) }
                }
                (words(route))
            }
        }
    };
    page.into_string()
}

fn head(route: &Route, setting: &Setting, clock: &RouteClock) -> Markup {
    let first = route.visits.iter().position(|v| v.leave_by == route.turn_back).map_or(1, |n| n + 1);
    let datum = setting.water.as_ref().map_or("datum", |w| w.datum().words());
    let sun = |name: &str, time: Option<Timestamp>| time.map_or_else(String::new, |t| format!(", {name} {}", clock.hour(t)));
    let (least_m, most_m) = route.margins.sum_m();
    html! {
        div class="back" {
            "Turn back by " b { (clock.hour(route.turn_back)) }
            span { "from block " (first) ". Each block has its own time below." }
        }
        p {
            "Set out " b { (clock.hour(route.depart)) } " from " (printable(&route.from.name)) ". Out by "
            b { (clock.hour(route.back)) } " at " (printable(&route.to.name)) ". Low water "
            b { (clock.hour(route.low.time)) } (format_args!(", {:.2} m above ", route.low.level_m)) (printable(datum))
            (sun("sunset", route.sunset)) (sun("dark", route.dark)) ". Times are " (clock.zone(route.low.time)) "."
        }
        p {
            (format_args!(
                "Margins: {:.2} m run-up + {:.2} m weather + {:.2} to {:.2} m sand = {least_m:.2} to {most_m:.2} m of height; {} min of time on every way out.",
                route.margins.run_up_m, route.margins.surge_m, route.margins.sand_m.0, route.margins.sand_m.1, route.margins.time_min
            ))
        }
    }
}

fn blocks(route: &Route, clock: &RouteClock) -> Markup {
    let tables = route.visits.len().div_ceil(ROWS).clamp(1, TABLES);
    let rows = route.visits.len().div_ceil(tables).max(1);
    let lanes = route.visits.first().map_or(0, |v| v.lanes.len());
    html! {
        h2 { "Blocks" }
        div class="side" {
            @for (part, visits) in route.visits.chunks(rows).enumerate() {
                table class=[(tables > 2).then_some("many")] {
                    thead {
                        tr {
                            @for name in ["block", "from", "to", "gone by", "along, m", "across", "finds"] { th { (name) } }
                        }
                    }
                    tbody {
                        @for (n, visit) in visits.iter().enumerate() { (row(part * rows + n + 1, visit, clock)) }
                    }
                }
            }
        }
        p {
            (format_args!(
                "{lanes} lanes a block, along the shore. In all about {:.0} finds expected on {:.0} m² ({}; of each block in brackets); {:.0} m walked.",
                route.finds,
                route.swept_m2,
                route.range_said(),
                route.walked_m
            ))
        }
    }
}

fn row(number: usize, visit: &Visit, clock: &RouteClock) -> Markup {
    html! {
        tr {
            td { (number) }
            td { (clock.hour(visit.begin)) }
            td { (clock.hour(visit.leave)) }
            td class="by" { (clock.hour(visit.leave_by)) }
            td { (format_args!("{:.0}", visit.along_m)) }
            td { (format_args!("{:.0}", visit.across_m)) }
            td { (format_args!("{:.1} ({})", visit.finds, visit.range_short())) }
        }
    }
}

fn otherwise(route: &Route, clock: &RouteClock) -> Markup {
    let lost = |visits_lost: usize, first_lost: Option<usize>| match (visits_lost, first_lost) {
        (0, _) | (_, None) => "the plan still holds".to_owned(),
        (1, Some(n)) => format!("leave out block {}", n + 1),
        (all, Some(n)) => format!("{all} blocks cannot be worked at their times, the first is {}", n + 1),
    };
    html! {
        h2 { "If it goes otherwise" }
        ul {
            @for w in &route.what_if {
                li {
                    (printable(&w.said)) ": "
                    @match w.turn_back {
                        Some(time) => { "turn back by " b { (clock.hour(time)) } }
                        None => { "no block is safe" }
                    }
                    "; " (lost(w.visits_lost, w.first_lost)) "."
                }
            }
        }
    }
}

/// A gap to write into.
fn fill() -> Markup {
    html! { span class="fill" { "\u{a0}" } }
}

fn permission(route: &Route) -> Markup {
    html! {
        h2 { "Permission" }
        @if route.permissions.is_empty() {
            p { "None is recorded. Granted by " (fill()) }
        }
        @for p in &route.permissions {
            p { (printable(&p.name)) ", given by " (printable(&p.holder)) ". " (printable(&p.terms)) }
        }
    }
}

fn words(route: &Route) -> Markup {
    html! {
        div class="side words" {
            @for (heading, lines) in [("Cautions", &route.cautions), ("Taken for granted", &route.assumptions)] {
                div {
                    h2 { (heading) }
                    ul { @for line in lines { li { (printable(line)) } } }
                }
            }
        }
        p class="small" {
            "A second reckoning, apart from the planner, walked through a way out at " (route.checked.moments)
            (format_args!(" moments of this route; the longest takes {:.0} minutes.", (route.checked.longest_out_s / 60.0).ceil()))
        }
    }
}

/// Whom to call: the country's emergency numbers from a public list, the rest left to be filled in.
fn call(setting: &Setting) -> Markup {
    html! {
        h2 { "Whom to call" }
        @match emergency(&setting.beach.time_zone) {
            Some(e) => {
                p class="call" {
                    "Emergency " b { (e.numbers.first().copied().unwrap_or_default()) }
                    @if let Some(rest) = e.numbers.get(1..).filter(|rest| !rest.is_empty()) { " (also " (rest.join(", ")) ")" }
                    "; ask for sea rescue. " (printable(e.country)) " by its time zone; check locally: " (fill())
                }
            }
            None => { p class="call" { "Emergency " (fill()) } }
        }
        p { "Coastguard " (fill()) }
        p { "Someone who knows the plan " (fill()) }
        p class="small" { "Numbers: " (EMERGENCY_SOURCE) "." }
    }
}
