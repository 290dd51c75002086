//! A stranger's folder, from starting the program to a reading, by accessible names alone; the actions are counted.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use jiff::Timestamp;
use scourline::app::{App, SheetChoice, Start};
use scourline::earth::{Frame, Local, LonLat};

use crate::bench::{instant, settle, window_from};

/// What a person does, one by one.
struct Hand {
    harness: Harness<'static, App>,
    actions: usize,
}

impl Hand {
    /// Starting the program is the first.
    fn start() -> Self {
        Self { harness: window_from(Start::Demo, SheetChoice::Log), actions: 1 }
    }

    fn press(&mut self, name: &str) {
        self.harness.get_by_label(name).click_accesskit();
        self.done();
    }

    /// Into whatever has the keyboard.
    fn type_text(&mut self, text: &str) {
        self.harness.event(egui::Event::Text(text.to_owned()));
        self.done();
    }

    fn type_into(&mut self, name: &str, text: &str) {
        self.harness.get_by_label_contains(name).focus();
        self.harness.run();
        self.harness.get_by_label_contains(name).type_text(text);
        self.done();
    }

    fn key(&mut self, key: egui::Key) {
        self.harness.key_press(key);
        self.done();
    }

    fn done(&mut self) {
        self.actions += 1;
        settle(&mut self.harness);
    }
}

/// 36 tracks, a table of finds, levels, zones with the baseline, and a record of the sea, of an invented bay.
fn folder(dir: &Path) {
    let frame = Frame::centred_on(LonLat::new(-20.0, 45.0).unwrap()).unwrap();
    let place = |east: f64, north: f64| {
        let at = frame.to_lonlat(Local::new(east, north)).unwrap();
        (at.lon_deg(), at.lat_deg())
    };
    let start = instant("2024-05-01T08:00:00Z").as_second();
    let at = |s: i64| Timestamp::from_second(s).unwrap();
    let mut finds = String::from("what,lat,lon,time,depth_cm,weight_g\n");
    fs::create_dir(dir.join("tracks")).unwrap();
    for day in 0..36_i32 {
        let begin = start + i64::from(day) * 86_400;
        let mut points = String::new();
        for n in 0..90_i32 {
            // Up and down the sand, a lane further along each time.
            let (lane, step) = (n / 15, n % 15);
            let north = if lane % 2 == 0 { f64::from(step) } else { f64::from(14 - step) };
            let (lon, lat) = place(f64::from(day) * 14.0 - 250.0 + f64::from(lane) * 1.6, -20.0 - 4.0 * north);
            let time = at(begin + i64::from(n) * 12);
            writeln!(points, "<trkpt lat=\"{lat:.8}\" lon=\"{lon:.8}\"><time>{time}</time></trkpt>").unwrap();
            if n % 45 == 20 {
                writeln!(finds, "penny,{lat:.8},{lon:.8},{time},12,8").unwrap();
            }
        }
        let gpx = format!(
            "<?xml version=\"1.0\"?><gpx version=\"1.1\" creator=\"invented\" xmlns=\"http://www.topografix.com/GPX/1/1\"><trk><name>day \
             {day}</name><trkseg>{points}</trkseg></trk></gpx>"
        );
        fs::write(dir.join(format!("tracks/day-{day:02}.gpx")), gpx).unwrap();
    }
    fs::write(dir.join("finds.csv"), finds).unwrap();
    let mut levels = String::from("lon,lat,level_m\n");
    for n in 0..=26 {
        for m in 0..=12 {
            let north = 12.0 - 12.0 * f64::from(m);
            let (lon, lat) = place(f64::from(n - 13) * 24.0, north);
            writeln!(levels, "{lon:.8},{lat:.8},{:.3}", 4.0 + 0.04 * north).unwrap();
        }
    }
    fs::write(dir.join("levels.csv"), levels).unwrap();
    let point = |east: f64, north: f64| {
        let (lon, lat) = place(east, north);
        format!("[{lon:.8},{lat:.8}]")
    };
    let (west, east) = (point(-310.0, 6.0), point(310.0, 6.0));
    let ring: Vec<String> =
        [(200.0, 0.0), (260.0, 0.0), (260.0, -40.0), (200.0, -40.0), (200.0, 0.0)].iter().map(|(e, n)| point(*e, *n)).collect();
    let zones = format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{{\"type\":\"Feature\",\"properties\":{{\"role\":\"baseline\"}},\"geometry\":{{\
         \"type\":\"LineString\",\"coordinates\":[{west},{east}]}}}},{{\"type\":\"Feature\",\"properties\":{{\"role\":\"zone\",\"use\":\
         \"no_search\",\"name\":\"Nesting ground\"}},\"geometry\":{{\"type\":\"Polygon\",\"coordinates\":[[{}]]}}}}]}}",
        ring.join(",")
    );
    fs::write(dir.join("zones.geojson"), zones).unwrap();
    let mut sea = String::from("time,hs_m,tp_s,dir_deg\n");
    for hour in 0..240_i64 {
        let high = if (60..90).contains(&hour) { 3.1 } else { 0.7 };
        writeln!(sea, "{},{high},8.0,200", at(start + hour * 3600)).unwrap();
    }
    fs::write(dir.join("sea.csv"), sea).unwrap();
}

#[test]
fn from_a_strangers_folder_to_a_reading_in_at_most_eight_actions() {
    let dir = tempfile::tempdir().unwrap();
    let files = dir.path().join("my season");
    fs::create_dir(&files).unwrap();
    folder(&files);
    let book = dir.path().join("deep/in/folders/that are missing/bay");
    let mut hand = Hand::start();
    hand.press("Import ...");
    // The keyboard is where a path is typed.
    hand.type_text(files.to_str().unwrap());
    hand.key(egui::Key::Enter);
    // Thirty-six alike are one line; all of it is counted before anything is written.
    hand.harness.get_by_label_contains("36 GPX files: ");
    hand.harness.get_by_label_contains("40 files, all together: ");
    assert!(hand.harness.state().book().beaches().values().all(|b| b.invented), "nothing is written yet");
    hand.type_into("these go into a new book of your own", book.to_str().unwrap());
    let (screen, label) = (hand.harness.ctx.content_rect(), "Import ");
    let button = hand.harness.get_all_by_label_contains(label).find(|n| {
        n.accesskit_node().role() == egui::accesskit::Role::Button
            && n.accesskit_node().label().is_some_and(|l| l.ends_with(" records"))
    });
    let button = button.expect("what takes all in");
    assert!(screen.contains_rect(button.rect()), "it is on the screen, with 40 files: {:?}", button.rect());
    let name = button.accesskit_node().label().unwrap();
    hand.press(&name);
    hand.press("Read");
    assert!(hand.actions <= 8, "{} actions", hand.actions);
    let app = hand.harness.state();
    assert!(book.with_extension("gpkg").is_file(), "the book is where it was asked for, in folders that were made");
    assert_eq!((app.book().beaches().len(), app.book().tracks().len(), app.book().finds().len()), (1, 36, 72));
    let reading = app.fresh_reading().expect("a reading");
    assert_eq!(reading.whole.counts.finds, 72);
    assert!(reading.whole.swept_m2.is_some_and(|m2| m2 > 1000.0), "{:?}", reading.whole.swept_m2);
}

#[test]
fn with_forty_files_dropped_one_by_one_the_buttons_stay_on_the_smallest_screen() {
    let dir = tempfile::tempdir().unwrap();
    folder(dir.path());
    let mut h = crate::bench::window_sized(scourline::store::OpenBook::in_memory(), SheetChoice::Log, [900.0, 560.0]);
    #[derive(Debug)]
    struct Dropped(std::path::PathBuf);
    impl egui::DroppedFile for Dropped {
        fn path(&self) -> &Path {
            &self.0
        }
        fn bytes(&self) -> Result<Vec<u8>, String> {
            fs::read(&self.0).map_err(|e| e.to_string())
        }
    }
    for day in 0..36 {
        let path = dir.path().join(format!("tracks/day-{day:02}.gpx"));
        h.input_mut().dropped_files.push(std::sync::Arc::new(Dropped(path)));
    }
    settle(&mut h);
    h.get_by_label_contains("36 files and folders named");
    for name in ["Leave", "Import 72 records"] {
        let rect = h.get_by_label(name).rect();
        assert!(h.ctx.content_rect().contains_rect(rect), "{name} at {rect:?}");
    }
    // One of them is left out by its name, and taken after all.
    h.get_by_label_contains("36 GPX files: ").click_accesskit();
    settle(&mut h);
    h.get_all_by_label("leave out").next().unwrap().click_accesskit();
    settle(&mut h);
    h.get_by_label("Import 70 records");
    h.get_by_label("take it after all").click_accesskit();
    settle(&mut h);
    // What was read stays; the name of the beach is no part of the question, so that no letter reads anything again.
    h.get_by_label("Name of the new beach").focus();
    h.run();
    for letter in ["a", "b", "c"] {
        h.event(egui::Event::Text(letter.to_owned()));
        h.step();
        assert!(h.query_by_label("Stop").is_none() && h.state().is_idle(), "nothing is read again for a letter");
    }
    h.get_by_label("Import 72 records").click_accesskit();
    settle(&mut h);
    assert_eq!(h.state().book().beaches().values().next().unwrap().name, "My beachabc");
    assert_eq!(h.state().book().tracks().len(), 36);
}

/// What a column means is guessed, can be said otherwise, and is remembered for the next file with these headings.
#[test]
fn a_column_is_given_a_meaning_which_is_remembered() {
    let dir = tempfile::tempdir().unwrap();
    let table = |name: &str, day: u8| {
        let path = dir.path().join(name);
        fs::write(&path, format!("what,lat,lon,time,deep\nring,44.9995,-20.0001,2024-05-0{day}T10:00:00Z,15\n")).unwrap();
        path
    };
    let (first, second) = (table("first.csv", 1), table("second.csv", 2));
    let mut h = crate::bench::window(SheetChoice::Log);
    let look = |h: &mut Harness<'static, App>, path: &Path| {
        h.get_by_label("Import ...").click_accesskit();
        settle(h);
        h.event(egui::Event::Text(path.to_str().unwrap().to_owned()));
        settle(h);
        h.key_press(egui::Key::Enter);
        h.run_steps(12);
        settle(h);
        h.get_by_label_contains("its 5 columns").click_accesskit();
        // What unfolds is scrolled into view.
        h.run_steps(12);
        settle(h);
    };
    look(&mut h, &first);
    h.get_by_label("column \"deep\"").click_accesskit();
    h.run_steps(12);
    settle(&mut h);
    h.get_by_label("depth, centimetres").click_accesskit();
    h.run_steps(12);
    settle(&mut h);
    h.get_by_label("Import 1 record").click_accesskit();
    h.run_steps(12);
    settle(&mut h);
    let depth = |h: &Harness<'static, App>| {
        h.state().book().finds().values().filter(|f| f.what == "ring").filter_map(|f| f.depth_m).collect::<Vec<_>>()
    };
    assert_eq!(depth(&h), [0.15]);
    look(&mut h, &second);
    let said = h.get_by_label("column \"deep\"").accesskit_node().value().unwrap_or_default();
    assert_eq!(said, "depth, centimetres", "as it was said of the last file like it");
    h.get_by_label("Import 1 record").click_accesskit();
    h.run_steps(12);
    settle(&mut h);
    assert_eq!(depth(&h), [0.15, 0.15]);
}
