//! A pack held against RFC 7946, rule by rule, RFC 4180 and what a page by itself must not do.

use geo::Area as _;
use scourline::book::{Agreed, Edit, Permission};
use serde_json::Value;

use super::{bytes, outline, pack, searched, text};

fn positions<'v>(value: &'v Value, found: &mut Vec<&'v Vec<Value>>) {
    if let Some(list) = value.as_array() {
        if list.first().is_some_and(Value::is_number) { found.push(list) } else { list.iter().for_each(|v| positions(v, found)) }
    }
}

/// RFC 7946, by section.
fn obeys(document: &Value, name: &str) {
    // 1.4, 3.3: one of the nine types, and `features` an array that may be empty.
    assert_eq!(document["type"], "FeatureCollection", "{name}");
    let features = document["features"].as_array().unwrap();
    // 4: no `crs`.
    assert!(document.get("crs").is_none(), "{name}");
    // 7.1: no member of another type's definition.
    assert!(["coordinates", "geometry", "geometries", "properties"].iter().all(|m| document.get(*m).is_none()));
    let mut all = Vec::new();
    for feature in features {
        // 3.2: type, a geometry or null, properties an object or null.
        assert_eq!(feature["type"], "Feature");
        assert!(feature.get("geometry").is_some() && (feature["properties"].is_object() || feature["properties"].is_null()));
        let geometry = &feature["geometry"];
        if geometry.is_null() {
            continue;
        }
        let kind = geometry["type"].as_str().unwrap();
        assert!(["Point", "Polygon", "MultiPolygon"].contains(&kind), "{name} {kind}");
        positions(&geometry["coordinates"], &mut all);
        if kind != "Point" {
            // 3.1.6: closed rings of four and more, the outer counterclockwise, the inner clockwise.
            let polygons = if kind == "Polygon" {
                vec![&geometry["coordinates"]]
            } else {
                geometry["coordinates"].as_array().unwrap().iter().collect()
            };
            for (n, ring) in polygons.iter().flat_map(|p| p.as_array().unwrap().iter().enumerate()) {
                let ring: Vec<[f64; 2]> = serde_json::from_value(ring.clone()).unwrap();
                let turn: f64 = ring.windows(2).map(|w| w[0][0] * w[1][1] - w[1][0] * w[0][1]).sum();
                assert!(ring.len() >= 4 && ring.first() == ring.last() && (turn > 0.0) == (n == 0), "{name}");
            }
            assert!(outline(feature).unsigned_area() > 0.0);
        }
    }
    // 3.1.1 and 4: two or three numbers, longitude first, on WGS 84; 11.2: no more digits than make sense.
    for at in &all {
        assert!(at.len() == 2);
        let (lon, lat) = (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
        assert!((-180.0..=180.0).contains(&lon) && (-90.0..=90.0).contains(&lat));
        assert!([lon, lat].iter().all(|v| (v * 1e7 - (v * 1e7).round()).abs() < 1e-3), "{name}: {lon} {lat}");
    }
    // 5: a box of four numbers, south-west before north-east, that holds every position; none where there is none.
    match document.get("bbox") {
        None => assert!(all.is_empty(), "{name}"),
        Some(bbox) => {
            let [west, south, east, north]: [f64; 4] = serde_json::from_value(bbox.clone()).unwrap();
            let within = |at: &&Vec<Value>| {
                let (lon, lat) = (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
                west <= lon && lon <= east && south <= lat && lat <= north
            };
            assert!(west <= east && south <= north && all.iter().all(within), "{name}");
        }
    }
}

#[test]
fn every_geojson_file_obeys_the_standard_and_a_coarsened_place_is_never_a_point() {
    let (mut book, permission) = searched(30, 100.0);
    let exact = Permission { exact_positions: true, coarsen_m: None, agreed: Agreed::default(), ..permission.clone() };
    for permission in [permission, exact] {
        book.apply(&Edit::put(permission.clone())).unwrap();
        let made = pack(&book, &permission);
        for name in ["finds.geojson", "outings.geojson", "zones.geojson"] {
            let document: Value = serde_json::from_slice(bytes(&made, name)).unwrap();
            obeys(&document, name);
            let points = document["features"].as_array().unwrap().iter().filter(|f| f["geometry"]["type"] == "Point").count();
            assert_eq!(points > 0, name == "finds.geojson" && permission.exact_positions);
        }
        // RFC 4180: as many fields in every line as in the first.
        for name in ["finds.csv", "outings.csv"] {
            let mut table = csv::ReaderBuilder::new().flexible(false).from_reader(bytes(&made, name));
            assert!(table.records().all(|r| r.is_ok()), "{name}");
        }
    }
}

/// HTML Living Standard: what makes a browser ask for something is `src`, `href` and the like, a style's `url()` and `@import`,
/// and scripts.
#[test]
fn the_page_asks_for_nothing_and_every_table_picture_and_language_is_named() {
    let (book, permission) = searched(31, 100.0);
    let made = pack(&book, &permission);
    let page = text(&made, "report.html");
    for asks in [
        "<script",
        "<link",
        "<iframe",
        "<object",
        "<embed",
        "<base",
        "@import",
        "url(",
        "href=",
        "srcset",
        "action=",
        "http-equiv",
        " onload",
        " onclick",
    ] {
        assert!(!page.contains(asks), "{asks}");
    }
    assert!(page.split("src=\"").skip(1).all(|s| s.starts_with("data:image/jpeg;base64,")));
    // The namespace of SVG is a name and not an address that is asked for.
    let addresses: Vec<&str> = page.split("http").skip(1).collect();
    assert!(addresses.iter().all(|a| a.starts_with("://www.w3.org/2000/svg\"")), "{addresses:?}");
    // WCAG 2.2: 3.1.1 language, 2.4.2 title, 1.3.1 table heads with their scope, 1.1.1 pictures named, 2.4.6 headings in order.
    assert!(
        page.starts_with("<!DOCTYPE html><html lang=\"en\">")
            && page.contains("<title>What was found at Invented Strand</title>")
    );
    assert_eq!((page.matches("<h1").count(), page.matches("<main>").count()), (1, 1));
    assert!(page.find("<h1").unwrap() < page.find("<h2").unwrap());
    assert_eq!(page.matches("<th").count() - page.matches("<thead").count(), page.matches("<th scope=\"col\"").count());
    assert!(page.contains("role=\"img\"") || !page.contains("<svg") || page.contains("nothing to draw yet"));
    assert!(page.contains("@page{size:A4"));
}
