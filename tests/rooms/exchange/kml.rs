//! KML and KMZ: the standard's own example, what people draw and loggers write, and damaged files.

use std::io::{Cursor, Write as _};

use super::common::{book, find_of, records, take, try_take};
use proptest::prelude::*;
use scourline::book::{Record, RecordKind, Track, ZoneUse};
use scourline::exchange::{About, Format, Intake, Options};

const HEAD: &str = "<?xml version=\"1.0\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\" xmlns:gx=\"http://www.google.com/kml/ext/2.2\"><Document>\n";
const TAIL: &str = "</Document></kml>\n";

fn kml(placemarks: &str) -> Intake {
    take("x.kml", &format!("{HEAD}{placemarks}{TAIL}"), &book(), &Options::default())
}

fn tracks(intake: &Intake) -> Vec<Track> {
    records(intake).into_iter().filter_map(|r| if let Record::Track(t) = r { Some((*t).clone()) } else { None }).collect()
}

#[test]
fn points_are_finds_with_their_data_time_and_description() {
    let intake = kml("<Placemark><name>gold ring 44 15cm</name><TimeStamp><when>2024-05-01T10:00:00+01:00</when></TimeStamp>\
        <description><![CDATA[<b>near</b> the groyne<br>wet]]></description><Point><coordinates>-20.0001,45.0001,3</coordinates></Point></Placemark>\n\
        <Placemark><name>12</name><ExtendedData><Data name=\"What\"><displayName>Fund</displayName><value>lead sinker</value></Data>\
        <Data name=\"Depth (cm)\"><value>20</value></Data><SchemaData schemaUrl=\"#s\"><SimpleData name=\"colour\">grey</SimpleData></SchemaData></ExtendedData>\
        <TimeStamp><when>2024-05-02</when></TimeStamp><Point><coordinates> -20.0002,45.0002 </coordinates></Point></Placemark>\n\
        <Placemark><name>Car park</name><Point><coordinates>-20,45</coordinates></Point></Placemark>");
    assert_eq!((intake.format, intake.refused_count), (Format::Kml, 0), "{:?}", intake.refused);
    let mut finds: Vec<_> = records(&intake).into_iter().filter_map(find_of).collect();
    finds.sort_by(|a, b| b.at.lon_deg().total_cmp(&a.at.lon_deg()));
    let [ring, sinker] = finds.as_slice() else { panic!("{finds:?}") };
    // Longitude comes first (OGC 07-147r2, 16.10).
    assert_eq!((ring.at.lon_deg(), ring.at.lat_deg()), (-20.0001, 45.0001));
    assert_eq!((ring.target_id, ring.depth_m, ring.kind.key()), (Some(44.0), Some(0.15), "gold_ring"));
    assert_eq!(ring.time.unwrap().to_string(), "2024-05-01T09:00:00Z");
    assert_eq!(ring.notes, "near the groyne wet");
    assert_eq!((sinker.what.as_str(), sinker.depth_m), ("lead sinker", Some(0.2)));
    assert_eq!(sinker.more["colour"], "grey");
    assert_eq!(sinker.time.unwrap().to_string(), "2024-05-02T11:00:00Z", "noon on the beach's clock");
    // The car park is asked about, as a waypoint is.
    assert_eq!(intake.unsettled.iter().map(|u| u.about).collect::<Vec<_>>(), [About::Waypoints]);
}

#[test]
fn tracks_have_their_times_and_lines_without_a_word_are_asked_about() {
    let intake = kml("<Folder><name>walks</name><Placemark><name>morning</name><gx:MultiTrack>\
        <gx:Track><when>2024-05-01T10:00:00Z</when><when>2024-05-01T10:00:05Z</when><when>2024-05-01T10:00:10Z</when>\
        <gx:coord>-20 45 1.5</gx:coord><gx:coord>-20 45.0001 1.5</gx:coord><gx:coord/></gx:Track>\
        <gx:Track><altitudeMode>absolute</altitudeMode><when>2024-05-01T10:05:00Z</when><gx:coord>-20 45.0002 2.5</gx:coord>\
        <ExtendedData><SchemaData><gx:SimpleArrayData name=\"speed\"><gx:value>1</gx:value></gx:SimpleArrayData></SchemaData></ExtendedData></gx:Track>\
        </gx:MultiTrack></Placemark></Folder>\n\
        <Placemark><name>fence?</name><LineString><coordinates>-20,45 -20,45.001</coordinates></LineString></Placemark>\n\
        <Folder><name>Tracks</name><Placemark><name>evening</name><LineString><coordinates>-20,45.01 -20,45.002</coordinates></LineString></Placemark></Folder>");
    let tracks = tracks(&intake);
    let morning = tracks.iter().find(|t| t.name == "morning").unwrap();
    assert_eq!(morning.segments.iter().map(|s| s.len()).collect::<Vec<_>>(), [2, 1], "an empty position is a missing fix");
    let heights: Vec<_> = morning.points().map(|p| p.height_m()).collect();
    assert_eq!(heights, [None, None, Some(2.5)], "only absolute heights are any");
    assert_eq!(morning.points().nth(1).unwrap().time().unwrap().to_string(), "2024-05-01T10:00:05Z");
    assert!(tracks.iter().any(|t| t.name == "evening") && tracks.len() == 2, "{tracks:?}");
    assert_eq!(intake.unsettled.iter().map(|u| (u.about, u.taken)).collect::<Vec<_>>(), [(About::Lines, Some("leave"))]);
    assert!(intake.refused[0].why.contains("--as tracks"), "{:?}", intake.refused);
    assert!(intake.guess.contains("3 placemark(s)") && intake.guess.contains("2 track(s)"), "{}", intake.guess);
}

/// What a folder says of the things in it counts where they say nothing themselves.
#[test]
fn a_folder_of_ground_to_keep_off_makes_zones_that_are_not_searched() {
    let area = "<Polygon><outerBoundaryIs><LinearRing><coordinates>-20,45 -20,45.001 -20.001,45.001 -20,45</coordinates></LinearRing>\
        </outerBoundaryIs></Polygon>";
    for folder in
        ["Do not dig", "No dig", "KEEP OUT", "Hazards", "Betreten verboten", "Niet graven", "Interdit de fouiller", "SSSI"]
    {
        let intake = kml(&format!(
            "<Folder><name>{folder}</name><Placemark><name>by the pier</name>{area}</Placemark>\
             <Placemark><name>pin 3</name><Point><coordinates>-20,45</coordinates></Point></Placemark></Folder>"
        ));
        let records = records(&intake);
        let zones: Vec<_> = records.iter().filter_map(|r| if let Record::Zone(zone) = r { Some(zone) } else { None }).collect();
        let [zone] = zones.as_slice() else { panic!("{folder}: {records:?}") };
        assert_eq!((zone.usage, zone.name.as_str()), (ZoneUse::NoSearch, "by the pier"), "{folder}");
        assert!(zone.notes.contains(folder), "{folder}: {}", zone.notes);
        // A point there is no find unless its person says so.
        assert_eq!(records.len(), 1, "{folder}: {records:?}");
        let asked: Vec<_> = intake.unsettled.iter().map(|u| (u.about, u.taken)).collect();
        assert_eq!(asked, [(About::Waypoints, Some("leave"))], "{folder}");
        assert!(intake.unsettled[0].question.contains("A point closes no ground"), "{folder}");
    }
    let picnic = kml(&format!("<Folder><name>Picnic</name><Placemark><name>by the pier</name>{area}</Placemark></Folder>"));
    assert!(records(&picnic).iter().any(|r| matches!(r, Record::Zone(zone) if zone.usage == ZoneUse::Other)));
    let told = |w: &String| w.contains("zones without a use: \"by the pier\" - walked and searched as any sand");
    assert!(picnic.warnings.iter().any(told), "{:?}", picnic.warnings);
}

/// What nobody dug yet used to become finds.
#[test]
fn points_of_folders_that_name_no_finds_are_asked_about_and_signals_are_signals() {
    let folder = |name: &str| {
        format!(
            "<Folder><name>{name}</name><Placemark><name>gold ring</name><Point><coordinates>-20,45</coordinates></Point></Placemark>\
             <Placemark><name>A</name><Point><coordinates>-20.001,45</coordinates></Point></Placemark></Folder>"
        )
    };
    for name in ["Places to search", "To do", "Lost property", "Access points", "Parking"] {
        let intake = kml(&folder(name));
        assert_eq!(records(&intake).len(), 0, "{name}: {:?}", records(&intake));
        let asked: Vec<_> = intake.unsettled.iter().map(|u| (u.about, u.taken)).collect();
        assert_eq!(asked, [(About::Waypoints, Some("leave"))], "{name}");
        assert!(intake.unsettled[0].question.contains(name), "{name}: {}", intake.unsettled[0].question);
    }
    let signals = records(&kml(&folder("Signals")));
    assert!(signals.iter().all(|r| matches!(r, Record::Signal(_))) && signals.len() == 2, "{signals:?}");
    let finds = records(&kml(&folder("Finds of the winter")));
    assert!(finds.iter().all(|r| matches!(r, Record::Find(_))) && finds.len() == 2, "{finds:?}");
}

/// The polygon of the standard's reference, with a hole, moved to the invented bay.
#[test]
fn areas_are_zones_with_their_holes() {
    let ring = |size: f64| {
        let corner = |x: f64, y: f64| format!("{},{},0", -20.0 + x * size, 45.0 + y * size);
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0)].map(|(x, y)| corner(x, y)).join("\n")
    };
    let intake = kml(&format!(
        "<Placemark><name>bathing</name><ExtendedData><Data name=\"use\"><value>bathing</value></Data></ExtendedData><Polygon><extrude>1</extrude>\
         <outerBoundaryIs><LinearRing><coordinates>{}</coordinates></LinearRing></outerBoundaryIs>\
         <innerBoundaryIs><LinearRing><coordinates>{}</coordinates></LinearRing></innerBoundaryIs></Polygon></Placemark>",
        ring(0.01),
        ring(0.005)
    ));
    let zone = records(&intake).into_iter().find_map(|r| if let Record::Zone(z) = r { Some(z) } else { None }).unwrap();
    assert_eq!((zone.name.as_str(), zone.usage.word(), zone.area.0[0].interiors().len()), ("bathing", "bathing", 1));
}

#[test]
fn what_is_wrong_is_refused_by_placemark_and_what_is_no_placemark_is_told() {
    let intake = kml("<NetworkLink><name>more</name><Link><href>http://example.org/more.kml</href></Link></NetworkLink>\n\
        <Placemark><Point><coordinates>95,-200</coordinates></Point></Placemark>\n\
        <Placemark><name>nowhere</name></Placemark>\n\
        <Placemark><gx:Track><when>2024-05-01T10:00:00Z</when></gx:Track></Placemark>\n\
        <Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>-20,45 -20,46</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>\n\
        <Placemark><name>&bomb;</name><Point><coordinates>-20,45</coordinates></Point></Placemark>\n\
        <Placemark><name>penny</name><TimeStamp><when>2024-05</when></TimeStamp><Point><coordinates>-20,45</coordinates></Point></Placemark>");
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [4, 5, 6, 7, 8], "{:?}", intake.refused);
    for (refusal, wanted) in intake.refused.iter().zip([
        "latitude -200",
        "no position, line or area",
        "1 times for 0 positions",
        "fewer than four",
        "entity",
    ]) {
        assert!(refusal.why.contains(wanted), "{refusal}");
    }
    let warned = intake.warnings.join("\n");
    assert!(warned.contains("no link was followed: 1 NetworkLink") && warned.contains("name no day"), "{warned}");
    assert_eq!(intake.taken.get(&RecordKind::Find), Some(&1));
}

fn kmz(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

#[test]
fn a_kmz_is_its_main_file_and_a_bomb_in_it_stays_small() {
    let one = |name: &str| {
        format!("{HEAD}<Placemark><name>{name}</name><Point><coordinates>-20,45</coordinates></Point></Placemark>{TAIL}")
    };
    let bytes = kmz(&[("files/other.kml", one("other").as_bytes()), ("doc.kml", one("penny").as_bytes()), ("files/a.png", b"x")]);
    let intake = try_take("x.kmz", &bytes, &book(), &Options::default()).unwrap();
    let found: Vec<String> = records(&intake).into_iter().filter_map(find_of).map(|f| f.what).collect();
    assert_eq!(found, ["penny"]);
    assert!(intake.warnings[0].contains("1 more KML file(s)") && intake.guess.starts_with("KMZ, KML"), "{:?}", intake.warnings);
    let mut zeros = one("penny").into_bytes();
    zeros.resize(520 << 20, b' ');
    let said = try_take("bomb.kmz", kmz(&[("doc.kml", &zeros)]), &book(), &Options::default()).unwrap_err().to_string();
    assert!(said.contains("unpacks to more than 512 MB"), "{said}");
    let said = try_take("x.kml", "<kml><Document><Placemark>", &book(), &Options::default()).unwrap_err().to_string();
    assert!(said.contains("ends too early"), "{said}");
}

fn never_panics(bytes: &[u8]) {
    let options = Options { answers: [(About::Lines, "tracks")].into(), ..Options::default() };
    if let Ok(intake) = try_take("any", bytes, &book(), &options) {
        book().apply(&intake.edit).expect("an edit that was offered can be applied");
    }
}

proptest! {
    #[test]
    fn any_damage_to_kml_is_read_or_refused(at in 0_usize..2000, gone in 0_usize..30, junk in "[<>/&\"'=, a-zA-Z0-9:.-]{0,6}") {
        let mut text = format!("{HEAD}<Placemark><name>ring 44</name><ExtendedData><Data name=\"depth_cm\"><value>3</value></Data></ExtendedData><Point><coordinates>-20,45,1</coordinates></Point></Placemark>\
            <Placemark><gx:Track><when>2024-05-01T10:00:00Z</when><gx:coord>-20 45 1</gx:coord></gx:Track></Placemark><Placemark><LineString><coordinates>-20,45 -20,45.1</coordinates></LineString></Placemark>\
            <Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>-20,45 -20,45.1 -20.1,45.1 -20,45</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>{TAIL}");
        let at = at % text.len();
        text.replace_range(at..(at + gone).min(text.len()), &junk);
        never_panics(text.as_bytes());
    }

    #[test]
    fn any_coordinates_are_read_or_refused(coordinates in "[-0-9., \n]{0,40}|-?[0-9]{1,3}(,[ ]?-?[0-9]{1,3}){0,4}( -?[0-9]{1,2},[0-9]{1,2}){0,4}") {
        never_panics(format!("{HEAD}<Placemark><MultiGeometry><Point><coordinates>{coordinates}</coordinates></Point><LineString><coordinates>{coordinates}</coordinates></LineString></MultiGeometry></Placemark>{TAIL}").as_bytes());
    }
}
