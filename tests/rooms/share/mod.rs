//! What a permission's holder is handed.

mod against;
mod attacked;
mod back;
mod bad;
mod counted;
mod standards;
mod turned;

use geo_types::{MultiPolygon, polygon};
use jiff::civil::Date;
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use scourline::book::{Beach, Book, Find, Kind, Material, Outing, Permission, Record, Signal, Uid};
use scourline::earth::LonLat;
use scourline::query::{Ask as _, AtOnce, Given, HandOver, Inquiry, Refusal};
use scourline::share::PackAsk;
use serde_json::Value;

pub(crate) const FINDS: usize = 400;

pub(crate) fn at(time: &str) -> jiff::Timestamp {
    time.parse().unwrap()
}

fn now() -> jiff::Timestamp {
    at("2027-03-01T12:00:00Z")
}

/// A straight beach of 2 km by 300 m with finds strewn evenly over four days, and a permission for all of it.
pub(crate) fn searched(seed: u64, coarsen_m: f64) -> (Book, Permission) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let place =
        |rng: &mut ChaCha8Rng| LonLat::new(rng.random_range(-20.0100..-19.9850), rng.random_range(45.0000..45.0027)).unwrap();
    let beach = Beach::new("Invented Strand", LonLat::new(-20.0, 45.001).unwrap());
    let area = MultiPolygon::new(vec![
        polygon![(x: -20.02, y: 44.99), (x: -19.97, y: 44.99), (x: -19.97, y: 45.01), (x: -20.02, y: 45.01)],
    ]);
    let permission = Permission {
        uid: Uid::of_content("permission", [&b"invented"[..]]),
        holder: "Invented Trust".into(),
        coarsen_m: Some(coarsen_m),
        key: Uid::of_content("key", [&b"secret"[..]]),
        ..Permission::new(beach.uid, "Strand", area)
    };
    let hours = jiff::SignedDuration::from_hours;
    let mut records: Vec<Record> = vec![beach.clone().into(), permission.clone().into()];
    for day in 0..4 {
        let start = at("2026-06-01T08:00:00Z") + hours(24 * day);
        let outing =
            Outing { name: "hush, a walk".into(), litter_kg: Some(0.25), ..Outing::new(beach.uid, start, start + hours(3)) };
        for n in 0..FINDS / 4 {
            let (at, time) = (place(&mut rng), start + jiff::SignedDuration::from_secs(31 * n as i64));
            let what = if n % 3 == 0 { "penny, 1914" } else { "ring-pull" };
            let find = Find::new(beach.uid, at, what, Kind::keyed(if n % 3 == 0 { "coin" } else { "ring_pull" }));
            // As an import makes it: a hash of place and time.
            let uid = Uid::of_content("find", [at.to_string().as_bytes(), time.to_string().as_bytes()]);
            let private = || "hush: by the third groyne".to_owned();
            let (notes, value, finder, photo) = (private(), private(), private(), format!("IMG_2026060{}_{n:06}.jpg", day + 1));
            let find = Find { uid, time: Some(time), outing: Some(outing.uid), notes, value, finder, photo, ..find };
            let more = [("hush".to_owned(), "third groyne".to_owned())].into();
            records
                .push(Find { more, reported: "the trust's office".into(), material: Some(Material::CopperAlloy), ..find }.into());
            if n % 10 == 0 {
                records.push(Signal { time: Some(time), ..Signal::new(beach.uid, place(&mut rng)) }.into());
            }
        }
        records.push(outing.into());
    }
    (Book::gather(records).unwrap(), permission)
}

pub(crate) fn try_pack(book: &Book, permission: &Permission, ask: PackAsk) -> Result<Given<HandOver>, String> {
    let inquiry = Inquiry::new(book, permission.beach, now()).map_err(|Refusal { sentence, .. }| sentence)?;
    AtOnce::default().ask(inquiry.hand_over(Some((permission.uid, ask)), now())).map_err(|e| e.to_string())
}

pub(crate) fn pack(book: &Book, permission: &Permission) -> Given<HandOver> {
    try_pack(book, permission, PackAsk::default()).unwrap()
}

pub(crate) fn over(from: &str, to: &str) -> PackAsk {
    let day = |text: &str| -> Option<Date> { (!text.is_empty()).then(|| text.parse().unwrap()) };
    PackAsk { from: day(from), to: day(to), ..PackAsk::default() }
}

pub(crate) fn bytes<'p>(pack: &'p HandOver, name: &str) -> &'p [u8] {
    &pack.files.iter().find(|(n, _)| n == name).unwrap_or_else(|| panic!("no {name}")).1
}

pub(crate) fn text<'p>(pack: &'p HandOver, name: &str) -> &'p str {
    std::str::from_utf8(bytes(pack, name)).unwrap()
}

pub(crate) fn features(pack: &HandOver, name: &str) -> Vec<Value> {
    let document: Value = serde_json::from_slice(bytes(pack, name)).unwrap();
    document["features"].as_array().unwrap().clone()
}

/// The rows of a table, each by its headings.
pub(crate) fn rows(pack: &HandOver, name: &str) -> Vec<std::collections::BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(bytes(pack, name));
    reader.deserialize().map(Result::unwrap).collect()
}

pub(crate) fn outline(feature: &Value) -> MultiPolygon<f64> {
    let geometry: geojson::Geometry = serde_json::from_value(feature["geometry"].clone()).unwrap();
    match geo_types::Geometry::try_from(geometry).unwrap() {
        geo_types::Geometry::Polygon(p) => MultiPolygon(vec![p]),
        geo_types::Geometry::MultiPolygon(p) => p,
        other => panic!("{other:?}"),
    }
}
