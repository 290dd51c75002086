//! Finds and signals told as the squares they lie in: nothing that leaves says more of where they are.

use std::collections::BTreeMap;

use geo_types::{MultiPolygon, Polygon};
use jiff::tz::TimeZone;
use serde_json::json;

use crate::book::{Book, Uid};
use crate::earth::{EarthSquare, LonLat, SquareSide};
use crate::exchange::geojson::{self, Feature};

/// The finds of a beach, each as its square and its day.
pub(super) fn finds(book: &Book, beach: Uid, side: SquareSide, zone: &TimeZone) -> Vec<Feature> {
    let finds = book.finds_of(beach).map(|f| (f.at, f.time));
    told(geojson::finds(book.finds_of(beach)), finds, side, zone)
}

/// The signals of a beach, each as its square and its day.
pub(super) fn signals(book: &Book, beach: Uid, side: SquareSide, zone: &TimeZone) -> Vec<Feature> {
    let signals = book.signals_of(beach).map(|s| (s.at, s.time));
    told(geojson::signals(book.signals_of(beach)), signals, side, zone)
}

/// How many finds lie in each square, in order of square.
pub(super) fn counted(book: &Book, beach: Uid, side: SquareSide) -> Vec<(MultiPolygon<f64>, usize)> {
    let mut counts: BTreeMap<EarthSquare, usize> = BTreeMap::new();
    book.finds_of(beach).for_each(|f| *counts.entry(EarthSquare::around(f.at, side)).or_default() += 1);
    counts.into_iter().map(|(square, n)| (MultiPolygon(vec![square.outline()]), n)).collect()
}

fn told(
    features: Vec<Feature>,
    of: impl Iterator<Item = (LonLat, Option<jiff::Timestamp>)>,
    side: SquareSide,
    zone: &TimeZone,
) -> Vec<Feature> {
    let squared = |(mut feature, (at, time)): (Feature, (LonLat, Option<jiff::Timestamp>))| {
        let outline: Polygon<f64> = EarthSquare::around(at, side).outline();
        feature.geometry = outline.into();
        // The minute of a find, crossed with the tide or a walk somebody saw, would tell its place.
        feature.properties.remove("time");
        if let Some(time) = time {
            feature.properties.insert("day".into(), json!(time.to_zoned_datetime(zone.clone()).date().to_string()));
        }
        feature.properties.insert("square_m".into(), json!(side.m()));
        feature
    };
    features.into_iter().zip(of).map(squared).collect()
}
