//! Tables of known targets, as people keep them.

use super::common::{book, take, take_all};
use scourline::bench::template;
use scourline::book::{BenchReading, Book, Edit, RecordKind, Setup};
use scourline::exchange::{Intake, Options};

/// A book that holds a set-up and no beach.
fn bare() -> Book {
    let mut book = Book::new();
    book.apply(&Edit::put(Setup::new("mine"))).unwrap();
    book
}

fn readings(intake: &Intake, book: &Book) -> Vec<BenchReading> {
    let mut grown = book.clone();
    grown.apply(&intake.edit).unwrap();
    let mut all: Vec<BenchReading> = grown.bench().values().cloned().collect();
    all.sort_by(|a, b| a.target.cmp(&b.target).then(a.depth_m.total_cmp(&b.depth_m)).then(a.target_ids.cmp(&b.target_ids)));
    all
}

fn ids(intake: &Intake, book: &Book) -> Vec<Vec<i32>> {
    readings(intake, book).into_iter().map(|r| r.target_ids).collect()
}

/// Twenty-five targets at four depths, the six numbers of each reading in columns of their own.
#[test]
fn a_hundred_readings_with_ids_in_columns_are_all_heard() {
    for heads in ["ID1,ID2,ID3,ID4,ID5,ID6", "Pass 1,Pass 2,Pass 3,Pass 4,Pass 5,Pass 6", "id 1,id 2,id 3,id 4,id 5,id 6"] {
        let mut text = format!("Target,Kind,Depth (cm),{heads}\n");
        for target in 0..25 {
            for depth in [5, 10, 15, 25] {
                let at = 20 + 2 * target;
                text += &format!("number {target},coin,{depth},{at},{},{at},{at}.0,{at},nothing\n", at + 1);
            }
        }
        let intake = take("bench.csv", &text, &bare(), &Options::default());
        assert_eq!(
            (intake.refused.len(), intake.taken.get(&RecordKind::Bench)),
            (0, Some(&100)),
            "{heads}: {:?}",
            intake.refused
        );
        let all = readings(&intake, &bare());
        assert!(all.iter().all(|r| r.target_ids.len() == 5), "{heads}: {:?}", all[0]);
        assert_eq!(all.iter().find(|r| r.target == "number 3").unwrap().target_ids, [26, 27, 26, 26, 26]);
        assert!(intake.beach.is_none());
    }
}

#[test]
fn a_column_for_each_depth_is_a_reading_for_each() {
    let text = "What,kind,5 cm,\"6\"\"\",ID at 25 cm\nworn coin,coin,43 44,42/44/43,nothing\nbent nail,nail,-6;71,,x\n";
    let intake = take("wide.csv", text, &bare(), &Options::default());
    assert_eq!(intake.refused, []);
    assert_eq!(ids(&intake, &bare()), [vec![-6, 71], vec![], vec![43, 44], vec![42, 44, 43], vec![]]);
    let depths: Vec<f64> = readings(&intake, &bare()).iter().map(|r| r.depth_m).collect();
    for (got, want) in depths.iter().zip([0.05, 0.25, 0.05, 0.1524, 0.25]) {
        assert!((got - want).abs() < 1e-9, "{depths:?}");
    }
}

#[test]
fn set_ups_stand_beside_the_readings_or_in_a_file_of_their_own() {
    let beside = "setup,mode,sensitivity,target,kind,depth_cm,target_ids\n\
                  edge,salt ground,half of full,worn coin,coin,5,43 44\n\
                  edge,salt ground,half of full,worn coin,coin,15,44 44\n\
                  edge,dry ground,half of full,worn coin,coin,25,44 47\n\
                  towels,dry ground,,worn coin,coin,5,60\n";
    let intake = take("one.csv", beside, &Book::new(), &Options::default());
    assert_eq!((intake.taken.get(&RecordKind::Setup), intake.taken.get(&RecordKind::Bench)), (Some(&2), Some(&3)));
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [4]);
    assert!(intake.refused[0].why.contains("other settings than the set-up \"edge\" had before"), "{:?}", intake.refused);
    let mut book = Book::new();
    book.apply(&intake.edit).unwrap();
    assert_eq!(book.setups().values().find(|s| s.name == "edge").unwrap().mode, "salt ground");

    let setups = "name,mode,sensitivity\nedge,salt ground,half of full\n";
    let bench = "setup,target,kind,depth_cm,target_ids\nedge,worn coin,coin,5,43 44\nedgy,worn coin,coin,5,43 44\n";
    let all = take_all(&[("bench.csv", bench), ("setups.csv", setups)], &Book::new(), &Options::default());
    assert!(all.failed.is_empty(), "{:?}", all.failed);
    assert_eq!((all.taken_count(), all.refused_count()), (2, 1));
    assert!(all.intakes[0].refused[0].why.contains("name one that is: \"edge\""), "{:?}", all.intakes[0].refused);
}

/// A number that cannot be placed must not make a target unheard.
#[test]
fn numbers_that_cannot_be_placed_are_refused_with_their_line() {
    for (text, line, why) in [
        ("target,kind,depth_cm,target_ids\na,coin,5,43 4x\n", 2, "has \"4x\" among its target IDs"),
        (
            "target,kind,depth_cm,target_ids,left,right\na,coin,5,,43,44\n",
            2,
            "has no target ID but numbers under \"left\" and others",
        ),
        ("setup,target,depth_cm,first\nmine,a,5,43\n", 2, "has no target ID but a number under \"first\""),
        ("setup,target,depth_cm,notes\nmine,a,5,clear\n", 2, "without a column of target IDs"),
        ("target,kind,depth_cm,ID1,ID2\na,coin,5,43,44\nb,coin,15,43,99999\n", 3, "target ID"),
        ("target,kind,5 cm,15 cm\na,coin,43,loud\n", 2, "has \"loud\" among its target IDs"),
        ("target,kind,5 cm,15 cm\na,coin,,\n", 2, "has nothing under any depth"),
    ] {
        let intake = take("bench.csv", text, &bare(), &Options::default());
        assert_eq!(intake.refused.len(), 1, "{text}: {:?}", intake.refused);
        assert_eq!(intake.refused[0].line, line, "{text}");
        assert!(intake.refused[0].why.contains(why), "{text}: {:?}", intake.refused);
        assert!(readings(&intake, &bare()).iter().all(|r| !r.target_ids.is_empty()), "{text}");
    }
    let heard = take("bench.csv", "target,kind,depth_cm,target_ids\na,coin,25,\nb,coin,5,43\n", &bare(), &Options::default());
    assert_eq!(ids(&heard, &bare()), [vec![], vec![43]], "an empty cell is a target that was not heard");
}

/// The same numbers twice are two readings; the same file twice is one.
#[test]
fn a_target_may_give_the_same_numbers_twice() {
    let text = "setup,target,kind,depth_cm,target_ids\nmine,worn coin,coin,5,43 43\nmine,worn coin,coin,5,43 43\n";
    let mut book = bare();
    let intake = take("bench.csv", text, &book, &Options::default());
    assert_eq!(intake.taken.get(&RecordKind::Bench), Some(&2));
    book.apply(&intake.edit).unwrap();
    let again = take("bench.csv", text, &book, &Options::default());
    assert_eq!((again.taken_count(), again.already_there.get(&RecordKind::Bench)), (0, Some(&2)));
}

/// Finds without a place stay finds without a place, where the person is asked for one.
#[test]
fn finds_are_not_mistaken_for_known_targets() {
    use scourline::exchange::{Source, look};
    let finds = Source::bytes("finds.csv", b"date,what,depth_cm,target id\n2024-05-13,old penny,12,43\n".to_vec());
    assert!(look(&finds, &book(), &Options::default(), &scourline::Progress::new()).is_err());
}

#[test]
fn the_template_reads_back_as_what_it_shows() {
    let intake = take("template.csv", &template(), &Book::new(), &Options::default());
    assert_eq!(intake.refused, []);
    assert_eq!((intake.taken.get(&RecordKind::Setup), intake.taken.get(&RecordKind::Bench)), (Some(&1), Some(&6)));
    let all = readings(&intake, &Book::new());
    assert_eq!(all.iter().filter(|r| r.kind.is_none()).count(), 1);
    assert_eq!(all.iter().filter(|r| r.target_ids.is_empty()).count(), 2);
    assert_eq!(all.iter().find(|r| r.target == "bent nail").unwrap().target_ids, [-6, 71, -5, -6]);
    assert_eq!(all.iter().find(|r| r.target == "thin ring").unwrap().kind.as_ref().unwrap().key(), "gold_ring");
}

#[test]
fn what_was_not_read_is_not_what_was_not_heard() {
    let text = "target,kind,depth_cm,target_ids\n\
                ring,ring,5,?\nring,ring,10,n/a\nring,ring,15,-\nring,ring,20,nothing\nring,ring,25,none\nring,ring,30,\n\
                nail,nail,5,- 5\nnail,nail,10,12 - 14\nnail,nail,15,-5 12\n";
    let intake = take("said.csv", text, &bare(), &Options::default());
    let lines: Vec<u64> = intake.refused.iter().map(|r| r.line).collect();
    assert_eq!(lines, [2, 3, 4, 8, 9], "{:?}", intake.refused);
    assert_eq!(ids(&intake, &bare()), [vec![-5, 12], vec![], vec![], vec![]]);
    // Under a depth "none" is that nothing came, and "?" that nobody looked.
    let wide = take("wide.csv", "target,kind,5 cm,15 cm\nring,ring,none,?\n", &bare(), &Options::default());
    assert_eq!((ids(&wide, &bare()), wide.refused.len()), (vec![vec![]], 0));
    // A find with a blank word for its ID has none, and nothing of it is told as unread.
    let finds = take("finds.csv", "lat,lon,what,target_id\n50.1,-5.1,coin,?\n", &book(), &Options::default());
    assert_eq!((finds.refused.len(), finds.taken.get(&RecordKind::Find)), (0, Some(&1)));
}
