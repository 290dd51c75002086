//! What is handed out of a route: the card, the GPX, the JSON, and what each says it stands on.

use jiff::SignedDuration;
use jiff::civil::time;
use scourline::book::{Beach, Edit, Permission, TideChoice};
use scourline::route::{Params, Route};
use scourline::share::{About, Statement, route_card, route_document, route_geojson, route_gpx, said_about, stands_on};
use scourline::shore::Setting;
use scourline::trust::{Confirmed, Doubt, Told, Weight};

use super::common::{LOW, Made, Seawards, at, beach, quick};
use super::{bar_and_runnel, handed, open_beach};

/// The open beach by British clock time, with a permission and its hours.
fn british() -> Made {
    let mut made = open_beach();
    let permission = made.permission((-20.0, 420.0), (-20.0, 150.0));
    made.put(Permission { hours: Some((time(5, 30, 0, 0), time(21, 15, 0, 0))), ..permission });
    let beach = made.book.beaches()[&made.beach.uid].clone();
    made.put(Beach { time_zone: "Europe/London".into(), datum_offset_m: Some(0.0), ..beach });
    made
}

fn card_of(made: &Made, route: &Route, setting: &Setting) -> String {
    route_card(route, &made.book, setting, &handed())
}

fn clock(time: jiff::Timestamp) -> String {
    time.to_zoned_datetime(jiff::tz::TimeZone::get("Europe/London").unwrap()).strftime("%H:%M").to_string()
}

#[test]
fn off_the_sand_is_the_latest_time_and_first_to_leave_the_earliest() {
    let route = open_beach().plan(&quick(), &Seawards).unwrap();
    let last = route.trace.iter().map(|s| s.time).max().unwrap();
    assert_eq!(route.off_sand_by(), last);
    let (first, by) = route.first_to_leave().unwrap();
    assert_eq!(by, route.visits.iter().map(|v| v.leave_by).min().unwrap());
    assert_eq!(route.visits[first].leave_by, by);
    // Where the plan ends before any block must be left, there is none to be left first.
    let early = Route { back: by - SignedDuration::from_mins(1), ..route };
    assert_eq!(early.first_to_leave(), None);
}

#[test]
fn the_card_says_first_the_way_off_the_time_whom_to_tell_and_the_number() {
    let made = british();
    let (route, setting) = (made.plan(&quick(), &Seawards).unwrap(), made.setting());
    let card = card_of(&made, &route, &setting);
    let (first, by) = route.first_to_leave().unwrap();
    let order = [
        "Way off".to_owned(),
        "Off the sand by".to_owned(),
        clock(route.off_sand_by()),
        "First to be left".to_owned(),
        format!("<b>{}</b> by", first + 1),
        clock(by),
        "Tell someone".to_owned(),
        "Emergency".to_owned(),
        "999".to_owned(),
        "Set out".to_owned(),
        "<svg".to_owned(),
    ];
    let mut from = card.find("<body").unwrap();
    for word in &order {
        from += card[from..].find(word.as_str()).unwrap_or_else(|| panic!("{word} does not follow: {}", &card[from..from + 800]));
    }
    assert!(!card.contains("Turn back by "), "two times, not three");
}

#[test]
fn the_card_says_what_it_stands_on() {
    let made = british();
    let (route, setting) = (made.plan(&quick(), &Seawards).unwrap(), made.setting());
    let card = card_of(&made, &route, &setting);
    for said in [
        "Tide: invented table, ",
        "tide level = land level +0.00 m",
        "<b>Clock: BST, UTC+01:00 (Europe/London).</b>",
        "Planned Sat 20 Jun 2026 19:05 BST from the book my bays.gpkg",
        "Sea: 0.2 m, 3 s, as expected by you",
        "from 05:30 to 21:15",
        "edge of the survey",
    ] {
        assert!(card.contains(said), "{said}");
    }
    assert!(card.contains("<meta name=\"generator\" content=\"Scourline "));
    let json = route_document(&route, &setting, &handed()).unwrap();
    assert_eq!(json["off_sand_by"], second(route.off_sand_by()));
    let (first, by) = route.first_to_leave().unwrap();
    assert_eq!(json["first_to_leave"], serde_json::json!({ "number": first + 1, "leave_by": second(by) }));
    assert_eq!(json["tide_source"]["kind"], "tide_table");
    assert_eq!(json["datum_offset_m"], 0.0);
    assert_eq!(json["clock"], serde_json::json!({ "zone": "Europe/London", "name": "BST", "utc_offset": "+01:00" }));
    assert_eq!((&json["made_at"], &json["book"]), (&"2026-06-20T18:05:00Z".into(), &"my bays.gpkg".into()));
    assert_eq!(
        (&json["sea"]["from"], &json["sea"]["height_m"], &json["sea"]["run_up_m"]),
        (&"asked".into(), &0.2.into(), &0.3.into())
    );
    assert_eq!(json["permissions"][0]["hours"], serde_json::json!({ "from": "05:30", "to": "21:15" }));
    assert!(json["emergency"]["numbers"].as_array().unwrap().contains(&"999".into()));
    assert_eq!((&json["passed_over"], &json["dark_min"]), (&serde_json::json!([]), &0.0.into()));
}

fn second(time: jiff::Timestamp) -> String {
    jiff::Timestamp::from_second(time.as_second()).unwrap().to_string()
}

#[test]
fn what_if_is_worded_as_the_card_words_the_first_block_and_cautions_begin_with_what_saves() {
    let made = british();
    let (route, setting) = (made.plan(&quick(), &Seawards).unwrap(), made.setting());
    let card = card_of(&made, &route, &setting);
    assert!(card.contains(": first to be left by <b>") && !card.contains("turn back by "), "{card}");
    let at = |begins: &str| route.cautions.iter().position(|c| c.starts_with(begins)).unwrap_or_else(|| panic!("{begins}"));
    let order = [
        "Tell someone",
        "Turn back",
        "Runnels",
        "You expect a calm sea",
        "Leave the beach for thunder",
        "Sand moves",
        "Mind sharps",
    ];
    assert!(order.map(at).is_sorted(), "{:?}", route.cautions);
    assert_eq!(at("Tell someone"), 0);
}

#[test]
fn a_calm_sea_that_was_typed_is_told_and_one_as_usual_is_not() {
    let made = british();
    let setting = made.setting();
    let calm = made.plan(&quick(), &Seawards).unwrap();
    let said = calm.sea.caution().unwrap();
    assert!(said.starts_with("You expect a calm sea, 0.2 m, 3 s: 0.30 m are kept") && said.contains("1.5 m, 8 s"), "{said}");
    assert!(card_of(&made, &calm, &setting).contains("You expect a calm sea"));
    assert_eq!(route_document(&calm, &setting, &handed()).unwrap()["sea"]["caution"], said.as_str());
    for sea in [None, Some(scourline::sea::USUAL_WAVES)] {
        let route = made.plan(&Params { sea, ..quick() }, &Seawards).unwrap();
        assert_eq!(route.sea.caution(), None);
    }
}

#[test]
fn a_day_that_is_past_or_years_ahead_is_told() {
    let made = british();
    let (route, setting) = (made.plan(&quick(), &Seawards).unwrap(), made.setting());
    let told = |made_at: &str| {
        let handed = scourline::share::HandedOut { made_at: at(made_at), ..handed() };
        let json = route_document(&route, &setting, &handed).unwrap()["dated"].clone();
        assert_eq!(
            json.as_str().is_some_and(|s| route_card(&route, &made.book, &setting, &handed).contains(s)),
            json.is_string()
        );
        json.as_str().map(str::to_owned)
    };
    assert_eq!(told("2026-06-20T18:05:00Z"), None);
    assert!(told("2026-06-22T00:00:00Z").unwrap().starts_with("This outing is past: it would have ended on Sun 21 Jun 2026"));
    assert!(told("2020-06-20T18:05:00Z").unwrap().contains("lies 6.0 years ahead"));
}

#[test]
fn a_far_station_is_named_with_its_distance_and_winter_time_is_gmt() {
    let mut made = british();
    made.tide(at("2026-12-08T12:00:00Z"), [5.8, 0.6, 5.6]);
    let route = made.plan_after(at("2026-12-08T06:00:00Z"), &quick(), &Seawards).unwrap();
    let beach = made.book.beaches()[&made.beach.uid].clone();
    let station = TideChoice::Station("ticon/newlyn-new-gbr-bodc".into());
    made.book.apply(&Edit::put(Beach { tide: station, ..beach })).unwrap();
    let setting = made.setting();
    let card = card_of(&made, &route, &setting);
    assert!(card.contains("Tide: Newlyn") && card.contains(" km away; heights above "), "{}", &card[..3000]);
    assert!(card.contains("<b>Clock: GMT, UTC+00:00 (Europe/London).</b>"));
    let json = route_document(&route, &setting, &handed()).unwrap();
    assert_eq!(json["tide_source"]["id"], "ticon/newlyn-new-gbr-bodc");
    assert!(json["tide_source"]["distance_m"].as_f64().unwrap() > 100_000.0);
}

#[test]
fn the_gpx_has_names_that_a_small_handheld_shows_whole() {
    let made = british();
    let (route, setting) = (made.plan(&quick(), &Seawards).unwrap(), made.setting());
    let gpx = String::from_utf8(route_gpx(&route, &setting, &handed()).unwrap()).unwrap();
    for (n, visit) in route.visits.iter().enumerate() {
        let name = format!("{} leave {}", n + 1, clock(visit.leave_by));
        assert!(name.len() <= 14 && gpx.contains(&format!("<name>{name}</name>")), "{name}");
    }
    assert!(gpx.contains(&format!("<name>off by {}</name>", clock(route.off_sand_by()))), "{gpx}");
    assert!(gpx.contains(&format!("<name>start {}</name>", clock(route.depart))));
    assert!(gpx.contains("Tide: invented table") && gpx.contains("Sea: 0.2 m, 3 s") && gpx.contains("Clock: BST, UTC+01:00"));
    assert!(gpx.contains("Off the sand by ") && !gpx.contains("Turn back by"));
}

/// The same route with a station, an offset and levels that its person confirmed, and a doubt that nobody did.
fn with_confirmed(route: Route) -> Route {
    let doubt = |key: &str, sentence: &str| Doubt {
        key: format!("{key}:x@table:y"),
        sentence: sentence.to_owned(),
        weight: Weight::Blocks,
        settle: Vec::new(),
        spans: Vec::new(),
    };
    let kept = Some(Confirmed::Kept(at("2026-06-19T08:00:00Z")));
    let doubts = [
        (doubt("station-far", "The station is 120 km away."), Some(Confirmed::ForThisRoute)),
        (doubt("offset", "An offset of +0.00 m belongs to \"another\" source."), kept),
        (doubt("levels", "The levels lie < 1 m & more above high water."), kept),
        (doubt("asked", "Nobody looked into this."), None),
    ];
    let doubts: Vec<Told> = doubts.into_iter().map(|(doubt, confirmed)| Told { doubt, confirmed }).collect();
    let cautions = doubts.iter().map(Told::caution).chain(route.cautions).collect();
    Route { doubts, cautions, ..route }
}

/// Text as XML and HTML have it, read back (XML 1.0, 4.6).
fn unescaped(text: &str) -> String {
    let marks = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&apos;", "'"), ("&amp;", "&")];
    marks.iter().fold(text.to_owned(), |text, (from, to)| text.replace(from, to))
}

/// A route's GeoJSON named no tide source, its GPX neither zone nor book, and neither what was confirmed.
#[test]
fn whatever_is_handed_out_says_all_that_it_stands_on() {
    let made = british();
    let (route, setting) = (with_confirmed(made.plan(&quick(), &Seawards).unwrap()), made.setting());
    let beside_usual = Some("Other blocks than with your usual pace and weather.".to_owned());
    let handed = scourline::share::HandedOut { beside_usual, ..handed() };
    let all = stands_on(&route, &setting, &handed);
    let abouts: Vec<About> = all.iter().map(|s| s.about).collect();
    let confirmed = [About::Confirmed; 3];
    let first = [About::BesideUsual, About::Clock, About::Tide, About::Sea, About::Permission];
    let order = [&first[..], &confirmed[..], &[About::Made]].concat();
    assert_eq!(abouts, order);
    let about = |about: About| said_about(&all, about).collect::<Vec<_>>();
    assert_eq!(about(About::Clock), ["Clock: BST, UTC+01:00 (Europe/London)."]);
    assert_eq!(about(About::Permission), ["Permission: Foreshore, given by Invented Trust, from 05:30 to 21:15."]);
    assert_eq!(about(About::Made), ["Planned Sat 20 Jun 2026 19:05 BST from the book my bays.gpkg."]);
    assert_eq!(about(About::Confirmed)[0], "Trusted by you for this route: The station is 120 km away.");
    assert!(about(About::Confirmed)[1].starts_with("Confirmed by you: An offset of +0.00 m"));

    let gpx = String::from_utf8(route_gpx(&route, &setting, &handed).unwrap()).unwrap();
    let geojson: serde_json::Value = serde_json::from_slice(&route_geojson(&route, &setting, &handed).unwrap()).unwrap();
    let way = &geojson["features"][0]["properties"];
    // Written and read back, too, so that its figures are as GeoJSON has them.
    let json = route_document(&route, &setting, &handed).unwrap().to_string();
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let (card, gpx_said) = (unescaped(&route_card(&route, &made.book, &setting, &handed)), unescaped(&gpx));
    for Statement { about, said } in &all {
        let on_card = if *about == About::Permission { said.trim_start_matches("Permission: ") } else { said };
        assert!(card.contains(on_card), "card: {said}");
        assert!(gpx_said.contains(said), "GPX: {said}");
        for (what, lines) in [("GeoJSON", &way["stands_on"]), ("JSON", &json["stands_on"])] {
            assert!(lines.as_array().unwrap().iter().any(|l| l == said), "{what}: {said}");
        }
    }
    // The figures of them are the same in both, and a null is left out of properties.
    let keys =
        ["tide_source", "datum", "datum_offset_m", "clock", "made_at", "book", "beside_usual", "levels", "sea", "permissions"];
    for key in keys {
        assert!(way[key] == json[key] && !way[key].is_null(), "{key}: {} {}", way[key], json[key]);
    }
    assert_eq!((&way["tide_source"]["name"], &way["clock"]["name"]), (&"invented table".into(), &"BST".into()));
    assert!(way.get("clock_guessed").is_none() && json["clock_guessed"].is_null());
    // RFC 7946, 3.2 and 7.1: a feature has these three members, and properties add none to it.
    let members = |v: &serde_json::Value| v.as_object().unwrap().keys().cloned().collect::<std::collections::BTreeSet<_>>();
    for feature in geojson["features"].as_array().unwrap() {
        assert_eq!(members(feature), ["geometry", "properties", "type"].map(str::to_owned).into());
    }

    // The schema of GPX 1.1 wants the children of a route and of a point in this order, and the time of a file after its name
    // (https://www.topografix.com/GPX/1/1/gpx.xsd); a handheld shows a dozen letters of a name.
    let order =
        ["<metadata><name>", "<time>2026-06-20T18:05:00Z</time></metadata>", "<rte><name>", "<desc>Off the sand by ", "<rtept "];
    let mut from = 0;
    for part in order {
        from += gpx[from..].find(part).unwrap_or_else(|| panic!("{part} does not follow: {}", &gpx[..2000]));
    }
    for point in gpx.split("<rtept ").skip(1).map(|p| p.split("</rtept>").next().unwrap()) {
        let at = |tag: &str| point.find(tag).unwrap_or_else(|| panic!("{tag}: {point}"));
        assert!(at("<time>") < at("<name>") && at("<name>") < at("<desc>"), "{point}");
        assert!(point.contains("BST"), "each point names the clock: {point}");
        let name = point.split("<name>").nth(1).unwrap().split("</name>").next().unwrap();
        assert!(name.len() <= 14, "{name}");
    }
    // Once, in the description, and so no burden for a handheld.
    assert_eq!(gpx.matches("Tide: invented table").count(), 1);
}

#[test]
fn a_route_without_a_permission_and_a_book_without_a_file_say_so() {
    let made = open_beach();
    let (route, setting) = (made.plan(&quick(), &Seawards).unwrap(), made.setting());
    let all = stands_on(&route, &setting, &scourline::share::HandedOut::now(at("2026-06-20T18:05:00Z"), None));
    assert_eq!(said_about(&all, About::Permission).collect::<Vec<_>>(), ["No permission is recorded."]);
    assert!(said_about(&all, About::Made).all(|s| s.starts_with("Planned Sat 20 Jun 2026 ") && !s.contains("book")));
    assert_eq!(said_about(&all, About::Confirmed).count(), 0);
}

/// A low in the dark was passed over without a word.
#[test]
fn a_low_that_is_passed_over_is_told_and_so_is_the_dark() {
    let mut made = open_beach();
    // Two lows: one at midnight, one at noon.
    let step = SignedDuration::from_mins(372);
    let table = scourline::book::TideTable {
        turns: (0..5)
            .map(|n| scourline::book::TideTurn {
                time: at("2026-06-20T23:30:00Z") + step * (n - 1),
                level_m: if n % 2 == 0 { 5.8 } else { 0.6 },
                high: n % 2 == 0,
            })
            .collect(),
        ..super::common::tide_table(made.beach.uid, at(LOW), [5.8, 0.6, 5.6])
    };
    made.put(table);
    let after = at("2026-06-20T22:00:00Z");
    let route = made.plan_after(after, &quick(), &Seawards).unwrap();
    let [passed] = &route.passed_over[..] else { panic!("{:?}", route.passed_over) };
    assert_eq!(passed.low.as_second(), at("2026-06-20T23:30:00Z").as_second());
    assert!(passed.why.contains("in the dark"), "{}", passed.why);
    let setting = made.setting();
    let card = card_of(&made, &route, &setting);
    assert_eq!(card.matches("is passed over: ").count(), 1, "told once");
    assert!(route.dark_said().is_none() && !card.contains("in the dark: you see"));
    assert_eq!(route_document(&route, &setting, &handed()).unwrap()["passed_over"].as_array().unwrap().len(), 1);
    // With a head-torch the low at midnight serves, and what the dark means is said.
    let torch = Params { head_torch: true, ..quick() };
    let night = made.plan_after(after, &torch, &Seawards).unwrap();
    assert!(
        night.dark_min > 30.0 && night.cautions.iter().any(|c| c.contains("you see neither the water's edge")),
        "{}",
        night.dark_min
    );
    let card = card_of(&made, &night, &setting);
    assert_eq!(card.matches("you see neither").count(), 1);
    let light = night.end_light(made.beach.origin, &scourline::route::RouteClock::on_beach(&night, &setting.beach)).said;
    assert!(light.contains("first light (civil twilight) is at ") && light.contains("sunrise at "), "{light}");
    assert!(card.contains(&light), "{light}");
    assert_eq!(route_document(&night, &setting, &handed()).unwrap()["light"], light);
}

#[test]
fn the_map_shows_the_runnel_the_bar_before_it_and_the_edge_of_the_survey() {
    let mut runnel = beach(400.0, 190.0, 5.0, bar_and_runnel);
    runnel.tide(at(LOW), [5.4, -0.6, 5.4]);
    runnel.access("Slip", 200.0, 4.0);
    let marks = |made: &Made| {
        let route = made.plan(&quick(), &Seawards).unwrap();
        let card = card_of(made, &route, &made.setting());
        ["class=\"runnel\"", "class=\"bar\"", "class=\"survey\""].map(|mark| card.matches(mark).count())
    };
    let [runnels, bars, edges] = marks(&runnel);
    assert!(runnels > 20 && bars == runnels && edges > 0, "{runnels} {bars} {edges}");
    let [runnels, bars, edges] = marks(&open_beach());
    assert!(runnels == 0 && bars == 0 && edges > 0, "an even slope has none: {runnels} {bars} {edges}");
}
