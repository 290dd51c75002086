//! The card of a route: one page of HTML that stands by itself and prints on A4.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::emergency::{EMERGENCY_SOURCE, emergency_at};
use super::printable::printable;
use super::route_map::map;
use super::route_told::{About, HandedOut, Statement, is_clock_guessed, said_about, stands_on};
use crate::book::Book;
use crate::output::MARK;
use crate::route::{Route, RouteClock, Visit};
use crate::shore::Setting;
use crate::tide::whole;
use crate::trust::Weight;

const STYLE: &str = "body{font:11.5px/1.3 Georgia,serif;color:#26282c;background:#fff;max-width:48rem;margin:1.2rem auto;padding:0 1rem}\
h1{font:600 19px/1.2 sans-serif;margin:0}h2{font:600 12px/1.2 sans-serif;margin:.5rem 0 .15rem}\
.back{display:flex;gap:.9rem;border:3px solid #26282c;padding:.25rem .7rem;margin:.3rem 0;font:13px/1.2 sans-serif}.back>div{flex:0 0 auto;max-width:12rem}\
.back .tell{flex:1 1 0;max-width:none;font-size:11.5px}.second{border-left:1px solid #26282c;border-right:1px solid #26282c;padding:0 .9rem}\
.big{font-size:46px;font-weight:700;line-height:1.02}.mid{font-size:28px;line-height:1.1;font-weight:700}\
table{border-collapse:collapse;width:100%;font:10.5px/1.25 sans-serif}th,td{text-align:right;padding:.05rem .35rem .05rem 0;border-bottom:1px solid #d8d2c2;white-space:nowrap}\
th:first-child,td:first-child{text-align:left}td.by{font-weight:700}svg{width:100%;height:auto;box-sizing:border-box;border:1px solid #d8d2c2;display:block;margin:.2rem 0}\
.side{display:flex;gap:1.2rem;align-items:flex-start}.side>*{flex:1;min-width:0}ul{margin:0;padding-left:1rem}p{margin:.12rem 0}\
.fill{border-bottom:1px solid #26282c;display:inline-block;min-width:6rem}.call b{font-size:17px}.mind{font-size:13px}.words,.small{font-size:9.5px;line-height:1.25}\
@page{size:A4;margin:9mm}@media print{body{margin:0;max-width:none;padding:0;font-size:10px;line-height:1.22}svg,table,.back{break-inside:avoid}h2{margin:.3rem 0 .1rem}\
.words,.small{font-size:7.3px;line-height:1.17}table{font-size:8.6px;line-height:1.15}table.many{font-size:7.8px}}";

/// Rows of one table of blocks; more blocks stand in tables side by side.
const ROWS: usize = 13;
/// Most tables side by side: a longer route has longer tables.
const TABLES: usize = 3;

/// The card of a route: times, map, cautions, permission, whom to call, as an HTML document that fetches
/// nothing.
pub fn route_card(route: &Route, book: &Book, setting: &Setting, handed: &HandedOut) -> String {
    let clock = RouteClock::on_beach(route, &setting.beach);
    let title = format!("{}, {}", route.beach, clock.day(route.low.time));
    let said = stands_on(route, setting, handed);
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
                main {
                    h1 { (printable(&title)) }
                    (first(route, setting, &clock, &said))
                    (head(route, setting, &clock, &said))
                    (map(route, book, setting, (&clock, map_high(route, &said))))
                    (blocks(route, &clock))
                    div class="side" {
                        div { (otherwise(route, &clock)) }
                        div { (permission(route, &said)) }
                    }
                    (words(route, &clock))
                }
            }
        }
    };
    page.into_string()
}

/// What is said first: the way off, the time, tell someone, the number (common practice, no published source).
fn first(route: &Route, setting: &Setting, clock: &RouteClock, said: &[Statement]) -> Markup {
    html! {
        @if let Some(caution) = clock.caution() { p { b { (caution) } } }
        @for guessed in said_about(said, About::ClockGuessed) { p class="mind" { b { (printable(guessed)) } } }
        @if let Some(not_off) = &route.not_off { p class="mind" { b { (printable(&not_off.said(|t| clock.hour(t)))) } } }
        div class="back" {
            div {
                @if route.not_off.is_some() { "NOT a way off: " } @else { "Way off: " }
                b { (printable(&route.to.name)) } br;
                @if route.not_off.is_some() { "Back there by" } @else { "Off the sand by" } br;
                span class="big" { (clock.hour(route.off_sand_by())) }
            }
            div class="second" {
                @match route.first_to_leave() {
                    Some((n, by)) => { "First to be left:" br; "block " b { (n + 1) } " by" br; span class="mid" { (clock.hour(by)) } }
                    None => { "First to be left:" br; "no block before" br; span class="mid" { (clock.hour(route.off_sand_by())) } }
                }
            }
            div class="tell" {
                p { b { "Tell someone" } " now: where you go, and off the sand by " (clock.hour(route.off_sand_by())) "." }
                p { "Told " (fill()) " phone " (fill()) }
                (call(setting))
            }
        }
        p { "Each block has its own time below. Cut off or in doubt: call at once, do not wade (common practice, no published source)." }
    }
}

/// What the plan is: its times, and what it stands on.
fn head(route: &Route, setting: &Setting, clock: &RouteClock, said: &[Statement]) -> Markup {
    let datum = setting.water.as_ref().map_or("datum", |w| w.datum().words());
    let (least_m, most_m) = route.margins.sum_m();
    let m = &route.margins;
    let source = if m.source_m > 0.0 { format!(" + {:.2} m tide source", m.source_m) } else { String::new() };
    html! {
        p {
            "Set out " b { (clock.hour(route.depart)) } " from " (printable(&route.from.name)) ". Out at "
            b { (clock.hour(route.back)) } " by " (printable(&route.to.name)) ". Low water "
            b { (clock.hour(route.low.time)) } (format_args!(", {:.2} m above ", route.low.level_m)) (printable(datum))
            ". " (route.end_light(setting.beach.origin, clock).said)
            @for clock in said_about(said, About::Clock) { " " b { (printable(clock)) } }
        }
        @for told in route.doubts.iter().filter(|t| t.doubt.weight > Weight::Caution) {
            p { b { (printable(&told.caution())) } }
        }
        @for line in said_about(said, About::BesideUsual) { p { b { (printable(line)) } } }
        @for dated in said_about(said, About::Dated) { p { b { (printable(dated)) } } }
        @for line in told_apart(route, clock) { p { b { (printable(&line)) } } }
        p { @for line in said_about(said, About::Tide).chain(said_about(said, About::Sea)) { (printable(line)) " " } }
        p {
            (format_args!(
                "Margins: {:.2} m run-up + {:.2} m weather{source} + {:.2} to {:.2} m sand = {least_m:.2} to {most_m:.2} m of height; {} min of time on every way out. ",
                m.run_up_m, m.surge_m, m.sand_m.0, m.sand_m.1, m.time_min
            ))
            @for made in said_about(said, About::Made) { (printable(made)) }
        }
    }
}

/// Cautions that stand at the top of the card and are not said again below: the dark, a calm sea, and lows passed over.
/// So does the sea in fewer words.
fn told_apart(route: &Route, clock: &RouteClock) -> Vec<String> {
    let passed = route.passed_over.iter().map(|p| p.said(|t| clock.dated(t)));
    route.dark_said().into_iter().chain(route.sea.caution()).chain(passed).collect()
}

/// How high the map may be, in its own units, so that the card stays on one A4 page: the more is told, the lower.
fn map_high(route: &Route, said: &[Statement]) -> f64 {
    let told = route.passed_over.len()
        + usize::from(route.dark_min >= 1.0) * 3
        + usize::from(route.sea.caution().is_some()) * 2
        + usize::from(is_clock_guessed(route)) * 2
        + said_about(said, About::BesideUsual).count() * 2
        + usize::from(route.not_off.is_some()) * 2
        + route.doubts.iter().filter(|t| t.doubt.weight > Weight::Caution).count() * 2
        + route.permissions.len().saturating_sub(1);
    let rows = rows(route).saturating_sub(6);
    (270.0 - 9.0 * rows as f64 - 18.0 * told as f64).clamp(140.0, 270.0)
}

/// Rows of a table of blocks.
fn rows(route: &Route) -> usize {
    let tables = route.visits.len().div_ceil(ROWS).clamp(1, TABLES);
    route.visits.len().div_ceil(tables).max(1)
}

fn blocks(route: &Route, clock: &RouteClock) -> Markup {
    let tables = route.visits.len().div_ceil(ROWS).clamp(1, TABLES);
    let rows = rows(route);
    let lanes = route.visits.first().map_or(0, |v| v.lanes.len());
    html! {
        h2 { "Blocks" }
        div class="side" {
            @for (part, visits) in route.visits.chunks(rows).enumerate() {
                table class=[(tables > 2).then_some("many")] {
                    thead {
                        tr {
                            @for name in ["block", "from", "to", "gone by", "along, m", "across", "finds"] { th scope="col" { (name) } }
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
            td { (format_args!("{:.0}", whole(visit.along_m))) }
            td { (format_args!("{:.0}", whole(visit.across_m))) }
            td { (format_args!("{:.1} ({})", visit.finds, visit.range_short())) }
        }
    }
}

fn otherwise(route: &Route, clock: &RouteClock) -> Markup {
    html! {
        h2 { "If it goes otherwise" }
        ul {
            @for w in &route.what_if {
                li {
                    (printable(&w.said)) ": "
                    @match w.turn_back {
                        Some(time) => { "first to be left by " b { (clock.hour(time)) } }
                        None => { "no block is safe" }
                    }
                    "; " (w.blocks_said()) "."
                }
            }
        }
    }
}

/// A gap to write into.
fn fill() -> Markup {
    html! { span class="fill" { "\u{a0}" } }
}

fn permission(route: &Route, said: &[Statement]) -> Markup {
    html! {
        h2 { "Permission" }
        @for line in said_about(said, About::Permission) {
            p {
                (printable(line.strip_prefix("Permission: ").unwrap_or(line)))
                @if route.permissions.is_empty() { " Granted by " (fill()) }
            }
        }
    }
}

fn words(route: &Route, clock: &RouteClock) -> Markup {
    let mut apart = told_apart(route, clock);
    apart.push(route.sea.said());
    html! {
        div class="side words" {
            @for (heading, lines) in [("Cautions", &route.cautions), ("Taken for granted", &route.assumptions)] {
                div {
                    h2 { (heading) }
                    ul { @for line in lines.iter().filter(|l| !apart.contains(l)) { li { (printable(line)) } } }
                }
            }
        }
        p class="small" {
            "A second reckoning, apart from the planner, walked through a way out at " (route.checked.moments)
            (format_args!(" moments of this route; the longest takes {:.0} minutes.", (route.checked.longest_out_s / 60.0).ceil()))
        }
    }
}

/// The country's emergency numbers from a public list, or a gap to be filled in.
fn call(setting: &Setting) -> Markup {
    html! {
        @match emergency_at(&setting.beach) {
            Some(e) => {
                p class="call" {
                    "Emergency " b { (e.numbers.first().copied().unwrap_or_default()) }
                    @if let Some(rest) = e.numbers.get(1..).filter(|rest| !rest.is_empty()) { " (also " (rest.join(", ")) ")" }
                    ": ask for sea rescue."
                }
                p class="small" {
                    (printable(e.country)) @if e.by_place { " by its place" } @else { " by its time zone" } "; check locally: " (fill()) " (" (EMERGENCY_SOURCE) ")"
                }
            }
            None => {
                p class="call" { "Emergency " (fill()) ": ask for sea rescue." }
                p class="small" { "Look up the local emergency number before you go, and write it here." }
            }
        }
    }
}
