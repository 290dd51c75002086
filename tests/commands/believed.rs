//! What a beach, a clock, a survey, an access and a pace are believed to be, and what is told where they may be otherwise.
//! Each beach is invented: a plane of sand near a station that ships.

use std::path::{Path, PathBuf};

use serde_json::{Value, json as doc};

use super::end_to_end::{json, refuses, scourline, text};

/// Llandudno's station stands 610 m from here (its position in the catalogue).
const LLANDUDNO: (f64, f64) = (-3.83, 53.327);
/// The level of chart datum there above which ordnance datum lies, as the station itself has it within centimetres, metres.
const OFFSET: &str = "4.09";

/// A book with one invented beach.
struct Sands {
    dir: tempfile::TempDir,
    at: (f64, f64),
}

impl Sands {
    /// Sand at a place, its beach entered at another perhaps; accesses by metres along and across.
    fn new(at: (f64, f64), entered: (f64, f64), accesses: &[(&str, f64, f64)], level_m: impl Fn(f64, f64) -> f64) -> Self {
        let sands = Self { dir: tempfile::tempdir().unwrap(), at };
        let mut features = vec![doc!({
            "type": "Feature", "properties": { "name": "back", "role": "baseline", "seaward": "left" },
            "geometry": { "type": "LineString", "coordinates": [sands.place(0.0, 0.0), sands.place(600.0, 0.0)] }
        })];
        features.extend(accesses.iter().map(|(name, x, y)| {
            doc!({
                "type": "Feature", "properties": { "name": name, "role": "access" },
                "geometry": { "type": "Point", "coordinates": sands.place(*x, *y) }
            })
        }));
        let shore = doc!({ "type": "FeatureCollection", "features": features });
        std::fs::write(sands.file("shore.geojson"), shore.to_string()).unwrap();
        let mut levels = "lon,lat,level_m,sigma_m,date,survey\n".to_owned();
        for (x, y) in (0..=24).flat_map(|i| (0..=26).map(move |k| (25.0 * f64::from(i), 10.0 * f64::from(k)))) {
            let [lon, lat] = sands.place(x, y);
            levels += &format!("{lon:.7},{lat:.7},{:.3},0.05,2026-09-01,own\n", level_m(x, y));
        }
        std::fs::write(sands.file("levels.csv"), levels).unwrap();
        sands.beach(&["--beach", "Invented Bay", &format!("--near={},{}", entered.0, entered.1)]);
        sands.import(&["shore.geojson", "levels.csv"], &[]);
        sands.beach(&["--offset", OFFSET]);
        sands
    }

    /// An even beach with steps at its back.
    fn even() -> Self {
        Self::new(LLANDUDNO, LLANDUDNO, &[("Steps", 100.0, -2.0)], |_, y| 3.9 - y / 45.0)
    }

    /// Another survey each 25 m along and 10 m across, from and to so many metres across, on a day.
    fn more_levels(
        &self,
        file: &str,
        day: &str,
        across: std::ops::RangeInclusive<i32>,
        level_m: impl Fn(f64, f64) -> f64,
    ) -> Value {
        let mut levels = "lon,lat,level_m,sigma_m,date,survey\n".to_owned();
        for (x, y) in (0..=24).flat_map(|i| across.clone().step_by(10).map(move |y| (25.0 * f64::from(i), f64::from(y)))) {
            let [lon, lat] = self.place(x, y);
            levels += &format!("{lon:.7},{lat:.7},{:.3},0.05,{day},{file}\n", level_m(x, y));
        }
        std::fs::write(self.file(file), levels).unwrap();
        self.import(&[file], &[])
    }

    fn place(&self, x: f64, y: f64) -> [f64; 2] {
        [self.at.0 + x / (111_320.0 * self.at.1.to_radians().cos()), self.at.1 + y / 110_950.0]
    }

    fn file(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn book(&self) -> String {
        text(&self.file("book.gpkg")).to_owned()
    }

    fn beach(&self, more: &[&str]) -> Value {
        json(&[&["beach", "--book", &self.book(), "--json"], more].concat())
    }

    fn import(&self, files: &[&str], more: &[&str]) -> Value {
        let files: Vec<PathBuf> = files.iter().map(|f| self.file(f)).collect();
        let files: Vec<&str> = files.iter().map(|f| text(f)).collect();
        json(&[&["import", "--book", &self.book(), "--json"], &files[..], more].concat())
    }

    /// At the low of the forenoon of 10 February 2027, by few rounds of the search.
    fn asks<'a>(book: &'a str, more: &[&'a str]) -> Vec<&'a str> {
        [&["route", "--book", book, "--after", "2027-02-10", "--rounds", "20", "--json"], more].concat()
    }

    fn route(&self, more: &[&str]) -> Value {
        json(&Self::asks(&self.book(), more))
    }

    fn no_route(&self) -> String {
        refuses(3, &Self::asks(&self.book(), &[]))
    }
}

fn doubt<'a>(document: &'a Value, kind: &str) -> Option<&'a Value> {
    document["doubts"].as_array().unwrap().iter().find(|d| d["key"].as_str().unwrap().starts_with(kind))
}

/// No block that two plans share is to be left later in the second.
fn never_later(first: &Value, second: &Value) {
    let times = |route: &Value| -> std::collections::BTreeMap<String, String> {
        let word = |b: &Value, key: &str| b[key].as_str().unwrap().to_owned();
        route["blocks"].as_array().unwrap().iter().map(|b| (word(b, "block"), word(b, "dry_by"))).collect()
    };
    let (first, second) = (times(first), times(second));
    let shared: Vec<_> = second.iter().filter_map(|(block, by)| Some((block, first.get(block)?, by))).collect();
    assert!(!shared.is_empty(), "{first:?} {second:?}");
    assert!(shared.iter().all(|(_, before, after)| after <= before), "{shared:?}");
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap()
}

/// Weston-super-Mare's sand in the copied book of a beach at Llandudno, 229 km away: low water there comes with high
/// water here.
#[test]
fn the_tide_is_held_against_where_the_sand_lies_and_not_against_the_point_that_was_typed() {
    let weston = (-2.98, 51.34);
    let copied = Sands::new(weston, LLANDUDNO, &[("Steps", 100.0, -2.0)], |_, y| 6.0 - y / 45.0);
    let told = copied.beach(&[]);
    let away_m = told["beach"]["tide"]["distance_m"].as_f64().unwrap();
    // 1.99 degrees of latitude and 0.85 of longitude at 52.3 degrees north: 221 and 58 km.
    assert!((226_000.0..231_000.0).contains(&away_m), "{away_m}");
    let apart = doubt(&told, "position:").unwrap();
    assert!(
        apart["weight"] == "blocks" && apart["sentence"].as_str().unwrap().contains("km from the middle of its baseline"),
        "{apart}"
    );
    assert!(doubt(&told, "station-far:").is_some_and(|d| d["weight"] == "blocks"), "{told}");
    assert!(copied.no_route().contains("--near=-2.9"), "it says how to settle it");
    // Moved to its sand, the station is still far.
    let moved = copied.beach(&["--beach", "Invented Bay", &format!("--near={},{}", weston.0 + 0.004, weston.1)]);
    assert!(doubt(&moved, "position:").is_none() && doubt(&moved, "station-far:").is_some(), "{moved}");
    // Where both agree nothing is said.
    assert!(doubt(&Sands::even().beach(&[]), "position:").is_none());
}

/// Mexico Beach, Florida, is on Central time; the nearest station keeps Eastern (IANA zone table).
#[test]
fn a_clock_that_was_guessed_says_so_and_what_it_shows_until_its_person_gives_it() {
    let mexico = (-85.42, 29.945);
    let guessed = Sands::new(mexico, mexico, &[("Steps", 100.0, -2.0)], |_, y| 2.2 - y / 45.0);
    guessed.beach(&["--offset", "0.2"]);
    let gpx = guessed.file("route.gpx");
    let card = guessed.file("card.html");
    let told = guessed.route(&["--head-torch", "--gpx", text(&gpx), "--card", text(&card)]);
    let asked = doubt(&told, "clock-guessed:").unwrap();
    assert!(asked["weight"] == "question" && asked["sentence"].as_str().unwrap().contains("America/Chicago"), "{asked}");
    let said = told["clock_guessed"].as_str().unwrap();
    assert!(said.starts_with("CLOCK GUESSED (America/New_York): it showed ") && said.contains(" E"), "{said}");
    assert!(read(&card).contains("CLOCK GUESSED"), "on the card");
    let names = read(&gpx);
    assert!(names.contains("EST") && names.contains("CLOCK GUESSED (America/New_York)"), "{names}");
    let longest =
        names.split("<name>").skip(2).filter_map(|n| n.split("</name>").next()).filter(|n| n.contains("leave")).map(str::len);
    assert!(longest.max().unwrap() <= 15, "names that a small handheld shows");
    // The right one, though no station next to it keeps it, draws no word.
    let given = guessed.beach(&["--zone", "America/Chicago"]);
    assert!(doubt(&given, "clock-guessed:").is_none() && doubt(&given, "zone").is_none(), "{given}");
    assert!(guessed.route(&["--head-torch"])["clock_guessed"].is_null());
}

/// Which storm the book has, and how old the levels are.
#[test]
fn levels_older_than_a_storm_are_named_with_it_and_the_sand_is_taken_lower() {
    let sands = Sands::even();
    let before = sands.route(&[]);
    assert!(doubt(&before, "levels-old:").is_none() && before["levels"]["lower_m"] == 0.0, "{}", before["levels"]);
    let rows = (0..16).map(|i| format!("2026-11-{:02}T{:02}:00:00Z,5.5,11,0.9\n", 15 + i / 4, i % 4 * 6));
    std::fs::write(sands.file("storm.csv"), "time,hs_m,tp_s,surge_m\n".to_owned() + &rows.collect::<String>()).unwrap();
    sands.import(&["storm.csv"], &["--as", "storm"]);
    let card = sands.file("card.html");
    let after = sands.route(&["--card", text(&card)]);
    let asked = doubt(&after, "levels-old:").unwrap();
    let said = asked["sentence"].as_str().unwrap();
    assert!(asked["weight"] == "question" && said.contains("1 Sep 2026") && said.contains("15 Nov 2026"), "{said}");
    assert_eq!(after["levels"], doc!({ "surveyed": "2026-09-01", "storms_since": ["2026-11-15"], "lower_m": 0.2 }));
    assert!(read(&card).contains("15 Nov 2026"), "on the card");
    let sand_m = |route: &Value| route["margins"]["sand_least_m"].as_f64().unwrap();
    assert!(sand_m(&after) > sand_m(&before) + 0.15, "{} {}", sand_m(&before), sand_m(&after));
    never_later(&before, &after);
    // More than a year after the survey, at the spring low of 9 September 2028.
    let aged = json(&["route", "--book", &sands.book(), "--after", "2028-09-07", "--rounds", "20", "--json", "--surge", "0"]);
    assert!(
        doubt(&aged, "levels-old:").unwrap()["sentence"].as_str().unwrap().contains("more than a year"),
        "{}",
        aged["doubts"]
    );
}

/// A survey that ends above mean sea level: read as feet under a heading of metres its top alone tells of it.
#[test]
fn levels_in_feet_block_where_the_survey_does_not_reach_down_and_a_cliff_behind_the_beach_does_not() {
    // A foot is 0.3048 m (international yard and pound agreement of 1959).
    let steps = [("Steps", 100.0, -2.0)];
    let in_feet = Sands::new(LLANDUDNO, LLANDUDNO, &steps, |_, y| (5.0 - y / 55.0) / 0.3048);
    let told = in_feet.beach(&[]);
    let feet = doubt(&told, "levels-feet:").unwrap();
    assert!(feet["weight"] == "blocks" && feet["sentence"].as_str().unwrap().contains("seaward of the baseline"), "{feet}");
    assert!(in_feet.no_route().contains("import --feet"), "it says how to settle it");
    let key = feet["key"].as_str().unwrap().to_owned();
    let confirmed = in_feet.beach(&["--confirm", &key]);
    assert!(!doubt(&confirmed, "levels-feet:").unwrap()["confirmed"].is_null(), "whoever looked into it may say so");
    // The same sand in metres, and with a cliff of 16 m behind it as a raster has it.
    let metres = Sands::new(LLANDUDNO, LLANDUDNO, &steps, |_, y| 5.0 - y / 55.0);
    assert!(doubt(&metres.beach(&[]), "levels-feet:").is_none());
    metres.more_levels("cliff.csv", "2026-09-01", -30..=-10, |_, _| 16.0);
    assert!(doubt(&metres.beach(&[]), "levels-feet:").is_none());
}

/// A survey whose instrument stood a metre too high on half of the beach.
#[test]
fn a_step_between_two_halves_of_a_survey_blocks() {
    let sands =
        Sands::new(LLANDUDNO, LLANDUDNO, &[("Steps", 100.0, -2.0)], |x, y| 3.9 - y / 45.0 + if x > 310.0 { 1.0 } else { 0.0 });
    let told = sands.beach(&[]);
    let step = doubt(&told, "levels-step:").unwrap();
    assert!(step["weight"] == "blocks" && step["sentence"].as_str().unwrap().contains("1.0 m "), "{step}");
    assert!(sands.no_route().contains("--confirm \"levels-step:"));
    assert!(doubt(&Sands::even().beach(&[]), "levels-step:").is_none());
}

/// A forecast every twelve hours covers no hour by itself.
#[test]
fn a_sparse_forecast_binds_with_its_nearest_entries_and_says_so() {
    let sands = Sands::even();
    let before = sands.route(&[]);
    assert_eq!(before["sea"]["from"], "usual");
    let rows = ["09T00", "09T12", "10T00", "10T12", "11T00"].map(|t| format!("2027-02-{t}:00:00Z,1.9,10,0.5,985\n"));
    let heads = "time,hs_m,tp_s,storm_surge_m,pressure_hpa\n".to_owned();
    std::fs::write(sands.file("forecast.csv"), heads + &rows.concat()).unwrap();
    let taken = sands.import(&["forecast.csv"], &[]).to_string();
    assert!(taken.contains("pressure_hpa was not taken"), "{taken}");
    let after = sands.route(&[]);
    assert_eq!((&after["sea"]["from"], &after["sea"]["height_m"]), (&doc!("nearest"), &doc!(1.9)));
    assert!((after["sea"]["surge_m"].as_f64().unwrap() - 0.5).abs() < 1e-9, "{}", after["sea"]);
    let run_up_m = |route: &Value| route["sea"]["run_up_m"].as_f64().unwrap();
    assert!(run_up_m(&after) > run_up_m(&before) + 0.5, "{} {}", after["sea"], before["sea"]);
    let cautions = after["cautions"].to_string();
    assert!(
        cautions.contains("from the record's nearest entry, ") && !cautions.contains("nothing is known of the sea"),
        "{cautions}"
    );
}

/// The card of the plan before the new levels stayed, and who opened it believed it.
#[test]
fn the_files_of_an_earlier_plan_go_where_there_is_a_plan_no_more() {
    let sands = Sands::even();
    let [card, gpx, geojson] = ["c.html", "r.gpx", "r.geojson"].map(|name| sands.file(name));
    let files = ["--card", text(&card), "--gpx", text(&gpx), "--geojson", text(&geojson)];
    sands.route(&files);
    let other = sands.file("other.html");
    std::fs::copy(&card, &other).unwrap();
    // Asked for wrongly, nothing is said against the plan that there is.
    refuses(2, &Sands::asks(&sands.book(), &[&files[..], &["--from-access", "Nowhere"]].concat()));
    assert!(card.exists() && gpx.exists() && geojson.exists());
    sands.more_levels("later.csv", "2026-09-10", 0..=260, |_, y| 5.9 - y / 45.0);
    let edited = read(&gpx) + "<!-- mine -->";
    std::fs::write(&gpx, &edited).unwrap();
    let words = refuses(3, &Sands::asks(&sands.book(), &[&files[..], &["--force"]].concat()));
    assert!(words.contains("r.geojson and ") && words.contains("c.html of an earlier plan were taken away"), "{words}");
    assert!(words.contains("r.gpx is older than this refusal and stays"), "{words}");
    assert!(!card.exists() && !geojson.exists() && other.exists() && read(&gpx) == edited);
    // Nothing is left to be told of, and nothing named is nothing taken.
    let words = refuses(3, &Sands::asks(&sands.book(), &["--card", text(&card)]));
    assert!(!words.contains("earlier plan") && !words.contains("older than this refusal"), "{words}");
    let words = refuses(3, &Sands::asks(&sands.book(), &["--card", text(&other)]));
    assert!(words.contains("other.html of an earlier plan was taken away") && !other.exists(), "{words}");
}

/// Over the levels of 1 September.
#[test]
fn surveys_that_contradict_each_other_are_not_believed_by_their_dates() {
    let higher = |up_m: f64| move |_: f64, y: f64| 3.9 - y / 45.0 + up_m;
    let later = Sands::even();
    later.more_levels("later.csv", "2026-09-10", 0..=260, higher(2.0));
    let told = later.beach(&[]);
    let over = doubt(&told, "levels-higher:2026-09-10>2026-09-01:2.00").unwrap();
    assert!(over["weight"] == "blocks" && over["sentence"].as_str().unwrap().contains("2.0 m higher"), "{over}");
    assert!(later.no_route().contains("--confirm \"levels-higher:"));
    // One that lies lower is the newer sand.
    let lower = Sands::even();
    lower.more_levels("later.csv", "2026-09-10", 0..=260, higher(-0.6));
    assert!(doubt(&lower.beach(&[]), "levels-higher:").is_none());
    // Of one day the lower one holds.
    let same = Sands::even();
    let before = same.route(&[]);
    same.more_levels("again.csv", "2026-09-01", 0..=260, higher(2.0));
    let after = same.route(&[]);
    never_later(&before, &after);
    assert!(doubt(&after, "levels-higher:").is_none());
    // Of a day that has not come.
    let ahead = Sands::even();
    ahead.more_levels("ahead.csv", "2036-09-01", 0..=260, higher(0.0));
    assert!(doubt(&ahead.beach(&[]), "levels-future:2036-09-01").is_some_and(|d| d["weight"] == "blocks"));
    assert!(ahead.no_route().contains("has not come yet"));
}

/// A holm behind a neck that floods, with a point on it that somebody marked as an access.
fn holm(x: f64, y: f64) -> f64 {
    match y {
        _ if y <= 15.0 => 4.6 - 0.05 * y,
        70.0..=120.0 => (1.0 + (y - 70.0) / 5.0).min(6.5),
        120.0.. => (6.5 - (y - 120.0) / 6.0).max(-3.0 - (y - 177.0).max(0.0) / 100.0),
        _ => (3.8 - (y - 15.0) / 10.0).max(if (270.0..=330.0).contains(&x) { 0.6 } else { -0.5 }),
    }
}

#[test]
fn an_access_that_the_next_high_water_covers_or_cuts_off_is_no_way_off() {
    // Beside steps the holm is not taken for a way off.
    let steps = ("Steps", 100.0, -2.0);
    let both = Sands::new(LLANDUDNO, LLANDUDNO, &[steps, ("Chapel on the holm", 300.0, 110.0)], holm);
    let asked = both.beach(&[]);
    let asked = doubt(&asked, "access-off:Chapel on the holm:").unwrap();
    assert!(asked["weight"] == "question", "{asked}");
    let route = both.route(&[]);
    assert!(route["end"]["name"] == "Steps" && route["not_off"].is_null(), "{} {}", route["end"], route["not_off"]);
    // Asked for by name, it says from when till when one is on an island.
    let card = both.file("card.html");
    let told = both.route(&["--to-access", "Chapel on the holm", "--card", text(&card)]);
    let (cut, until) = (told["not_off"]["cut"].as_str().unwrap(), told["not_off"]["until"].as_str().unwrap());
    assert!(told["low"]["time"].as_str().unwrap() < cut && cut < until, "{}", told["not_off"]);
    let first = told["cautions"][0].as_str().unwrap();
    assert!(first.contains("NOT a way off the water"), "{first}");
    let card = read(&card);
    assert!(card.contains("NOT a way off") && !card.contains("Off the sand by<br>"), "the card does not say that one is off");
    let out = scourline(&[
        "route",
        "--book",
        &both.book(),
        "--after",
        "2027-02-10",
        "--rounds",
        "20",
        "--to-access",
        "Chapel on the holm",
    ]);
    let out = String::from_utf8(out.stdout).unwrap();
    assert!(out.contains("NOT a way off the water") && !out.contains("OFF THE SAND"), "{out}");

    // The only one, at the foot of a slip: 1.2 m of sand above land datum under a high water of 8 m above chart datum.
    let foot = Sands::new(LLANDUDNO, LLANDUDNO, &[("Slip foot", 100.0, 120.0)], |_, y| 3.9 - y / 45.0);
    let told = foot.route(&[]);
    assert!(told["not_off"]["under"].is_string() && told["not_off"]["access"] == "Slip foot", "{}", told["not_off"]);
    let key = doubt(&told, "access-off:").unwrap()["key"].as_str().unwrap().to_owned();
    // Whoever looked into it is told no more than that.
    foot.beach(&["--confirm", &key]);
    assert!(foot.route(&[])["not_off"].is_null());
    // Steps at the back of the beach are a way off, though the sea comes to their foot.
    assert!(doubt(&Sands::even().beach(&[]), "access-off:").is_none());
}

/// Twelve outings, each from 17:00 on, when the lowest spring tides of the place are out, of somebody who walks so fast to the ground and back, and searches it in lanes at 0.2 m/s.
fn walks(sands: &Sands, pace_m_s: f64) -> PathBuf {
    let mut gpx =
        r#"<?xml version="1.0"?><gpx version="1.1" creator="by hand" xmlns="http://www.topografix.com/GPX/1/1">"#.to_owned();
    for day in (1..25).step_by(2) {
        gpx += &format!("<trk><name>outing {day}</name><trkseg>");
        let mut x = 100.0_f64;
        for k in 0..460 {
            let step_m = match k {
                0..40 => 10.0 * pace_m_s,
                40..420 if (k - 40) / 20 % 2 == 0 => -2.0,
                40..420 => 2.0,
                _ => -10.0 * pace_m_s,
            };
            x = (x + step_m).clamp(20.0, 580.0);
            let [lon, lat] = sands.place(x, 8.0 + 0.014 * f64::from(k));
            let (hour, minute, second) = (17 + k / 360, k / 6 % 60, k % 6 * 10);
            gpx += &format!(
                r#"<trkpt lat="{lat:.7}" lon="{lon:.7}"><time>2026-09-{day:02}T{hour:02}:{minute:02}:{second:02}Z</time></trkpt>"#
            );
        }
        gpx += "</trkseg></trk>";
    }
    std::fs::write(sands.file("walks.gpx"), gpx + "</gpx>").unwrap();
    sands.file("walks.gpx")
}

#[test]
fn somebody_slow_is_planned_slow_by_what_is_asked_and_by_what_the_outings_show() {
    let sands = Sands::even();
    let (usual, slow) = (sands.route(&[]), sands.route(&["--pace", "0.4"]));
    let out = |route: &Value| route["params"]["walk_out_m_s"].as_f64().unwrap();
    assert_eq!((out(&usual), out(&slow)), (0.9, 0.4));
    assert!(slow["params"]["walk_dry_m_s"].as_f64().unwrap() <= 0.4);
    never_later(&usual, &slow);
    // Other blocks, or a later end, are told beside the plan with the usual pace; that plan has nothing to tell.
    let blocks = |route: &Value| -> std::collections::BTreeSet<String> {
        route["blocks"].as_array().unwrap().iter().map(|b| b["block"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(usual["low"]["time"], slow["low"]["time"]);
    let is_told = blocks(&usual) != blocks(&slow) || slow["back"].as_str() > usual["back"].as_str();
    assert_eq!(slow["beside_usual"].is_string(), is_told, "{}", slow["beside_usual"]);
    assert_eq!(slow["stands_on"][0] == slow["beside_usual"], is_told);
    assert!(usual["beside_usual"].is_null() && sands.route(&["--surge", "0"])["beside_usual"].is_null());
    assert_eq!(out(&sands.route(&["--pace", "1.5"])), 0.9, "never quicker than usual");
    // Kept with the beach it holds for every route, until it is forgotten.
    assert_eq!(sands.beach(&["--pace", "0.4"])["beach"]["pace_m_s"], 0.4);
    let kept = sands.route(&[]);
    assert_eq!(out(&kept), 0.4);
    never_later(&usual, &kept);
    assert_eq!(out(&sands.route(&["--pace", "0.6"])), 0.4, "the slowest of all");
    assert!(sands.beach(&["--pace", "none"])["beach"]["pace_m_s"].is_null());
    walks(&sands, 0.5);
    sands.import(&["walks.gpx"], &[]);
    // Three quarters of the low end of what was learnt, as of every walk.
    let learnt = sands.route(&[]);
    assert!((0.30..=0.40).contains(&out(&learnt)), "{}", out(&learnt));
    assert_eq!(out(&sands.route(&["--pace", "0.6"])), out(&learnt), "never above the learnt one");
}

#[test]
fn a_tide_table_of_a_name_that_is_there_is_asked_about_and_takes_its_place() {
    let sands = Sands::even();
    let turns = json(&["tides", "--station", "ticon/llandudno-lla-gbr-bodc", "--from", "2027-01-01", "--days", "60", "--json"]);
    let rows = turns["turns"].as_array().unwrap().iter().map(|t| {
        let time = t["time"].as_str().unwrap();
        format!("{} {},{:.1},{}\n", &time[..10], &time[11..16], t["m"].as_f64().unwrap(), t["kind"].as_str().unwrap())
    });
    std::fs::write(sands.file("bst.csv"), "time,height_m,type\n".to_owned() + &rows.collect::<String>()).unwrap();
    let table = |more: &[&str]| sands.import(&["bst.csv"], &[&["--as", "tide-table"], more].concat());
    assert_eq!(table(&["--zone", "UTC"])["files"][0]["taken"]["tide_table"], 1);
    assert_eq!(table(&["--zone", "UTC"])["files"][0]["already_there"]["tide_table"], 1, "the same again is no question");
    sands.beach(&["--tide-table", "bst"]);
    // On the clock it was printed on: asked, and nothing taken before the answer.
    let file = sands.file("bst.csv");
    let why = refuses(3, &["import", "--book", &sands.book(), text(&file), "--as", "tide-table", "--zone", "Etc/GMT-1"]);
    assert!(why.contains("60 minutes earlier") && why.contains("table=replace") && why.contains("nothing was changed"), "{why}");
    table(&["--zone", "Etc/GMT-1", "--answer", "table=replace"]);
    let now = sands.beach(&[]);
    assert!(
        now["counts"].is_null() && now["beach"]["counts"]["tide_table"] == 1 && now["beach"]["tide"]["name"] == "bst",
        "{now}"
    );
    // Two of one name, as an older book may hold them, are told apart by number.
    table(&["--zone", "UTC", "--answer", "table=each"]);
    assert_eq!(sands.beach(&["--tide-table", "bst (2)"])["beach"]["tide"]["name"], "bst (2)");
}
