//! The shape of a beach against scipy and shapely, and by its own laws.

use geo::{Area, Euclidean, Length, Validation};
use proptest::prelude::*;
use scourline::book::{Beach, LevelPoint, Seaward, Uid};
use scourline::earth::{Frame, Local, LonLat};
use scourline::shore::{LevelSource, Shore, ShoreError, ShorePoint, TideMark, newest_levels};
use serde_json::Value;

fn reference() -> Value {
    serde_json::from_str(include_str!("../reference/shore/shore.json")).unwrap()
}

fn num(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

fn beach_at(origin: LonLat) -> Beach {
    let frame = Frame::centred_on(origin).unwrap();
    let mut beach = Beach::new("Invented Bay", origin);
    beach.baseline = [(0.0, 0.0), (300.0, 0.0)].map(|(e, n)| frame.to_lonlat(Local::new(e, n)).unwrap()).to_vec();
    beach.seaward = Seaward::Right;
    beach
}

fn level(at: LonLat, level_m: f64) -> LevelPoint {
    LevelPoint { uid: Uid::fresh(), beach: Uid::fresh(), at, level_m, sigma_m: None, date: None, survey: String::new() }
}

/// The beach of the reference file.
fn surveyed() -> (Value, Shore) {
    let r = reference();
    let origin = LonLat::new(num(&r["origin"][0]), num(&r["origin"][1])).unwrap();
    let mut beach = beach_at(origin);
    beach.datum_offset_m = Some(num(&r["offset_m"]));
    let levels: Vec<_> = r["levels"]
        .as_array()
        .unwrap()
        .iter()
        .map(|l| level(LonLat::new(num(&l["lon"]), num(&l["lat"])).unwrap(), num(&l["level_m"])))
        .collect();
    let shore = Shore::build(&beach, &levels).unwrap();
    (r, shore)
}

fn marks(r: &Value) -> Vec<TideMark> {
    r["marks"].as_object().unwrap().iter().map(|(name, level)| TideMark::new(name, num(level))).collect()
}

/// scipy's LinearNDInterpolator on the same points; positions through pyproj.
#[test]
fn sand_levels_agree_with_scipy() {
    let (r, shore) = surveyed();
    for q in r["queries"].as_array().unwrap() {
        let p = Local::new(num(&q["east_m"]), num(&q["north_m"]));
        match (q["land_m"].as_f64(), shore.sand_level(p)) {
            (Some(want), Some(got)) => {
                assert!((want - got.land_m).abs() < 1e-6, "{p:?}: {want} {}", got.land_m);
                assert!(got.sigma_m >= 0.05 && got.sigma_m < 1.0 && got.from != LevelSource::Slope);
            }
            (None, None) => {}
            (want, got) => panic!("{p:?}: {want:?} {got:?}"),
        }
    }
}

/// shapely's union of clipped facets.
#[test]
fn bands_agree_with_shapely_and_cover_the_hull() {
    let (r, shore) = surveyed();
    let bands = shore.bands(&marks(&r)).unwrap();
    let names: Vec<_> = bands.iter().map(|b| b.name.as_str()).collect();
    assert_eq!(names, ["above MHWS", "MHWS to MHWN", "MHWN to MSL", "MSL to MLWN", "MLWN to MLWS", "below MLWS"]);
    for (got, want) in bands.iter().zip(r["bands"].as_array().unwrap()) {
        assert_eq!((got.low_m, got.high_m), (want["low_m"].as_f64(), want["high_m"].as_f64()), "{}", got.name);
        assert!((got.area_m2 - num(&want["area_m2"])).abs() < 1e-3, "{}: {} {}", got.name, got.area_m2, want["area_m2"]);
        let rings = got.area.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
        let length_m: f64 = rings.map(|ring| Euclidean.length(ring)).sum();
        assert!((length_m - num(&want["length_m"])).abs() < 1e-3, "{}: outline {length_m} {}", got.name, want["length_m"]);
        assert!(got.area.is_valid(), "{}: {:?}", got.name, got.area.check_validation());
    }
    let sum: f64 = bands.iter().map(|b| b.area_m2).sum();
    assert!((sum - num(&r["hull_m2"])).abs() < 1e-3 && (shore.area_m2() - sum).abs() < 1e-6);
}

/// Sum of straight pieces over the facets, by numpy and shapely.
#[test]
fn tide_lines_agree_with_shapely() {
    let (r, shore) = surveyed();
    for want in r["lines"].as_array().unwrap() {
        let line = shore.tide_line(num(&want["level_m"])).unwrap();
        let got = Euclidean.length(&line);
        assert!((got - num(&want["length_m"])).abs() < 1e-3, "{}: {got} {}", want["level_m"], want["length_m"]);
    }
}

#[test]
fn the_sand_on_a_tide_line_is_at_its_level_and_higher_on_the_left() {
    let (r, shore) = surveyed();
    let offset_m = num(&r["offset_m"]);
    for line in shore.water_edge(0.4).unwrap() {
        for pair in line.0.windows(2) {
            let middle = Local::new((pair[0].x + pair[1].x) / 2.0, (pair[0].y + pair[1].y) / 2.0);
            if let Some(level) = shore.sand_level(middle) {
                assert!((level.land_m + offset_m - 0.4).abs() < 1e-6);
            }
            let (dx, dy) = (pair[1].x - pair[0].x, pair[1].y - pair[0].y);
            let length = dx.hypot(dy);
            if length > 0.01 {
                let left = Local::new(middle.east_m - dy / length * 0.001, middle.north_m + dx / length * 0.001);
                assert!(shore.sand_level(left).is_none_or(|l| l.land_m + offset_m > 0.4));
            }
        }
    }
}

#[test]
fn without_a_datum_offset_tide_lines_are_refused_in_words() {
    let mut beach = beach_at(LonLat::new(-20.0, 45.0).unwrap());
    (beach.slope, beach.back_level_m) = (Some(0.03), Some(4.0));
    let shore = Shore::build(&beach, []).unwrap();
    let refused = shore.tide_line(1.0).unwrap_err();
    assert_eq!(refused, ShoreError::NoDatumOffset("Invented Bay".into()));
    assert!(refused.to_string().contains("tide level = land level + offset"));
    assert!(shore.sand_level(Local::new(10.0, -10.0)).is_some());
}

#[test]
fn an_even_slope_gives_straight_lines_and_says_where_it_comes_from() {
    let mut beach = beach_at(LonLat::new(-20.0, 45.0).unwrap());
    (beach.slope, beach.back_level_m, beach.datum_offset_m) = (Some(0.03), Some(4.0), Some(0.5));
    let shore = Shore::build(&beach, []).unwrap();
    let level = shore.sand_level(Local::new(50.0, -20.0)).unwrap();
    assert!((level.land_m - 3.4).abs() < 1e-6 && level.from == LevelSource::Slope);
    // Tide 1.5 = land 1.0 = 100 m across.
    let line = shore.tide_line(1.5).unwrap();
    assert_eq!(line.0.len(), 1);
    assert!(line.0[0].0.iter().all(|c| (c.y + 100.0).abs() < 1e-5));
    let bands = shore.bands(&[TideMark::new("MHWS", 2.0), TideMark::new("MLWS", -2.0)]).unwrap();
    assert!((bands[1].area_m2 - 300.0 * 4.0 / 0.03).abs() < 1e-2, "{}", bands[1].area_m2);
}

#[test]
fn nothing_known_is_said_and_not_made_up() {
    let mut beach = beach_at(LonLat::new(-20.0, 45.0).unwrap());
    beach.datum_offset_m = Some(0.0);
    // All levels in one line span no surface.
    let line: Vec<_> = (0..20).map(|n| level(beach.baseline[0], f64::from(n))).collect();
    for levels in [&[][..], &line[..]] {
        let shore = Shore::build(&beach, levels).unwrap();
        assert!(matches!(shore.tide_line(0.0), Err(ShoreError::NoLevels(_))));
        assert!(shore.sand_level(Local::new(1.0, -1.0)).is_none());
        assert!(shore.section(10.0, 1.0).is_empty());
    }
    beach.baseline.clear();
    assert!(matches!(Shore::build(&beach, []), Err(ShoreError::NoBaseline(_))));
    beach.baseline = vec![beach.origin; 3];
    assert!(matches!(Shore::build(&beach, []), Err(ShoreError::FlatBaseline(_))));
}

#[test]
fn a_section_follows_the_sand() {
    let (_, shore) = surveyed();
    let section = shore.section(150.0, 2.0);
    assert!(section.len() > 60);
    assert!(section.windows(2).all(|w| w[1].across_m > w[0].across_m));
    for s in section {
        let p = shore.to_local(ShorePoint::new(150.0, s.across_m));
        assert_eq!(shore.sand_level(p).unwrap().land_m, s.land_m);
    }
    assert!(shore.section(150.0, f64::NAN).is_empty());
    assert!(shore.section(150.0, 0.0).len() <= 20_001);
}

#[test]
fn the_newest_survey_wins_where_it_reaches() {
    let origin = LonLat::new(-20.0, 45.0).unwrap();
    let frame = Frame::centred_on(origin).unwrap();
    let at = |e: f64, n: f64| frame.to_lonlat(Local::new(e, n)).unwrap();
    let dated = |p: LonLat, z: f64, day: Option<&str>| LevelPoint { date: day.map(|d| d.parse().unwrap()), ..level(p, z) };
    let levels = [
        dated(at(0.0, 0.0), 1.0, Some("2023-05-01")),
        dated(at(3.0, 0.0), 2.0, Some("2024-05-01")),
        dated(at(100.0, 0.0), 3.0, Some("2023-05-01")),
        dated(at(101.0, 0.0), 4.0, None),
        dated(at(200.0, 0.0), 5.0, None),
    ];
    let kept: Vec<_> = newest_levels(&frame, &levels, 10.0).levels.iter().map(|l| l.level_m).collect();
    assert_eq!(kept, [2.0, 3.0, 5.0]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// Grids are full of equal levels and of points on one circle: the worst case for contours.
    #[test]
    fn bands_always_cover_the_surface(heights in prop::collection::vec(-3_i32..4, 36), cuts in prop::collection::vec(-3_i32..4, 0..5)) {
        let mut beach = beach_at(LonLat::new(-20.0, 45.0).unwrap());
        beach.datum_offset_m = Some(0.0);
        let frame = Frame::centred_on(beach.origin).unwrap();
        let levels: Vec<_> = heights.iter().enumerate().map(|(n, z)| {
            level(frame.to_lonlat(Local::new((n % 6) as f64 * 10.0, -((n / 6) as f64) * 10.0)).unwrap(), f64::from(*z))
        }).collect();
        let shore = Shore::build(&beach, &levels).unwrap();
        let marks: Vec<_> = cuts.iter().map(|c| TideMark::new(format!("at {c}"), f64::from(*c))).collect();
        let bands = shore.bands(&marks).unwrap();
        let sum: f64 = bands.iter().map(|b| b.area_m2).sum();
        prop_assert!((sum - 2500.0).abs() < 1e-3, "{sum}");
        for band in &bands {
            prop_assert!((band.area.unsigned_area() - band.area_m2).abs() < 1e-9);
            for ring in band.area.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors())) {
                prop_assert!(ring.is_closed() && ring.0.len() >= 4);
            }
        }
        // Every place is in the band whose polygon holds it.
        for (e, n) in [(12.3, -7.7), (33.1, -41.9), (5.5, -25.2)] {
            let p = Local::new(e, n);
            // Flat ground exactly on an edge belongs to either side by the last digit.
            let land_m = shore.sand_level(p).unwrap().land_m;
            if cuts.iter().any(|c| (f64::from(*c) - land_m).abs() < 1e-8) {
                continue;
            }
            let band = shore.band_at(p, &bands).unwrap().unwrap();
            let inside = geo::Contains::contains(&band.area, &geo::Point::new(e, n));
            prop_assert!(inside, "{} {:?}", band.name, shore.sand_level(p));
        }
    }
}
