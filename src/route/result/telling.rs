//! What a route tells beside its places and times: cautions, assumptions, sun and permission.

use std::sync::Arc;

use jiff::Timestamp;

use super::likely::spread;
use super::route::{Checked, Ground, Margins, PermissionSaid, Route};
use super::route_clock::RouteClock;
use super::trace::Drawn;
use crate::book::{ORDNANCE_CAUTION, ZoneUse};
use crate::route::ground::WayIn;
use crate::route::ground::block::Candidate;
use crate::route::ground::planner::{Planner, Tide};
use crate::route::params::Params;
use crate::shore::{Setting, low_marks};
use crate::sun::{self, Crossing, Daylight};
use crate::tide::{Missed, Turn};
use crate::trust::{Told, Weight};

/// Puts a route together from what was drawn and found.
pub(in crate::route) fn tell(
    planner: &Planner<'_>,
    (low, tide): (&Turn, &Tide),
    drawn: Drawn,
    chosen: &[&Candidate],
    ground: Arc<[Ground]>,
    checked: Checked,
) -> Route {
    let (setting, p) = (planner.asked.setting, planner.asked.params);
    let errors = chosen.iter().map(|b| planner.sand_error_m(b));
    let lower_m = p.sand_lower_m.max(0.0);
    let sand_m = errors.map(|e| e + lower_m).fold((f64::INFINITY, 0.0_f64), |(low, high), e| (low.min(e), high.max(e)));
    let (depart, back) = match (drawn.trace.first(), drawn.trace.last()) {
        (Some(first), Some(last)) => (first.time, last.time),
        _ => (low.time, low.time),
    };
    let (sunset, dark) = evening(setting, low.time);
    let used: std::collections::BTreeSet<usize> = chosen.iter().filter_map(|b| b.permission).collect();
    let permissions = used
        .into_iter()
        .filter_map(|n| planner.permissions.get(n))
        .map(|x| PermissionSaid { name: x.name.clone(), holder: x.holder.clone(), terms: x.terms.clone(), hours: x.hours })
        .collect();
    let mut route = Route {
        beach: setting.beach.name.clone(),
        low: *low,
        not_off: planner
            .accesses
            .iter()
            .position(|a| a.0.name == drawn.to.name && a.1 == drawn.to.at)
            .and_then(|n| planner.not_off(tide, low.time, n, p.water_margin_m())),
        from: drawn.from,
        to: drawn.to,
        depart,
        back,
        turn_back: drawn.visits.iter().map(|v| v.leave_by).fold(back, Timestamp::min),
        finds: chosen.iter().map(|b| b.finds).sum(),
        finds_sd: spread(chosen, planner.asked.worth.day_variance()),
        swept_m2: chosen.iter().map(|b| b.area_m2).sum(),
        walked_m: drawn.walked_m,
        ground,
        passed_over: planner.passed_over.clone(),
        sea: planner.run_up,
        margins: Margins {
            run_up_m: p.run_up_m,
            surge_m: p.surge.margin_m(),
            source_m: p.source_m,
            sand_m,
            time_min: p.time_margin_min,
        },
        what_if: Vec::new(),
        permissions,
        sunset,
        dark,
        dark_min: dark_min(setting, depart, back),
        cautions: Vec::new(),
        doubts: planner.asked.doubts.to_vec(),
        assumptions: assumptions(planner, p),
        checked,
        params: p.clone(),
        visits: drawn.visits,
        trace: drawn.trace,
    };
    let clock = RouteClock::on_beach(&route, &setting.beach);
    route.cautions = cautions(planner, low, route.dark_said(), &clock);
    route.cautions.splice(0..0, flooded_gates(&route, setting));
    let clock = RouteClock::on_beach(&route, &setting.beach);
    route.cautions.splice(0..0, route.not_off.as_ref().map(|n| n.said(|t| clock.hour(t))));
    // Before all others: it is how every other time is to be read.
    if let Some(caution) = clock.caution() {
        route.cautions.insert(0, caution);
    }
    route
}

/// That an access stands under water when the tide is in: who waits at it is cut off from the shore behind.
fn flooded_gates(route: &Route, setting: &Setting) -> Vec<String> {
    let Ok(shore) = &setting.shore else { return Vec::new() };
    let high = setting.marks.iter().filter(|m| m.name.split('/').all(|n| n != "HAT"));
    let Some(high) = high.max_by(|a, b| a.level_m.total_cmp(&b.level_m)) else { return Vec::new() };
    let mut gates = vec![&route.from];
    gates.extend((route.to.name != route.from.name).then_some(&route.to));
    let floods = |gate: &&WayIn| shore.tide_level_m(gate.at).is_ok_and(|m| m < high.level_m);
    let said = |gate: &WayIn| {
        format!("{} stands under water at {}: be through it and off the beach by the time told, not at it.", gate.name, high.name)
    };
    gates.into_iter().filter(floods).map(said).collect()
}

/// Sunset and the end of civil twilight of the day.
fn evening(setting: &Setting, time: Timestamp) -> (Option<Timestamp>, Option<Timestamp>) {
    let daylight = setting.beach.zone().ok().and_then(|zone| {
        let date = time.to_zoned_datetime(zone.clone()).date();
        Daylight::on_day(setting.beach.origin, date, &zone).ok()
    });
    let down = |c: Crossing| match c {
        Crossing::Crosses { down, .. } => down,
        Crossing::AlwaysAbove | Crossing::AlwaysBelow => None,
    };
    daylight.map_or((None, None), |d| (down(d.sun), down(d.civil)))
}

/// Minutes between two moments that are in the dark.
fn dark_min(setting: &Setting, from: Timestamp, to: Timestamp) -> f64 {
    let lit = sun::lit(setting.beach.origin, from, to, sun::CIVIL_DEG);
    let lit_s: f64 = lit.into_iter().map(|(a, b)| b.min(to).duration_since(a.max(from)).as_secs_f64()).sum();
    ((to.duration_since(from).as_secs_f64() - lit_s) / 60.0).round().max(0.0)
}

/// What a coastguard would say first stands first (common practice, no published source): what was doubted and
/// confirmed, who is told, when one turns back, what fills behind one, the dark, the sea; then what the figures lack;
/// then the beach's own rules.
fn cautions(planner: &Planner<'_>, low: &Turn, dark: Option<String>, clock: &RouteClock) -> Vec<String> {
    let (setting, book) = (planner.asked.setting, planner.asked.book);
    let has = |usage| book.zones_of(setting.beach.uid).any(|z| z.usage == usage);
    let doubts = |grave: bool| {
        let all = planner.asked.doubts.iter().filter(move |t| (t.doubt.weight > Weight::Caution) == grave);
        all.map(Told::caution).collect::<Vec<_>>()
    };
    let mut out = doubts(true);
    out.extend([
        "Tell someone where you go and when you will be back; cut off or in doubt, call at once and do not wade.".to_owned(),
        "Turn back at the time stated for the block you are on, whatever is left to search; sooner when the water, the weather or the light is not as expected.".to_owned(),
        "Runnels and channels fill behind you before the sand you stand on is reached. Look back often.".to_owned(),
    ]);
    if has(ZoneUse::Mud) {
        out.push("There is soft mud on this beach: the route keeps off what is drawn as mud; there may be more.".to_owned());
    }
    out.extend(dark);
    out.extend(planner.run_up.caution());
    out.push("Leave the beach for thunder. Keep away from the foot of cliffs.".to_owned());
    out.push(ORDNANCE_CAUTION.to_owned());
    out.push(planner.water.caution());
    out.extend(doubts(false));
    if !planner.run_up.is_covered() {
        out.push(planner.run_up.said());
    }
    out.push("Sand moves: levels are those of the survey. A storm since then makes them wrong.".to_owned());
    let marks: Vec<(String, f64)> = low_marks(&setting.marks).into_iter().map(|m| (m.name, m.level_m)).collect();
    let missed = Missed::at_low(&marks, low.level_m + planner.asked.params.water_margin_m());
    out.extend(Missed::all_said(&missed).map(|missed| format!("At this low {missed}.")));
    out.extend(planner.passed_over.iter().map(|p| p.said(|t| clock.dated(t))));
    out.push("Mind sharps and glass; fill every hole.".to_owned());
    if planner.permissions.is_empty() {
        out.push("No permission is recorded for this beach: ask whoever owns the foreshore before searching.".to_owned());
    }
    if has(ZoneUse::Bathing) {
        out.push("There is a bathing zone: ask whether it may be searched in the season.".to_owned());
    }
    out.extend(setting.warnings.iter().cloned());
    out
}

fn assumptions(planner: &Planner<'_>, p: &Params) -> Vec<String> {
    let light = if p.head_torch {
        "A head-torch is carried: darkness is no bar.".to_owned()
    } else {
        "No head-torch: the last access is reached before the end of civil twilight.".to_owned()
    };
    let from = match &p.paces {
        Some(paces) if paces.is_known() => paces.said(),
        _ if p.slowest_m_s.is_some() => "The rest is common practice, no published source.".to_owned(),
        _ => "Paces are common practice, no published source.".to_owned(),
    };
    let slowest = p.slowest_m_s.map_or_else(String::new, |m_s| format!(" The slowest of you walks {m_s:.2} m/s, as you say."));
    let walking = vec![
        format!(
            "Walking {:.2} m/s on wet and {:.2} m/s on dry sand; walking out {:.2} m/s.{slowest} {from}",
            p.walk_wet_m_s, p.walk_dry_m_s, p.walk_out_m_s
        ),
        format!(
            "Coil {:.2} m, swing {} m; {:.0} m² an hour{}; {:.1} min a find; {:.0} % of the time for rest.",
            p.coil_width_m,
            p.swing_m,
            p.sweep_m2_s() * 3600.0 * (1.0 - p.rest),
            if p.ground_m2_s.is_some() {
                String::new()
            } else {
                format!(" at {:.1} m/s with {:.0} % overlap", p.sweep_m_s, p.overlap * 100.0)
            },
            p.dig_min,
            p.rest * 100.0
        ),
        format!(
            "The water is taken {:.2} m higher than predicted ({:.2} m run-up, {:.2} m weather{}), the sand {} standard errors{} lower than surveyed; every way out stays dry {} min longer than its walk.",
            p.water_margin_m(),
            p.run_up_m,
            p.surge.margin_m(),
            if p.source_m > 0.0 { format!(", {:.2} m tide source", p.source_m) } else { String::new() },
            p.sand_sigmas,
            if p.sand_lower_m > 0.0 { format!(" and {:.2} m", p.sand_lower_m) } else { String::new() },
            p.time_margin_min
        ),
        format!(
            "One pass finds {:.0} % of the signals left and of what stands in where nothing is known; rates are of one pass already. {}",
            p.detection * 100.0,
            planner.asked.worth.said()
        ),
        "Groynes, rocks, mud, channels and ground not to be searched are never crossed, however dry.".to_owned(),
        light,
    ];
    // Where nothing covers the low its sea is a caution.
    planner.run_up.is_covered().then(|| planner.run_up.said()).into_iter().chain(walking).collect()
}
