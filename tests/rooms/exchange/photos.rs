//! Photographs that libraries of others wrote (`tests/reference/exchange/make_photos.py`), and damaged ones.

use std::path::{Path, PathBuf};

use super::common::{book, find_of, records, try_take};
use proptest::prelude::*;
use scourline::Progress;
use scourline::book::{Book, Find, RecordKind};
use scourline::exchange::{About, Format, Intake, Options, Source, look_all};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/exchange/photos")
}

fn photo(name: &str) -> Vec<u8> {
    std::fs::read(folder().join(name)).unwrap()
}

fn took(name: &str, book: &Book, options: &Options) -> Intake {
    try_take(name, photo(name), book, options).unwrap()
}

fn only(intake: &Intake) -> Find {
    let finds: Vec<Find> = records(intake).into_iter().filter_map(find_of).collect();
    let [find] = finds.as_slice() else { panic!("{intake:?}") };
    find.clone()
}

/// A walk north along the beach, a metre or so a second, from 10:00 to 10:30 UTC.
fn walk() -> String {
    let fix = |n: u32| {
        let lat = 45.0 + f64::from(n) * 1e-5;
        format!("<trkpt lat=\"{lat:.6}\" lon=\"-20\"><time>2024-05-01T10:{:02}:{:02}Z</time></trkpt>", n / 60, n % 60)
    };
    format!(
        "<gpx version=\"1.1\"><trk><name>walk</name><trkseg>{}</trkseg></trk></gpx>",
        (0..1800).step_by(10).map(fix).collect::<String>()
    )
}

fn walked() -> Book {
    let mut book = book();
    let intake = try_take("walk.gpx", walk(), &book, &Options::default()).unwrap();
    book.apply(&intake.edit).unwrap();
    book
}

/// The position and time that piexif was handed, through five sorts of picture.
#[test]
fn a_photograph_with_place_and_time_makes_a_find_whatever_it_is_in() {
    for name in ["phone.jpg", "phone.heic", "phone.png", "phone.tif", "phone.webp"] {
        let intake = took(name, &book(), &Options::default());
        assert_eq!((intake.format, intake.refused_count), (Format::Photograph, 0), "{name}: {:?}", intake.refused);
        let find = only(&intake);
        assert!((find.at.lon_deg() + 20.0003).abs() < 1e-7 && (find.at.lat_deg() - 45.0004).abs() < 1e-7, "{name}: {}", find.at);
        // The camera's own clock and zone, which the satellites' time bears out; that is of its last position.
        assert_eq!(find.time.unwrap().to_string(), "2024-05-01T10:02:03Z", "{name}");
        assert_eq!((find.photo.as_str(), find.what.as_str(), find.kind.key()), (name, "phone", "other"));
        assert_eq!(find.notes, "by the groyne; the camera puts its position right to 4 m", "{name}");
        let mut book = book();
        book.apply(&intake.edit).unwrap();
        assert!(took(name, &book, &Options::default()).changes_nothing(), "{name} twice");
    }
}

#[test]
fn the_satellites_time_counts_where_no_zone_is_stated() {
    let find = only(&took("no_zone.jpg", &book(), &Options::default()));
    assert_eq!(find.time.unwrap().to_string(), "2024-05-01T10:02:03Z");
}

/// One photograph shows that the camera's clock is 1:02:30 ahead of UTC, and so the other is placed on the track.
#[test]
fn a_camera_s_clock_is_found_by_one_photograph_and_places_the_others_on_the_track() {
    let mut sources: Vec<Source> = ["no_place.jpg", "no_zone.jpg"].map(|n| Source::bytes(n, photo(n))).into();
    sources.push(Source::bytes("walk.gpx", walk().into_bytes()));
    let looked = look_all(&sources, &book(), &Options::default(), &Progress::new()).unwrap();
    assert!(looked.failed.is_empty() && looked.must_be_answered().next().is_none(), "{looked:?}");
    let find = only(&looked.intakes[0]);
    assert_eq!(find.time.unwrap().to_string(), "2024-05-01T10:14:03Z");
    // 843 seconds into the walk, between two fixes of it.
    assert!((find.at.lat_deg() - 45.00843).abs() < 1e-7 && find.at.lon_deg() == -20.0, "{}", find.at);
    assert_eq!(find.notes, "placed by its time on the track \"walk\"");
    let told = format!("{:?}", looked.intakes[0].understood);
    assert!(told.contains("+01:02:30 ahead of UTC"), "{told}");
    let mut book = book();
    book.apply(&looked.edit()).unwrap();
    assert_eq!(book.outings().len(), 1);
    assert!(book.finds().values().all(|f| f.outing.is_some()));
}

#[test]
fn a_clock_that_nothing_tells_is_asked_about_and_can_be_set_right() {
    let book = walked();
    let open = took("bare.jpg", &book, &Options::default());
    assert_eq!(open.unsettled.iter().map(|u| (u.about, u.taken)).collect::<Vec<_>>(), [(About::Camera, None)]);
    assert!(open.taken.is_empty() && open.unsettled[0].question.contains("2024-05-01 11:05"), "{open:?}");
    let with = |options: Options| took("bare.jpg", &book, &options);
    let answer = |word| Options { answers: [(About::Camera, word)].into(), ..Options::default() };
    // On London's clock in summer it was 10:05 UTC; by UTC the walk was long over.
    let find = only(&with(answer("beach")));
    assert_eq!(find.time.unwrap().to_string(), "2024-05-01T10:05:00Z");
    assert!((find.at.lat_deg() - 45.003).abs() < 1e-9, "{}", find.at);
    let utc = with(answer("utc"));
    assert!(utc.refused[0].why.contains("the nearest track is 35 min off"), "{:?}", utc.refused);
    assert!(utc.refused[0].to_string().starts_with("bare.jpg, photograph 1: "), "a photograph has no lines: {}", utc.refused[0]);
    let zone = Options { zone: Some("Europe/Paris".into()), ..Options::default() };
    assert!(with(zone).refused[0].why.contains("55 min off") || with(Options::default()).taken.is_empty());
    let set = only(&with(Options { camera_clock_s: Some(3600 + 90), ..Options::default() }));
    assert_eq!(set.time.unwrap().to_string(), "2024-05-01T10:03:30Z");
    // The same photograph on another clock is the same find.
    let mut later = book.clone();
    later.apply(&with(answer("beach")).edit).unwrap();
    let again = took("bare.jpg", &later, &Options { camera_clock_s: Some(3690), ..Options::default() });
    assert_eq!((again.taken_count(), again.already_there_count()), (0, 1));
}

#[test]
fn zero_is_no_place_and_a_photograph_that_says_nothing_makes_nothing() {
    let zero = took("zero.jpg", &book(), &Options::default());
    assert!(zero.taken.is_empty() && zero.warnings.iter().any(|w| w.contains("0, 0")), "{zero:?}");
    assert!(zero.refused[0].why.contains("there is no track with times"), "{:?}", zero.refused);
    let placed = only(&took("zero.jpg", &walked(), &Options::default()));
    assert!((placed.at.lat_deg() - 45.003).abs() < 1e-9);
    let nothing = took("nothing.jpg", &walked(), &Options::default());
    assert!(nothing.refused[0].why.contains("neither a position nor a time"), "{:?}", nothing.refused);
    let levels = Options { what: Some(scourline::exchange::What::Levels), ..Options::default() };
    assert!(took("phone.jpg", &book(), &levels).refused[0].why.contains("cannot be taken as levels"));
    let signals = Options { what: Some(scourline::exchange::What::Signals), ..Options::default() };
    assert_eq!(took("phone.jpg", &book(), &signals).taken.get(&RecordKind::Signal), Some(&1));
}

fn never_panics(bytes: &[u8]) {
    if let Ok(intake) = try_take("any", bytes, &walked(), &Options::default()) {
        walked().apply(&intake.edit).expect("an edit that was offered can be applied");
    }
}

proptest! {
    #[test]
    fn any_damage_to_a_photograph_is_read_or_refused(
        name in proptest::sample::select(vec!["phone.jpg", "phone.heic", "phone.png", "phone.tif", "phone.webp", "bare.jpg"]),
        at in 0_usize..2000, gone in 0_usize..12, junk in proptest::collection::vec(any::<u8>(), 0..12)
    ) {
        let mut bytes = photo(name);
        let at = at % bytes.len();
        bytes.splice(at..(at + gone).min(bytes.len()), junk);
        never_panics(&bytes);
    }

    #[test]
    fn any_cut_of_a_photograph_is_read_or_refused(
        name in proptest::sample::select(vec!["phone.jpg", "phone.heic", "phone.png", "phone.tif", "phone.webp"]), cut in 0_usize..2000
    ) {
        let bytes = photo(name);
        never_panics(&bytes[..cut % bytes.len()]);
    }
}

/// A TIFF of one square with these tags more, each of one number of two bytes (TIFF 6.0, section 2).
fn tiff(more: &[u16]) -> Vec<u8> {
    let mut tags: Vec<u16> = [&[256, 257, 258, 259, 262, 277][..], more].concat();
    tags.sort_unstable();
    let mut bytes = b"II*\0\x08\0\0\0".to_vec();
    bytes.extend((tags.len() as u16).to_le_bytes());
    for tag in tags {
        bytes.extend(tag.to_le_bytes());
        bytes.extend(3_u16.to_le_bytes());
        bytes.extend(1_u32.to_le_bytes());
        bytes.extend([1, 0, 0, 0]);
    }
    bytes.extend([0; 4]);
    bytes
}

/// A grid of heights was told to be a photograph that has neither a position nor a time. The tags are those of the GeoTIFF
/// Standard 1.1 (OGC 19-008r4).
#[test]
fn a_geotiff_is_told_to_be_one_and_what_to_bring_in_its_stead() {
    for tag in [33550, 33922, 34264, 34735] {
        let intake = try_take("dtm.tif", tiff(&[tag]), &book(), &Options::default()).unwrap();
        let [refused] = intake.refused.as_slice() else { panic!("{intake:?}") };
        assert!(refused.why.contains("is a GeoTIFF") && refused.why.contains("level_m"), "{}", refused.why);
        assert!(intake.guess.contains("GeoTIFF") && intake.is_all_refused(), "{}", intake.guess);
    }
    let plain = try_take("scan.tif", tiff(&[]), &book(), &Options::default()).unwrap();
    assert!(plain.refused[0].why.contains("neither a position nor a time"), "{}", plain.refused[0].why);
}
