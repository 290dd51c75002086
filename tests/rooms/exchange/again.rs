//! What comes a second time, and otherwise: corrected finds, set-ups with other settings, photographs twice, and what of a
//! file belongs nowhere. All invented.

use std::collections::BTreeMap;
use std::path::Path;

use super::common::{book, find_of, records, take, take_all};
use scourline::Progress;
use scourline::book::{Find, Record, RecordKind};
use scourline::exchange::{About, Intake, Options, Source, look_all};

const BEFORE: &str =
    "lon,lat,time,what,depth_cm,notes\n-20,45,2024-05-01T10:00:00Z,ring,10,wet sand\n-20.0001,45,2024-05-01T10:05:00Z,key,,\n";
const AFTER: &str =
    "lon,lat,time,what,depth_cm,notes\n-20,45,2024-05-01T10:00:00Z,ring,25,\n-20.0001,45,2024-05-01T10:05:00Z,key,,\n";

fn finds(intake: &Intake) -> Vec<Find> {
    records(intake).into_iter().filter_map(find_of).collect()
}

/// Another depth in one's own file used to make a second find without a word.
#[test]
fn a_correction_in_one_s_own_file_is_told_and_can_be_taken() {
    let mut own = book();
    own.apply(&take("log.csv", BEFORE, &own, &Options::default()).edit).unwrap();
    let asked = take("log.csv", AFTER, &own, &Options::default());
    let question = &asked.unsettled[0];
    assert_eq!((question.about, question.taken), (About::Corrected, Some("each")));
    assert!(question.question.contains("\"ring\" at line 2, differs in depth"), "{}", question.question);
    assert!(asked.warnings.iter().any(|w| w.contains("perhaps the same as ones of the book")), "{:?}", asked.warnings);
    assert_eq!((finds(&asked).len(), asked.already_there_count()), (1, 1));
    let with = |answer| Options { answers: BTreeMap::from([(About::Corrected, answer)]), ..Options::default() };
    let kept = take("log.csv", AFTER, &own, &with("keep"));
    assert_eq!((finds(&kept).len(), kept.already_there_count()), (0, 2));
    let taken = take("log.csv", AFTER, &own, &with("take"));
    let ring = &finds(&taken)[0];
    assert_eq!((ring.depth_m, ring.notes.as_str()), (Some(0.25), "wet sand"), "what the file does not say stays");
    own.apply(&taken.edit).unwrap();
    assert_eq!(own.finds().len(), 2);
    // Known from then on as the file now has it.
    let again = take("copy.csv", AFTER, &own, &Options::default());
    assert_eq!((finds(&again).len(), again.already_there_count(), again.unsettled.len()), (0, 2, 0), "{again:?}");
}

/// Another name in one's own file used to make a second find without a word.
#[test]
fn a_corrected_name_is_told_and_can_be_taken() {
    let mut own = book();
    own.apply(&take("log.csv", BEFORE, &own, &Options::default()).edit).unwrap();
    let renamed = BEFORE.replace("ring,10", "Brass ring,12");
    let asked = take("log.csv", &renamed, &own, &Options::default());
    let question = &asked.unsettled[0];
    assert_eq!((question.about, question.taken), (About::Corrected, Some("each")));
    assert!(question.question.contains("\"ring\" at line 2, differs in kind, what it is, depth"), "{}", question.question);
    assert!(asked.warnings.iter().any(|w| w.contains("perhaps the same as ones of the book")), "{:?}", asked.warnings);
    assert_eq!((finds(&asked).len(), asked.already_there_count()), (1, 1));
    let with = |answer| Options { answers: BTreeMap::from([(About::Corrected, answer)]), ..Options::default() };
    let kept = take("log.csv", &renamed, &own, &with("keep"));
    assert_eq!((finds(&kept).len(), kept.already_there_count()), (0, 2));
    own.apply(&take("log.csv", &renamed, &own, &with("take")).edit).unwrap();
    assert_eq!(own.finds().len(), 2);
    assert!(own.finds().values().any(|f| f.what == "Brass ring" && f.depth_m == Some(0.12) && f.notes == "wet sand"));
    // Known from then on as the file now has it.
    let again = take("copy.csv", &renamed, &own, &Options::default());
    assert_eq!((finds(&again).len(), again.already_there_count(), again.unsettled.len()), (0, 2, 0), "{again:?}");
}

/// Two things of one hole are two finds, in one file and wherever it is not plain which was renamed.
#[test]
fn two_things_of_one_hole_stay_two() {
    let row = |what: &str| format!("-20,45,2024-05-01T10:00:00Z,{what},,\n");
    let table =
        |whats: &[&str]| "lon,lat,time,what,depth_cm,notes\n".to_owned() + &whats.iter().map(|w| row(w)).collect::<String>();
    let mut own = book();
    let both = take("log.csv", &table(&["penny", "key"]), &own, &Options::default());
    assert_eq!((finds(&both).len(), both.unsettled.len()), (2, 0), "{both:?}");
    // One of them is there, and the file has it as well: the other is a find of its own.
    own.apply(&take("log.csv", &table(&["penny"]), &own, &Options::default()).edit).unwrap();
    let more = take("log.csv", &table(&["penny", "key"]), &own, &Options::default());
    assert_eq!((finds(&more).len(), more.already_there_count(), more.unsettled.len()), (1, 1, 0), "{more:?}");
    own.apply(&more.edit).unwrap();
    // Of two that are both called otherwise it cannot be told which is which.
    let renamed = take("log.csv", &table(&["halfpenny", "brass key"]), &own, &Options::default());
    assert_eq!((finds(&renamed).len(), renamed.unsettled.len()), (2, 0), "{renamed:?}");
    assert!(
        renamed.warnings.iter().any(|w| w.starts_with("2 find(s) lie at the place and time of ones of the book")),
        "{renamed:?}"
    );
    // Of one it can.
    let one = take("log.csv", &table(&["halfpenny", "key"]), &own, &Options::default());
    assert_eq!((one.unsettled.len(), one.already_there_count()), (1, 1), "{one:?}");
}

/// Where the file has the book's find as well, the other is a find of its own.
#[test]
fn two_finds_of_one_place_and_time_stay_two() {
    let mut own = book();
    own.apply(&take("log.csv", BEFORE, &own, &Options::default()).edit).unwrap();
    let both = format!("{BEFORE}-20,45,2024-05-01T10:00:00Z,ring,25,\n");
    let intake = take("log.csv", &both, &own, &Options::default());
    assert_eq!((finds(&intake).len(), intake.already_there_count(), intake.unsettled.len()), (1, 2, 0), "{intake:?}");
}

/// Another mode under a known name used to be passed over without a word.
#[test]
fn a_set_up_with_another_mode_is_told() {
    let setups = |mode: &str| format!("role,name,machine,mode,coil_cm\nsetup,wet,invented machine,{mode},28\n");
    let mut own = book();
    let first = take("setups.csv", &setups("beach"), &own, &Options::default());
    own.apply(&first.edit).unwrap();
    let setup = own.setups().values().next().unwrap();
    assert_eq!((setup.coil_width_m, setup.coil.as_str()), (Some(0.28), ""), "the unit of a heading makes it a width");
    let same = take("setups.csv", &setups("beach"), &own, &Options::default());
    assert_eq!((same.taken_count(), same.unsettled.len()), (0, 0), "{same:?}");
    let other = take("setups.csv", &setups("park"), &own, &Options::default());
    assert_eq!((other.unsettled[0].about, other.taken_count()), (About::Changes, 0));
    assert!(other.unsettled[0].question.contains("\"wet\" at line 2, differs in mode"), "{}", other.unsettled[0].question);
    let answered = Options { answers: BTreeMap::from([(About::Changes, "take")]), ..Options::default() };
    let taken = take("setups.csv", &setups("park"), &own, &answered);
    own.apply(&taken.edit).unwrap();
    assert_eq!((own.setups().len(), own.setups().values().next().unwrap().mode.as_str()), (1, "park"));
}

#[test]
fn a_track_without_times_joins_no_outing_and_says_so() {
    let point = |n: u32, time: &str| format!("<trkpt lat=\"45.00{n}\" lon=\"-20\">{time}</trkpt>");
    let walk =
        |time: &str| format!("<gpx version=\"1.1\"><trk><trkseg>{}{}</trkseg></trk></gpx>", point(0, time), point(1, time));
    let timeless = take("walk.gpx", &walk(""), &book(), &Options::default());
    assert!(timeless.warnings.iter().any(|w| w.contains("1 track(s) hold no times") && w.contains("no outing")), "{timeless:?}");
    assert_eq!(timeless.taken.get(&RecordKind::Outing), None);
    let timed = take("walk.gpx", &walk("<time>2024-05-01T10:00:00Z</time>"), &book(), &Options::default());
    assert!(!timed.warnings.iter().any(|w| w.contains("hold no times")), "{timed:?}");
}

/// The same picture under another name used to become a second find without a word.
#[test]
fn a_photograph_that_comes_twice_is_told() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/exchange/photos");
    let bytes = std::fs::read(folder.join("phone.jpg")).unwrap();
    let sources = [Source::bytes("first.jpg", bytes.clone()), Source::bytes("copy of first.jpg", bytes)];
    let intakes = look_all(&sources, &book(), &Options::default(), &Progress::new()).unwrap().intakes;
    let told: Vec<bool> = intakes.iter().map(|i| i.warnings.iter().any(|w| w.contains("perhaps the same one twice"))).collect();
    assert_eq!(told, [false, true], "{intakes:?}");
}

/// A file that waits for an answer keeps out no other, and none builds on it.
#[test]
fn a_file_that_waits_takes_no_part() {
    let both_orders = "lon,lat,what,date\n-20,45,penny,13/05/2024\n-20,45,ring,05/14/2024\n";
    let looked =
        take_all(&[("odd.csv", both_orders), ("log.csv", BEFORE), ("bad.gpx", "<gpx><trk>")], &book(), &Options::default());
    assert_eq!(looked.intakes.iter().map(Intake::waits).collect::<Vec<_>>(), [true, false]);
    assert_eq!((looked.failed.len(), looked.taken_count()), (1, 2));
    let mut own = book();
    own.apply(&looked.edit()).unwrap();
    assert_eq!(own.finds().len(), 2);
    assert!(matches!(looked.edit().singles()[0], scourline::book::Edit::Put(Record::Find(_))));
}
