//! What watches keep: TCX by hand as its schema has it, and FIT put together by its published protocol.

use proptest::prelude::*;
use scourline::book::{Record, Track};
use scourline::exchange::{Fault, Format, Intake, Options};

use super::common::{book, fault, records, try_take};

fn now() -> Options {
    Options { now: Some("2024-06-01T00:00:00Z".parse().unwrap()), ..Options::default() }
}

fn tracks(intake: &Intake) -> Vec<Track> {
    records(intake).into_iter().filter_map(|r| if let Record::Track(t) = r { Some((*t).clone()) } else { None }).collect()
}

fn said(track: &Track) -> Vec<(f64, f64, String)> {
    let round = |v: f64| (v * 1e6).round() / 1e6;
    let time = |p: &scourline::book::TrackPoint| p.time().map_or_else(|| "-".to_owned(), |t| t.to_string());
    track.points().map(|p| (round(p.at.lon_deg()), round(p.at.lat_deg()), time(p))).collect()
}

const TCX: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<TrainingCenterDatabase>
 <Activities><Activity Sport="Other"><Id>2024-05-01T10:00:00Z</Id>
  <Lap StartTime="2024-05-01T10:00:00Z"><TotalTimeSeconds>60</TotalTimeSeconds>
   <Track>
    <Trackpoint><Time>2024-05-01T10:00:00Z</Time><Position><LatitudeDegrees>45.0001</LatitudeDegrees><LongitudeDegrees>-20.0001</LongitudeDegrees></Position><AltitudeMeters>2.5</AltitudeMeters></Trackpoint>
    <Trackpoint><Time>2024-05-01T10:00:05Z</Time></Trackpoint>
    <Trackpoint><Time>2024-05-01T12:00:10+02:00</Time><Position><LatitudeDegrees>45.0002</LatitudeDegrees><LongitudeDegrees>-20.0002</LongitudeDegrees></Position></Trackpoint>
   </Track></Lap>
  <Lap StartTime="2024-05-01T10:20:00Z"><Track>
    <Trackpoint><Time>2024-05-01T10:20:00Z</Time><Position><LatitudeDegrees>45.0003</LatitudeDegrees><LongitudeDegrees>-20.0003</LongitudeDegrees></Position></Trackpoint>
  </Track></Lap></Activity></Activities>
 <Courses><Course><Name>along the edge</Name><Track>
    <Trackpoint><Position><LatitudeDegrees>45.0004</LatitudeDegrees><LongitudeDegrees>-20.0004</LongitudeDegrees></Position></Trackpoint>
    <Trackpoint><Position><LatitudeDegrees>45.0005</LatitudeDegrees><LongitudeDegrees>-20.0004</LongitudeDegrees></Position></Trackpoint>
 </Track></Course></Courses>
</TrainingCenterDatabase>"#;

#[test]
fn laps_of_an_activity_are_one_track_and_a_course_is_a_plan() {
    let intake = try_take("walk.tcx", TCX, &book(), &now()).unwrap();
    assert_eq!((intake.format, intake.refused_count), (Format::Tcx, 0));
    let all = tracks(&intake);
    assert_eq!((all.len(), all[0].segments.len()), (1, 2));
    let wanted = [
        (-20.0001, 45.0001, "2024-05-01T10:00:00Z"),
        (-20.0002, 45.0002, "2024-05-01T10:00:10Z"),
        (-20.0003, 45.0003, "2024-05-01T10:20:00Z"),
    ];
    assert_eq!(said(&all[0]), wanted.map(|(lon, lat, time)| (lon, lat, time.to_owned())));
    assert_eq!(all[0].points().next().unwrap().height_m(), Some(2.5));
    let plans: Vec<_> =
        records(&intake).into_iter().filter_map(|r| if let Record::Plan(p) = r { Some(p) } else { None }).collect();
    assert_eq!((plans.len(), plans[0].name.as_str(), plans[0].points.len()), (1, "along the edge", 2));
    assert!(intake.warnings.iter().any(|w| w.starts_with("1 fix(es) have no position")), "{:?}", intake.warnings);
    let cut = &TCX[..TCX.len() / 2];
    assert!(matches!(fault("cut.tcx", cut, &book(), &now()), Fault::Truncated { .. }));
}

/// The sum of the protocol by its table of sixteen, where the reader goes bit by bit.
fn crc(bytes: &[u8]) -> u16 {
    const TABLE: [u16; 16] = [
        0x0000, 0xCC01, 0xD801, 0x1400, 0xF001, 0x3C00, 0x2800, 0xE401, 0xA001, 0x6C00, 0x7800, 0xB401, 0x5000, 0x9C01, 0x8801,
        0x4400,
    ];
    bytes.iter().fold(0, |mut crc, byte| {
        for half in [byte & 0xF, byte >> 4] {
            crc = ((crc >> 4) & 0x0FFF) ^ TABLE[usize::from(crc as u8 & 0xF)] ^ TABLE[usize::from(half)];
        }
        crc
    })
}

/// A file of these messages, with its head and its sums.
pub(super) fn whole(messages: &[u8]) -> Vec<u8> {
    let mut file = vec![14, 0x10, 0x2D, 0x08];
    file.extend((messages.len() as u32).to_le_bytes());
    file.extend(b".FIT");
    file.extend(crc(&file).to_le_bytes());
    file.extend(messages);
    file.extend(crc(&file).to_le_bytes());
    file
}

/// A definition of `record` as local message 1: time, latitude, longitude, height, and a field of a developer.
fn definition(big: bool) -> Vec<u8> {
    let message = if big { 20_u16.to_be_bytes() } else { 20_u16.to_le_bytes() };
    let mut bytes = vec![0x61, 0, u8::from(big)];
    bytes.extend(message);
    bytes.extend([4, 253, 4, 0x86, 0, 4, 0x85, 1, 4, 0x85, 2, 2, 0x84, 1, 0, 3, 0]);
    bytes
}

fn record(big: bool, time_s: u32, lat: f64, lon: f64, height_m: f64) -> Vec<u8> {
    let semicircles = |degrees: f64| (degrees / 180.0 * 2_147_483_648.0).round() as i32;
    let mut bytes = vec![0x01];
    let mut add = |le: &[u8]| if big { bytes.extend(le.iter().rev()) } else { bytes.extend(le) };
    add(&time_s.to_le_bytes());
    add(&semicircles(lat).to_le_bytes());
    add(&semicircles(lon).to_le_bytes());
    add(&(((height_m + 500.0) * 5.0) as u16).to_le_bytes());
    bytes.extend([7, 7, 7]);
    bytes
}

/// The messages of a short walk, big-endian ones after little-endian ones.
pub(super) fn messages() -> Vec<u8> {
    let walk = |big: bool| (0..8).flat_map(move |n| record(big, AT_TEN + n, 45.0001 + f64::from(n) * 1e-5, -20.0001, 2.0));
    definition(false).into_iter().chain(walk(false)).chain(definition(true)).chain(walk(true)).collect()
}

/// Seconds since the calendar of the protocol began, at 10:00 on 1 May 2024.
const AT_TEN: u32 = 1_083_492_000;

#[test]
fn records_of_either_byte_order_with_short_times_make_a_track() {
    for big in [false, true] {
        let mut messages = definition(big);
        messages.extend(record(big, AT_TEN, 45.0001, -20.0001, 2.0));
        // A definition of time alone as local message 2, and positions of local message 3 under a compressed time.
        let short = [&[0x43, 0, 0][..], &20_u16.to_le_bytes(), &[2, 0, 4, 0x85, 1, 4, 0x85]].concat();
        messages.extend(short);
        let semicircles = |degrees: f64| ((degrees / 180.0 * 2_147_483_648.0).round() as i32).to_le_bytes();
        let offset = (AT_TEN + 9) & 0x1F;
        messages.push(0x80 | (3 << 5) | offset as u8);
        messages.extend(semicircles(45.0002));
        messages.extend(semicircles(-20.0002));
        // No position: both fields as they stand where nothing is known.
        messages.extend([0x03].into_iter().chain(i32::MAX.to_le_bytes()).chain(i32::MAX.to_le_bytes()));
        let intake = try_take("walk.fit", whole(&messages), &book(), &now()).unwrap();
        assert_eq!((intake.format, intake.refused_count), (Format::Fit, 0));
        let all = tracks(&intake);
        assert_eq!((all.len(), all[0].name.as_str()), (1, "walk"));
        let wanted = [(-20.0001, 45.0001, "2024-05-01T10:00:00Z"), (-20.0002, 45.0002, "2024-05-01T10:00:09Z")];
        assert_eq!(said(&all[0]), wanted.map(|(lon, lat, time)| (lon, lat, time.to_owned())), "big: {big}");
        assert_eq!(all[0].points().next().unwrap().height_m(), Some(2.0));
    }
}

#[test]
fn a_course_is_a_plan_and_a_clock_that_was_never_set_gives_no_time() {
    // `file_id` as local message 0, whose field 0 of one byte says what the file is: 6 for a course.
    let file_id = |sort: u8| [&[0x40, 0, 0, 0, 0, 1, 0, 1, 0x00][..], &[0x00, sort]].concat();
    let way =
        [definition(false), record(false, 1000, 45.0001, -20.0001, 2.0), record(false, 1001, 45.0002, -20.0001, 2.0)].concat();
    let plans = |intake: &Intake| records(intake).iter().filter(|r| matches!(r, Record::Plan(_))).count();
    let course = try_take("course.fit", whole(&[file_id(6), way.clone()].concat()), &book(), &now()).unwrap();
    assert_eq!((tracks(&course).len(), plans(&course)), (0, 1));
    let walked = try_take("walk.fit", whole(&[file_id(4), way].concat()), &book(), &now()).unwrap();
    assert_eq!((tracks(&walked).len(), plans(&walked)), (1, 0));
    assert!(tracks(&walked)[0].points().all(|p| p.time().is_none()), "seconds since it was switched on are no time");
}

#[test]
fn a_damaged_file_is_refused_whole() {
    let good = whole(&[definition(false), record(false, AT_TEN, 45.0001, -20.0001, 2.0)].concat());
    assert!(matches!(fault("cut.fit", &good[..good.len() - 5], &book(), &now()), Fault::Truncated { .. }));
    let mut bad = good.clone();
    let middle = bad.len() / 2;
    bad[middle] ^= 0x10;
    let why = fault("bad.fit", bad, &book(), &now()).to_string();
    assert!(why.contains("checksum"), "{why}");
    // A message that was never defined.
    let why = fault("odd.fit", whole(&[5, 1, 2, 3]), &book(), &now()).to_string();
    assert!(why.contains("cannot be read"), "{why}");
    let empty = try_take("empty.fit", whole(&[]), &book(), &now()).unwrap();
    assert!(empty.warnings.iter().any(|w| w.contains("no position")), "{:?}", empty.warnings);
}

/// How many damaged files of each format are tried; more with `PROPTEST_CASES`.
fn some() -> ProptestConfig {
    ProptestConfig { failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(some())]

    #[test]
    fn any_messages_are_read_or_refused(junk in proptest::collection::vec(any::<u8>(), 0..60), at in 0_usize..80, big in any::<bool>()) {
        let mut messages = [definition(big), record(big, AT_TEN, 45.0001, -20.0001, 2.0), record(big, AT_TEN + 1, 45.0, -20.0, 2.0)].concat();
        let at = at % messages.len();
        messages.splice(at..(at + junk.len() / 2).min(messages.len()), junk);
        for bytes in [whole(&messages), messages] {
            if let Ok(intake) = try_take("any.fit", &bytes, &book(), &now()) {
                book().apply(&intake.edit).expect("an edit that was offered can be applied");
            }
        }
    }

    #[test]
    fn any_damage_to_tcx_is_read_or_refused(at in 0_usize..3000, gone in 0_usize..80, junk in "[<>/a-zA-Z0-9.&; -]{0,12}") {
        let mut bytes = TCX.as_bytes().to_vec();
        let at = at % bytes.len();
        bytes.splice(at..(at + gone).min(bytes.len()), junk.into_bytes());
        if let Ok(intake) = try_take("any.tcx", &bytes, &book(), &now()) {
            book().apply(&intake.edit).expect("an edit that was offered can be applied");
        }
    }
}
