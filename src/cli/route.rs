use std::path::PathBuf;

use jiff::{SignedDuration, Timestamp};

use super::args::RouteArgs;
use super::said::{beach_of, instant, lonlat, open, over, print_json, print_text};
use super::{Failure, FailureKind, doubts};
use crate::output;
use crate::query::{Ask as _, AtOnce, Inquiry, RouteAsk};
use crate::route::{Params, Route, RouteClock, Start};
use crate::share::{self, About, HandedOut};
use crate::shore::Setting;
use crate::tide::whole;
use crate::trust::Told;

pub(super) fn run(args: &RouteArgs) -> Result<(), Failure> {
    let open = open(&args.book)?;
    let outputs = [&args.gpx, &args.geojson, &args.card];
    // Before the long work: a place that must not be written to.
    output::check(outputs.into_iter().flatten().map(PathBuf::as_path), over(args.force))?;
    let book = open.book();
    let beach = beach_of(book, args.beach.as_deref())?;
    let zone = beach.zone().map_err(Failure::input)?;
    let after = instant(&args.after, &zone)?;
    let usual = Params::default();
    let mut params = Params {
        head_torch: args.head_torch,
        seed: args.seed,
        rounds: args.rounds.unwrap_or(usual.rounds),
        explore: args.explore,
        walk_out_m_s: args.pace.map_or(usual.walk_out_m_s, |pace| pace.min(usual.walk_out_m_s)),
        ..usual
    };
    let access = |name: &String| {
        let found = book.accesses().values().find(|a| a.beach == beach.uid && a.name.eq_ignore_ascii_case(name));
        found.map(|a| a.uid).ok_or_else(|| Failure::usage(format!("the beach has no access named \"{name}\"")))
    };
    params.start = args.from_access.as_ref().map(access).transpose()?.map_or(Start::AnyAccess, Start::Access);
    if let Some(text) = &args.start {
        params.start = Start::Place(lonlat(text)?);
    }
    for name in &args.closed {
        let zone = book.zones_of(beach.uid).find(|z| z.name.eq_ignore_ascii_case(name));
        let zone = zone.ok_or_else(|| Failure::usage(format!("the beach has no zone named \"{name}\"")))?;
        params.closed_zones.insert(zone.uid);
    }
    params.end = args.to_access.as_ref().map(access).transpose()?;
    let ask = RouteAsk {
        low: None,
        after,
        hours: args.hours,
        params,
        coil_m: None,
        run_up_m: args.run_up,
        sea: args.sea,
        surge_m: args.surge,
        trust_station: args.trust_station,
        own_paces: !args.usual_paces,
    };
    let inquiry = Inquiry::new(book, beach.uid, Timestamp::now())?;
    let mut at_once = AtOnce::default();
    let planned = inquiry.route_question(&mut at_once, ask).and_then(|question| {
        let planned = at_once.ask(question.clone())?;
        Ok((question, planned))
    });
    let (question, planned) = planned.map_err(|why| refused(why.into(), &outputs))?;
    let (route, setting) = (&planned.route, at_once.ask(inquiry.setting())?);
    // Where that plan is refused there is nothing to compare with.
    let usual = question.usual_at(route.low.time).and_then(|usual| at_once.ask(usual).ok());
    let clock = RouteClock::on_beach(route, &setting.beach);
    let beside_usual = usual.and_then(|usual| route.beside_usual(&usual.route, |t| clock.hour(t)));
    let handed = HandedOut { beside_usual, ..HandedOut::now(Timestamp::now(), Some(&args.book)) };
    let mut files = Vec::new();
    if let Some(path) = &args.gpx {
        files.push((path.clone(), share::route_gpx(route, &setting, &handed).map_err(Failure::output)?));
    }
    if let Some(path) = &args.geojson {
        files.push((path.clone(), share::route_geojson(route, &setting, &handed).map_err(Failure::output)?));
    }
    if let Some(path) = &args.card {
        files.push((path.clone(), share::route_card(route, book, &setting, &handed).into_bytes()));
    }
    output::write_all(&files, over(args.force))?;
    if args.json {
        print_json(&share::route_document(route, &setting, &handed).map_err(Failure::output)?)
    } else {
        print_text(&text(route, &setting, &handed))
    }
}

/// That there is no route, and what becomes of the files of an earlier one: whoever opened them would believe them.
fn refused(why: Failure, outputs: &[&Option<PathBuf>]) -> Failure {
    // What was asked for wrongly says nothing against the earlier plan.
    if why.kind != FailureKind::Input {
        return why;
    }
    let old = output::withdraw(outputs.iter().copied().flatten().map(PathBuf::as_path));
    let mut says = why.says.trim_end_matches('.').to_owned();
    if !old.gone.is_empty() {
        let were = if old.gone.len() == 1 { "was" } else { "were" };
        says += &format!("; {} of an earlier plan {were} taken away", listed(&old.gone));
    }
    if !old.stay.is_empty() {
        let are =
            if old.stay.len() == 1 { "is older than this refusal and stays" } else { "are older than this refusal and stay" };
        says += &format!("; {} {are}, as not made by this program or changed since", listed(&old.stay));
    }
    if old == output::Withdrawn::default() { why } else { Failure { says, ..why } }
}

/// "a.html, b.gpx and c.geojson".
fn listed(paths: &[PathBuf]) -> String {
    let names: Vec<String> = paths.iter().map(|p| p.display().to_string()).collect();
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.concat(),
    }
}

fn text(route: &Route, setting: &Setting, handed: &HandedOut) -> String {
    let clock = RouteClock::on_beach(route, &setting.beach);
    let hour = |t: jiff::Timestamp| clock.hour(t);
    let mut out = format!("{}, low water {}, {:.2} m\n", route.beach, clock.dated(route.low.time), route.low.level_m);
    if let Some(caution) = clock.caution() {
        out += &format!("  NOTE: {caution}\n");
    }
    let stands_on = share::stands_on(route, setting, handed);
    let on_top = |about: About| matches!(about, About::BesideUsual | About::ClockGuessed | About::Dated);
    for note in stands_on.iter().filter(|s| on_top(s.about)) {
        out += &format!("  NOTE: {}\n", note.said);
    }
    out += &format!("  {}\n{}", setting.source_said(), doubts::text(&route.doubts));
    let off = if route.not_off.is_some() { "back" } else { "OFF THE SAND" };
    out += &format!("  {off} by {}, at {}\n", hour(route.off_sand_by()), route.to.name);
    if let Some(not_off) = &route.not_off {
        out += &format!("  {}\n", not_off.said(hour));
    }
    out += &match route.first_to_leave() {
        Some((n, by)) => format!("  first to be left: block {} by {}; each block has its own time\n", n + 1, hour(by)),
        None => "  first to be left: no block before that\n".to_owned(),
    };
    out += &format!("  tell someone; emergency {}\n", share::emergency_numbers(&setting.beach));
    out += &format!("  set out {} from {}\n", hour(route.depart), route.from.name);
    out += &format!("  {}\n", route.end_light(setting.beach.origin, &clock).said);
    for (n, v) in route.visits.iter().enumerate() {
        out += &format!(
            "  {:2}. {} to {}, {:.0} m along, {:.0} m across: about {:.1} finds expected ({}); be gone by {}\n",
            n + 1,
            hour(v.begin),
            hour(v.leave),
            whole(v.along_m),
            whole(v.across_m),
            v.finds,
            v.range_said(),
            hour(v.leave_by)
        );
    }
    let (least, most) = route.margins.sum_m();
    out += &format!("  out {} by {}\n", hour(route.back), route.to.name);
    out += &format!(
        "  about {:.0} finds expected on {:.0} m² ({}); {:.0} m walked; {} blocks considered\n",
        route.finds,
        route.swept_m2,
        route.range_said(),
        route.walked_m,
        route.ground.len()
    );
    out += &format!("  margins: {least:.2} to {most:.2} m of height, {} min of time\n", route.margins.time_min);
    // What was confirmed stands above, with all that is doubted.
    for line in stands_on.iter().filter(|s| !on_top(s.about) && s.about != About::Confirmed) {
        out += &format!("  {}\n", line.said);
    }
    out += &format!(
        "  checked apart at {} moments; longest walk out {:.0} min\n",
        route.checked.moments,
        (route.checked.longest_out_s / 60.0).ceil()
    );
    for w in &route.what_if {
        let turn = w.turn_back.map_or("no block is safe".to_owned(), |t| {
            let moved = t.duration_since(route.turn_back);
            let moved = if moved < SignedDuration::ZERO { format!(" ({} min earlier)", -moved.as_mins()) } else { String::new() };
            format!("first to be left by {}{moved}", hour(t))
        });
        out += &format!("  what if: {}: {turn}; {}\n", w.said, w.blocks_said());
    }
    // Of the cautions the doubts are told above.
    let doubts: Vec<String> = route.doubts.iter().map(Told::caution).collect();
    for line in route.cautions.iter().filter(|c| !doubts.contains(c)).chain(&route.assumptions) {
        out += &format!("  note: {line}\n");
    }
    out
}
